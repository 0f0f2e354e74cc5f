#include "analysis/run/phases.h"

#include <math.h>
#include <string.h>

/* These say how another fault acts; alone they change nothing. (Vapour does: a sound purge brings it too.) */
static const char *const modifiers[] = {"leak_bank1_pct", "tps_worn_at_deg", "app_worn_at_pct"};

static bool is_fault(const struct condition_row *row) {
  if (row->kind != CONDITION_FAULT || strcmp(row->field.key, "film_um") == 0) return false;
  for (size_t i = 0; i < ARRAY_COUNT(modifiers); i++)
    if (strcmp(row->field.key, modifiers[i]) == 0) return false;
  return true;
}

static bool is_sound(const struct condition_row *row, double value) {
  return fabs(value - row->initial) <= 1e-9 * fmax(1.0, fabs(row->initial));
}

/* The faults that stand in these conditions. */
static void list_faults(const struct conditions *conditions, struct phase *phase) {
  phase->fault_count = 0;
  for (size_t i = 0; i < condition_count; i++) {
    const struct condition_row *row = &condition_rows[i];
    if (!is_fault(row)) continue;
    const double value = field_from_si(&row->field, conditions_value(conditions, &row->field));
    if (!is_sound(row, value) && phase->fault_count < PHASES_FAULT_MAX)
      phase->faults[phase->fault_count++] = (struct phase_fault){row, value};
  }
}

/* Applies a step's values as if reached; true if a fault is among them. */
static bool apply(const struct scenario_step *step, struct conditions *conditions) {
  bool changed = false;
  for (size_t i = 0; i < step->set_count; i++) {
    const struct condition_row *row = &condition_rows[step->sets[i].condition];
    const double before = conditions_value(conditions, &row->field);
    conditions_set(conditions, &row->field, step->sets[i].value);
    changed |= is_fault(row) && (before < step->sets[i].value || before > step->sets[i].value);
  }
  return changed;
}

size_t phases_find(const struct scenario *scenario, struct phase phases[PHASES_MAX]) {
  struct conditions conditions = scenario->initial;
  size_t count = 1;
  phases[0] = (struct phase){.to_s = scenario->duration_s};
  list_faults(&conditions, &phases[0]);
  for (size_t i = 0; i < scenario->step_count; i++) {
    const struct scenario_step *step = &scenario->steps[i];
    if (!apply(step, &conditions)) continue;
    struct phase *last = &phases[count - 1];
    const double full_s = step->at_s + fmax(step->ramp_s, 0.0);
    if (step->at_s > last->from_s || (count == 1 && step->at_s > 0.0)) { // else: more of the same moment
      if (count == PHASES_MAX) {
        last->to_s = step->at_s;
        break;
      }
      last->to_s = step->at_s;
      const double rest_s = fmax(full_s, last->rest_s);
      phases[count++] = (struct phase){.from_s = step->at_s, .full_s = full_s, .rest_s = rest_s, .to_s = scenario->duration_s};
      last = &phases[count - 1];
    }
    last->full_s = fmax(last->full_s, full_s);
    last->rest_s = fmax(last->rest_s, full_s);
    list_faults(&conditions, last);
  }
  return count;
}

bool phases_have_at(const struct phase *phase, const struct phase_fault *fault) {
  for (size_t i = 0; i < phase->fault_count; i++)
    if (phase->faults[i].row == fault->row)
      return fabs(phase->faults[i].value - fault->value) <= 1e-9 * fmax(1.0, fabs(fault->value));
  return false;
}

bool phases_within(const struct phase *small, const struct phase *large) {
  if (small->fault_count >= large->fault_count) return false;
  for (size_t i = 0; i < small->fault_count; i++)
    if (!phases_have_at(large, &small->faults[i])) return false;
  return true;
}

bool phases_have(const struct phase *phase, const char *key) {
  for (size_t i = 0; i < phase->fault_count; i++)
    if (strcmp(phase->faults[i].row->field.key, key) == 0) return true;
  return false;
}
