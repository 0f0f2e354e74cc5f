/* What an engine known from a file or a card adds to a comparison: what the days alone change, and what a film lets expect. */
#ifndef ANALYSIS_COMPARE_COMPARE_MODEL_H
#define ANALYSIS_COMPARE_COMPARE_MODEL_H

#include "analysis/compare/compare.h"
#include "base/for_each.h"

/* before: as they were read; to_explain: the same as an estimate takes them, joined, with their setting. What cannot be explained leaves
 * `explained` false and is no error. STATUS_NO_MEMORY, or what estimate_create() says of the engine. */
MUST_CHECK enum status compare_model_find(const struct engine *engine, const struct estimate_setting *setting,
                                          const struct compare_side *before, const struct compare_side *after,
                                          const struct estimate_readings *to_explain, const struct for_each *for_each,
                                          struct compare_model *model, struct error *error);

#endif
