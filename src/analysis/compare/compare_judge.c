#include "analysis/compare/compare_judge.h"

#include "analysis/compare/compare_effects.h"
#include "analysis/compare/compare_verdict.h"

#include <string.h>

void compare_judge(const struct compare_side *before, const struct compare_side *after, const struct compare_model *model,
                   struct compare_result *result) {
  static const struct compare_model none = {0};
  memset(result, 0, sizeof *result);
  if (!model) model = &none;
  compare_effects(before, after, model, result);
  compare_verdict(before, after, model, result);
}
