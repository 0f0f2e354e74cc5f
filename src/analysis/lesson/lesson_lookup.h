/* One name of a lesson's text looked up in its results: a channel, a code, words. */
#ifndef ANALYSIS_LESSON_LESSON_LOOKUP_H
#define ANALYSIS_LESSON_LESSON_LOOKUP_H

#include "analysis/lesson/lesson_result.h"

enum { LESSON_VALUE_TEXT_SIZE = 640 };

struct lesson_value {
  double number;
  int decimals;  // as it is printed where nobody says otherwise
  bool is_words; // text is the answer, and there is no number
  char words[LESSON_VALUE_TEXT_SIZE];
};

enum lesson_lookup_how {
  LESSON_LOOKUP_VALUE,
  LESSON_LOOKUP_MEAN,
  LESSON_LOOKUP_MIN,
  LESSON_LOOKUP_MAX,
  LESSON_LOOKUP_SET,       // a code is stored
  LESSON_LOOKUP_CONFIRMED, // a code is confirmed
  LESSON_LOOKUP_WHEN       // where a channel is first beyond a level
};

struct lesson_lookup {
  enum lesson_lookup_how how;
  char name[LESSON_RESULT_NAME_SIZE], what[32];
  double from, to; // of time or input; NaN: not given
  bool falling;    // LESSON_LOOKUP_WHEN: below the level
  double level;
};

/* The result of this name; STATUS_BAD_CONFIG with the nearest that there is. */
MUST_CHECK enum status lesson_lookup_result(const struct lesson_results *results, const char *name,
                                            const struct lesson_result **result, struct error *error);

/* The channel of this name; STATUS_BAD_CONFIG with the nearest that there is. */
MUST_CHECK enum status lesson_lookup_channel(const char *name, enum channel *channel, struct error *error);

MUST_CHECK enum status lesson_lookup_find(const struct lesson_results *results, const struct lesson_lookup *lookup,
                                          struct lesson_value *value, struct error *error);

/* A channel of a result at a time or input: STATUS_BAD_CONFIG where there is none. NaN for `at`: the end of a run, the only point. */
MUST_CHECK enum status lesson_lookup_value(const struct lesson_result *result, enum channel channel, double at, double *value,
                                           struct error *error);

/* The codes that are stored at the end of a run or would be at a point, as "P0506, P0507"; "none". */
void lesson_lookup_codes(const struct lesson_result *result, size_t size, char *codes);

/* Decimals that are worth reading, less than a CSV has. */
int lesson_lookup_decimals(enum channel channel);

#endif
