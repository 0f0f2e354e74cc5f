#include "analysis/practice/practice_mark.h"

#include "base/near_miss.h"
#include "base/number.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

/* The next word of a list with + between; false at its end. */
static bool next_word(const char **at, char word[PRACTICE_TEXT_SIZE]) {
  if (!**at) return false;
  const size_t length = strcspn(*at, "+");
  snprintf(word, PRACTICE_TEXT_SIZE, "%.*s", (int)length, *at);
  *at += length + ((*at)[length] == '+');
  return true;
}

static enum status read_causes(const struct engine *engine, const char *text, struct practice_answer *a, struct error *error) {
  char word[PRACTICE_TEXT_SIZE];
  if (strcmp(text, "not_told") == 0) a->not_told = true;
  if (a->not_told || strcmp(text, "nothing") == 0) return STATUS_OK;
  while (next_word(&text, word)) {
    const int cause = cause_find(word);
    const char *names[CAUSE_COUNT];
    for (int c = 0; c < CAUSE_COUNT; c++) names[c] = cause_rows[c].name;
    const char *near = cause < 0 ? near_miss_best(word, names, CAUSE_COUNT) : NULL;
    if (cause < 0)
      return error_set(error, STATUS_USAGE, "there is no cause '%s'%s%s%s; bladegap list causes shows all", word,
                       near ? "; did you mean '" : "", near ? near : "", near ? "'?" : "");
    if (!cause_applies(engine, (enum cause)cause))
      return error_set(error, STATUS_USAGE, "this engine cannot have the cause '%s'", word);
    if (a->count == ESTIMATE_CAUSE_MAX)
      return error_set(error, STATUS_USAGE, "an answer has one cause or two, with + between them");
    a->cause[a->count++] = (enum cause)cause;
  }
  if (a->count == 2 && a->cause[0] == a->cause[1]) a->count = 1;
  return STATUS_OK;
}

static enum status read_severities(const char *text, struct practice_answer *a, struct error *error) {
  char word[PRACTICE_TEXT_SIZE];
  size_t count = 0;
  for (size_t i = 0; i < ESTIMATE_CAUSE_MAX; i++) a->severity[i] = NAN;
  if (strcmp(text, "-") == 0) return STATUS_OK;
  for (; next_word(&text, word); count++)
    if (count == a->count || !number_read(word, &a->severity[count]))
      return error_set(error, STATUS_USAGE, "severity '%s': a number for each cause, with + between them, or - for none", word);
  return STATUS_OK;
}

static enum status read_work(const char *text, struct practice_answer *a, struct error *error) {
  char word[PRACTICE_TEXT_SIZE];
  a->search = strcmp(text, "search") == 0;
  if (a->search || strcmp(text, "hand_back") == 0) return STATUS_OK;
  while (next_word(&text, word)) {
    const char *names[REMEDY_COUNT];
    size_t row = 0;
    for (size_t i = 0; i < REMEDY_COUNT; i++) names[i] = remedy_rows[i].name;
    while (row < REMEDY_COUNT && strcmp(names[row], word) != 0) row++;
    const char *near = row == REMEDY_COUNT ? near_miss_best(word, names, REMEDY_COUNT) : NULL;
    if (row == REMEDY_COUNT)
      return error_set(error, STATUS_USAGE,
                       "there is no work '%s'%s%s%s; it is one of bladegap practice work, search or hand_back", word,
                       near ? "; did you mean '" : "", near ? near : "", near ? "'?" : "");
    a->remedies |= (uint64_t)1 << row;
  }
  return STATUS_OK;
}

enum status practice_answer_read(const struct engine *engine, const char *const words[3], struct practice_answer *a,
                                 struct error *error) {
  *a = (struct practice_answer){.given = true};
  enum status status = read_causes(engine, words[0], a, error);
  if (status == STATUS_OK) status = read_severities(words[1], a, error);
  return status == STATUS_OK ? read_work(words[2], a, error) : status;
}

/* Whatever is mended, plugs are pulled and things are learned again. */
unsigned practice_answer_cautions(const struct engine *engine, const struct practice_answer *a) {
  unsigned steps = CAUTION_STEP_run;
  if (a->remedies) steps |= CAUTION_STEP_unplug | CAUTION_STEP_relearn;
  for (size_t i = 0; i < REMEDY_COUNT; i++) {
    if (!((a->remedies >> i) & 1u)) continue;
    if (strcmp(remedy_rows[i].name, "clean_bore") == 0) steps |= CAUTION_STEP_clean_bore | CAUTION_STEP_blade;
    if (strcmp(remedy_rows[i].name, "clean_bypass_valve") == 0) steps |= CAUTION_STEP_valve | CAUTION_STEP_clean_valve;
    if (strcmp(remedy_rows[i].name, "throttle_unit") == 0) steps |= CAUTION_STEP_blade;
  }
  return caution_for(steps, engine_features(engine));
}
