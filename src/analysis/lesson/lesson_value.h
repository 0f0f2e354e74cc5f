/* What a lesson's text asks of its results: `filmed.speed_rpm`, `mean(droop.speed_rpm@20..30) - 10`, `set(droop.P0506) and not stalls(droop)`.
 *
 *   or       and       not       < <= > >=       + -       * /       - x       number, ( ), name.what, function(...)
 *
 * loosest first. docs/lessons.md lists what a name can be followed by. A condition is 1 where it holds, else 0. */
#ifndef ANALYSIS_LESSON_LESSON_VALUE_H
#define ANALYSIS_LESSON_LESSON_VALUE_H

#include "analysis/lesson/lesson_lookup.h"

/* STATUS_BAD_CONFIG says what cannot be understood or is not there; the caller knows the line. */
MUST_CHECK enum status lesson_value_find(const struct lesson_results *results, const char *text, struct lesson_value *value,
                                         struct error *error);

/* The same for a condition: 1 or 0, and nothing else. */
MUST_CHECK enum status lesson_value_holds(const struct lesson_results *results, const char *text, bool *holds,
                                          struct error *error);

/* The numbers that a condition was tried with, as "filmed.speed_rpm 791.3, clean.speed_rpm 850.0". Of a text that lesson_value_find() takes. */
void lesson_value_numbers(const struct lesson_results *results, const char *text, size_t size, char *numbers);

#endif
