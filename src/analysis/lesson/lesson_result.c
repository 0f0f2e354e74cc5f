#include "analysis/lesson/lesson_result.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

const struct lesson_result *lesson_result_find(const struct lesson_results *results, const char *name) {
  for (size_t i = 0; i < results->count; i++)
    if (strcmp(results->items[i]->name, name) == 0) return results->items[i];
  return NULL;
}

struct lesson_result *lesson_result_add(struct lesson_results *results, const char *name, enum lesson_result_kind kind) {
  struct lesson_result *result = results->count < LESSON_RESULT_MAX ? calloc(1, sizeof *result) : NULL;
  if (!result) return NULL;
  snprintf(result->name, sizeof result->name, "%s", name);
  result->kind = kind;
  scenario_init(&result->scenario);
  recording_init(&result->recording);
  results->items[results->count++] = result;
  return result;
}

void lesson_result_destroy_all(struct lesson_results *results) {
  for (size_t i = 0; i < results->count; i++) {
    struct lesson_result *result = results->items[i];
    scenario_destroy(&result->scenario);
    recording_destroy(&result->recording);
    estimate_destroy(result->estimate);
    free(result->inputs);
    free(result->points);
    free(result);
  }
  results->count = 0;
}

bool lesson_result_stalls(const struct lesson_result *result, double *at_s) {
  *at_s = NAN;
  if (result->kind == LESSON_RESULT_POINT) return result->points[0].outcome == SETTLE_STALLS;
  if (result->kind != LESSON_RESULT_RUN || !result->story.stalled) return false;
  *at_s = result->story.stalled_s;
  return true;
}
