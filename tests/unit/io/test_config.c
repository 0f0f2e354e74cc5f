/* The strict reader on engine files, and on files that are none. Truth: the values and lines that stand in
 * the files themselves; a range comes from the tables of parameters. */
#include "base/attributes.h"
#include "base/units.h"
#include "io/config/engine_file.h"
#include "io/config/file_kind.h"
#include "io/config/scenario_file.h"
#include "support/check.h"
#include "support/slip.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include <cmocka.h>

static struct error error;
static struct engine engine;

static enum status read_engine(const char *path, struct error *told) { return engine_file_read(path, &engine, told); }

static void model_reads_in_si(void **state) {
  (void)state;
  error_clear(&error);
  assert_int_equal(read_engine(SLIP_MODEL, &error), STATUS_OK);
  assert_string_equal(error.text, "");
  assert_string_equal(engine.name, "four-16");
  assert_string_equal(engine.title, "1.6 l four, electronic throttle, air-flow sensor, automatic");
  slip_assert_close(engine.plant.throttle.bore.radius_m, 0.026);
  slip_assert_close(engine.plant.throttle.bore.clearance_m, 22e-6);
  slip_assert_close(engine.plant.throttle.film_shape.band_half_width_m, 0.004);
  slip_assert_close(engine.plant.intake.filter_drop_pa_s2_kg2, 2500.0 / 0.01);
  slip_assert_close(engine.plant.intake.wall_warmth_ratio, 0.57);
  slip_assert_close(engine.plant.mixture.wall_share_ratio, 0.3);
  slip_assert_close(curve_value(&engine.plant.mixture.wall_time_s, 363.15), 0.25);
  slip_assert_close(engine.plant.drive.rest_opening_rad, 4.0 * UNITS_RAD_PER_DEG);
  assert_int_equal(engine.computer.fuel.metering, METERING_AIR_FLOW);
  slip_assert_close(engine.computer.fuel.closed_loop_k, 303.15);
  slip_assert_close(engine.computer.fuel.long_limit_ratio, 0.25);
  assert_int_equal(engine.plant.charge.cylinder_count, 4);
  slip_assert_close(engine.plant.charge.pressure_offset_pa, -7000.0);
  assert_int_equal(engine.plant.throttle.discharge.count, 5);
  slip_assert_close(curve_value(&engine.plant.throttle.discharge, 5.0 * UNITS_RAD_PER_DEG), 0.67);
  // keys that the file leaves out: a plain bore, the band on the closed line
  slip_assert_close(engine.plant.throttle.bore.contour_m, 0.0);
  slip_assert_close(engine.plant.throttle.bore.contour_length_m, 0.0);
  slip_assert_close(engine.plant.throttle.film_shape.offset_m, 0.0);
  slip_assert_close(curve_value(&engine.computer.target.by_coolant, 293.15), 1300.0 * UNITS_RAD_S_PER_RPM);
  slip_assert_close(engine.computer.air.proportional_s_rad, 0.0004 / UNITS_RAD_S_PER_RPM);
  slip_assert_close(engine.computer.supervision.debounce_s, 10.0);
}

static void every_required_key_is_missed(void **state) {
  (void)state;
  const struct {
    const struct field_group *groups;
    size_t count;
  } tables[] = {{plant_params_groups, plant_params_group_count}, {computer_params_groups, computer_params_group_count}};
  for (size_t t = 0; t < ARRAY_COUNT(tables); t++) {
    for (size_t i = 0; i < tables[t].count; i++) {
      const struct field_group *group = &tables[t].groups[i];
      if (strcmp(group->name, "bypass") == 0 || strcmp(group->name, "charger") == 0) continue; // this engine has none
      for (size_t j = 0; j < group->count; j++) {
        if (group->fields[j].has_default) continue; // it may be left out
        // The key is renamed within its group to one that is near nothing: both faults must be told.
        char head[80], wanted[200];
        snprintf(head, sizeof head, "\n%s = {", group->name);
        const char *begin = strstr(slip_here.model, head);
        assert_non_null(begin);
        char name[80];
        snprintf(name, sizeof name, "%s = ", group->fields[j].key);
        const char *place = strstr(begin, name);
        assert_non_null(place);
        static char changed[SLIP_TEXT_SIZE];
        const int size = snprintf(changed, sizeof changed, "%.*sQQQQ = %s", (int)(place - slip_here.model), slip_here.model,
                                  place + strlen(name));
        slip_write(slip_here.engine_path, changed, (size_t)size);
        error_clear(&error);
        assert_int_equal(read_engine(slip_here.engine_path, &error), STATUS_BAD_CONFIG);
        assert_int_equal(error.line_count, 2);
        snprintf(wanted, sizeof wanted, "key '%s.%s' is missing: ", group->name, group->fields[j].key);
        assert_non_null(strstr(error.text, wanted));
        snprintf(wanted, sizeof wanted, "key '%s.QQQQ' is unknown; allowed here: ", group->name);
        assert_non_null(strstr(error.text, wanted));
      }
    }
  }
}

/* A file written before the key was there: what its row says stands. */
static void a_key_with_a_default_may_be_absent(void **state) {
  (void)state;
  static const char *const text = "dead_band_deg = 0.07; gear_ratio = ";
  static char changed[SLIP_TEXT_SIZE];
  assert_null(strstr(slip_here.model, "dead_band_deg"));
  error_clear(&error);
  slip_write(slip_here.engine_path, slip_here.model, strlen(slip_here.model));
  assert_int_equal(read_engine(slip_here.engine_path, &error), STATUS_OK);
  slip_assert_close(engine.plant.drive.dead_band_rad, 0.0);
  const char *place = strstr(slip_here.model, "gear_ratio = ");
  assert_non_null(place);
  const int size = snprintf(changed, sizeof changed, "%.*s%s%s", (int)(place - slip_here.model), slip_here.model, text,
                            place + strlen("gear_ratio = "));
  slip_write(slip_here.engine_path, changed, (size_t)size);
  assert_int_equal(read_engine(slip_here.engine_path, &error), STATUS_OK);
  slip_assert_close(engine.plant.drive.dead_band_rad, 0.07 * UNITS_RAD_PER_DEG);
}

/* A key with a default may be left out, then the struct holds the default of the table in SI; written, it is read and checked. */
static void keys_with_defaults(void **state) {
  (void)state;
  error_clear(&error);
  assert_int_equal(read_engine(SLIP_MODEL, &error), STATUS_OK);
  assert_int_equal(engine.computer.scan.load_definition, COMPUTER_LOAD_STANDARD);
  slip_assert_close(engine.computer.scan.relative_zero_ratio, 0.0);
  static char text[SLIP_TEXT_SIZE];
  int size = snprintf(text, sizeof text, "%s\nscan = { load_definition = \"pressure_ratio\"; relative_zero_pct = 19.0; };\n",
                      slip_here.model);
  slip_write(slip_here.engine_path, text, (size_t)size);
  assert_int_equal(read_engine(slip_here.engine_path, &error), STATUS_OK);
  assert_int_equal(engine.computer.scan.load_definition, COMPUTER_LOAD_PRESSURE_RATIO);
  slip_assert_close(engine.computer.scan.relative_zero_ratio, 0.19);
  size = snprintf(text, sizeof text, "%s\nscan = { relative_zero_pct = 60.0; };\n", slip_here.model);
  slip_write(slip_here.engine_path, text, (size_t)size);
  assert_int_equal(read_engine(slip_here.engine_path, &error), STATUS_BAD_CONFIG);
  assert_non_null(strstr(error.text, "'scan.relative_zero_pct'"));
  assert_non_null(strstr(error.text, "0 to 40"));
}

static void each_slip_in_an_engine_file_is_named(void **state) {
  (void)state;
  static const struct slip slips[] = {
      {"title = ", "titel = \"x\"; title = ", NULL, "key 'titel' is unknown; did you mean 'title'?"},
      {"title = \"1", "title = \"\\x1b1", NULL, "key 'title' contains a control character or bytes that are not UTF-8"},
      {"title = \"1", "title = \"\\xff1", NULL, "key 'title' contains a control character or bytes that are not UTF-8"},
      {"shaft_mm = 8.0;", "shaft_mm = 8.0; shaft_nm = 8.0;", NULL,
       "key 'throttle.shaft_nm' is unknown; did you mean 'shaft_mm'?"},
      {"lag_s = 0.03;", "lag_s = 0.03; zzzzzzz = 1;", NULL, "key 'air_sensor.zzzzzzz' is unknown; allowed here: lag_s, gain_pct"},
      {"crank = {", "gearbox9 = 1;\ncrank = {", NULL,
       "key 'gearbox9' is unknown; allowed here: title, throttle, film, intake, charge, combustion and 24 "
       "more, see "
       "`bladegap list parameters`"},
      {"air_sensor = { lag_s = 0.03; };", "air_sensor = 0.03;", NULL,
       "key 'air_sensor' must be a group { ... }, found the number 0.03"},
      {"bore_radius_mm = 26.0", "bore_radius_mm = 260", NULL, "key 'throttle.bore_radius_mm' is 260; allowed: 10 to 60"},
      {"bore_radius_mm = 26.0", "bore_radius_mm = \"26\"", NULL,
       "key 'throttle.bore_radius_mm' must be a number, found the text \"26\""},
      {"bore_radius_mm = 26.0", "bore_radius_mm = true", NULL, "key 'throttle.bore_radius_mm' must be a number, found true"},
      {"bore_radius_mm = 26.0", "bore_radius_mm = { }", NULL,
       "key 'throttle.bore_radius_mm' must be a number, found a group { ... }"},
      {"bore_radius_mm = 26.0", "bore_radius_mm = 1e999", NULL, "key 'throttle.bore_radius_mm' is too large a number"},
      {"bore_radius_mm = 26.0", "bore_radius_mm = -1e999", NULL, "key 'throttle.bore_radius_mm' is too large a number"},
      {"bore_radius_mm = 26.0", "bore_radius_mm = 0x1A", NULL,
       "key 'throttle.bore_radius_mm' is written in hexadecimal; write a decimal number"},
      {"bore_radius_mm = 26.0", "bore_radius_mm = 4294967322", NULL, // 2^32 + 26 wraps to 26
       "key 'throttle.bore_radius_mm' is too large a number"},
      {"bore_radius_mm = 26.0", "bore_radius_mm = 4294967322L", NULL,
       "key 'throttle.bore_radius_mm' is 4294967322; allowed: 10 to 60"},
      {"bore_radius_mm = 26.0", "bore_radius_mm = 99999999999999999999LL", NULL,
       "key 'throttle.bore_radius_mm' is too large a number"},
      {"cylinder_count = 4", "cylinder_count = 4.0", NULL,
       "key 'charge.cylinder_count' must be a whole number without a decimal point, found 4"},
      {"cylinder_count = 4", "cylinder_count = 13", NULL, "key 'charge.cylinder_count' is 13; allowed: 1 to 12"},
      {"cylinder_count = 4", "cylinder_count = -4294967292", NULL, "key 'charge.cylinder_count' is too large a number"},
      // curves
      {"(5.0, 0.67)", "(5.0, 1.67)", NULL, "key 'throttle.discharge_by_opening_deg' point 2: y is 1.67; allowed: 0.3 to 1"},
      {"(5.0, 0.67)", "(5.0, 0.67, 1)", NULL,
       "key 'throttle.discharge_by_opening_deg' point 2 must be two numbers (x, y), found a list of 3"},
      {"(5.0, 0.67)", "5.0", NULL,
       "key 'throttle.discharge_by_opening_deg' point 2 must be two numbers (x, y), found the number 5"},
      {"(5.0, 0.67)", "(\"5\", 0.67)", NULL,
       "key 'throttle.discharge_by_opening_deg' point 2: x must be a number, found the text \"5\""},
      {"(5.0, 0.67)", "(0.0, 0.67)", NULL,
       "key 'throttle.discharge_by_opening_deg' point 2: x is 0 after 0; x must increase from point to point"},
      {"(5.0, 0.67)", "(-5.0, 0.67)", NULL,
       "key 'throttle.discharge_by_opening_deg' point 2: x is -5 after 0; x must increase from point to point"},
      {"(5.0, 0.67)", "(1e-320, 0.67)", NULL,
       "key 'throttle.discharge_by_opening_deg' has points too close together or too far apart for a curve"},
      {"((600.0, 20.0), (2500.0, 30.0), (6000.0, 36.0))", "()", NULL,
       "key 'idle_spark.running_deg_by_rpm' must be a list of 1 to 24 points ((x, y), (x, y), ...), found a "
       "list of 0"},
      {"((600.0, 20.0), (2500.0, 30.0), (6000.0, 36.0))", "20.0", NULL,
       "key 'idle_spark.running_deg_by_rpm' must be a list of 1 to 24 points ((x, y), (x, y), ...), found the "
       "number 20"},
      // keys that bear on each other
      {"bore_radius_mm = 26.0;               // 52 mm bore; 40 to 60 mm is usual for 1.2 to 2.8 l\n"
       "  closed_deg = 7.0;                    // 5 to 15 usual; 7.9 in a published parameter set\n"
       "  shaft_mm = 8.0;",
       "bore_radius_mm = 10;\n closed_deg = 7;\n shaft_mm = 20;", "shaft_mm",
       "key 'throttle.shaft_mm' is 20; it must be below twice 'throttle.bore_radius_mm', which is 10: the "
       "shaft would fill "
       "the bore"},
      {"bore_radius_mm = 26.0;               // 52 mm bore; 40 to 60 mm is usual for 1.2 to 2.8 l\n"
       "  closed_deg = 7.0;                    // 5 to 15 usual; 7.9 in a published parameter set\n"
       "  shaft_mm = 8.0;",
       "bore_radius_mm = 10;\n closed_deg = 3;\n shaft_mm = 4;", "edge_land_mm",
       "key 'throttle.edge_land_mm' is 1.5; with this bore and 'throttle.closed_deg' it must be below 1.05: the edge would "
       "strike the "
       "wall as the blade opens"},
      {"edge_land_mm = 1.5;", "edge_land_mm = 1.5; contour_um = 100.0;", NULL,
       "key 'throttle.contour_um' is 100; over 'throttle.contour_mm', which is 0, it must be below 0: the gap would narrow as "
       "the blade "
       "opens"},
      {"edge_land_mm = 1.5;", "edge_land_mm = 1.5; contour_um = 160.0; contour_mm = 5.0;", NULL,
       "key 'throttle.contour_um' is 160; over 'throttle.contour_mm', which is 5, it must be below 150: the gap would narrow as "
       "the "
       "blade opens"},
      {"edge_land_mm = 1.5;", "edge_land_mm = 1.5; contour_um = 1600.0; contour_mm = 5.0;", NULL,
       "key 'throttle.contour_um' is 1600; allowed: 0 to 1000"},
      {"  band_mm = 4.0;", "  band_mm = 4.0; offset_mm = 11.0;", NULL, "key 'film.offset_mm' is 11; allowed: -10 to 10"},
      {"alternator_fade_low_rpm = 350.0", "alternator_fade_low_rpm = 720.0", NULL,
       "key 'loads.alternator_fade_low_rpm' is 720; it must be below 'loads.alternator_fade_high_rpm', which "
       "is 720: the "
       "alternator's output rises between the two"},
      {"thermostat_open_c = 96.0", "thermostat_open_c = 70", "thermostat_opens_c",
       "key 'warmth.thermostat_opens_c' is 86; it must be below 'warmth.thermostat_open_c', which is 70: it opens as the coolant "
       "warms up"},
      {"pedal1_floored_pct = 84.0", "pedal1_floored_pct = 10", "pedal1_released_pct",
       "key 'throttle.pedal1_released_pct' is 16; it must be below 'throttle.pedal1_floored_pct', which is 10: the reading rises "
       "with the pedal"},
      {"  stick_nm = 0.030", "  stick_nm = 0.001", "slide_nm",
       "key 'drive.slide_nm' is 0.02; it must not be above 'drive.stick_nm', which is 0.001: what holds a blade at rest is not "
       "less "
       "than what brakes a moving one"},
      {"stall_rpm = 300.0", "stall_rpm = 451", NULL,
       "key 'crank.stall_rpm' is 451; it must be below 'supervision.running_rpm', which is 450: an engine "
       "that counts as "
       "started must keep running"},
      {"\n  drive_rpm = 750.0", "\n  drive_rpm = 440", "running_rpm",
       "key 'supervision.running_rpm' is 450; it must be below 'idle_target.drive_rpm', which is 440: an "
       "idling engine must "
       "count as started"},
      {"\n  compressor_rpm = 850.0", "\n  compressor_rpm = 440", "running_rpm",
       "key 'supervision.running_rpm' is 450; it must be below 'idle_target.compressor_rpm', which is 440: "
       "an idling engine "
       "must count as started"},
      {"(80.0, 850.0)", "(80.0, 440.0)", NULL,
       "key 'idle_target.by_coolant_c' point 6: y is 440; it must be above 'supervision.running_rpm', which "
       "is 450: an "
       "idling engine must count as started"},
      {"(100.0, 83.0)", "(100.0, 84.0)", NULL,
       "key 'pedal.opening_deg_by_pct' point 5: y is 84; with 'throttle.closed_deg', 7, the blade would open "
       "past 90 "
       "degrees"},
      // what libconfig refuses, or takes and should not
      {"closed_deg = 7.0;", "closed_deg = 7.0; closed_deg = 7.0;", NULL,
       "a key of this group is written a second time: closed_deg = 7.0; closed_deg = 7.0;                    "
       "// 5"},
      {"closed_deg = 7.0;", "closed_deg 7.0;", NULL,
       "syntax error at or just before: closed_deg 7.0;                    // 5 to 15 usual; 7.9 in"},
      {"closed_deg = 7.0;", "closed_deg = nan;", NULL,
       "syntax error at or just before: closed_deg = nan;                    // 5 to 15 usual; 7.9 i"},
      {"film = {", "  @include \"other.cfg\"\nfilm = {", NULL,
       "'@include' and other directives are not allowed; write the settings into this file"},
      {"film = {", "/* film = {", NULL, "the comment that begins here with /* never ends"},
      {"automatic\";", "automatic;", NULL, "a text lacks its closing quotation mark, or runs over the end of the line"},
  };
  for (size_t i = 0; i < ARRAY_COUNT(slips); i++) slip_assert(slip_here.engine_path, slip_here.model, &slips[i], read_engine);
}

static void a_missing_group_is_one_fault(void **state) {
  (void)state;
  static const struct slip slip = {"air_sensor = { lag_s = 0.03; };", "", NULL, ""};
  slip_make(slip_here.engine_path, slip_here.model, &slip);
  error_clear(&error);
  assert_int_equal(read_engine(slip_here.engine_path, &error), STATUS_BAD_CONFIG);
  char wanted[200];
  snprintf(wanted, sizeof wanted, "%s:1: group 'air_sensor' is missing: air-flow sensor", slip_here.engine_path);
  assert_string_equal(error.text, wanted);
}

/* Rates and deviations are as usual unless the file says so, key by key: a file written before a cause was known stays good, and a name
 * that is none is still refused. */
static void what_is_usual_may_be_left_out(void **state) {
  (void)state;
  static char text[SLIP_TEXT_SIZE];
  struct engine usual, own;
  error_clear(&error);
  assert_int_equal(engine_file_read(SLIP_MODEL, &usual, &error), STATUS_OK);
  check_close(usual.rates.parts[CAUSE_film], 15.0, 0.0);
  slip_assert_close(usual.scatter.sd[SCATTER_closed_deg], 0.08 * UNITS_RAD_PER_DEG);
  int size =
      snprintf(text, sizeof text, "%s\ncause_rates = { film = 45.0; };\nscatter = { closed_deg = 0.2; };\n", slip_here.model);
  slip_write(slip_here.engine_path, text, (size_t)size);
  assert_int_equal(engine_file_read(slip_here.engine_path, &own, &error), STATUS_OK);
  for (int i = 0; i < CAUSE_COUNT; i++) check_close(own.rates.parts[i], i == CAUSE_film ? 45.0 : usual.rates.parts[i], 0.0);
  for (int i = 0; i < SCATTER_COUNT; i++)
    check_close(own.scatter.sd[i], i == SCATTER_closed_deg ? 0.2 * UNITS_RAD_PER_DEG : usual.scatter.sd[i], 1e-15);
  static const struct slip slips[] = {
      {"supervision = {", "cause_rates = { flim = 45.0; };\nsupervision = {", NULL,
       "key 'cause_rates.flim' is unknown; did you mean 'film'?"},
      {"supervision = {", "cause_rates = { film = -1.0; };\nsupervision = {", NULL,
       "key 'cause_rates.film' is -1; allowed: 0 to 1000000"},
      {"supervision = {", "scatter = { closed_dge = 0.1; };\nsupervision = {", NULL,
       "key 'scatter.closed_dge' is unknown; did you mean 'closed_deg'?"},
  };
  for (size_t i = 0; i < ARRAY_COUNT(slips); i++) slip_assert(slip_here.engine_path, slip_here.model, &slips[i], read_engine);
}

/* What is no slip: the same engine must come out. */
static void harmless_spellings_are_taken(void **state) {
  (void)state;
  static const struct slip rows[] = {
      {"// 1.6", "\xEF\xBB\xBF// 1.6", NULL, ""}, // byte-order mark
      {"title =", "# @include \"x\"\n/* \"\n @ */ title =", NULL, ""},
      {"bore_radius_mm = 26.0;", "bore_radius_mm : 26", NULL, ""},
      {"bore_radius_mm = 26.0", "bore_radius_mm = 26L", NULL, ""},
      {"bore_radius_mm = 26.0", "bore_radius_mm = 26.00000000000000", NULL, ""},
      {"bore_radius_mm = 26.0", "bore_radius_mm = 2.6e+0000000000001", NULL, ""},
      {"(5.0, 0.67)", "[5.0, 0.67]", NULL, ""},
      {"(5.0, 0.67)", "(5, .670000000000)", NULL, ""},
      {"\n\ntitle", "\r\n\r\ntitle", NULL, ""},
  };
  assert_int_equal(read_engine(SLIP_MODEL, &error), STATUS_OK);
  const struct engine wanted = engine;
  for (size_t i = 0; i < ARRAY_COUNT(rows); i++) {
    slip_make(slip_here.engine_path, slip_here.model, &rows[i]);
    error_clear(&error);
    if (read_engine(slip_here.engine_path, &error) != STATUS_OK) fail_msg("%s: %s", rows[i].replace, error.text);
    assert_string_equal(engine.title, wanted.title);
    slip_assert_close(engine.plant.throttle.bore.radius_m, wanted.plant.throttle.bore.radius_m);
    slip_assert_close(engine.plant.throttle.discharge.y[1], wanted.plant.throttle.discharge.y[1]);
  }
}

static void assert_unreadable(const char *path, enum status status, const char *message) {
  char wanted[256];
  snprintf(wanted, sizeof wanted, "%s%s", path, message);
  error_clear(&error);
  assert_int_equal(read_engine(path, &error), status);
  assert_string_equal(error.text, wanted);
  error_clear(&error);
  assert_int_equal(slip_read_scenario(path, &error), status);
  assert_string_equal(error.text, wanted);
}

static void a_file_that_is_no_text_is_refused(void **state) {
  (void)state;
  static char large[(1 << 20) + 1];
  memset(large, '\n', sizeof large);
  assert_unreadable("/nonexistent/x.cfg", STATUS_NO_INPUT, ": cannot be opened: No such file or directory");
  assert_unreadable(slip_here.path, STATUS_NO_INPUT, ": is a folder, not a file");
  slip_write(slip_here.engine_path, "", 0);
  assert_unreadable(slip_here.engine_path, STATUS_BAD_CONFIG, ": the file is empty");
  slip_write(slip_here.engine_path, "// only this", 12);
  assert_unreadable(slip_here.engine_path, STATUS_BAD_CONFIG, ":1: the file contains no settings");
  slip_write(slip_here.engine_path, "a = 1;\n\0b = 2;", 14);
  assert_unreadable(slip_here.engine_path, STATUS_BAD_CONFIG, ":2: a NUL byte: this is not a text file");
  slip_write(slip_here.engine_path, large, sizeof large);
  assert_unreadable(slip_here.engine_path, STATUS_BAD_CONFIG, ": the file is larger than 1 MiB; no settings file needs that");
  slip_write(slip_here.engine_path, large, sizeof large - 1);
  assert_unreadable(slip_here.engine_path, STATUS_BAD_CONFIG, ":1: the file contains no settings");
  if (geteuid() == 0) return; // root may read everything
  assert_int_equal(chmod(slip_here.engine_path, 0), 0);
  assert_unreadable(slip_here.engine_path, STATUS_NO_INPUT, ": cannot be opened: Permission denied");
  assert_int_equal(unlink(slip_here.engine_path), 0);
}

static void kinds_are_told_apart(void **state) {
  (void)state;
  enum file_kind kind;
  error_clear(&error);
  assert_int_equal(file_kind_check(SLIP_MODEL, &kind, &error), STATUS_OK);
  assert_int_equal(kind, FILE_KIND_ENGINE);
  assert_int_equal(file_kind_check(SLIP_DATA "good-scenario.cfg", &kind, &error), STATUS_OK);
  assert_int_equal(kind, FILE_KIND_SCENARIO);
  assert_string_equal(file_kind_name(kind), "scenario");
  assert_int_equal(file_kind_check(SLIP_DATA "ten-faults.cfg", &kind, &error), STATUS_BAD_CONFIG);
  assert_int_equal(kind, FILE_KIND_SCENARIO);
  assert_int_equal(error.line_count, 10);
  slip_write(slip_here.engine_path, "a = 1;", 6);
  error_clear(&error);
  assert_int_equal(file_kind_check(slip_here.engine_path, &kind, &error), STATUS_BAD_CONFIG);
  assert_int_equal(kind, FILE_KIND_COUNT);
  error_clear(&error);
  assert_int_equal(read_engine(SLIP_DATA "good-scenario.cfg", &error), STATUS_BAD_CONFIG);
  assert_string_equal(error.text, SLIP_DATA "good-scenario.cfg:1: this is a scenario; an engine file is needed here");
  error_clear(&error);
  assert_int_equal(slip_read_scenario(SLIP_MODEL, &error), STATUS_BAD_CONFIG);
  assert_string_equal(error.text, SLIP_MODEL ":1: this is an engine file; a scenario is needed here");
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(model_reads_in_si),
      cmocka_unit_test(keys_with_defaults),
      cmocka_unit_test(every_required_key_is_missed),
      cmocka_unit_test(a_key_with_a_default_may_be_absent),
      cmocka_unit_test(each_slip_in_an_engine_file_is_named),
      cmocka_unit_test(a_missing_group_is_one_fault),
      cmocka_unit_test(what_is_usual_may_be_left_out),
      cmocka_unit_test(harmless_spellings_are_taken),
      cmocka_unit_test(a_file_that_is_no_text_is_refused),
      cmocka_unit_test(kinds_are_told_apart),
  };
  return cmocka_run_group_tests(tests, slip_begin, slip_end);
}
