/* Cautions before every step. Truth: the words of the steps themselves, read here against a table of our own that knows nothing of
 * how the steps are marked: who reads "fuel pressure" must have been told of fuel first. Common practice of the trade, no source. */
#include "car/caution.h"

#include "analysis/estimate/estimate_reading.h"
#include "analysis/testsheet/sheet_complaint.h"
#include "base/attributes.h"
#include "io/config/engine_file.h"
#include "support/check.h"

#include <glob.h>
#include <regex.h>
#include <stdio.h>
#include <string.h>

/* Columns: words of a step (extended regular expression), what must have been said before it. */
static const struct {
  const char *words;
  unsigned cautions;
} must[] = {
    {"[Ff]uel pressure|injectors", CAUTION_fuel},
    {"compression of", CAUTION_cranking | CAUTION_high_voltage},
    {"[Cc]ylinder balance|injector off", CAUTION_catalyst | CAUTION_moving | CAUTION_fumes},
    {"[Ss]park tester|coil, lead", CAUTION_high_voltage | CAUTION_catalyst},
    {"torch|Torch", CAUTION_fingers | CAUTION_hand | CAUTION_stop_screw},
    {"into the bore|in the bore", CAUTION_fingers | CAUTION_stop_screw},
    {"[Pp]ress the blade|press it shut", CAUTION_fingers | CAUTION_hand},
    {"smoke into", CAUTION_smoke},
    {"battery under load|test the battery|battery's posts", CAUTION_battery},
    {"belt off|the belt off", CAUTION_belt},
    {"clean by|clean the bore", CAUTION_solvent | CAUTION_coating | CAUTION_relearn | CAUTION_stop_screw},
    {"clean it", CAUTION_solvent},
    {"bypass valve off|valve out", CAUTION_valve | CAUTION_solvent},
    {"on the road|dynamometer|full load", CAUTION_road},
    {", idling|2500 rpm|Warm engine|a short run", CAUTION_moving | CAUTION_fumes},
    {"[Ii]n gear|gear is engaged", CAUTION_gear | CAUTION_moving},
    {"[Vv]oltmeter|[Vv]oltage drop|continuity|[Ss]cope|clamp round|signal' to", CAUTION_leads},
    {"^(continuity|fuse, relay)|unplug[,;]|replace the|valve off|valve out", CAUTION_unplugging},
    {"relearn the|relearn, test", CAUTION_relearn},
    {"pump's outlet", CAUTION_oil_pressure},
    {"oxygen sensor's thread|coolant outlet", CAUTION_hot},
    {"air cleaner out", CAUTION_intake_open},
    {"[Kk]ey on, engine off", CAUTION_fingers},
};

static bool says(const char *text, const char *words) {
  regex_t regex;
  assert_int_equal(regcomp(&regex, words, REG_EXTENDED | REG_NOSUB), 0);
  const bool found = regexec(&regex, text, 0, NULL, 0) == 0;
  regfree(&regex);
  return found;
}

/* Cautions that mean nothing on this engine, told by its parameters and not by their own `needs`. */
static unsigned meaningless(const struct engine *engine) {
  unsigned none = 0;
  if (engine->plant.throttle.kind == THROTTLE_CABLE) none |= CAUTION_fingers | CAUTION_hand;
  if (engine->plant.throttle.kind != THROTTLE_CABLE) none |= CAUTION_valve;
  if (engine->plant.loads.converter_torque_nm <= 0.0) none |= CAUTION_gear;
  return none;
}

static void check_step(const struct engine *engine, const char *what, const char *text, unsigned cautions) {
  const unsigned none = meaningless(engine);
  if (cautions & none) fail_msg("%s on %s: a caution (%x) for what it lacks", what, engine->name, cautions & none);
  for (size_t i = 0; i < ARRAY_COUNT(must); i++) {
    const unsigned missing = must[i].cautions & ~none & ~cautions;
    if (missing && says(text, must[i].words))
      for (int c = 0; c < CAUTION_COUNT; c++)
        if ((missing >> c) & 1u)
          fail_msg("%s on %s: \"%s\" comes without the caution %s", what, engine->name, text, caution_rows[c].name);
  }
}

static const struct {
  const char *name, *text;
  unsigned steps;
} looks[] = {
#define STEP(name)                                    CAUTION_STEP_##name
#define LOOK(name, minutes, false_alarm, steps, text) {#name, text, steps},
#include "car/fault_rows.h"
};

static void check_engine(const struct engine *engine) {
  const unsigned features = engine_features(engine);
  for (size_t i = 0; i < ARRAY_COUNT(looks); i++) {
    if (strcmp(looks[i].name, "bypass_valve_off") == 0 && !(features & FEATURE_cable)) continue; // never asked for there
    check_step(engine, looks[i].name, looks[i].text, caution_for(looks[i].steps, features));
    if (caution_for(looks[i].steps, features) == 0 && strcmp(looks[i].name, "intake_air_by_thermometer") != 0 &&
        strcmp(looks[i].name, "pressure_against_barometer") != 0)
      fail_msg("%s on %s has no caution at all", looks[i].name, engine->name);
  }
  for (size_t i = 0; i < sheet_fault_count; i++) {
    const struct sheet_fault *fault = &sheet_fault_rows[i];
    if (!engine_has(engine, sheet_needs(fault->sets, fault->needs))) continue;
    check_step(engine, fault->label, fault->meaning, caution_for(fault->steps, features));
  }
  for (size_t i = 0; i < sheet_row_count; i++) {
    const struct sheet_row *row = &sheet_rows[i];
    char text[1000];
    if (strcmp(row->id, "stop_gap") == 0 && !(features & FEATURE_cable)) continue; // there is none
    if (!sheet_procedure_applies(sheet_procedure_window_rows[row->window].procedure, engine)) continue;
    snprintf(text, sizeof text, "%s %s", sheet_procedure_window_rows[row->window].text,
             row->torch ? caution_torch(features) : row->where);
    check_step(engine, row->id, text, caution_for(row->steps, features));
  }
  check_step(engine, "a look with a torch", caution_torch(features), caution_for(caution_torch_steps(features), features));
}

static void no_step_without_its_caution(void **state) {
  (void)state;
  glob_t models;
  assert_int_equal(glob("models/*.cfg", 0, NULL, &models), 0);
  assert_true(models.gl_pathc >= 4);
  for (size_t i = 0; i < models.gl_pathc; i++) {
    static struct engine engine;
    struct error error;
    error_clear(&error);
    if (engine_file_read(models.gl_pathv[i], &engine, &error) != STATUS_OK) fail_msg("%s", error.text);
    check_engine(&engine);
  }
  globfree(&models);
}

/* The rule that is told everywhere, whole and in that order. */
static void the_rule_of_the_drive(void **state) {
  (void)state;
  const struct caution_row *row = &caution_rows[CAUTION_INDEX_fingers];
  const char *const texts[] = {row->brief, row->text};
  for (size_t i = 0; i < ARRAY_COUNT(texts); i++)
    assert_true(says(texts[i], "key off, wait until the drive sleeps, unplug(, only| it, and only) then touch"));
  const unsigned electronic = FEATURE_electronic;
  assert_true(says(caution_torch(electronic),
                   "key off, drive asleep and unplugged.*press it shut.*light all round, none, or on one side"));
  assert_true(says(caution_torch(FEATURE_cable), "stop screw.*light all round, none, or on one side"));
  assert_false(says(caution_torch(FEATURE_cable), "drive|unplug"));
}

static void table_holds_together(void **state) {
  (void)state;
  unsigned protected = 0;
  for (int i = 0; i < CAUTION_COUNT; i++) {
    const struct caution_row *row = &caution_rows[i];
    assert_true(row->steps && strlen(row->text) > strlen(row->brief) / 2 && strlen(row->brief) > 20);
    if (strlen(row->brief) > 95) fail_msg("%s: more than a line", row->name);
    protected |= row->steps;
    for (int k = 0; k < i; k++) assert_string_not_equal(caution_rows[k].name, row->name);
  }
  assert_int_equal(protected, (1 << CAUTION_STEP_COUNT) - 1); // no step without any caution
  assert_int_equal(caution_for(0, ~0u), 0);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(table_holds_together),
      cmocka_unit_test(the_rule_of_the_drive),
      cmocka_unit_test(no_step_without_its_caution),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
