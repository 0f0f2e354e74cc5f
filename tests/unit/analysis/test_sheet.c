/* The bench test sheet. Truth: hand values from the engine file (dividers, ratios, a ring's area),
 * invariants of the tables, and what a fault must do by its definition (a sensor 20 % low asks for 25 %
 * more fuel). Trade values: common practice, no source. */
#include "analysis/testsheet/sheet_complaint.h"

#include "base/attributes.h"
#include "base/units.h"
#include "io/config/engine_file.h"
#include "support/check.h"

#include <glob.h>
#include <stdlib.h>
#include <string.h>

/* A sheet of an engine, all jobs done. free() it. */
static struct sheet *sheet_of(const struct engine *engine) {
  struct sheet *sheet = malloc(sizeof *sheet);
  assert_non_null(sheet);
  struct error error;
  error_clear(&error);
  sheet_init(sheet, engine);
  for (size_t i = 0; i < sheet->job_count; i++)
    if (sheet_run_job(sheet, i, &error) != STATUS_OK) fail_msg("%s: job %zu: %s", engine->name, i, error.text);
  sheet_finish(sheet);
  return sheet;
}

static void read_engine(const char *path, struct engine *engine) {
  struct error error;
  error_clear(&error);
  if (engine_file_read(path, engine, &error) != STATUS_OK) fail_msg("%s", error.text);
}

static struct engine four;
static struct sheet *four_sheet; // shared by the tests that only look

static int make_four_sheet(void **state) {
  (void)state;
  read_engine("models/four-16.cfg", &four);
  four_sheet = sheet_of(&four);
  return 0;
}

static int free_four_sheet(void **state) {
  (void)state;
  free(four_sheet);
  return 0;
}

static const struct sheet_reading *reading(const struct sheet *sheet, const char *id) {
  const struct sheet_reading *found = sheet_find(sheet, id);
  if (!found) fail_msg("%s has no test %s", sheet->engine->name, id);
  return found;
}

static double good(const char *id) { return reading(four_sheet, id)->good; }

/* What a test reads with the fault that has this condition at this value. */
static const struct sheet_departure *departure(const char *id, const char *condition, double value) {
  const struct sheet_reading *one = reading(four_sheet, id);
  for (size_t i = 0; i < one->departure_count; i++) {
    const struct sheet_set *set = &one->departures[i].fault->sets[0];
    if (strcmp(set->condition, condition) == 0 && fabs(set->value - value) < 1e-9) return &one->departures[i];
  }
  fail_msg("%s is not tried with %s %g", id, condition, value);
  return NULL;
}

static double with(const char *id, const char *condition, double value) { return departure(id, condition, value)->value; }

/* ---- good values against the engine file ---- */
static void circuits_read_what_the_engine_file_says(void **state) {
  (void)state;
  const struct throttle_params *t = &four.plant.throttle;
  check_close(good("track1_closed"), 5.0 * t->closed_position_ratio, 0.01);
  check_close(good("track1_open"), 5.0 * t->open_position_ratio, 0.01);
  check_close(good("track2_closed"), 5.0 * t->closed2_position_ratio, 0.01);
  check_close(good("track2_open"), 5.0 * t->open2_position_ratio, 0.01);
  check_close(good("tracks_sum"), 5.0, 0.01); // 10 and 90 %: they mirror each other
  assert_null(sheet_find(four_sheet, "tracks_ratio"));
  check_close(good("pedal1_released"), 0.8, 0.001);
  check_close(good("pedal1_floored"), 4.2, 0.001);
  check_close(good("pedal2_released"), 0.4, 0.001);
  check_close(good("pedal2_floored"), 2.1, 0.001);
  check_close(good("pedal_ratio"), 2.0, 0.001);
  assert_null(sheet_find(four_sheet, "pedal_sum"));
  const double span = 0.5 * UNITS_PI - t->bore.closed_angle_rad;
  const double rest =
      t->closed_position_ratio + (t->open_position_ratio - t->closed_position_ratio) * four.plant.drive.rest_opening_rad / span;
  check_close(good("track1_rest"), 5.0 * rest, 0.01);
  check_close(good("track1_smooth"), 0.0, 0.005);
  check_close(good("motor_ohm"), four.plant.drive.resistance_ohm, 0.01);
}

/* Common practice, no source: 12 V with the key on, 14 V while charging, nothing once the drive sleeps. */
static void supply_comes_and_goes(void **state) {
  (void)state;
  check_close(good("supply_key_on"), 12.6, 1e-9);
  check_close(good("supply_key_off"), 12.6, 1e-9);
  check_close(good("supply_charging"), 14.0, 0.05);
  check_close(good("supply_asleep"), 0.0, 1e-9);
  check_close(with("supply_key_on", "motor_supply_lost", 1), 0.0, 1e-9);
  check_close(with("supply_key_on", "battery_rest_v", 11.8), 11.8, 1e-9);
  check_close(with("supply_charging", "motor_supply_lost", 1), 0.0, 1e-9);
  check_close(good("charging"), 14.0, 0.05);
  check_close(reading(four_sheet, "charging")->low, 13.8, 1e-12); // the usual range of the trade
  check_close(reading(four_sheet, "charging")->high, 14.7, 1e-12);
  check_close(with("charging", "charging_v", 0), 12.6, 1e-9); // the battery at rest
  assert_true(departure("charging", "charging_v", 0)->seen);
  assert_true(departure("charging", "charging_v", 13.2)->seen);
  assert_true(departure("charging", "charging_v", 15.5)->seen);
}

/* A thin ring of the clearance, less the arcs that the shaft hides: |R sin(theta)| below half its diameter.
 * */
static void closed_gap_is_the_ring(void **state) {
  (void)state;
  const struct bore_geometry *bore = &four.plant.throttle.bore;
  const double hidden_rad = 4.0 * asin(0.5 * bore->shaft_diameter_m / bore->radius_m);
  const double ring_m2 = (2.0 * UNITS_PI - hidden_rad) * bore->radius_m * bore->clearance_m;
  check_relative(good("closed_gap"), ring_m2 / UNITS_M2_PER_MM2, 0.01);
  check_close(good("rest_opening"), four.plant.drive.rest_opening_rad / UNITS_RAD_PER_DEG, 1e-6);
  check_close(good("hand_shut"), 0.0, 1e-6);
  check_close(good("hand_open"), 83.0, 1e-6);
  check_close(good("wake_travel"), good("rest_opening"), 0.05); // from rest to the stop
}

/* ---- departures ---- */
static void circuits_depart_as_ohm_says(void **state) {
  (void)state;
  const double rest_share = good("track1_rest") / 5.0;
  const double ground = 200.0 / (1000.0 + 200.0); // the track has 1 kilo-ohm
  check_close(with("track1_rest", "tps_ground_ohm", 200), 5.0 * (ground + (1.0 - ground) * rest_share), 0.01);
  check_close(with("track1_rest", "tps_supply_swapped", 1), 5.0 - good("track1_rest"), 0.01);
  check_close(with("track1_rest", "tps1_offset_v", 0.4), good("track1_rest") + 0.4, 0.01);
  check_close(with("track1_rest", "tps2_offset_v", 0.4), good("track1_rest"), 0.01);
  check_close(with("track1_rest", "sensor_supply_v", 4.5), 0.9 * good("track1_rest"), 0.01);
  check_close(with("tracks_sum", "tps1_offset_v", 0.4), good("tracks_sum") + 0.4, 0.01);
  check_close(with("pedal1_floored", "sensor_supply_v", 4.5), 0.9 * good("pedal1_floored"), 0.001);
  check_close(with("pedal1_smooth", "app1_worn_v", 0.8), 0.8,
              0.15); // the spot's depth, less what the ramp rises meanwhile
  check_close(with("motor_ohm", "motor_resistance_ratio", 3), 3.0 * good("motor_ohm"), 0.02);
  check_close(with("track1_closed", "tps1_open", 1), 0.0, 1e-9);
  assert_true(isnan(with("motor_ohm", "motor_open", 1))); // no current
}

static void springs_and_film_depart(void **state) {
  (void)state;
  check_close(with("closed_gap", "film_um", 60), 0.0, 1e-9); // thicker than the clearance all round
  check_below(with("closed_gap", "film_um", 30), 0.25 * good("closed_gap"));
  assert_true(departure("closed_gap", "film_um", 30)->seen);
  check_close(with("hand_from_open", "spring_ratio", 0), good("hand_open"),
              1e-6); // stays where it was let go
  check_close(with("hand_from_shut", "spring_ratio", 0), 0.0, 1e-6);
  check_close(with("hand_shut", "blade_jammed", 1), good("rest_opening"), 1e-6);
}

/* A film costs opening and learned air, not air flow: the engine breathes at idle what idling takes. */
static void film_hides_from_air_flow(void **state) {
  (void)state;
  check_close(with("air_idle", "film_um", 30), good("air_idle"), 0.02);
  check_above(with("idle_opening", "film_um", 30), good("idle_opening") + 0.5);
  check_above(with("idle_learned", "film_um", 60), with("idle_learned", "film_um", 30));
  check_above(with("idle_learned", "film_um", 30), reading(four_sheet, "idle_learned")->high);
  check_close(with("trims_idle", "film_um", 60), 0.0, 0.5);
  check_below(with("idle_speed", "film_um", 60), reading(four_sheet, "idle_speed")->low);
  assert_true(departure("idle_speed", "film_um", 60)->seen);
}

/* Fuel follows the sensor: trims make good 1 / 0.8 and 1 / 0.85; a leak's share fades as the flow grows. */
static void trims_make_good_what_is_wrong(void **state) {
  (void)state;
  check_close(with("trims_idle", "maf_gain_ratio", 0.8), 25.0, 1.5);
  check_close(with("trims_held", "maf_gain_ratio", 0.8), 25.0, 2.5);
  check_close(with("trims_idle", "fuel_delivery_ratio", 0.85), 100.0 / 0.85 - 100.0, 1.0);
  check_above(with("trims_idle", "leak_mm2", 2), reading(four_sheet, "trims_idle")->high);
  check_below(with("trims_held", "leak_mm2", 2), 0.6 * with("trims_idle", "leak_mm2", 2));
  check_above(with("trims_idle", "leak_mm2", 4), with("trims_idle", "leak_mm2", 2));
  check_below(with("trims_idle", "purge_stuck_mm2", 2), reading(four_sheet, "trims_idle")->low);
  check_close(with("air_idle", "maf_gain_ratio", 0.8), 0.8 * good("air_idle"), 0.03);
}

/* A torch tells light from none, and no numbers. */
static void torch_tells_light(void **state) {
  (void)state;
  const struct sheet_reading *gap = reading(four_sheet, "closed_gap");
  assert_string_equal(sheet_light(gap, gap->good), "light all round");
  assert_string_equal(sheet_light(gap, with("closed_gap", "film_um", 60)), "none");
  assert_string_equal(sheet_light(gap, 0.3 * gap->good), "thin, or on one side");
  assert_string_equal(sheet_light(gap, 20.0 * gap->good), "wide open");
  for (size_t i = 0; i < gap->departure_count; i++) { // told as different only where another word is
    const bool light = strcmp(sheet_light(gap, gap->departures[i].value), "light all round") == 0;
    assert_int_equal(light, !gap->departures[i].seen);
  }
}

/* Every complaint has tests on every engine it is for, and its fault beside them; every sheet tells of charging. */
static void complaints_have_tests(const struct sheet *sheet) {
  assert_non_null(sheet_find(sheet, "charging"));
  unsigned cautions = 0;
  for (size_t k = 0; k < sheet_complaint_count; k++) {
    const struct sheet_complaint *complaint = &sheet_complaints[k];
    const struct sheet_reading *tests[SHEET_COMPLAINT_TEST_MAX];
    const size_t count = sheet_complaint_tests(sheet, complaint, tests);
    if (!sheet_complaint_applies(sheet, complaint)) continue;
    assert_true(count >= 2);
    const struct sheet_fault *fault = sheet_complaint_fault(sheet, complaint);
    if (!fault) fail_msg("%s: nothing beside the tests of %s", sheet->engine->name, complaint->name);
    bool seen = false;
    for (size_t i = 0; i < count; i++) {
      const struct sheet_departure *departure = sheet_complaint_departure(tests[i], fault);
      seen |= departure && departure->seen;
      cautions |= tests[i]->cautions;
    }
    if (!seen) fail_msg("%s: no test of %s sees %s", sheet->engine->name, complaint->name, fault->label);
  }
  assert_int_equal(cautions, sheet_complaint_cautions(sheet));
}

/* Ids of a complaint that no engine has would be a slip of the pen. */
static void complaints_name_rows(void **state) {
  (void)state;
  for (size_t k = 0; k < sheet_complaint_count; k++)
    for (size_t i = 0; i < SHEET_COMPLAINT_TEST_MAX && sheet_complaints[k].tests[i]; i++) {
      bool found = false;
      for (size_t r = 0; r < sheet_row_count; r++) found |= strcmp(sheet_rows[r].id, sheet_complaints[k].tests[i]) == 0;
      if (!found) fail_msg("%s: there is no test %s", sheet_complaints[k].name, sheet_complaints[k].tests[i]);
    }
}

/* A fault that no test sees would be a hole in the sheet. */
static void every_fault_is_seen_somewhere(void **state) {
  (void)state;
  for (size_t k = 0; k < sheet_fault_count; k++) {
    bool tried = false, seen = false;
    for (size_t i = 0; i < four_sheet->reading_count; i++)
      for (size_t d = 0; d < four_sheet->readings[i].departure_count; d++) {
        const struct sheet_departure *one = &four_sheet->readings[i].departures[d];
        if (one->fault != &sheet_fault_rows[k]) continue;
        tried = true;
        seen |= one->seen;
      }
    if (tried && !seen) fail_msg("no test sees %s", sheet_fault_rows[k].label);
    const unsigned needs = sheet_needs(sheet_fault_rows[k].sets, sheet_fault_rows[k].needs);
    if (!tried && (needs & (FEATURE_manifold_sensor | FEATURE_charger | FEATURE_cable)) == 0)
      fail_msg("%s is never tried", sheet_fault_rows[k].label);
  }
}

/* ---- every engine ---- */
/* What must stand before a test, by what is done there; what the engine lacks has no caution. */
static void cautions_are_where_they_belong(const struct sheet *sheet, const struct sheet_reading *one) {
  const struct sheet_row *row = one->row;
  const enum sheet_procedure procedure = sheet_procedure_window_rows[row->window].procedure;
  const enum sheet_procedure_window w = row->window;
  const bool electronic = sheet->engine->plant.throttle.kind == THROTTLE_ELECTRONIC;
  unsigned must = 0, never = 0;
  if (procedure == SHEET_PROCEDURE_RUN) must |= CAUTION_moving | CAUTION_fumes;
  if (w == SHEET_PROCEDURE_WINDOW_gear) must |= CAUTION_gear;
  if (electronic && procedure == SHEET_PROCEDURE_KEY && w != SHEET_PROCEDURE_WINDOW_key_off) must |= CAUTION_fingers;
  if (procedure == SHEET_PROCEDURE_UNPLUGGED) must |= CAUTION_fingers | CAUTION_unplugging | CAUTION_relearn;
  if (w >= SHEET_PROCEDURE_WINDOW_pressed_shut && w <= SHEET_PROCEDURE_WINDOW_from_open) must |= CAUTION_hand;
  if (strcmp(row->id, "closed_gap") == 0 || strcmp(row->id, "stop_gap") == 0)
    must |= CAUTION_solvent | CAUTION_coating | CAUTION_stop_screw;
  if (strstr(sheet_where(sheet, one), "oltmeter") || strstr(sheet_where(sheet, one), "signal'")) must |= CAUTION_leads;
  if (strstr(sheet_where(sheet, one), "battery's posts")) must |= CAUTION_battery;
  if (!electronic) never |= CAUTION_fingers | CAUTION_hand;
  if (electronic) never |= CAUTION_valve;
  if (sheet->engine->plant.loads.converter_torque_nm <= 0.0) never |= CAUTION_gear;
  if ((one->cautions & must) != must) fail_msg("%s lacks a caution: has %x, must have %x", row->id, one->cautions, must);
  if ((sheet->cautions | one->cautions) & never) fail_msg("%s: a caution for what %s lacks", row->id, sheet->engine->name);
}

static void check_reading(const struct sheet *sheet, const struct sheet_reading *one) {
  const struct sheet_row *row = one->row;
  if (!isfinite(one->good) || !isfinite(one->tolerance)) fail_msg("%s of %s is not a number", row->id, sheet->engine->name);
  check_relative(one->tolerance * one->tolerance,
                 one->scatter * one->scatter + one->resolution * one->resolution + one->unit * one->unit, 1e-9);
  if (!row->torch) check_above(one->tolerance, 0.999 * row->resolution);
  if (row->torch) check_above(one->tolerance, 0.399 * one->good); // no finer than an eye tells light
  assert_true(one->low <= one->good && one->good <= one->high);
  const bool running = sheet_procedure_window_rows[row->window].procedure == SHEET_PROCEDURE_RUN;
  if (!running) check_close(one->scatter, 0.0, 1e-9); // nothing scatters with the engine off
  bool unseen = false;
  for (size_t i = 0; i < one->departure_count; i++) {
    const struct sheet_departure *d = &one->departures[i];
    const double off = d->value - one->good;
    const bool usual = row->usual_high > 0.0; // the trade's range, not the computed one
    const bool beyond = usual ? d->value < row->usual_low || d->value > row->usual_high
                              : off > one->tolerance || (off < -one->tolerance && !row->less_is_good);
    assert_int_equal(d->seen, isnan(d->value) || beyond);
    if (d->seen) assert_false(d->value > one->low && d->value < one->high);
    assert_false(unseen && d->seen); // what is seen comes first
    unseen |= !d->seen;
  }
  cautions_are_where_they_belong(sheet, one);
  assert_int_equal(sheet->cautions & one->cautions, one->cautions);
}

/* An engine with one cylinder at half its compression shakes; common practice, no source. */
static void half_a_cylinder_shakes(const struct sheet *sheet) {
  const struct sheet_reading *shake = reading(sheet, "idle_steadiness");
  for (size_t i = 0; i < shake->departure_count; i++)
    if (strcmp(shake->departures[i].fault->sets[0].condition, "cylinder_compression_loss_pct") == 0) {
      assert_true(shake->departures[i].seen);
      return;
    }
  fail_msg("half a cylinder is not tried on %s", sheet->engine->name);
}

static void check_sheet(const struct sheet *sheet) {
  assert_true(sheet->reading_count > 10);
  for (size_t i = 0; i < sheet->reading_count; i++) check_reading(sheet, &sheet->readings[i]);
  const struct sheet_reading *speed = reading(sheet, "idle_speed");
  check_above(speed->scatter, 0.01); // cycle scatter reaches the reading
  check_above(speed->good, 400.0);
  const bool drive = sheet->engine->plant.drive.gear_ratio > 0.0;
  assert_int_equal(sheet_find(sheet, "supply_key_on") != NULL, drive);
  assert_int_equal(sheet_find(sheet, "closed_gap") != NULL, drive);
  const bool air_flow = sheet->engine->computer.fuel.metering == METERING_AIR_FLOW;
  assert_int_equal(sheet_find(sheet, "air_idle") != NULL, air_flow);
  assert_int_equal(sheet_find(sheet, "sensor_idle") != NULL, engine_has(sheet->engine, FEATURE_manifold_sensor));
  assert_int_equal(sheet_find(sheet, "charge_still") != NULL, engine_has(sheet->engine, FEATURE_charger));
  const bool cable = sheet->engine->plant.throttle.kind == THROTTLE_CABLE;
  assert_int_equal(sheet_find(sheet, "idle_steps") != NULL, cable);
  assert_int_equal(sheet_find(sheet, "stop_gap") != NULL, cable);
  assert_int_equal(sheet_find(sheet, "idle_opening") != NULL, !cable);
  assert_int_equal(sheet_find(sheet, "pedal1_released") != NULL, !cable);
  assert_int_equal(sheet_find(sheet, "track2_open") != NULL, sheet->engine->plant.throttle.open2_position_ratio > 0.0);
  assert_int_equal(sheet_find(sheet, "trims2_idle") != NULL, sheet->engine->plant.charge.bank_count == 2);
  assert_int_equal(sheet_find(sheet, "air_gear") != NULL, air_flow && sheet->engine->plant.loads.converter_torque_nm > 0.0);
}

/* What only an engine with a charger can have is seen on it. */
static void charger_faults_are_seen(const struct sheet *sheet) {
  for (size_t k = 0; k < sheet_fault_count; k++) {
    bool seen = !(sheet_needs(sheet_fault_rows[k].sets, sheet_fault_rows[k].needs) & FEATURE_charger);
    for (size_t i = 0; i < sheet->reading_count; i++)
      for (size_t d = 0; d < sheet->readings[i].departure_count; d++)
        if (sheet->readings[i].departures[d].fault == &sheet_fault_rows[k]) seen |= sheet->readings[i].departures[d].seen;
    if (!seen) fail_msg("no test of %s sees %s", sheet->engine->name, sheet_fault_rows[k].label);
  }
}

static void every_engine_has_a_sheet(void **state) {
  (void)state;
  glob_t models;
  assert_int_equal(glob("models/*.cfg", 0, NULL, &models), 0);
  for (size_t i = 0; i < models.gl_pathc; i++) {
    struct engine engine;
    read_engine(models.gl_pathv[i], &engine);
    struct sheet *sheet = sheet_of(&engine);
    check_sheet(sheet);
    complaints_have_tests(sheet);
    half_a_cylinder_shakes(sheet);
    if (engine_has(&engine, FEATURE_charger)) charger_faults_are_seen(sheet);
    free(sheet);
  }
  globfree(&models);
}

/* The same engine with a pressure sensor, two banks and no drive's electrics. */
static void other_kinds_leave_rows_out(void **state) {
  (void)state;
  struct engine engine = four;
  engine.plant.drive.gear_ratio = 0.0;
  engine.plant.charge.bank_count = 2;
  engine.computer.fuel.metering = METERING_PRESSURE;
  engine.plant.loads.converter_torque_nm = 0.0;
  struct sheet *sheet = sheet_of(&engine);
  check_sheet(sheet);
  check_close(reading(sheet, "sensor_still")->good, 101.325, 0.1); // standard atmosphere
  free(sheet);
}

/* The same engine with a cable, one track and a bypass valve. */
static void cable_has_steps(void **state) {
  (void)state;
  struct engine engine = four;
  engine.plant.drive.gear_ratio = 0.0;
  struct throttle_params *t = &engine.plant.throttle;
  t->kind = THROTTLE_CABLE;
  t->closed2_position_ratio = t->open2_position_ratio = 0.0;
  for (int i = 0; i < 2; i++) t->released_pedal_ratio[i] = t->floored_pedal_ratio[i] = 0.0;
  engine.plant.bypass = (struct bypass_params){.seat_diameter_m = 12e-3,
                                               .cone_angle_rad = 30.0 * UNITS_RAD_PER_DEG,
                                               .pitch_m = 25e-6,
                                               .step_count = 200,
                                               .discharge_ratio = 0.7,
                                               .steps_per_s = 160.0};
  struct sheet *sheet = sheet_of(&engine);
  check_sheet(sheet);
  const struct sheet_reading *idle = reading(sheet, "idle_steps"), *gear = reading(sheet, "gear_steps");
  check_above(idle->good, 5.0);
  check_above(gear->good, idle->good); // in gear takes more air
  check_close(reading(sheet, "track1_closed")->good, 5.0 * t->closed_position_ratio,
              0.01);                                                       // its stop screw is at zero here
  check_close(reading(sheet, "stop_gap")->good, good("closed_gap"), 1e-6); // the same bore, closed
  free(sheet);
}

/* ---- tables ---- */
static void check_sets(const char *label, const struct sheet_set *sets) {
  for (size_t i = 0; i < SHEET_SET_MAX && sets[i].condition; i++) {
    const struct condition_row *row = condition_find(sets[i].condition);
    if (!row) fail_msg("%s: no condition is called %s", label, sets[i].condition);
    assert_true(sets[i].value >= row->field.min && sets[i].value <= row->field.max);
    if (fabs(sets[i].value - row->initial) < 1e-12) fail_msg("%s leaves %s as it is", label, sets[i].condition);
  }
}

static void tables_hold_together(void **state) {
  (void)state;
  for (size_t i = 0; i < sheet_fault_count; i++) {
    const struct sheet_fault *fault = &sheet_fault_rows[i];
    assert_non_null(fault->sets[0].condition);
    check_sets(fault->label, fault->sets);
    assert_true(fault->procedures && fault->sections && *fault->meaning);
  }
  for (size_t i = 0; i < sheet_allowance_count; i++) {
    check_sets(sheet_allowances[i].text, sheet_allowances[i].sets);
    assert_true(sheet_allowances[i].sets[0].condition || sheet_allowances[i].clearance_m > 0.0);
  }
  assert_true(sheet_row_count <= SHEET_ROW_MAX);
  for (size_t i = 0; i < sheet_row_count; i++)
    for (size_t k = 0; k < i; k++) {
      assert_string_not_equal(sheet_rows[i].id, sheet_rows[k].id);
      assert_string_not_equal(sheet_rows[i].title, sheet_rows[k].title);
      assert_true(sheet_rows[i].section >= sheet_rows[k].section); // sections stay together
    }
}

/* A job gives the same readings whenever it is run, and in whatever order. */
static void jobs_repeat(void **state) {
  (void)state;
  struct sheet *again = malloc(sizeof *again);
  assert_non_null(again);
  sheet_init(again, &four);
  assert_int_equal(again->job_count, four_sheet->job_count);
  struct error error;
  error_clear(&error);
  for (size_t i = again->job_count; i-- > 0;) {
    if (again->jobs[i].kind != SHEET_JOB_GOOD) continue;
    assert_int_equal(sheet_run_job(again, i, &error), STATUS_OK);
    assert_memory_equal(&again->jobs[i], &four_sheet->jobs[i], sizeof again->jobs[i]);
  }
  free(again);
}

/* An engine that cannot idle has no sheet, and says why. */
static void engine_that_does_not_idle(void **state) {
  (void)state;
  struct engine engine = four;
  engine.computer.air.base_kg_s *= 0.2;
  struct sheet *sheet = malloc(sizeof *sheet);
  assert_non_null(sheet);
  sheet_init(sheet, &engine);
  assert_int_equal(sheet->jobs[0].procedure, SHEET_PROCEDURE_RUN);
  struct error error;
  error_clear(&error);
  assert_int_equal(sheet_run_job(sheet, 0, &error), STATUS_BAD_CONFIG);
  assert_non_null(strstr(error.text, "four-16 does not idle as a good unit"));
  free(sheet);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(tables_hold_together),
      cmocka_unit_test(circuits_read_what_the_engine_file_says),
      cmocka_unit_test(supply_comes_and_goes),
      cmocka_unit_test(closed_gap_is_the_ring),
      cmocka_unit_test(circuits_depart_as_ohm_says),
      cmocka_unit_test(springs_and_film_depart),
      cmocka_unit_test(film_hides_from_air_flow),
      cmocka_unit_test(trims_make_good_what_is_wrong),
      cmocka_unit_test(torch_tells_light),
      cmocka_unit_test(complaints_name_rows),
      cmocka_unit_test(every_fault_is_seen_somewhere),
      cmocka_unit_test(every_engine_has_a_sheet),
      cmocka_unit_test(other_kinds_leave_rows_out),
      cmocka_unit_test(cable_has_steps),
      cmocka_unit_test(jobs_repeat),
      cmocka_unit_test(engine_that_does_not_idle),
  };
  return cmocka_run_group_tests(tests, make_four_sheet, free_four_sheet);
}
