/* sim/setting: NAME=VALUE on the command line. Truth: the contract in setting.h; ranges and units from the
 * tables of conditions and engine parameters. */
#include "support/check.h"

#include "base/units.h"
#include "car/setting.h"
#include "io/config/engine_file.h"

#include <stdio.h>
#include <string.h>

static struct engine engine;
static struct conditions conditions;

static int read_engine(void **state) {
  (void)state;
  struct error error;
  conditions_init(&conditions);
  return engine_file_read("models/four-16.cfg", &engine, &error) == STATUS_OK ? 0 : -1;
}

static void takes(const char *text) {
  struct error error;
  error_clear(&error);
  if (setting_apply_text("set", text, &engine, &conditions, &error) != STATUS_OK) fail_msg("%s", error.text);
}

/* Refused with STATUS_USAGE and a message that holds these words; nothing is changed. */
static void refuses(const char *text, const char *words) {
  struct error error;
  error_clear(&error);
  const struct engine engine_before = engine;
  const struct conditions before = conditions;
  assert_int_equal(setting_apply_text("set", text, &engine, &conditions, &error), STATUS_USAGE);
  if (!strstr(error.text, words)) fail_msg("'%s' gives '%s', which does not say '%s'", text, error.text, words);
  assert_memory_equal(&engine_before, &engine, sizeof engine);
  assert_memory_equal(&before, &conditions, sizeof conditions);
}

static void conditions_in_their_unit(void **state) {
  (void)state;
  takes("film_um=40");
  check_relative(conditions.film_m, 40e-6, 1e-14);
  takes("coolant_c=-10.5");
  check_relative(conditions.coolant_k, 262.65, 1e-14);
  takes("hold_rpm=3e3");
  check_relative(conditions.hold_speed_rad_s, 100.0 * UNITS_PI, 1e-14);
  takes("air_conditioning=1");
  check_close(conditions.compressor_request, 1.0, 0.0);
}

static void parameters_by_group_and_key(void **state) {
  (void)state;
  takes("idle_air.learned_most_pct=20");
  check_relative(engine.computer.air.learned_most_ratio, 0.2, 1e-14);
  takes("drive.resistance_ohm=2.5");
  check_relative(engine.plant.drive.resistance_ohm, 2.5, 1e-14);
  takes("throttle.bore_radius_mm=25");
  check_relative(engine.plant.throttle.bore.radius_m, 0.025, 1e-14);
}

/* Counts, words, curves, and a key alone where one group has it. */
static void every_kind_of_value(void **state) {
  (void)state;
  takes("charge.cylinder_count=6");
  assert_int_equal(engine.plant.charge.cylinder_count, 6);
  takes("fuel.metering=pressure");
  assert_int_equal(engine.computer.fuel.metering, METERING_PRESSURE);
  takes("throttle.discharge_by_opening_deg=0:0.6,20:0.7");
  assert_int_equal(engine.plant.throttle.discharge.count, 2);
  check_close(engine.plant.throttle.discharge.x[1], 20.0 * UNITS_RAD_PER_DEG, 1e-15);
  check_close(curve_value(&engine.plant.throttle.discharge, 10.0 * UNITS_RAD_PER_DEG), 0.65, 1e-12);
  takes("bore_radius_mm=25");
  check_relative(engine.plant.throttle.bore.radius_m, 0.025, 1e-14);
  takes("by_coolant_c=-20:1500,90:800");
  check_relative(curve_value(&engine.computer.target.by_coolant, 363.15), 800.0 * UNITS_RAD_S_PER_RPM, 1e-12);
}

/* Whatever `bladegap list parameters` lists can be set: to what it is. */
static void every_parameter(void **state) {
  (void)state;
  const uint64_t digest = engine_digest(&engine);
  for (size_t i = 0; i < ENGINE_PART_COUNT; i++)
    for (size_t j = 0; j < *engine_parts[i].count; j++)
      for (size_t k = 0; k < engine_parts[i].groups[j].count; k++) {
        const struct field_group *group = &engine_parts[i].groups[j];
        const struct field *field = &group->fields[k];
        const struct setting setting = {.field = field, .of_engine = true, .base = engine_parts[i].base + group->base};
        char text[SETTING_TEXT_SIZE], word[2 * SETTING_TEXT_SIZE];
        setting_write(&setting, &engine, &conditions, text);
        if (!*text || (group->optional && strcmp(text, "0") == 0)) continue; // the engine has no such part
        snprintf(word, sizeof word, "%s.%s=%s", group->name, field->key, text);
        takes(word);
      }
  struct engine again;
  assert_int_equal(read_engine(NULL), 0);
  again = engine;
  assert_true(engine_digest(&again) == digest);
}

static void factors(void **state) {
  (void)state;
  static const struct {
    const char *text, *words;
  } rows[] = {
      {"film_um=2", "film_um is a condition"},
      {"friction.constant_bar=0", "the factor is 0; allowed: 0.01 to 100"},
      {"friction.constant_bar=x", "'x' is not a number"},
      {"friction.constant_bar=50", "friction.constant_bar times 50 is 34.5; allowed: 0.1 to 3"},
      {"throttle.kind=2", "is a word"},
      {"constant_bra=2", "did you mean 'friction.constant_bar'?"},
      {"constant_bar", "it needs NAME=FACTOR"},
  };
  struct setting setting;
  struct error error;
  error_clear(&error);
  assert_int_equal(setting_scale_text("scale", "constant_bar=1.5", &setting, &engine, &error), STATUS_OK);
  assert_string_equal(setting.name, "friction.constant_bar");
  check_relative(engine.plant.friction.constant_pa, 0.69e5, 1e-14); // 1.5 times 0.46 bar
  for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
    assert_int_equal(setting_scale_text("scale", rows[i].text, &setting, &engine, &error), STATUS_USAGE);
    if (!strstr(error.text, rows[i].words)) fail_msg("'%s' does not say '%s'", error.text, rows[i].words);
  }
}

/* Every row of the conditions can be found, takes both ends of its range, and gives them back; beyond them it
 * is refused. */
static void every_condition(void **state) {
  (void)state;
  for (size_t i = 0; i < condition_count; i++) {
    const struct field *field = &condition_rows[i].field;
    struct setting setting;
    struct error error;
    assert_int_equal(setting_find(field->key, &setting, &error), STATUS_OK);
    const double ends[] = {field->min, field->max};
    for (int k = 0; k < 2; k++) {
      assert_int_equal(setting_check(&setting, ends[k], &error), STATUS_OK);
      setting_apply(&setting, ends[k], &engine, &conditions);
      check_close_at((double)i, setting_value(&setting, &engine, &conditions), ends[k], 1e-9);
    }
    assert_int_equal(setting_check(&setting, field->max + 1.0, &error), STATUS_USAGE);
    assert_int_equal(setting_check(&setting, field->min - 1.0, &error), STATUS_USAGE);
  }
}

static void bad_input(void **state) {
  (void)state;
  refuses("film_um", "NAME=VALUE");
  refuses("=40", "NAME=VALUE");
  refuses("film_um=", "is not a number");
  refuses("film_um=40um", "'40um' is not a number");
  refuses("film_um=nan", "out of range");
  refuses("film_um=inf", "out of range");
  refuses("film_um=-1", "0 to 300");
  refuses("film_um=301", "0 to 300");
  refuses("air_conditioning=0.5", "switch");
  refuses("film_mu=40", "did you mean 'film_um'");
  refuses("idle_air.learned_most_pc=20", "did you mean 'idle_air.learned_most_pct'");
  refuses("zzzzzzzzzz=1", "list faults");
  refuses("throttle.kind=1", "'1' is none of electronic, cable"); // a word of the engine file, no number
  refuses("bank_count=1.5", "it is a whole number");
  refuses("film=3", "did you mean 'film_um'"); // a cause of cause_rates, which wants its group
  refuses("rest_opening_deg=1", "is in more than one group: write throttle.rest_opening_deg or drive.rest_opening_deg");
  refuses("constant_bra=1", "did you mean 'friction.constant_bar'?");
  refuses("discharge_by_opening_deg=0.7", "a curve is X:Y,X:Y,...");
  refuses("discharge_by_opening_deg=0:0.7,", "a curve is X:Y,X:Y,...");
  refuses("discharge_by_opening_deg=0:0.7,0:0.8", "x must increase");
  refuses("discharge_by_opening_deg=0:0.7,9:1.8", "point 2: y is 1.8; allowed: 0.3 to 1");
}

/* Truth: 68 F is 20 C by the fixed points of the scales; a bias of 18 F is one of 10 C; NIST SP 811: 1 inHg is 3.386 38 kPa. */
static void us_names(void **state) {
  (void)state;
  takes("coolant_f=68");
  check_close(conditions.coolant_k, 293.15, 1e-9);
  takes("coolant_bias_f=18");
  check_close(conditions.sensor_faults.coolant_bias_k, 10.0, 1e-9);
  takes("ambient_inhg=25");
  check_close(conditions.ambient_pa, 84659.5, 0.1);
  takes("warmth.thermostat_opens_f=176");
  check_close(engine.plant.warmth.thermostat_opens_k, 353.15, 1e-9);
  refuses("coolant_f=500", "coolant_c=260 is out of range: -40 to 120");
  refuses("film_f=3", "there is no quantity 'film_f'");
  refuses("ambient_kpa=5", "allowed: 50 to 110, or 0");
}

int main(void) {
  const struct CMUnitTest tests[] = {cmocka_unit_test_setup(conditions_in_their_unit, read_engine),
                                     cmocka_unit_test_setup(parameters_by_group_and_key, read_engine),
                                     cmocka_unit_test_setup(every_condition, read_engine),
                                     cmocka_unit_test_setup(bad_input, read_engine),
                                     cmocka_unit_test_setup(every_kind_of_value, read_engine),
                                     cmocka_unit_test_setup(every_parameter, read_engine),
                                     cmocka_unit_test_setup(factors, read_engine),
                                     cmocka_unit_test_setup(us_names, read_engine)};
  return cmocka_run_group_tests(tests, NULL, NULL);
}
