/* An outside decoder reads our capture. Truth: the ISO 15765 and OBD-II dissectors of tshark (Debian package tshark), which
 * share no code and no table with ours. Skipped where there is no tshark. */
#include "base/attributes.h"
#include "io/scantool/capture.h"
#include "support/check.h"
#include "support/service01_of.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#define PREFERENCES "-o iso15765.can.ids:0x7df-0x7e8"

/* What the dissector calls a reading. 01 it shows as raw bytes only. */
static const struct {
  unsigned identifier;
  const char *field;
} fields[] = {
    {0x04, "engine_load"},
    {0x05, "engine_coolant_temp"},
    {0x06, "short_term_fuel_bank1"},
    {0x07, "long_term_fuel_bank1"},
    {0x08, "short_term_fuel_bank2"},
    {0x09, "long_term_fuel_bank2"},
    {0x0B, "intake_manifold_absolute_pressure"},
    {0x0C, "engine_rpm"},
    {0x0D, "vehicle_speed"},
    {0x0E, "timing_advance"},
    {0x0F, "intake_air_temp"},
    {0x10, "maf_air_flow_rate"},
    {0x11, "throttle_position"},
    {0x1F, "engine_uptime"},
    {0x42, "control_module_voltage"},
    {0x43, "absolute_load_value"},
    {0x44, "fuel_air_commanded_equiv_ratio"},
    {0x45, "relative_throttle_position"},
    {0x47, "absolute_throttle_position_B"},
    {0x49, "accelerator_pedal_position_D"},
    {0x4A, "accelerator_pedal_position_E"},
    {0x4C, "commanded_throttle_actuator"},
};

enum { SCAN_COUNT = 3, OUTPUT_SIZE = 16384 };
static struct engine engine;
static struct scan scans[SCAN_COUNT];
static char folder[] = "/tmp/bladegap-decoder-XXXXXX";
static char path[64];

/* An idle, a run-up, and an engine far from either: each reading in its range, no two alike. */
static void fill(struct scan *scan, int number) {
  static const double speed[SCAN_COUNT] = {712.3, 2503.9, 6120.0};
  *scan = (struct scan){.taken = true};
  struct scan_data *reading = &scan->reading;
  *reading = (struct scan_data){.awake = true, .run_time_s = 61.0 + 300.0 * number, .fuel = SCAN_DATA_FUEL_CLOSED};
  double *values = reading->values;
  reading->wanted_lambda = 1.0 - 0.07 * number;
  reading->closed_position_pct = 10.0;
  values[CHANNEL_time_s] = 10.0 * (number + 1);
  values[CHANNEL_load_pct] = 24.7 + 20.0 * number;
  values[CHANNEL_coolant_c] = 91.3 - 60.0 * number;
  values[CHANNEL_stft_pct] = 3.3 - 6.0 * number;
  values[CHANNEL_ltft_pct] = -5.1 + 9.0 * number;
  values[CHANNEL_stft2_pct] = 7.7 - 8.0 * number;
  values[CHANNEL_ltft2_pct] = -12.2 + 11.0 * number;
  values[CHANNEL_map_kpa] = 31.4 + 25.0 * number;
  values[CHANNEL_speed_rpm] = speed[number];
  values[CHANNEL_spark_deg] = 11.2 + 9.0 * number;
  values[CHANNEL_intake_c] = 24.6 - 22.0 * number;
  values[CHANNEL_maf_gps] = 2.257 + 15.0 * number;
  values[CHANNEL_battery_v] = 14.12 - 0.9 * number;
  values[CHANNEL_tps1_v] = 0.62 + 1.1 * number;
  values[CHANNEL_tp_pct] = 20.0 * values[CHANNEL_tps1_v];
  values[CHANNEL_tps2_v] = 5.0 - values[CHANNEL_tps1_v];
  values[CHANNEL_app1_v] = 0.81 + 1.3 * number;
  values[CHANNEL_app2_v] = 0.4 + 0.7 * number;
  values[CHANNEL_command_deg] = 3.1 + 21.0 * number;
}

static int prepare(void **unused) {
  (void)unused;
  struct error error;
  error_clear(&error);
  engine.plant.throttle.kind = THROTTLE_ELECTRONIC;
  engine.plant.throttle.bore.closed_angle_rad = 8.0 * UNITS_RAD_PER_DEG;
  engine.plant.charge.displacement_m3 = 1.6e-3;
  for (int i = 0; i < SCAN_COUNT; i++) fill(&scans[i], i);
  // 0, then 2 in one frame, then so many that they need several
  static const enum monitor_code many[] = {MONITOR_P0122, MONITOR_P0171, MONITOR_P0506,
                                           MONITOR_P2135, MONITOR_P2138, MONITOR_P2176};
  scans[1].monitors.code[MONITOR_P0300].code = scans[1].monitors.code[MONITOR_P0506].code = CODE_CONFIRMED;
  for (size_t i = 0; i < ARRAY_COUNT(many); i++) scans[2].monitors.code[many[i]].code = CODE_CONFIRMED;
  scans[2].monitors.code[MONITOR_P2101].code = CODE_PENDING;
  if (!mkdtemp(folder)) return -1;
  snprintf(path, sizeof path, "%s/capture.pcap", folder);
  return capture_write(path, &engine, scans, SCAN_COUNT, &error) == STATUS_OK ? 0 : -1;
}

static int clear(void **unused) {
  (void)unused;
  unlink(path);
  rmdir(folder);
  return 0;
}

/* What a tshark command line prints; skips the test visibly where there is none. */
static void ask(const char *options, char output[OUTPUT_SIZE]) {
  if (system("command -v tshark >/dev/null 2>&1") != 0) {
    print_message("no tshark on this machine (apt-get install tshark): skipped\n");
    skip();
  }
  char command[512];
  snprintf(command, sizeof command, "tshark -r %s %s %s 2>/dev/null", path, PREFERENCES, options);
  FILE *pipe = popen(command, "r");
  assert_non_null(pipe);
  const size_t size = fread(output, 1, OUTPUT_SIZE - 1, pipe);
  output[size] = '\0';
  assert_int_equal(pclose(pipe), 0);
}

/* The dissector reads from the bytes what we read from them. Tolerance: a thousandth of a step, and for 44 what its factor
 * may differ by (0.0000305 or 2/65536). */
static void test_readings(void **unused) {
  (void)unused;
  for (size_t i = 0; i < ARRAY_COUNT(fields); i++) {
    const struct service01_row *row = service01_of(fields[i].identifier);
    char options[256], output[OUTPUT_SIZE];
    snprintf(options, sizeof options, "-d iso15765.subdissector,obd-ii -Y obd-ii.mode01_%s -T fields -e obd-ii.mode01_%s",
             fields[i].field, fields[i].field);
    ask(options, output);
    char *at = output;
    for (int k = 0; k < SCAN_COUNT; k++) {
      const struct service01_source source = {&engine, &scans[k].reading, &scans[k].monitors};
      const double ours = service01_decode(row, service01_encode(row, row->value(&source)));
      char *end;
      const double theirs = strtod(at, &end);
      if (end == at) fail_msg("tshark shows no %s in scan %d: '%s'", fields[i].field, k, output);
      check_close_at(row->identifier, theirs, ours, row->identifier == 0x44 ? 1e-3 : 1e-3 * row->scale + 1e-9);
      at = end;
    }
  }
}

static void test_fuel_status(void **unused) {
  (void)unused;
  char output[OUTPUT_SIZE];
  ask("-d iso15765.subdissector,obd-ii -Y obd-ii.mode01_fuel_system1_status -T fields "
      "-e obd-ii.mode01_fuel_system1_status",
      output);
  assert_int_equal(strtol(output, NULL, 0), SCAN_DATA_FUEL_CLOSED);
}

/* The list of identifiers of the first scan, as the dissector spells it out: every row with a value, and the next lists. */
static void test_supported(void **unused) {
  (void)unused;
  char output[OUTPUT_SIZE];
  ask("-d iso15765.subdissector,obd-ii -Y obd-ii.mode01_supported_pid -T fields -e "
      "obd-ii.mode01_supported_pid",
      output);
  unsigned listed[256] = {0};
  for (char *at = output; *at;) {
    char *end;
    const unsigned long identifier = strtoul(at, &end, 0);
    if (end > at && identifier < 256) listed[identifier]++;
    at = end > at ? end : at + 1;
  }
  const struct service01_source source = {&engine, &scans[0].reading, &scans[0].monitors};
  for (size_t i = 0; i < service01_count; i++) {
    const bool fitted = !isnan(service01_rows[i].value(&source));
    assert_int_equal(listed[service01_rows[i].identifier], fitted ? SCAN_COUNT : 0);
  }
  assert_int_equal(listed[0x20], SCAN_COUNT);
  assert_int_equal(listed[0x40], SCAN_COUNT);
}

/* Services 03 and 07, put together again from their frames by the ISO 15765 dissector (which shows the
 * piece in a first frame too: that one is left out). Bytes by hand. */
static void test_codes(void **unused) {
  (void)unused;
  char output[OUTPUT_SIZE];
  ask("-Y \"can.id == 0x7e8 && (data.data[0] == 43 || data.data[0] == 47) && iso15765.message_type != 1\" -T "
      "fields -e data.data",
      output);
  assert_string_equal(output, "4300\n4700\n"
                              "430203000506\n4700\n"
                              "4306012201710506213521382176\n47012101\n");
}

int main(void) {
  const struct CMUnitTest tests[] = {cmocka_unit_test(test_readings), cmocka_unit_test(test_fuel_status),
                                     cmocka_unit_test(test_supported), cmocka_unit_test(test_codes)};
  return cmocka_run_group_tests(tests, prepare, clear);
}
