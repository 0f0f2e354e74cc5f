/* analysis/estimate_readings and io/readings_file: readings from a file and from the command line. Truth: the contract in estimate_readings.h; standard
 * deviations and unit conversions by hand. */
#include "support/check.h"

#include "io/config/engine_file.h"
#include "io/log/readings_file.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

static struct engine automatic, cable; // air-flow metering both; the cable one has a manual gearbox
static struct estimate_readings_input input;
static struct error error;
static char path[] = "/tmp/test_estimate_readings_XXXXXX";

static int read_engines(void **state) {
  (void)state;
  error_clear(&error);
  const int descriptor = mkstemp(path);
  if (descriptor < 0 || close(descriptor) != 0) return -1;
  return engine_file_read("models/four-16.cfg", &automatic, &error) == STATUS_OK &&
                 engine_file_read("models/four-18-cable.cfg", &cable, &error) == STATUS_OK
             ? 0
             : -1;
}

static int remove_file(void **state) {
  (void)state;
  return unlink(path);
}

static void begin(const struct engine *engine) {
  error_clear(&error);
  assert_int_equal(estimate_readings_init(&input, engine, &error), STATUS_OK);
}

static enum status add_file(const char *text) {
  FILE *file = fopen(path, "w");
  assert_non_null(file);
  fputs(text, file);
  assert_int_equal(fclose(file), 0);
  return readings_file_add(&input, path, &error);
}

static enum status add_text(const char *text) { return estimate_readings_add_text(&input, "--reading", text, &error); }

static void says(const char *words) {
  if (!strstr(error.text, words)) fail_msg("'%s' does not say '%s'", error.text, words);
}

/* "line:words" of the file. */
static void says_at(int line, const char *words) {
  char wanted[400];
  snprintf(wanted, sizeof wanted, "%s:%d: %s", path, line, words);
  says(wanted);
}

static void is_reading(size_t i, enum estimate_quantity quantity, enum estimate_condition condition, double value, double sd) {
  assert_in_range(i, 0, input.given.count - 1);
  assert_int_equal(input.given.readings[i].quantity, quantity);
  assert_int_equal(input.given.readings[i].condition, condition);
  check_relative(input.given.readings[i].value, value, 1e-12);
  check_relative(input.given.readings[i].sd, sd, 1e-12);
}

/* ---- What is taken ---- */

static void a_file_of_readings(void **state) {
  (void)state;
  begin(&automatic);
  assert_int_equal(
      add_file("# a comment, with \"quotes\nname,condition,value\nmaf_gps,idle,2.5\n\n# another\n tp_pct , Key On ,10\n"),
      STATUS_OK);
  assert_int_equal(input.given.count, 2);
  is_reading(0, ESTIMATE_QUANTITY_maf_gps, ESTIMATE_CONDITION_idle, 2.5, hypot(0.01 / sqrt(12.0), 0.025));
  is_reading(1, ESTIMATE_QUANTITY_tp_pct, ESTIMATE_CONDITION_key_on, 10.0, hypot(100.0 / 255.0 / sqrt(12.0), 0.1));
  assert_string_equal(strrchr(input.places[0], ':'), ":3");
  assert_string_equal(strrchr(input.places[1], ':'), ":6");
}

static void resolution_and_noise(void **state) {
  (void)state;
  begin(&automatic);
  assert_int_equal(add_file("value,noise,resolution,condition,name\n850,8,1,idle,speed_rpm\n3.6,,0.36,hold-2500,MAF (kg/h)\n"),
                   STATUS_OK);
  is_reading(0, ESTIMATE_QUANTITY_speed_rpm, ESTIMATE_CONDITION_idle, 850.0, hypot(1.0 / sqrt(12.0), 8.0));
  is_reading(1, ESTIMATE_QUANTITY_maf_gps, ESTIMATE_CONDITION_hold_2500, 1.0, hypot(0.1 / sqrt(12.0), 0.01));
}

static void names_and_units_of_the_standard(void **state) {
  (void)state;
  begin(&automatic);
  assert_int_equal(add_file("name;condition;value\nSHRTFT1;idle;1,5\nEngine coolant temperature (F);idle;194\n"), STATUS_OK);
  is_reading(0, ESTIMATE_QUANTITY_stft_pct, ESTIMATE_CONDITION_idle, 1.5, hypot(100.0 / 128.0 / sqrt(12.0), 3.0));
  is_reading(1, ESTIMATE_QUANTITY_coolant_c, ESTIMATE_CONDITION_idle, 90.0, hypot(1.0 / sqrt(12.0), 0.5));
}

static void on_the_command_line(void **state) {
  (void)state;
  begin(&automatic);
  assert_int_equal(add_text("maf_gps=2.5@idle"), STATUS_OK);
  assert_int_equal(add_text("speed_rpm=-0+-7@ac-step"), STATUS_OK);
  assert_int_equal(add_text("MAF (kg/h) = 36 +/- 3.6 @ hold_2500"), STATUS_OK);
  is_reading(0, ESTIMATE_QUANTITY_maf_gps, ESTIMATE_CONDITION_idle, 2.5, hypot(0.01 / sqrt(12.0), 0.025));
  is_reading(1, ESTIMATE_QUANTITY_speed_rpm, ESTIMATE_CONDITION_ac_step, 0.0, 7.0);
  is_reading(2, ESTIMATE_QUANTITY_maf_gps, ESTIMATE_CONDITION_hold_2500, 10.0, 1.0);
}

static void parts_become_a_whole(void **state) {
  (void)state;
  struct estimate_setting setting;
  struct estimate_readings readings;
  estimate_setting_init(&setting);
  begin(&automatic);
  assert_int_equal(add_text("stft_pct=-3@idle"), STATUS_OK);
  assert_int_equal(add_text("ltft_pct=5@idle"), STATUS_OK);
  assert_int_equal(estimate_readings_finish(&input, &setting, &readings, &error), STATUS_OK);
  assert_int_equal(readings.count, 1);
  assert_int_equal(readings.readings[0].quantity, ESTIMATE_QUANTITY_trim_pct);
  check_close(readings.readings[0].value, 2.0, 1e-12);
}

static void how_cold_it_was(void **state) {
  (void)state;
  struct estimate_setting setting;
  struct estimate_readings readings;
  estimate_setting_init(&setting);
  begin(&automatic);
  assert_int_equal(add_text("speed_rpm=1300@cold_idle"), STATUS_OK);
  assert_int_equal(estimate_readings_finish(&input, &setting, &readings, &error), STATUS_BAD_DATA);
  says("--reading speed_rpm=1300@cold_idle: read at cold_idle, but how cold was it?");
  error_clear(&error);
  assert_int_equal(add_text("ECT (F)=50@cold_idle"), STATUS_OK);
  assert_int_equal(add_text("intake_c=8@cold_idle"), STATUS_OK);
  assert_int_equal(estimate_readings_finish(&input, &setting, &readings, &error), STATUS_OK);
  assert_int_equal(readings.count, 1); // the day's are no readings
  check_close(setting.cold_coolant_c, 10.0, 1e-12);
  check_close(setting.cold_intake_c, 8.0, 1e-12);
  assert_int_equal(add_text("coolant_c=9@cold_idle"), STATUS_USAGE);
  says("is there already: --reading ECT (F)=50@cold_idle");
}

static void a_cold_start_is_cold(void **state) {
  (void)state;
  begin(&automatic);
  assert_int_equal(add_text("coolant_c=68@cold_idle"), STATUS_USAGE);
  says("no cold start; 68 F would be 20.0 C");
  assert_int_equal(add_text("coolant_c=200@cold_idle"), STATUS_USAGE);
  says("200 C, which is no cold start: -40 to 50 C");
  assert_true(isnan(input.cold_coolant_c));
}

/* ---- What is refused ---- */

static void all_faults_of_a_file_in_one_go(void **state) {
  (void)state;
  begin(&automatic);
  assert_int_equal(add_file("name,condition,value,resolution\n" // line 1
                            "maf_gsp,idle,2.5,\n"
                            "maf_gps,idel,2.5,\n"
                            "tp_pct,idle,12x,\n"
                            "tp_pct,idle,,\n" // 5
                            "speed_rpm,key_on,800,\n"
                            "speed_rpm,idle,850,0\n"
                            "spark_deg,idle,15,1,7\n"
                            "xyzzy,plugh,1,\n"
                            "MAF (furlongs),idle,1,\n" // 10
                            "lambda,idle,1,\n"
                            "spark_deg,idle,15,\n"
                            "spark_deg,idle,16,\n"
                            "bypass_steps,idle,30,\n"),
                   STATUS_BAD_DATA);
  says_at(2, "there is no reading 'maf_gsp'; did you mean 'maf_gps'?");
  says_at(3, "there is no condition 'idel'; did you mean 'idle'?");
  says_at(4, "value: '12x' is not a number, and 'x' no unit of tp_pct");
  says_at(5, "tp_pct has no value");
  says_at(6, "speed_rpm says nothing at key_on; it is read at idle, idle_ac, drive, cold_idle, ac_step, gear_step");
  says_at(7, "the resolution 0 is not above 0");
  says_at(8, "5 cells, the header has 4");
  says_at(9, "there is no reading 'xyzzy'; bladegap list readings shows all");
  says_at(9, "there is no condition 'plugh'; there are key_on, idle, ");
  says_at(10, "'MAF (furlongs)': the unit 'furlongs' is not known here; those of maf_gps are: g/s, kg/h");
  says_at(11, "an estimate makes no use of 'lambda'");
  says_at(13, "spark_deg at idle is there already, as 15: ");
  says(":12; leave one out");
  says_at(14, "four-16 has no bypass_steps (idle bypass valve");
  assert_int_equal(error.line_count, 13); // two in line 9, none in 12
  assert_int_equal(input.given.count, 1);
}

static void readings_this_engine_has_not(void **state) {
  (void)state;
  begin(&automatic);
  assert_int_equal(add_text("map_kpa=30@idle"), STATUS_USAGE);
  says("four-16 has no map_kpa");
  begin(&cable);
  assert_int_equal(add_text("speed_rpm=700@drive"), STATUS_USAGE);
  says("four-18-cable has no condition drive");
  assert_int_equal(add_text("bypass_steps=30@idle"), STATUS_OK);
}

static void the_same_told_twice(void **state) {
  (void)state;
  begin(&automatic);
  assert_int_equal(add_text("stft_pct=1@idle"), STATUS_OK);
  assert_int_equal(add_text("trim_pct=1@idle"), STATUS_USAGE);
  says("trim_pct and stft_pct at idle tell the same");
  assert_int_equal(add_text("trim_pct=1@drive"), STATUS_OK);
  assert_int_equal(add_text("idle_air_pct=1@idle"), STATUS_OK);
  assert_int_equal(add_text("learned_pct=1@idle"), STATUS_USAGE);
  assert_int_equal(input.given.count, 3);
}

static void slips_on_the_command_line(void **state) {
  (void)state;
  static const char *const slips[][2] = {
      {"maf_gps", "needs NAME=VALUE@CONDITION"},
      {"maf_gps=2.5", "needs NAME=VALUE@CONDITION"},
      {"=2.5@idle", "needs NAME=VALUE@CONDITION"},
      {"maf_gps=2.5@", "needs NAME=VALUE@CONDITION"},
      {"maf_gps@idle=2.5", "needs NAME=VALUE@CONDITION"},
      {"maf_gps=@idle", "'' is not a number"},
      {"maf_gps=nan@idle", "'nan' is not a number"},
      {"maf_gps=0x2@idle", "'0x2' is not a number"},
      {"maf_gps=1e999@idle", "'1e999' is not a number"},
      {"maf_gps=2.5+-@idle", "'' is not a number"},
      {"maf_gps=2.5+-0@idle", "the standard deviation 0 is not above 0"},
      {"maf_gps=2.5+--1@idle", "the standard deviation -1 is not above 0"},
      {"maf_gps=2.5@warm", "there is no condition 'warm'"},
  };
  for (size_t i = 0; i < ARRAY_COUNT(slips); i++) {
    begin(&automatic);
    if (add_text(slips[i][0]) != STATUS_USAGE) fail_msg("'%s' was taken", slips[i][0]);
    says(slips[i][1]);
    assert_int_equal(input.given.count, 0);
  }
}

static void files_without_readings(void **state) {
  (void)state;
  static const char *const files[][2] = {
      {"", "the file is empty"},
      {"# nothing\n", "the file is empty"},
      {"name,condition,value\n", "no readings"},
      {"name,condition,value\n# nothing\n\n", "no readings"},
      {"name,condition\nmaf_gps,idle\n", "there is no column 'value'"},
      {"name,condition,valeu\nmaf_gps,idle,2\n", "there is no column 'valeu'; did you mean 'value'?"},
      {"name,condition,value,remark\nmaf_gps,idle,2,x\n", "there is no column 'remark'"},
      {"name,condition,value\n\"maf_gps,idle,2\n", "a quoted cell begins in this row and never ends"},
  };
  for (size_t i = 0; i < ARRAY_COUNT(files); i++) {
    begin(&automatic);
    assert_int_equal(add_file(files[i][0]), STATUS_BAD_DATA);
    says(files[i][1]);
  }
  begin(&automatic);
  assert_int_equal(readings_file_add(&input, "/nowhere/readings.csv", &error), STATUS_NO_INPUT);
}

static void more_than_there_is_room_for(void **state) {
  (void)state;
  begin(&automatic);
  enum status status = STATUS_OK;
  size_t added = 0;
  for (int q = 0; q < ESTIMATE_QUANTITY_COUNT; q++) // there are fewer pairs that can be read than room
    for (int c = 0; c < ESTIMATE_CONDITION_COUNT; c++) {
      char text[96];
      snprintf(text, sizeof text, "%s=1@%s", estimate_quantities[q].name, estimate_conditions[c].name);
      status = add_text(text);
      added += status == STATUS_OK;
      assert_true(input.given.count <= ESTIMATE_READING_MAX);
    }
  assert_true(added > 40 && input.given.count + 2 >= added);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(a_file_of_readings),
      cmocka_unit_test(resolution_and_noise),
      cmocka_unit_test(names_and_units_of_the_standard),
      cmocka_unit_test(on_the_command_line),
      cmocka_unit_test(parts_become_a_whole),
      cmocka_unit_test(how_cold_it_was),
      cmocka_unit_test(a_cold_start_is_cold),
      cmocka_unit_test(all_faults_of_a_file_in_one_go),
      cmocka_unit_test(readings_this_engine_has_not),
      cmocka_unit_test(the_same_told_twice),
      cmocka_unit_test(slips_on_the_command_line),
      cmocka_unit_test(files_without_readings),
      cmocka_unit_test(more_than_there_is_room_for),
  };
  return cmocka_run_group_tests(tests, read_engines, remove_file);
}
