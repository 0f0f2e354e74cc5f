/* What a lesson has computed, each under the name that its author gave it. */
#ifndef ANALYSIS_LESSON_LESSON_RESULT_H
#define ANALYSIS_LESSON_LESSON_RESULT_H

#include "analysis/estimate/estimate_findings.h"
#include "analysis/run/explanation.h"
#include "analysis/settle/settle.h"
#include "car/engine.h"
#include "car/setting.h"
#include "sim/scenario.h"

enum { LESSON_RESULT_MAX = 32, LESSON_RESULT_NAME_SIZE = 32, LESSON_RESULT_WHAT_SIZE = 200, LESSON_RESULT_POINT_MAX = 2000 };

enum lesson_result_kind { LESSON_RESULT_RUN, LESSON_RESULT_POINT, LESSON_RESULT_SWEEP, LESSON_RESULT_ESTIMATE };

/* Large, so on the heap. Of a kind only its own members are set; all are owned. */
struct lesson_result {
  char name[LESSON_RESULT_NAME_SIZE];
  char label[LESSON_RESULT_WHAT_SIZE]; // for legends and columns
  char what[LESSON_RESULT_WHAT_SIZE];  // the scenario or engine, and what was changed
  enum lesson_result_kind kind;
  int line; // of its block
  struct engine engine;
  // a run
  struct scenario scenario;
  struct recording recording;
  struct story story;
  struct explanation explanation;
  // a point, or as many as a sweep has values
  struct settle_query query;
  char axis[SETTING_NAME_SIZE]; // of a sweep: what is varied
  size_t count;
  double *inputs; // of a sweep: its values, rising
  struct settle_point *points;
  // an estimate
  struct estimate_readings_input input;
  struct estimate_question question;
  struct estimate *estimate;
  struct estimate_findings findings;
};

struct lesson_results {
  size_t count;
  struct lesson_result *items[LESSON_RESULT_MAX]; // owned
};

/* NULL if there is none of this name. */
const struct lesson_result *lesson_result_find(const struct lesson_results *results, const char *name);

/* An empty one more; NULL if there is no room or no memory. */
struct lesson_result *lesson_result_add(struct lesson_results *results, const char *name, enum lesson_result_kind kind);

void lesson_result_destroy_all(struct lesson_results *results);

/* Whether the engine stalls in a run or has no point at which it keeps running; *at_s: when, NaN for a point. */
bool lesson_result_stalls(const struct lesson_result *result, double *at_s);

#endif
