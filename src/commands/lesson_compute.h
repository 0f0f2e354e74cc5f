/* Computes what the blocks of a lesson ask for, as `run`, `settle`, `sweep` and `estimate` would. */
#ifndef COMMANDS_LESSON_COMPUTE_H
#define COMMANDS_LESSON_COMPUTE_H

#include "analysis/lesson/lesson_result.h"
#include "io/lesson/lesson_file.h"
#include "sim/scenario.h"

/* All blocks that compute, in the order of the file. Every fault is a line of the error with file and line of the block; what could be
 * computed is in results, which lesson_result_destroy_all() ends in any case. STATUS_BAD_CONFIG. */
MUST_CHECK enum status lesson_compute(const struct lesson_file *file, struct lesson_results *results, struct error *error);

/* The scenario of a block, changed as its `set`, `scale`, `freeze` say; engine: NULL if nobody wants it. scenario_destroy() in any case. */
MUST_CHECK enum status lesson_compute_scenario(const struct lesson_item *item, struct scenario *scenario, struct engine *engine,
                                               struct error *error);

#endif
