#include "analysis/compare/compare_model.h"

#include "analysis/compare/compare_effects.h"
#include "base/units.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* ---- The days ---- */

static double read_at(const struct compare_side *side, enum estimate_condition condition, enum estimate_quantity quantity) {
  return compare_effects_value(side, condition, quantity);
}

/* Takes over what both sides have; the rest is the same on both days. */
static void set_day(const struct compare_side *side, const struct compare_unlike *unlike, struct conditions *conditions) {
  if (unlike->coolant_known)
    conditions->coolant_k = read_at(side, ESTIMATE_CONDITION_idle, ESTIMATE_QUANTITY_coolant_c) + UNITS_KELVIN_AT_ZERO_C;
  if (unlike->intake_known)
    conditions->intake_k = read_at(side, ESTIMATE_CONDITION_idle, ESTIMATE_QUANTITY_intake_c) + UNITS_KELVIN_AT_ZERO_C;
  const double barometer = read_at(side, ESTIMATE_CONDITION_key_on, ESTIMATE_QUANTITY_barometer_kpa);
  const double map = read_at(side, ESTIMATE_CONDITION_key_on, ESTIMATE_QUANTITY_map_kpa);
  if (unlike->ambient_known && (isfinite(barometer) || isfinite(map)))
    conditions->ambient_pa = (isfinite(barometer) ? barometer : map) * UNITS_PA_PER_KPA;
}

static enum status find_days(const struct engine *engine, const struct estimate_setting *setting,
                             const struct compare_side *before, const struct compare_side *after, struct compare_model *model,
                             struct error *error) {
  static const double nominal[SCATTER_COUNT] = {0};
  static const unsigned warm =
      ESTIMATE_AT(idle) | ESTIMATE_AT(idle_ac) | ESTIMATE_AT(drive) | ESTIMATE_AT(hold_2500) | ESTIMATE_AT(key_on);
  const struct estimate_fault none = {0};
  const struct compare_unlike unlike = compare_effects_unlike(before, after);
  const struct compare_side *sides[2] = {before, after};
  struct estimate_forward *forward = NULL;
  struct estimate_point(*points)[ESTIMATE_CONDITION_COUNT] = calloc(2, sizeof *points);
  enum status status = points ? STATUS_OK : error_set(error, STATUS_NO_MEMORY, "out of memory for a comparison");
  if (status == STATUS_OK) status = estimate_forward_create(engine, &forward, error);
  for (int i = 0; status == STATUS_OK && i < 2; i++) {
    struct estimate_setting day = *setting;
    set_day(sides[i], &unlike, &day.conditions);
    estimate_forward_predict(forward, &day, nominal, &none, warm, points[i]);
  }
  for (int c = 0; c < ESTIMATE_CONDITION_COUNT; c++)
    for (int q = 0; q < ESTIMATE_QUANTITY_COUNT; q++) {
      model->day_change[c][q] = NAN;
      if (status != STATUS_OK || !((warm >> c) & 1u) || !points[0][c].runs || !points[1][c].runs) continue;
      model->day_change[c][q] = estimate_quantities[q].value(&points[1][c]) - estimate_quantities[q].value(&points[0][c]);
    }
  model->target_rpm = NAN;
  if (status == STATUS_OK && points[0][ESTIMATE_CONDITION_idle].runs)
    model->target_rpm = estimate_quantities[ESTIMATE_QUANTITY_target_rpm].value(&points[0][ESTIMATE_CONDITION_idle]);
  estimate_forward_destroy(forward);
  free(points);
  return status;
}

/* ---- What was wrong before ---- */

static enum status find_outlook(const struct engine *engine, const struct estimate_setting *setting,
                                const struct estimate_readings *to_explain, const struct for_each *for_each,
                                struct compare_model *model, struct error *error) {
  struct estimate_question *question = calloc(1, sizeof *question);
  struct estimate *estimate = NULL;
  if (!question) return error_set(error, STATUS_NO_MEMORY, "out of memory for an outlook");
  question->engine = engine;
  question->setting = question->baseline_setting = *setting;
  question->readings = *to_explain;
  struct error one;
  error_clear(&one);
  enum status status = estimate_create(question, for_each, &estimate, &one);
  if (status == STATUS_OK) {
    model->explained = estimate->p_value >= ESTIMATE_P_VALUE_LEAST;
    model->film_probability = estimate->film_probability;
    model->lost_ratio = estimate->area.best_ratio;
    model->lost_low_ratio = estimate->area.low_ratio;
    model->lost_high_ratio = estimate->area.high_ratio;
    if (model->explained) status = estimate_after(estimate, &model->after, &one);
  }
  if (status == STATUS_BAD_DATA)
    status = STATUS_OK; // such readings no cause brings about: there is no outlook
  else if (status != STATUS_OK)
    error_set(error, status, "%s", one.text);
  estimate_destroy(estimate);
  free(question);
  return status;
}

enum status compare_model_find(const struct engine *engine, const struct estimate_setting *setting,
                               const struct compare_side *before, const struct compare_side *after,
                               const struct estimate_readings *to_explain, const struct for_each *for_each,
                               struct compare_model *model, struct error *error) {
  memset(model, 0, sizeof *model);
  model->known = true;
  model->displacement_l = engine->plant.charge.displacement_m3 * 1e3;
  model->lost_ratio = model->lost_low_ratio = model->lost_high_ratio = NAN;
  enum status status = find_days(engine, setting, before, after, model, error);
  if (status == STATUS_OK && to_explain->count > 0) status = find_outlook(engine, setting, to_explain, for_each, model, error);
  return status;
}
