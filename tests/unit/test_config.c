/* The strict reader of engine and scenario files. Truth: the values and lines that stand in the files themselves; the
 * numbers of a row's range come from the tables of parameters. */
#include "base/attributes.h"
#include "base/units.h"
#include "io/engine_file.h"
#include "io/file_kind.h"
#include "io/scenario_file.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include <cmocka.h>

#ifndef SOURCE_DIR
#define SOURCE_DIR "." // run from the root of the sources
#endif
#define MODEL SOURCE_DIR "/models/four-16.cfg"
#define DATA  SOURCE_DIR "/tests/unit/data/"

enum { FILE_SIZE = 1 << 16 };

static char folder[] = "/tmp/test-config-XXXXXX";
static char engine_path[64], scenario_path[64];
static char model_text[FILE_SIZE];
static struct error error;
static struct engine engine;

static const char scenario_text[] = "title = \"A scenario\";\n"
                                    "engine = \"engine.cfg\";\n"
                                    "duration_s = 60.0;\n"
                                    "initial = { film_um = 40.0; };\n"
                                    "timeline = (\n"
                                    "  { at_s = 10.0; ramp_s = 20.0; film_um = 80.0; },\n"
                                    "  { at_s = 50.0; drive = true; }\n"
                                    ");\n";

static void write_bytes(const char *path, const char *bytes, size_t size) {
  FILE *file = fopen(path, "wb");
  assert_non_null(file);
  assert_int_equal(fwrite(bytes, 1, size, file), size);
  assert_int_equal(fclose(file), 0);
}

static int set_up(void **state) {
  (void)state;
  FILE *file = fopen(MODEL, "rb");
  if (!file || !mkdtemp(folder)) return -1;
  const size_t size = fread(model_text, 1, sizeof model_text - 1, file);
  fclose(file);
  model_text[size] = '\0';
  snprintf(engine_path, sizeof engine_path, "%s/engine.cfg", folder);
  snprintf(scenario_path, sizeof scenario_path, "%s/scenario.cfg", folder);
  return 0;
}

static int tear_down(void **state) {
  (void)state;
  unlink(engine_path);
  unlink(scenario_path);
  return rmdir(folder);
}

static void assert_close(double value, double wanted) {
  if (!(fabs(value - wanted) <= 1e-12 * fabs(wanted) + 1e-15))
    fail_msg("%.17g instead of %.17g", value, wanted);
}

static enum status read_scenario(const char *path) {
  struct scenario scenario;
  const enum status status = scenario_file_read(path, &scenario, &error);
  scenario_destroy(&scenario);
  return status;
}

/* One slip: in `text`, the first `find` becomes `replace`, which must give exactly this message, in the line where `at`
 * then stands (NULL: in the line where `find` began). */
struct slip {
  const char *find, *replace, *at, *message;
};

static void write_slip(const char *path, const char *text, const struct slip *slip, int *line) {
  static char changed[FILE_SIZE];
  const char *place = strstr(text, slip->find);
  if (!place) fail_msg("the text has no %s", slip->find);
  const int size = snprintf(changed, sizeof changed, "%.*s%s%s", (int)(place - text), text, slip->replace,
                            place + strlen(slip->find));
  assert_in_range(size, 1, sizeof changed - 1);
  write_bytes(path, changed, (size_t)size);
  const char *at = slip->at ? strstr(changed, slip->at) : changed + (place - text);
  assert_non_null(at);
  *line = 1;
  for (const char *c = changed; c < at; c++) *line += *c == '\n';
}

static void assert_slip(const char *path, const char *text, const struct slip *slip,
                        enum status (*read)(const char *path)) {
  int line;
  write_slip(path, text, slip, &line);
  error_clear(&error);
  assert_int_equal(read(path), STATUS_BAD_CONFIG);
  char wanted[1024];
  snprintf(wanted, sizeof wanted, "%s:%d: %s", path, line, slip->message);
  assert_string_equal(error.text, wanted);
  assert_int_equal(error.line_count, 1);
}

static enum status read_engine(const char *path) {
  return engine_file_read(path, &engine, &error);
}

static void model_reads_in_si(void **state) {
  (void)state;
  error_clear(&error);
  assert_int_equal(read_engine(MODEL), STATUS_OK);
  assert_string_equal(error.text, "");
  assert_string_equal(engine.name, "four-16");
  assert_string_equal(engine.title, "1.6 l four, electronic throttle, air-flow sensor, automatic");
  assert_close(engine.plant.throttle.bore.radius_m, 0.026);
  assert_close(engine.plant.throttle.bore.clearance_m, 22e-6);
  assert_close(engine.plant.throttle.film_shape.band_half_width_m, 0.004);
  assert_close(engine.plant.intake.filter_drop_pa_s2_kg2, 2500.0 / 0.01);
  assert_close(engine.plant.intake.wall_temperature_k, 333.15);
  assert_int_equal(engine.plant.charge.cylinder_count, 4);
  assert_close(engine.plant.charge.pressure_offset_pa, -7000.0);
  assert_int_equal(engine.plant.throttle.discharge.count, 5);
  assert_close(curve_value(&engine.plant.throttle.discharge, 5.0 * UNITS_RAD_PER_DEG), 0.67);
  assert_close(curve_value(&engine.computer.target.by_coolant, 293.15), 1300.0 * UNITS_RAD_S_PER_RPM);
  assert_close(engine.computer.air.proportional_s_rad, 0.0004 / UNITS_RAD_S_PER_RPM);
  assert_close(engine.computer.supervision.debounce_s, 10.0);
}

static void every_required_key_is_missed(void **state) {
  (void)state;
  const struct {
    const struct field_group *groups;
    size_t count;
  } tables[] = {{plant_param_groups, plant_param_group_count},
                {computer_param_groups, computer_param_group_count}};
  for (size_t t = 0; t < ARRAY_COUNT(tables); t++) {
    for (size_t i = 0; i < tables[t].count; i++) {
      const struct field_group *group = &tables[t].groups[i];
      for (size_t j = 0; j < group->count; j++) {
        // The key is renamed within its group to one that is near nothing: both faults must be told.
        char head[80], wanted[200];
        snprintf(head, sizeof head, "\n%s = {", group->name);
        const char *begin = strstr(model_text, head);
        assert_non_null(begin);
        char name[80];
        snprintf(name, sizeof name, "%s = ", group->fields[j].key);
        const char *place = strstr(begin, name);
        assert_non_null(place);
        static char changed[FILE_SIZE];
        const int size = snprintf(changed, sizeof changed, "%.*sQQQQ = %s", (int)(place - model_text),
                                  model_text, place + strlen(name));
        write_bytes(engine_path, changed, (size_t)size);
        error_clear(&error);
        assert_int_equal(read_engine(engine_path), STATUS_BAD_CONFIG);
        assert_int_equal(error.line_count, 2);
        snprintf(wanted, sizeof wanted, "key '%s.%s' is missing: ", group->name, group->fields[j].key);
        assert_non_null(strstr(error.text, wanted));
        snprintf(wanted, sizeof wanted, "key '%s.QQQQ' is unknown; allowed here: ", group->name);
        assert_non_null(strstr(error.text, wanted));
      }
    }
  }
}

static void each_slip_in_an_engine_file_is_named(void **state) {
  (void)state;
  static const struct slip slips[] = {
      {"title = ", "titel = \"x\"; title = ", NULL, "key 'titel' is unknown; did you mean 'title'?"},
      {"title = \"1", "title = \"\\x1b1", NULL,
       "key 'title' holds a control character or bytes that are not UTF-8"},
      {"title = \"1", "title = \"\\xff1", NULL,
       "key 'title' holds a control character or bytes that are not UTF-8"},
      {"shaft_mm = 8.0;", "shaft_mm = 8.0; shaft_nm = 8.0;", NULL,
       "key 'throttle.shaft_nm' is unknown; did you mean 'shaft_mm'?"},
      {"lag_s = 0.03;", "lag_s = 0.03; zzzzzzz = 1;", NULL,
       "key 'air_sensor.zzzzzzz' is unknown; allowed here: lag_s"},
      {"crank = {", "gearbox9 = 1;\ncrank = {", NULL,
       "key 'gearbox9' is unknown; allowed here: title, throttle, film, intake, charge, combustion and 9 "
       "more, see "
       "`bladegap list parameters`"},
      {"air_sensor = { lag_s = 0.03; };", "air_sensor = 0.03;", NULL,
       "key 'air_sensor' wants a group { ... }, found the number 0.03"},
      {"bore_radius_mm = 26.0", "bore_radius_mm = 260", NULL,
       "key 'throttle.bore_radius_mm' is 260; allowed: 10 to 60"},
      {"bore_radius_mm = 26.0", "bore_radius_mm = \"26\"", NULL,
       "key 'throttle.bore_radius_mm' wants a number, found the text \"26\""},
      {"bore_radius_mm = 26.0", "bore_radius_mm = true", NULL,
       "key 'throttle.bore_radius_mm' wants a number, found true"},
      {"bore_radius_mm = 26.0", "bore_radius_mm = { }", NULL,
       "key 'throttle.bore_radius_mm' wants a number, found a group { ... }"},
      {"bore_radius_mm = 26.0", "bore_radius_mm = 1e999", NULL,
       "key 'throttle.bore_radius_mm' is too large a number"},
      {"bore_radius_mm = 26.0", "bore_radius_mm = -1e999", NULL,
       "key 'throttle.bore_radius_mm' is too large a number"},
      {"bore_radius_mm = 26.0", "bore_radius_mm = 0x1A", NULL,
       "key 'throttle.bore_radius_mm' is written in hexadecimal; write a decimal number"},
      {"bore_radius_mm = 26.0", "bore_radius_mm = 4294967322", NULL, // 2^32 + 26 wraps to 26
       "key 'throttle.bore_radius_mm' is too large a number"},
      {"bore_radius_mm = 26.0", "bore_radius_mm = 4294967322L", NULL,
       "key 'throttle.bore_radius_mm' is 4294967322; allowed: 10 to 60"},
      {"bore_radius_mm = 26.0", "bore_radius_mm = 99999999999999999999LL", NULL,
       "key 'throttle.bore_radius_mm' is too large a number"},
      {"cylinder_count = 4", "cylinder_count = 4.0", NULL,
       "key 'charge.cylinder_count' wants a whole number without a decimal point, found 4"},
      {"cylinder_count = 4", "cylinder_count = 13", NULL,
       "key 'charge.cylinder_count' is 13; allowed: 1 to 12"},
      {"cylinder_count = 4", "cylinder_count = -4294967292", NULL,
       "key 'charge.cylinder_count' is too large a number"},
      // curves
      {"(5.0, 0.67)", "(5.0, 1.67)", NULL,
       "key 'throttle.discharge_by_opening_deg' point 2: y is 1.67; allowed: 0.3 to 1"},
      {"(5.0, 0.67)", "(5.0, 0.67, 1)", NULL,
       "key 'throttle.discharge_by_opening_deg' point 2 wants two numbers (x, y), found a list of 3"},
      {"(5.0, 0.67)", "5.0", NULL,
       "key 'throttle.discharge_by_opening_deg' point 2 wants two numbers (x, y), found the number 5"},
      {"(5.0, 0.67)", "(\"5\", 0.67)", NULL,
       "key 'throttle.discharge_by_opening_deg' point 2: x wants a number, found the text \"5\""},
      {"(5.0, 0.67)", "(0.0, 0.67)", NULL,
       "key 'throttle.discharge_by_opening_deg' point 2: x is 0 after 0; x must rise from point to point"},
      {"(5.0, 0.67)", "(-5.0, 0.67)", NULL,
       "key 'throttle.discharge_by_opening_deg' point 2: x is -5 after 0; x must rise from point to point"},
      {"(5.0, 0.67)", "(1e-320, 0.67)", NULL,
       "key 'throttle.discharge_by_opening_deg' has points so close or so far apart that no curve passes "
       "through them"},
      {"((600.0, 20.0), (2500.0, 30.0), (6000.0, 36.0))", "()", NULL,
       "key 'idle_spark.running_deg_by_rpm' wants a list of 1 to 24 points ((x, y), (x, y), ...), found a "
       "list of 0"},
      {"((600.0, 20.0), (2500.0, 30.0), (6000.0, 36.0))", "20.0", NULL,
       "key 'idle_spark.running_deg_by_rpm' wants a list of 1 to 24 points ((x, y), (x, y), ...), found the "
       "number 20"},
      // keys that bear on each other
      {"bore_radius_mm = 26.0;               // 52 mm bore; 40 to 60 mm is usual for 1.2 to 2.8 l\n"
       "  closed_deg = 7.0;                    // 5 to 15 usual; 7.9 in a published parameter set\n"
       "  shaft_mm = 8.0;",
       "bore_radius_mm = 10;\n closed_deg = 7;\n shaft_mm = 20;", "shaft_mm",
       "key 'throttle.shaft_mm' is 20; it must be below twice 'throttle.bore_radius_mm', which is 10: the "
       "shaft would fill "
       "the bore"},
      {"alternator_fade_low_rpm = 350.0", "alternator_fade_low_rpm = 650.0", NULL,
       "key 'loads.alternator_fade_low_rpm' is 650; it must be below 'loads.alternator_fade_high_rpm', which "
       "is 650: the "
       "alternator's output rises between the two"},
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
       "key 'idle_target.by_coolant_c' point 5: y is 440; it must be above 'supervision.running_rpm', which "
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
      {"automatic\";", "automatic;", NULL,
       "a text lacks its closing quotation mark, or runs over the end of the line"},
  };
  for (size_t i = 0; i < ARRAY_COUNT(slips); i++)
    assert_slip(engine_path, model_text, &slips[i], read_engine);
}

static void a_missing_group_is_one_fault(void **state) {
  (void)state;
  static const struct slip slip = {"air_sensor = { lag_s = 0.03; };", "", NULL, ""};
  int line;
  write_slip(engine_path, model_text, &slip, &line);
  error_clear(&error);
  assert_int_equal(read_engine(engine_path), STATUS_BAD_CONFIG);
  char wanted[200];
  snprintf(wanted, sizeof wanted, "%s:1: group 'air_sensor' is missing: air-flow sensor", engine_path);
  assert_string_equal(error.text, wanted);
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
  assert_int_equal(read_engine(MODEL), STATUS_OK);
  const struct engine wanted = engine;
  for (size_t i = 0; i < ARRAY_COUNT(rows); i++) {
    int line;
    write_slip(engine_path, model_text, &rows[i], &line);
    error_clear(&error);
    if (read_engine(engine_path) != STATUS_OK) fail_msg("%s: %s", rows[i].replace, error.text);
    assert_string_equal(engine.title, wanted.title);
    assert_close(engine.plant.throttle.bore.radius_m, wanted.plant.throttle.bore.radius_m);
    assert_close(engine.plant.throttle.discharge.y[1], wanted.plant.throttle.discharge.y[1]);
  }
}

static void good_scenario_reads_in_si(void **state) {
  (void)state;
  struct scenario scenario;
  error_clear(&error);
  const enum status status = scenario_file_read(DATA "good-scenario.cfg", &scenario, &error);
  assert_string_equal(error.text, "");
  assert_int_equal(status, STATUS_OK);
  assert_string_equal(scenario.name, "good-scenario");
  assert_string_equal(scenario.title, "Every key");
  assert_string_equal(scenario.engine_path, DATA "../../../models/four-16.cfg");
  assert_close(scenario.duration_s, 120.0);
  assert_close(scenario.record_s, 0.05);
  assert_int_equal(scenario.seed, 7);
  assert_false(scenario.running);
  assert_close(scenario.initial.film_m, 40e-6);
  assert_close(scenario.initial.coolant_k, 262.65);
  assert_close(scenario.initial.drive_selected, 1.0);
  assert_close(scenario.initial.electrical_load_w, 300.0); // the row's own start
  assert_int_equal(scenario.step_count, 5);
  static const int lines[] = {16, 13, 12, 14, 15}; // by time; the two of 60 s as the file has them
  for (size_t i = 0; i < ARRAY_COUNT(lines); i++) assert_int_equal(scenario.steps[i].line, lines[i]);
  const struct scenario_step *on = &scenario.steps[0], *ramp = &scenario.steps[2], *two = &scenario.steps[3];
  assert_int_equal(on->key, KEY_ON);
  assert_int_equal(scenario.steps[1].key, KEY_START);
  assert_close(ramp->at_s, 60.0);
  assert_close(ramp->ramp_s, 30.0);
  assert_int_equal(ramp->key, -1);
  assert_string_equal(ramp->note, "The film grows");
  assert_int_equal(ramp->set_count, 1);
  assert_ptr_equal(&condition_rows[ramp->sets[0].condition], condition_find("film_um"));
  assert_close(ramp->sets[0].value, 90e-6);
  assert_int_equal(two->set_count, 2);
  assert_int_equal(scenario.steps[4].action, SCENARIO_ACTION_CLEAR_CODES);
  scenario_destroy(&scenario);
}

static void defaults_stand_where_a_scenario_says_nothing(void **state) {
  (void)state;
  static const char text[] = "title = \"Short\"; engine = \"engine.cfg\"; duration_s = 1;";
  struct scenario scenario;
  write_bytes(engine_path, model_text, strlen(model_text));
  write_bytes(scenario_path, text, sizeof text - 1);
  error_clear(&error);
  assert_int_equal(scenario_file_read(scenario_path, &scenario, &error), STATUS_OK);
  assert_string_equal(scenario.engine_path, engine_path);
  assert_close(scenario.record_s, 0.1);
  assert_int_equal(scenario.seed, 1);
  assert_true(scenario.running);
  assert_int_equal(scenario.step_count, 0);
  scenario_destroy(&scenario);
}

static void each_slip_in_a_scenario_is_named(void **state) {
  (void)state;
  static const struct slip slips[] = {
      {"duration_s = 60.0", "duration_s = 0", NULL, "key 'duration_s' is 0; allowed: 0.1 to 86400"},
      {"duration_s", "record_s = 0.025; duration_s", NULL,
       "key 'record_s' is 0.025; it must be a multiple of 0.01"},
      {"duration_s", "seed = -1; duration_s", NULL, "key 'seed' is -1; allowed: 0 to 2147483647"},
      {"duration_s", "seed = 1.5; duration_s", NULL,
       "key 'seed' wants a whole number without a decimal point, found 1.5"},
      {"duration_s", "start = \"ideling\"; duration_s", NULL,
       "key 'start' is the text \"ideling\"; did you mean \"idling\"? allowed: idling, key_off"},
      {"duration_s", "start = false; duration_s", NULL,
       "key 'start' wants one of idling, key_off (in quotation marks), found false"},
      {"duration_s", "lines = 3; duration_s", NULL,
       "key 'lines' is unknown; allowed here: title, engine, duration_s, record_s, seed, start, initial, "
       "timeline"},
      {"engine = \"engine.cfg\";\n", "\n", "title", "key 'engine' is missing: it wants text"},
      {"film_um = 40.0", "flim_um = 40.0", NULL, "key 'initial.flim_um' is unknown; did you mean 'film_um'?"},
      {"film_um = 40.0", "throttle_body = 40.0", NULL,
       "key 'initial.throttle_body' is unknown; allowed here: film_um, edge_film_um, leak_mm2, drag_nm, "
       "air_conditioning, "
       "drive and 8 more, see `bladegap list faults`"},
      {"film_um = 40.0", "film_um = 301", NULL, "key 'initial.film_um' is 301; allowed: 0 to 300"},
      {"film_um = 40.0", "drive = 2", NULL,
       "key 'initial.drive' wants false or true (or 0 or 1), found the whole number 2"},
      {"film_um = 40.0", "drive = 1.0", NULL,
       "key 'initial.drive' wants false or true (or 0 or 1), found the number 1"},
      {"film_um = 40.0", "ambient_kpa = 49.9", NULL,
       "key 'initial.ambient_kpa' is 49.9; allowed: 50 to 110, or 0 to take it from altitude_m"},
      {"{ film_um = 40.0; }", "40.0", NULL, "key 'initial' wants a group { ... }, found the number 40"},
      {"timeline = (", "timeline = 5; title = (", "title = (",
       "a key of this group is written a second time: timeline = 5; title = ("},
      {"{ at_s = 50.0; drive = true; }", "50.0", NULL,
       "key 'timeline' wants a group { ... }, found the number 50"},
      {"at_s = 50.0; ", "", NULL, "key 'timeline.at_s' is missing: when the step happens, seconds"},
      {"at_s = 50.0", "at_s = 60.01", NULL, "key 'timeline.at_s' is 60.01, after the end: duration_s is 60"},
      {"at_s = 50.0", "at_s = -1", NULL, "key 'timeline.at_s' is -1; allowed: 0 to 86400"},
      {"at_s = 50.0;", "at_s = 50.0; ramp_s = 1;", NULL,
       "key 'timeline.drive' is a switch and cannot be ramped; give it a step of its own without ramp_s"},
      {"drive = true; ", "", NULL, "this step does nothing; give it a condition, a key, an action or a note"},
      {"drive = true; ", "ramp_s = 1; note = \"x\";", NULL,
       "key 'timeline.ramp_s' has no condition to ramp in this step"},
      {"drive = true", "key = \"of\"", NULL,
       "key 'timeline.key' is the text \"of\"; did you mean \"off\"? allowed: off, on, start"},
      {"drive = true", "action = \"clean\"", NULL,
       "key 'timeline.action' wants one of none, clear_codes, reset_learned (in quotation marks), found the "
       "text "
       "\"clean\""},
      {"drive = true", "note = \"\"", NULL, "key 'timeline.note' is 0 bytes long; allowed: 1 to 199"},
      {"drive = true", "note = 3", NULL,
       "key 'timeline.note' wants text in quotation marks, found the whole number 3"},
      {"drive = true", "ambient_kpa = 3", NULL,
       "key 'timeline.ambient_kpa' is 3; allowed: 50 to 110, or 0 to take it from altitude_m"},
      {"drive = true", "ramp_s = 2; ambient_kpa = 90", NULL,
       "key 'timeline.ambient_kpa' cannot ramp from or to 0, which means: from altitude_m; set a pressure "
       "first"},
      {"at_s = 50.0; drive = true", "at_s = 29.0; film_um = 9", NULL,
       "key 'timeline.film_um' is set at 29 s while the ramp of line 6 still runs, until 30 s"},
      {"at_s = 50.0; drive = true", "at_s = 5; ramp_s = 5.1; film_um = 9", "{ at_s = 10.0",
       "key 'timeline.film_um' is set at 10 s while the ramp of line 7 still runs, until 10.1 s"},
      {"drive = true",
       "film_um = 1; edge_film_um = 1; leak_mm2 = 1; drag_nm = 1; air_conditioning = 1; drive = 1; "
       "electrical_load_w = "
       "1; pedal_pct = 1; hold_rpm = 1",
       NULL, "this step sets 9 conditions; allowed: 8. Write a second step with the same at_s"},
  };
  write_bytes(engine_path, model_text, strlen(model_text));
  for (size_t i = 0; i < ARRAY_COUNT(slips); i++)
    assert_slip(scenario_path, scenario_text, &slips[i], read_scenario);
}

static void a_step_may_begin_where_a_ramp_ends(void **state) {
  (void)state;
  // 0.1 + 0.2 is a hair above 0.3 in binary.
  static const char text[] =
      "title = \"x\"; engine = \"engine.cfg\"; duration_s = 1;\n"
      "timeline = ( { at_s = 0.1; ramp_s = 0.2; film_um = 1; }, { at_s = 0.3; film_um = 2; } );";
  write_bytes(engine_path, model_text, strlen(model_text));
  write_bytes(scenario_path, text, sizeof text - 1);
  error_clear(&error);
  assert_int_equal(read_scenario(scenario_path), STATUS_OK);
}

static void ten_faults_are_told_in_one_go(void **state) {
  (void)state;
  static const char wanted[] = DATA
      "ten-faults.cfg:3: key 'engine' names " DATA
      "../../../models/four-61.cfg, which cannot be read: No such file or directory\n" DATA
      "ten-faults.cfg:4: key 'duration_s' is 86401; allowed: 0.1 to 86400\n" DATA
      "ten-faults.cfg:5: key 'record_s' is 0.105; it must be a multiple of 0.01\n" DATA
      "ten-faults.cfg:6: key 'start' is the text \"ideling\"; did you mean \"idling\"? allowed: idling, "
      "key_off\n" DATA
      "ten-faults.cfg:8: key 'initial.drive' wants false or true (or 0 or 1), found the text \"yes\"\n" DATA
      "ten-faults.cfg:8: key 'initial.flim_um' is unknown; did you mean 'film_um'?\n" DATA
      "ten-faults.cfg:11: key 'timeline.air_conditioning' is a switch and cannot be ramped; give it a step "
      "of its "
      "own without ramp_s\n" DATA
      "ten-faults.cfg:12: key 'timeline.at_s' is missing: when the step happens, seconds\n" DATA
      "ten-faults.cfg:13: this step does nothing; give it a condition, a key, an action or a note\n" DATA
      "ten-faults.cfg:14: key 'timeline.key' is the text \"of\"; did you mean \"off\"? allowed: off, on, "
      "start";
  error_clear(&error);
  assert_int_equal(read_scenario(DATA "ten-faults.cfg"), STATUS_BAD_CONFIG);
  assert_string_equal(error.text, wanted);
  assert_int_equal(error.line_count, 10);
}

static void assert_unreadable(const char *path, enum status status, const char *message) {
  char wanted[256];
  snprintf(wanted, sizeof wanted, "%s%s", path, message);
  error_clear(&error);
  assert_int_equal(read_engine(path), status);
  assert_string_equal(error.text, wanted);
  error_clear(&error);
  assert_int_equal(read_scenario(path), status);
  assert_string_equal(error.text, wanted);
}

static void a_file_that_is_no_text_is_refused(void **state) {
  (void)state;
  static char large[(1 << 20) + 1];
  memset(large, '\n', sizeof large);
  assert_unreadable("/nonexistent/x.cfg", STATUS_NO_INPUT, ": cannot be opened: No such file or directory");
  assert_unreadable(folder, STATUS_NO_INPUT, ": is a folder, not a file");
  write_bytes(engine_path, "", 0);
  assert_unreadable(engine_path, STATUS_BAD_CONFIG, ": the file is empty");
  write_bytes(engine_path, "// only this", 12);
  assert_unreadable(engine_path, STATUS_BAD_CONFIG, ":1: the file holds no settings");
  write_bytes(engine_path, "a = 1;\n\0b = 2;", 14);
  assert_unreadable(engine_path, STATUS_BAD_CONFIG, ":2: a NUL byte: this is not a text file");
  write_bytes(engine_path, large, sizeof large);
  assert_unreadable(engine_path, STATUS_BAD_CONFIG,
                    ": the file is larger than 1 MiB; no settings file needs that");
  write_bytes(engine_path, large, sizeof large - 1);
  assert_unreadable(engine_path, STATUS_BAD_CONFIG, ":1: the file holds no settings");
  if (geteuid() == 0) return; // root may read everything
  assert_int_equal(chmod(engine_path, 0), 0);
  assert_unreadable(engine_path, STATUS_NO_INPUT, ": cannot be opened: Permission denied");
  assert_int_equal(unlink(engine_path), 0);
}

static void kinds_are_told_apart(void **state) {
  (void)state;
  enum file_kind kind;
  error_clear(&error);
  assert_int_equal(file_kind_check(MODEL, &kind, &error), STATUS_OK);
  assert_int_equal(kind, FILE_KIND_ENGINE);
  assert_int_equal(file_kind_check(DATA "good-scenario.cfg", &kind, &error), STATUS_OK);
  assert_int_equal(kind, FILE_KIND_SCENARIO);
  assert_string_equal(file_kind_name(kind), "scenario");
  assert_int_equal(file_kind_check(DATA "ten-faults.cfg", &kind, &error), STATUS_BAD_CONFIG);
  assert_int_equal(kind, FILE_KIND_SCENARIO);
  assert_int_equal(error.line_count, 10);
  write_bytes(engine_path, "a = 1;", 6);
  error_clear(&error);
  assert_int_equal(file_kind_check(engine_path, &kind, &error), STATUS_BAD_CONFIG);
  assert_int_equal(kind, FILE_KIND_COUNT);
  error_clear(&error);
  assert_int_equal(read_engine(DATA "good-scenario.cfg"), STATUS_BAD_CONFIG);
  assert_string_equal(error.text,
                      DATA "good-scenario.cfg:1: this is a scenario; an engine file is wanted here");
  error_clear(&error);
  assert_int_equal(read_scenario(MODEL), STATUS_BAD_CONFIG);
  assert_string_equal(error.text, MODEL ":1: this is an engine file; a scenario is wanted here");
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(model_reads_in_si),
      cmocka_unit_test(every_required_key_is_missed),
      cmocka_unit_test(each_slip_in_an_engine_file_is_named),
      cmocka_unit_test(a_missing_group_is_one_fault),
      cmocka_unit_test(harmless_spellings_are_taken),
      cmocka_unit_test(good_scenario_reads_in_si),
      cmocka_unit_test(defaults_stand_where_a_scenario_says_nothing),
      cmocka_unit_test(each_slip_in_a_scenario_is_named),
      cmocka_unit_test(a_step_may_begin_where_a_ramp_ends),
      cmocka_unit_test(ten_faults_are_told_in_one_go),
      cmocka_unit_test(a_file_that_is_no_text_is_refused),
      cmocka_unit_test(kinds_are_told_apart),
  };
  return cmocka_run_group_tests(tests, set_up, tear_down);
}
