/* analysis/unit: what is set is read back, parameters make another engine, states that are none are refused. Truth: what was set; a state put
 * back gives the same bits; more displacement at the same target draws more air (invariant). */
#include "analysis/unit/unit.h"

#include "analysis/unit/unit_variables.h"
#include "io/config/engine_file.h"
#include "support/check.h"

#include <stdlib.h>
#include <string.h>

static struct engine engine;
static struct unit *unit;
static struct error error;

static int set_up(void **state) {
  (void)state;
  error_clear(&error);
  if (engine_file_read("models/four-16.cfg", &engine, &error) != STATUS_OK) fail_msg("%s", error.text);
  return unit_create(&engine, &unit, &error) == STATUS_OK ? 0 : -1;
}

static int tear_down(void **state) {
  (void)state;
  unit_destroy(unit);
  return 0;
}

static struct unit_variable variable_of(const char *name) {
  struct unit_variable variable;
  for (uint32_t i = 0; i < unit_variable_count(); i++)
    if (unit_variable_at(i, &variable) && strcmp(variable.name, name) == 0) return variable;
  fail_msg("there is no %s", name);
  return variable;
}

static enum status set(struct unit *in, const char *name, double value) {
  const struct unit_variable variable = variable_of(name);
  error_clear(&error);
  return unit_set(in, variable.reference, variable.type, value, &error);
}

static double get(struct unit *from, const char *name) {
  const struct unit_variable variable = variable_of(name);
  double value = -1.0;
  error_clear(&error);
  if (unit_get(from, variable.reference, variable.type, &value, &error) != STATUS_OK) fail_msg("%s: %s", name, error.text);
  return value;
}

static void begin(struct unit *of) {
  if (unit_begin(of, &error) != STATUS_OK) fail_msg("%s", error.text);
}

static void step(struct unit *of, size_t ticks) {
  if (unit_step(of, ticks, &error) != STATUS_OK) fail_msg("%s", error.text);
}

/* Before it begins all that can be set is read back, within the range that its variable tells; outside it nothing changes. */
static void read_back(void **state) {
  (void)state;
  size_t parameters = 0, inputs = 0;
  struct unit_variable v;
  for (uint32_t i = 0; i < unit_variable_count(); i++) {
    if (!unit_variable_at(i, &v) || (v.role != UNIT_INPUT && v.role != UNIT_PARAMETER) || !unit_variable_fits(&v, &engine))
      continue;
    double before, after;
    error_clear(&error);
    assert_int_equal(unit_get(unit, i, v.type, &before, &error), STATUS_OK);
    check_close_at(i, before,
                   v.role == UNIT_PARAMETER && v.kind == UNIT_KIND_PARAMETER ? unit_variable_parameter(&v, &engine) : v.start,
                   1e-9);
    double value = v.type == UNIT_REAL ? before + 0.75 * (v.max - before) : v.max;
    if (v.type == UNIT_INTEGER && before >= v.max) value = v.min;
    if (v.type == UNIT_BOOLEAN) value = 1.0 - before;
    if (unit_set(unit, i, v.type, value, &error) != STATUS_OK) fail_msg("%s = %g: %s", v.name, value, error.text);
    assert_int_equal(unit_get(unit, i, v.type, &after, &error), STATUS_OK);
    check_close_at(i, after, value, 1e-9 * fmax(1.0, fabs(value)));
    if (v.type != UNIT_BOOLEAN) assert_int_equal(unit_set(unit, i, v.type, v.max + 1.0, &error), STATUS_USAGE);
    assert_int_equal(unit_set(unit, i, v.type, (double)NAN, &error), STATUS_USAGE);
    assert_int_equal(unit_get(unit, i, v.type, &after, &error), STATUS_OK);
    check_close_at(i, after, value, 1e-9 * fmax(1.0, fabs(value)));
    *(v.role == UNIT_INPUT ? &inputs : &parameters) += 1;
  }
  assert_true(parameters > 100 && inputs > 40);
  unit_reset(unit); // and all is as it was
  for (uint32_t i = 0; i < unit_variable_count(); i++)
    if (unit_variable_at(i, &v) && v.kind == UNIT_KIND_PARAMETER && unit_variable_fits(&v, &engine)) {
      double now;
      assert_int_equal(unit_get(unit, i, v.type, &now, &error), STATUS_OK);
      check_close_at(i, now, unit_variable_parameter(&v, &engine), 0.0);
    }
}

/* What the engine has not is refused with its name. */
static void not_had(void **state) {
  (void)state;
  assert_int_equal(set(unit, "bypass.steps_per_s", 100.0), STATUS_USAGE);
  assert_non_null(strstr(error.text, "four-16"));
  assert_int_equal(unit_get(unit, unit_variable_count() + 7, UNIT_REAL, &(double){0.0}, &error), STATUS_USAGE);
  assert_int_equal(unit_step(unit, 1, &error), STATUS_USAGE);
  assert_int_equal(unit_save_size(unit) > 0, 1);
}

/* A parameter makes another engine: friction twice as high takes more air to idle. Fixed once it has begun. */
static void parameter(void **state) {
  (void)state;
  struct unit *heavy;
  assert_int_equal(unit_create(&engine, &heavy, &error), STATUS_OK);
  assert_int_equal(set(heavy, "friction.constant_bar", 1.5 * get(heavy, "friction.constant_bar")), STATUS_OK);
  begin(unit);
  begin(heavy);
  assert_true(get(heavy, "airflow_gps") > 1.1 * get(unit, "airflow_gps"));
  check_close(get(heavy, "target_rpm"), get(unit, "target_rpm"), 1e-9);
  assert_int_equal(set(heavy, "friction.constant_bar", 1.0), STATUS_USAGE);
  unit_destroy(heavy);
}

/* A key that is off at the start stops an engine that was to idle; a learned offset is forgotten where that is asked. */
static void key_and_action(void **state) {
  (void)state;
  assert_int_equal(set(unit, "set.key", 0.0), STATUS_OK);
  begin(unit);
  step(unit, 300);
  check_close(get(unit, "speed_rpm"), 0.0, 1e-9);
  check_close(get(unit, "set.key"), 0.0, 0.0);
  unit_reset(unit);
  assert_int_equal(set(unit, "set.film_um", 25.0), STATUS_OK);
  begin(unit);
  step(unit, 10);
  assert_true(fabs(get(unit, "learned_pct")) > 1.0); // it has idled with this film before
  assert_int_equal(set(unit, "set.reset_learned", 1.0), STATUS_OK);
  step(unit, 1);
  assert_true(fabs(get(unit, "learned_pct")) < 0.2);
  assert_int_equal(set(unit, "set.reset_learned", 0.0), STATUS_OK); // a request that is taken back does nothing
  check_close(get(unit, "time"), 0.11, 1e-9);
  check_close(get(unit, "code.P0505"), 0.0, 0.0);
  assert_int_equal(unit_step(unit, 100000000, &error), STATUS_USAGE); // more than a day
}

static char *saved_of(struct unit *of, size_t *size) {
  *size = unit_save_size(of);
  char *memory = malloc(*size);
  assert_non_null(memory);
  assert_int_equal(unit_save(of, memory, *size, &error), STATUS_OK);
  return memory;
}

/* A state of a unit that has not begun, of one whose outputs were looked at, and of another engine: put back, each goes on bit for bit. */
static void states(void **state) {
  (void)state;
  size_t size;
  struct unit *other;
  assert_int_equal(unit_create(&engine, &other, &error), STATUS_OK);
  assert_int_equal(set(unit, "set.film_um", 30.0), STATUS_OK);
  char *early = saved_of(unit, &size);
  assert_int_equal(unit_save(unit, early, size - 1, &error), STATUS_USAGE);
  assert_int_equal(unit_save(unit, NULL, 0, &error), STATUS_USAGE);
  assert_int_equal(unit_restore(other, early, 3, &error), STATUS_USAGE);
  assert_int_equal(unit_restore(other, NULL, 0, &error), STATUS_USAGE);
  assert_int_equal(unit_restore(other, early, size, &error), STATUS_OK);
  check_close(get(other, "set.film_um"), 30.0, 0.0);
  free(early);
  assert_int_equal(set(unit, "friction.constant_bar", 1.2 * get(unit, "friction.constant_bar")), STATUS_OK);
  begin(unit);
  step(unit, 50);
  (void)get(unit, "speed_rpm"); // looked at
  char *late = saved_of(unit, &size);
  step(unit, 50);
  assert_int_equal(unit_restore(other, late, size, &error), STATUS_OK); // which had not begun, and another friction
  step(other, 50);
  check_close(get(other, "speed_rpm"), get(unit, "speed_rpm"), 0.0);
  check_close(get(other, "friction.constant_bar"), get(unit, "friction.constant_bar"), 0.0);
  free(late);
  unit_destroy(other);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test_setup_teardown(read_back, set_up, tear_down),
      cmocka_unit_test_setup_teardown(not_had, set_up, tear_down),
      cmocka_unit_test_setup_teardown(parameter, set_up, tear_down),
      cmocka_unit_test_setup_teardown(key_and_action, set_up, tear_down),
      cmocka_unit_test_setup_teardown(states, set_up, tear_down),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
