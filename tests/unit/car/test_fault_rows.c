/* car/fault_rows.h row by row: what one row says must fit what the others say. Truth: the rules at the head of that file. That the
 * outside world has its say on each row is checked by tests/reference/test_faults.c, that each SHEET can be set by
 * tests/unit/analysis/test_sheet.c. */
#include "support/check.h"

#include "base/attributes.h"
#include "car/causes.h"
#include "car/former.h"
#include "car/scatter.h"
#include "car/setting.h"

#include <string.h>

/* Ending of a key and what one of the user's units must be in SI; a key without one is a ratio, a switch or plain SI. */
static const struct {
  const char *ending;
  double si;
} units[] = {
    {"_um", 1e-6},
    {"_mm2", 1e-6},
    {"_pct", 0.01},
    {"_gps", 1e-3},
    {"_kpa", 1e3},
    {"_c", 1.0},
    {"_deg", 1.0 / 57.29577951308232},
    {"_rpm", 0.10471975511965977},
    {"_nm", 1.0},
    {"_v", 1.0},
    {"_w", 1.0},
    {"_ohm", 1.0},
    {"_m", 1.0},
    {"_ratio", 1.0},
    {"_cells", 1.0},
};

static bool ends_with(const char *text, const char *ending) {
  const size_t length = strlen(text), tail = strlen(ending);
  return length > tail && strcmp(text + length - tail, ending) == 0;
}

/* The unit that the key promises is the one that the row converts from. */
static void units_are_as_named(void **state) {
  (void)state;
  for (size_t i = 0; i < condition_count; i++) {
    const struct field *field = &condition_rows[i].field;
    bool known = field->kind == FIELD_SWITCH;
    if (known) check_close_at((double)i, field->unit.si_per_unit, 1.0, 0.0);
    for (size_t u = 0; u < ARRAY_COUNT(units) && !known; u++) {
      known = ends_with(field->key, units[u].ending);
      if (known) check_relative_at((double)i, field->unit.si_per_unit, units[u].si, 1e-12);
    }
    if (!known) fail_msg("the key %s does not end in a unit", field->key);
  }
}

static void ranges_hold_the_sound_engine(void **state) {
  (void)state;
  for (size_t i = 0; i < condition_count; i++) {
    const struct condition_row *row = &condition_rows[i];
    assert_true(row->field.kind == FIELD_REAL || row->field.kind == FIELD_SWITCH);
    assert_true(row->field.min < row->field.max);
    assert_true(row->initial >= row->field.min && row->initial <= row->field.max);
    assert_true(strlen(row->field.text) > 5);
    assert_ptr_equal(condition_find(row->field.key), row); // no other of this name
    for (size_t k = 0; k < i; k++) assert_int_not_equal(condition_rows[k].field.offset, row->field.offset);
  }
}

/* No engine has both of these. */
static void needs_can_be_met(void **state) {
  (void)state;
  static const unsigned pairs[] = {FEATURE_electronic | FEATURE_cable, FEATURE_air_flow | FEATURE_pressure,
                                   FEATURE_one_track | FEATURE_two_tracks, FEATURE_one_bank | FEATURE_two_banks};
  for (size_t i = 0; i < condition_count; i++) {
    assert_true(condition_rows[i].needs < 1u << FEATURE_COUNT);
    for (size_t p = 0; p < ARRAY_COUNT(pairs); p++) assert_true((condition_rows[i].needs & pairs[p]) != pairs[p]);
  }
  for (int c = 0; c < CAUSE_COUNT; c++) {
    if (!condition_find(cause_rows[c].condition)) continue; // it acts on the car or the memory
    const unsigned needs = cause_rows[c].needs | condition_find(cause_rows[c].condition)->needs;
    assert_true(needs < 1u << FEATURE_COUNT);
    for (size_t p = 0; p < ARRAY_COUNT(pairs); p++) assert_true((needs & pairs[p]) != pairs[p]);
    // what the condition needs is not said again
    assert_int_equal(cause_rows[c].needs & condition_find(cause_rows[c].condition)->needs, 0);
  }
}

/* A cause is a fault: within its range, not the sound engine, all on one side of it, the least nearer to it than the most. */
static void causes_are_faults(void **state) {
  (void)state;
  for (int c = 0; c < CAUSE_COUNT; c++) {
    const struct cause_row *row = &cause_rows[c];
    if (row->state) continue;
    const struct condition_row *condition = condition_find(row->condition);
    assert_non_null(condition);
    assert_true(condition->kind == CONDITION_FAULT);
    assert_int_equal(cause_find(row->name), c);
    assert_true(strlen(row->text) > 5);
    assert_true(row->least >= condition->field.min && row->least <= condition->field.max);
    assert_true(row->most >= condition->field.min && row->most <= condition->field.max);
    if (c == CAUSE_nothing) continue;
    const double least = row->least - condition->initial, most = row->most - condition->initial;
    if (!(least * most > 0.0 && fabs(most) > fabs(least))) fail_msg("%s: from %g to %g", row->name, row->least, row->most);
    if (row->scale == CAUSE_LOG) assert_true(row->least > 0.0 && row->most > 0.0);
  }
}

/* The tables of looks, as the estimate has them. */
enum look {
#define LOOK(name, minutes, false_alarm, steps, text) LOOK_##name,
#include "car/fault_rows.h"
  LOOK_COUNT
};
static const struct {
  const char *name, *text;
  double minutes, false_alarm;
} looks[] = {
#define LOOK(name, minutes, false_alarm, steps, text) {#name, text, minutes, false_alarm},
#include "car/fault_rows.h"
};
static const struct {
  enum look look;
  enum cause cause;
  double share;
} finds[] = {
#define FINDS(look, cause, share) {LOOK_##look, CAUSE_##cause, share},
#include "car/fault_rows.h"
};

/* What cannot be looked for by hand; the film itself is measured, and cleaning tells; target and stop are read. */
static bool needs_no_look(int cause) {
  return cause == CAUSE_nothing || cause == CAUSE_film || cause == CAUSE_unlisted || cause == CAUSE_target_other ||
         cause == CAUSE_stop_other;
}

static void every_cause_can_be_confirmed(void **state) {
  (void)state;
  for (int c = 0; c < CAUSE_COUNT; c++) {
    double most = 0.0;
    for (size_t i = 0; i < ARRAY_COUNT(finds); i++)
      if ((int)finds[i].cause == c) most = fmax(most, finds[i].share);
    if (!needs_no_look(c) && most < 0.5) fail_msg("no LOOK finds %s", cause_rows[c].name);
  }
  for (int l = 0; l < LOOK_COUNT; l++) {
    bool used = false;
    for (size_t i = 0; i < ARRAY_COUNT(finds); i++) used |= (int)finds[i].look == l;
    if (!used) fail_msg("%s finds nothing", looks[l].name);
    assert_true(looks[l].minutes > 0.0 && looks[l].false_alarm > 0.0 && looks[l].false_alarm < 0.5 && *looks[l].text);
    for (int k = 0; k < l; k++) assert_string_not_equal(looks[k].name, looks[l].name);
  }
  for (size_t i = 0; i < ARRAY_COUNT(finds); i++) {
    assert_true(finds[i].share > looks[finds[i].look].false_alarm && finds[i].share < 1.0);
    for (size_t k = 0; k < i; k++) assert_false(finds[k].look == finds[i].look && finds[k].cause == finds[i].cause);
  }
}

/* Each act names a condition that is no composed fault itself, and one with a range to stay in. */
static void acts_name_conditions(void **state) {
  (void)state;
  static const struct {
    const char *fault, *condition;
    double share;
  } acts[] = {
#define ACTS(key, condition, share) {#key, #condition, share},
#include "car/fault_rows.h"
  };
  for (size_t i = 0; i < ARRAY_COUNT(acts); i++) {
    const struct condition_row *fault = condition_find(acts[i].fault), *other = condition_find(acts[i].condition);
    assert_non_null(fault);
    if (!other) fail_msg("%s acts on %s, and there is none", acts[i].fault, acts[i].condition);
    assert_true(fault->kind == CONDITION_FAULT && fabs(fault->initial) < 1e-12 && fabs(acts[i].share) > 0.0);
    assert_true(other->field.offset < offsetof(struct conditions, composed));
  }
  assert_int_equal(ARRAY_COUNT(acts), CONDITIONS_ACT_COUNT);
}

/* A fault and the condition it acts on are set one after the other, in either order, and taken back: hand values. */
static void acts_add_to_what_was_set(void **state) {
  (void)state;
  const struct field *cells = &condition_find("battery_dead_cells")->field, *rest = &condition_find("battery_rest_v")->field;
  const struct field *load = &condition_find("electrical_load_w")->field;
  struct conditions sound, c;
  conditions_init(&sound);
  c = sound;
  conditions_set(&c, cells, 1.0);
  check_close(c.battery_v, 12.6 - 2.1, 1e-12);
  check_close(c.electrical_load_w, 300.0 + 140.0, 1e-9);
  conditions_set(&c, load, 500.0);
  check_close(c.electrical_load_w, 640.0, 1e-9);
  check_close(conditions_value(&c, load), 500.0, 1e-9);
  check_close(conditions_value(&c, rest), 12.6, 1e-12);
  conditions_set(&c, cells, 2.0);
  check_close(c.electrical_load_w, 780.0, 1e-9);
  conditions_set(&c, rest, 8.0); // the condition stays in its range, and what was set is not lost
  check_close(c.battery_v, rest->min, 1e-12);
  check_close(conditions_value(&c, rest), 8.0, 1e-12);
  conditions_set(&c, cells, 0.0);
  check_close(c.battery_v, 8.0, 1e-12);
  conditions_set(&c, rest, 12.6);
  conditions_set(&c, load, 300.0);
  assert_memory_equal(&c, &sound, sizeof c);
}

/* What was set comes back to the last bit, whatever the faults add to it and in whatever order they come. */
static void what_was_set_comes_back(void **state) {
  (void)state;
  const struct field *cells = &condition_find("battery_dead_cells")->field, *stuck = &condition_find("consumer_stuck_w")->field;
  const struct field *load = &condition_find("electrical_load_w")->field;
  for (int i = 0; i < 1000; i++) {
    const double set = 300.0 + 0.7123456789 * i, share = fmod(0.1234567890123 * i, 1.0);
    struct conditions a, b;
    conditions_init(&a);
    conditions_init(&b);
    conditions_set(&a, cells, 2.0 * share);
    conditions_set(&a, load, set);
    conditions_set(&a, stuck, 1000.0 * share);
    conditions_set(&b, stuck, 1000.0 * share);
    conditions_set(&b, cells, 2.0 * share);
    conditions_set(&b, load, conditions_value(&a, load));
    const double back = conditions_value(&b, load);
    assert_memory_equal(&back, &set, sizeof set);
    assert_memory_equal(&a, &b, sizeof a);
  }
}

/* A name that was parted is refused with both of its new ones, wherever a condition or a parameter is named; new names are there. */
static void former_names_are_told(void **state) {
  (void)state;
  static const struct {
    const char *name, *first, *second;
  } rows[] = {{"weak_cylinder_ratio", "spark_missing_pct", "cylinder_compression_loss_pct"},
              {"cause_rates.weak_cylinder", "spark_missing ", "cylinder_compression "}};
  for (size_t i = 0; i < ARRAY_COUNT(rows); i++) {
    struct setting setting;
    struct error error;
    error_clear(&error);
    assert_int_equal(setting_find(rows[i].name, &setting, &error), STATUS_USAGE);
    if (!strstr(error.text, rows[i].first) || !strstr(error.text, rows[i].second)) fail_msg("%s", error.text);
  }
  const struct condition_row *row;
  struct error error;
  error_clear(&error);
  assert_int_equal(condition_find_or_say(rows[0].name, &row, &error), STATUS_USAGE);
  assert_non_null(strstr(error.text, rows[0].first));
  assert_non_null(condition_find(rows[0].first));
  assert_non_null(condition_find(rows[0].second));
  assert_true(cause_find("spark_missing") >= 0 && cause_find("cylinder_compression") >= 0);
  for (size_t i = 0; i < condition_count; i++) assert_null(former_name_now(condition_rows[i].field.key));
  for (int i = 0; i < CAUSE_COUNT; i++) assert_null(former_name_now(cause_rows[i].name));
}

/* What a file may leave out is in range, for every key of both groups. */
static void defaults_are_in_range(void **state) {
  (void)state;
  const struct field_group *groups[] = {&cause_rate_groups[0], &scatter_groups[0]};
  for (size_t g = 0; g < ARRAY_COUNT(groups); g++)
    for (size_t i = 0; i < groups[g]->count; i++) {
      const struct field *field = &groups[g]->fields[i];
      assert_true(field->has_default);
      assert_true(field->initial >= field->min && field->initial <= field->max);
    }
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(units_are_as_named),
      cmocka_unit_test(ranges_hold_the_sound_engine),
      cmocka_unit_test(needs_can_be_met),
      cmocka_unit_test(causes_are_faults),
      cmocka_unit_test(every_cause_can_be_confirmed),
      cmocka_unit_test(acts_name_conditions),
      cmocka_unit_test(acts_add_to_what_was_set),
      cmocka_unit_test(what_was_set_comes_back),
      cmocka_unit_test(former_names_are_told),
      cmocka_unit_test(defaults_are_in_range),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
