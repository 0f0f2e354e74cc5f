#include "analysis/compare/compare.h"

const struct compare_verdict_row compare_verdict_rows[COMPARE_VERDICT_COUNT] = {
#define VERDICT(name, code, text) {#name, code, text},
    COMPARE_VERDICT_LIST(VERDICT)
#undef VERDICT
};

const struct compare_effect *compare_effect_find(const struct compare_result *result, enum estimate_condition condition,
                                                 enum estimate_quantity quantity) {
  for (size_t i = 0; i < result->effect_count; i++)
    if (result->effects[i].condition == condition && result->effects[i].quantity == quantity) return &result->effects[i];
  return NULL;
}
