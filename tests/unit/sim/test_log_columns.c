/* Headers and what they mean. Names: the data names of SAE J1979 / ISO 15031-5 service 01 as scan tools
 * print them, and plain spellings (common practice, no source). Factors: by definition of the units (1 min =
 * 60 s, 1 rpm = 2 pi / 60 rad/s, 1 lb = 453.59237 g exactly) or NIST SP 811 (2008) B.8 (psi, inHg);
 * temperatures: 212 F = 100 C, 273.15 K = 0 C. */
#include "base/attributes.h"
#include "sim/log_columns.h"
#include "support/check.h"

#include <stdio.h>
#include <string.h>

static void the_names_of_the_standard_are_known(void **state) {
  (void)state;
  static const struct {
    const char *header;
    enum channel channel;
  } rows[] = {
      {"Time", CHANNEL_time_s},
      {"Engine RPM", CHANNEL_speed_rpm},
      {"Absolute Throttle Position", CHANNEL_tp_pct},
      {"Relative Throttle Position", CHANNEL_blade_pct},
      {"Intake Manifold Absolute Pressure", CHANNEL_manifold_kpa},
      {"Air Flow Rate from Mass Air Flow Sensor", CHANNEL_maf_gps},
      {"Calculated LOAD Value", CHANNEL_load_pct},
      {"Engine Coolant Temperature", CHANNEL_coolant_c},
      {"Intake Air Temperature", CHANNEL_intake_c},
      {"Short Term Fuel Trim - Bank 1", CHANNEL_stft_pct},
      {"Long Term Fuel Trim - Bank 1", CHANNEL_ltft_pct},
      {"Short Term Fuel Trim - Bank 2", CHANNEL_stft2_pct},
      {"Long Term Fuel Trim - Bank 2", CHANNEL_ltft2_pct},
      {"Equivalence Ratio (lambda) Bank 1 Sensor 1", CHANNEL_lambda},
      {"Control Module Voltage", CHANNEL_battery_v},
      {"Ignition Timing Advance for #1 Cylinder", CHANNEL_spark_deg},
  };
  for (size_t i = 0; i < ARRAY_COUNT(rows); i++) {
    struct log_columns_meaning meaning;
    print_message("%s\n", rows[i].header);
    assert_int_equal(log_columns_find(rows[i].header, &meaning), LOG_COLUMNS_KNOWN);
    assert_int_equal(meaning.channel, rows[i].channel);
    check_close(meaning.factor, 1.0, 0.0);
    check_close(meaning.offset, 0.0, 0.0);
  }
}

/* What a cell becomes. */
static void units_are_recognised_wherever_they_stand(void **state) {
  (void)state;
  static const struct {
    const char *header;
    enum channel channel;
    double cell, value;
  } rows[] = {
      {"Time (ms)", CHANNEL_time_s, 1500.0, 1.5},
      {"time_ms", CHANNEL_time_s, 1500.0, 1.5},
      {"Elapsed Time [min]", CHANNEL_time_s, 2.0, 120.0},
      {"TIME, sec", CHANNEL_time_s, 2.0, 2.0},
      {"RPM", CHANNEL_speed_rpm, 800.0, 800.0},
      {"engine_speed_rpm", CHANNEL_speed_rpm, 800.0, 800.0},
      {"Engine Speed (rad/s)", CHANNEL_speed_rpm, 83.7758040957, 800.0},
      {"Speed (1/min)", CHANNEL_speed_rpm, 800.0, 800.0},
      {"MAP (kPa)", CHANNEL_manifold_kpa, 35.0, 35.0},
      {"MAP (inHg)", CHANNEL_manifold_kpa, 10.0, 33.8638},
      {"map_psi", CHANNEL_manifold_kpa, 14.5, 99.973977},
      {"MAP, bar", CHANNEL_manifold_kpa, 0.35, 35.0},
      {"MAP mbar", CHANNEL_manifold_kpa, 350.0, 35.0},
      {"MAF {g/s}", CHANNEL_maf_gps, 3.0, 3.0},
      {"MAF [kg/h]", CHANNEL_maf_gps, 10.8, 3.0},
      {"MAF (lb/min)", CHANNEL_maf_gps, 1.0, 7.559872833},
      {"ECT (\xC2\xB0"
       "F)",
       CHANNEL_coolant_c, 212.0, 100.0},
      {"ECT (\xB0"
       "C)",
       CHANNEL_coolant_c, 90.0, 90.0},
      {"Coolant Temp ( F )", CHANNEL_coolant_c, 32.0, 0.0},
      {"IAT_K", CHANNEL_intake_c, 273.15, 0.0},
      {"TPS (%)", CHANNEL_tp_pct, 15.0, 15.0},
      {"STFT B1 (%)", CHANNEL_stft_pct, -3.1, -3.1},
      {"LTFT2 [%]", CHANNEL_ltft2_pct, 12.5, 12.5},
      {"Battery (mV)", CHANNEL_battery_v, 12600.0, 12.6},
      {"IAC (steps)", CHANNEL_bypass_steps, 35.0, 35.0},
      {"MAP sensor reading (kPa)", CHANNEL_map_kpa, 35.0, 35.0},
      {"Timing Advance (\xC2\xB0)", CHANNEL_spark_deg, 11.0, 11.0},
  };
  for (size_t i = 0; i < ARRAY_COUNT(rows); i++) {
    struct log_columns_meaning meaning;
    print_message("%s\n", rows[i].header);
    assert_int_equal(log_columns_find(rows[i].header, &meaning), LOG_COLUMNS_KNOWN);
    assert_int_equal(meaning.channel, rows[i].channel);
    assert_false(meaning.assumed);
    check_close(meaning.factor * rows[i].cell + meaning.offset, rows[i].value, 1e-6);
  }
}

/* Invariant: what a run writes comes back as it is. */
static void our_own_names_pass_unchanged(void **state) {
  (void)state;
  for (int i = 0; i < CHANNEL_COUNT; i++) {
    struct log_columns_meaning meaning;
    print_message("%s\n", channel_rows[i].name);
    assert_int_equal(log_columns_find(channel_rows[i].name, &meaning), LOG_COLUMNS_KNOWN);
    assert_int_equal(meaning.channel, i);
    assert_true(meaning.own);
    assert_false(meaning.assumed);
    check_close(meaning.factor, 1.0, 0.0);
    check_close(meaning.offset, 0.0, 0.0);
  }
  struct log_columns_meaning meaning;
  assert_int_equal(log_columns_find("Learned PCT", &meaning), LOG_COLUMNS_KNOWN);
  assert_int_equal(meaning.channel, CHANNEL_learned_pct);
  assert_false(meaning.own);
}

/* Invariant: a unit is assumed where there is a choice, and only there. */
static void a_missing_unit_is_assumed_and_said(void **state) {
  (void)state;
  static const struct {
    const char *header, *unit;
    bool assumed;
  } rows[] = {
      {"MAP", "kPa", true},
      {"Engine Coolant Temperature", "C", true},
      {"MAF", "g/s", true},
      {"Time", "s", true},
      {"Engine Speed", "rpm", true},
      {"Engine RPM", "rpm", false},
      {"TPS", "%", false},
      {"MAP (inHg)", "inHg", false},
      {"Spark Advance", "deg", false},
  };
  for (size_t i = 0; i < ARRAY_COUNT(rows); i++) {
    struct log_columns_meaning meaning;
    print_message("%s\n", rows[i].header);
    assert_int_equal(log_columns_find(rows[i].header, &meaning), LOG_COLUMNS_KNOWN);
    assert_string_equal(meaning.unit, rows[i].unit);
    assert_int_equal(meaning.assumed, rows[i].assumed);
  }
}

static void what_could_mean_something_else_is_not_taken(void **state) {
  (void)state;
  static const char *const unknown[] = {
      "",
      " ",
      "()",
      ",",
      "_",
      "(rpm)",
      "Speed",
      "Engine",
      "Short Term Fuel Trim Bank 3",
      "MAP 2",
      "Intake Vacuum (inHg)",
      "Boost (psi)",
      "Time_",
  };
  struct log_columns_meaning meaning;
  for (size_t i = 0; i < ARRAY_COUNT(unknown); i++) {
    const enum log_columns_answer answer = log_columns_find(unknown[i], &meaning);
    print_message("'%s'\n", unknown[i]);
    // a dangling underscore is still the time
    assert_int_equal(answer, strcmp(unknown[i], "Time_") == 0 ? LOG_COLUMNS_KNOWN : LOG_COLUMNS_UNKNOWN);
  }
  static const char *const bad_units[] = {"Speed (km/h)", "MAP (V)", "TPS (V)", "Engine RPM (kPa)", "Time (hh:mm)"};
  for (size_t i = 0; i < ARRAY_COUNT(bad_units); i++) {
    print_message("%s\n", bad_units[i]);
    assert_int_equal(log_columns_find(bad_units[i], &meaning), LOG_COLUMNS_BAD_UNIT);
    assert_non_null(strstr(bad_units[i], meaning.unit));
    assert_non_null(meaning.units);
  }
}

/* Names of the standard for which there is no channel: known, so that nobody is asked about them. */
static void what_is_of_no_use_is_known(void **state) {
  (void)state;
  static const char *const rows[] = {"Vehicle Speed Sensor (mph)",
                                     "VSS",
                                     "Accelerator Pedal Position D",
                                     "Absolute Throttle Position B",
                                     "TP_B",
                                     "LOAD_ABS (%)",
                                     "TAC_PCT",
                                     "Absolute Load Value"};
  struct log_columns_meaning meaning;
  for (size_t i = 0; i < ARRAY_COUNT(rows); i++) {
    print_message("%s\n", rows[i]);
    assert_int_equal(log_columns_find(rows[i], &meaning), LOG_COLUMNS_UNUSED);
  }
}

/* Abbreviations of SAE J1979 (from memory) and spellings of a real car's logs (finding 1 of an open data set). */
static void abbreviations_are_known(void **state) {
  (void)state;
  static const struct {
    const char *header;
    enum channel channel;
  } rows[] = {{"TP_R", CHANNEL_blade_pct},
              {"SPARKADV", CHANNEL_spark_deg},
              {"LOAD_PCT", CHANNEL_load_pct},
              {"VPWR", CHANNEL_battery_v},
              {"SHRTFT1 (%)", CHANNEL_stft_pct},
              {"LONGFT2", CHANNEL_ltft2_pct},
              {"Air Flow Rate from Mass Flow Sensor [g/s]", CHANNEL_maf_gps},
              {"Coolant Temp (\xC3\x82\xC2\xB0"
               "C)",
               CHANNEL_coolant_c},
              {"Coolant Temp (\xEF\xBF\xBD"
               "C)",
               CHANNEL_coolant_c},
              {"Coolant Temp (?C)", CHANNEL_coolant_c},
              {"Date Time", CHANNEL_time_s}};
  struct log_columns_meaning meaning;
  for (size_t i = 0; i < ARRAY_COUNT(rows); i++) {
    print_message("%s\n", rows[i].header);
    assert_int_equal(log_columns_find(rows[i].header, &meaning), LOG_COLUMNS_KNOWN);
    assert_int_equal(meaning.channel, rows[i].channel);
  }
}

/* Invariant: a unit beside the name counts as one in it, and must be the name's own. */
static void a_unit_may_stand_elsewhere(void **state) {
  (void)state;
  static const struct {
    const char *header, *unit;
    enum log_columns_answer answer;
    double factor;
  } rows[] = {
      {"MAF", "kg/h", LOG_COLUMNS_KNOWN, 1.0 / 3.6},     {"MAF (kg/h)", "kg/h", LOG_COLUMNS_KNOWN, 1.0 / 3.6},
      {"MAF (kg/h)", "g/s", LOG_COLUMNS_TWO_UNITS, 0.0}, {"maf_gps", "g/s", LOG_COLUMNS_KNOWN, 1.0},
      {"maf_gps", "kg/h", LOG_COLUMNS_TWO_UNITS, 0.0},   {"Engine RPM", "1/min", LOG_COLUMNS_KNOWN, 1.0},
      {"MAF", "furlongs", LOG_COLUMNS_BAD_UNIT, 0.0},    {"MAF", "", LOG_COLUMNS_KNOWN, 1.0},
      {"Speed", "rpm", LOG_COLUMNS_KNOWN, 1.0},
  };
  for (size_t i = 0; i < ARRAY_COUNT(rows); i++) {
    struct log_columns_meaning meaning;
    print_message("%s, %s\n", rows[i].header, rows[i].unit);
    assert_int_equal(log_columns_find_in(rows[i].header, rows[i].unit, &meaning), rows[i].answer);
    if (rows[i].answer == LOG_COLUMNS_KNOWN) check_relative(meaning.factor, rows[i].factor, 1e-12);
  }
}

/* Invariant: who says what a column is says also in what unit, if he does; else its header does. */
static void a_column_may_be_named_by_hand(void **state) {
  (void)state;
  static const struct {
    const char *name, *header, *unit;
    enum log_columns_answer answer;
    double factor;
  } rows[] = {
      {"maf_gps", "Luftmasse [kg/h]", "", LOG_COLUMNS_KNOWN, 1.0 / 3.6},
      {"maf_gps", "Luftmasse", "kg/h", LOG_COLUMNS_KNOWN, 1.0 / 3.6},
      {"maf_gps", "Luftmasse", "", LOG_COLUMNS_KNOWN, 1.0},
      {"MAF (kg/h)", "Luftmasse", "", LOG_COLUMNS_KNOWN, 1.0 / 3.6},
      {"MAF (kg/h)", "Luftmasse [g/s]", "", LOG_COLUMNS_KNOWN, 1.0 / 3.6},
      {"MAF", "Luftmasse [g/min]", "", LOG_COLUMNS_BAD_UNIT, 0.0},
      {"time_s", "Zeit (ms)", "", LOG_COLUMNS_KNOWN, 1e-3},
      {"air", "Luft", "", LOG_COLUMNS_UNKNOWN, 0.0},
  };
  for (size_t i = 0; i < ARRAY_COUNT(rows); i++) {
    struct log_columns_meaning meaning;
    print_message("%s is %s\n", rows[i].header, rows[i].name);
    assert_int_equal(log_columns_find_as(rows[i].name, rows[i].header, rows[i].unit, &meaning), rows[i].answer);
    if (rows[i].answer == LOG_COLUMNS_KNOWN) check_relative(meaning.factor, rows[i].factor, 1e-12);
  }
}

static void a_header_of_any_length_is_safe(void **state) {
  (void)state;
  static char header[5000];
  struct log_columns_meaning meaning;
  static const char fillers[] = "a (,_\xC2\xB0)";
  for (size_t i = 0; i + 1 < sizeof fillers; i++) {
    memset(header, fillers[i], sizeof header - 1);
    assert_int_equal(log_columns_find(header, &meaning), LOG_COLUMNS_UNKNOWN);
    assert_null(log_columns_near(header));
    memcpy(header, "MAP(", 4);
    header[sizeof header - 2] = ')';
    (void)log_columns_find(header, &meaning);
    assert_true(strlen(meaning.unit) < sizeof meaning.unit);
  }
}

/* "engien" is two slips from "engine"; a short name is not guessed at. */
static void a_slip_is_recognised(void **state) {
  (void)state;
  assert_string_equal(log_columns_near("Engien RPM"), "engine rpm");
  assert_string_equal(log_columns_near("Absolut Throttle Positon (%)"), "absolute throttle position");
  assert_null(log_columns_near("EGR"));
  assert_null(log_columns_near("Fuel Pressure"));
  assert_null(log_columns_near("Catalyst Temperature"));
}

static void spellings_are_listed_within_their_room(void **state) {
  (void)state;
  for (int i = 0; i < CHANNEL_COUNT; i++) {
    char text[LOG_COLUMNS_TEXT_SIZE];
    log_columns_list((enum channel)i, text);
    assert_true(strlen(text) < sizeof text);
  }
  char text[LOG_COLUMNS_TEXT_SIZE];
  log_columns_list(CHANNEL_time_s, text);
  assert_non_null(strstr(text, "'time', 'elapsed time'"));
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(the_names_of_the_standard_are_known),
      cmocka_unit_test(units_are_recognised_wherever_they_stand),
      cmocka_unit_test(our_own_names_pass_unchanged),
      cmocka_unit_test(a_missing_unit_is_assumed_and_said),
      cmocka_unit_test(what_could_mean_something_else_is_not_taken),
      cmocka_unit_test(what_is_of_no_use_is_known),
      cmocka_unit_test(abbreviations_are_known),
      cmocka_unit_test(a_unit_may_stand_elsewhere),
      cmocka_unit_test(a_column_may_be_named_by_hand),
      cmocka_unit_test(a_header_of_any_length_is_safe),
      cmocka_unit_test(a_slip_is_recognised),
      cmocka_unit_test(spellings_are_listed_within_their_room),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
