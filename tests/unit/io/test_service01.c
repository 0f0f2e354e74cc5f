/* io/service01, io/data_stream's table in docs/readings.md, sim/freeze_frame. Truth: pairs of bytes and values worked out by
 * hand from the published scalings (docs/readings.md names them), round trips, and the limits of the bytes themselves. */
#include "base/attributes.h"
#include "io/config/engine_file.h"
#include "io/scantool/service01.h"
#include "sim/simulation.h"
#include "support/check.h"
#include "support/service01_of.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* Known pairs; 0.999424 for 44 with the older factor 0.0000305 is why that one has a tolerance of 1e-3. */
static const struct {
  unsigned identifier;
  uint32_t raw;
  double value, tolerance;
} pairs[] = {
    {0x0C, 0x0AF0, 700.0, 1e-9}, {0x0C, 0x0BB8, 750.0, 1e-9},    {0x10, 0x00E1, 2.25, 1e-9},    {0x11, 0x26, 14.902, 5e-4},
    {0x11, 0x2E, 18.0392, 5e-5}, {0x06, 0x8D, 10.15625, 1e-9},   {0x06, 0x73, -10.15625, 1e-9}, {0x06, 0xFF, 99.21875, 1e-9},
    {0x0E, 0x96, 11.0, 1e-9},    {0x0E, 0x80, 0.0, 1e-9},        {0x05, 0x82, 90.0, 1e-9},      {0x42, 0x3714, 14.1, 1e-9},
    {0x44, 0x8000, 1.0, 1e-3},   {0x0C, 0xFFFF, 16383.75, 1e-9}, {0x10, 0xFFFF, 655.35, 1e-9},  {0x43, 0xFFFF, 25700.0, 1e-9},
    {0x05, 0xFF, 215.0, 1e-9},   {0x0E, 0xFF, 63.5, 1e-9},
};

static void test_published_pairs(void **unused) {
  (void)unused;
  for (size_t i = 0; i < ARRAY_COUNT(pairs); i++) {
    const struct service01_row *row = service01_of(pairs[i].identifier);
    assert_non_null(row);
    check_close_at(pairs[i].identifier, service01_decode(row, pairs[i].raw), pairs[i].value, pairs[i].tolerance);
    assert_int_equal(service01_encode(row, pairs[i].value), pairs[i].raw);
  }
}

/* Every row: any value comes back within half a step, and what the bytes cannot hold becomes the nearest they can. */
static void test_round_trip_and_clamping(void **unused) {
  (void)unused;
  for (size_t k = 0; k < service01_count; k++) {
    const struct service01_row *row = &service01_rows[k];
    const double most = pow(256.0, row->bytes) - 1.0, top = most * row->scale + row->offset;
    for (int i = 0; i <= 1000; i++) {
      const double value = row->offset + (top - row->offset) * i / 1000.0;
      const double back = service01_decode(row, service01_encode(row, value));
      check_close_at(row->identifier, back, value, 0.5 * row->scale * (1.0 + 1e-9));
    }
    assert_int_equal(service01_encode(row, row->offset - 10.0 * row->scale), 0);
    check_close_at(row->identifier, service01_encode(row, top + 10.0 * row->scale), most, 0.0);
    check_close_at(row->identifier, service01_encode(row, INFINITY), most, 0.0);
  }
}

static void test_bytes_high_first(void **unused) {
  (void)unused;
  uint8_t bytes[SERVICE01_BYTES_MAX];
  char text[SERVICE01_TEXT_SIZE];
  const struct service01_row *speed = service01_of(0x0C);
  assert_int_equal(service01_bytes(speed, 0x0AF0, bytes), 2);
  assert_int_equal(bytes[0], 0x0A);
  assert_int_equal(bytes[1], 0xF0);
  service01_hex(speed, 0x0AF0, text);
  assert_string_equal(text, "0A F0");
  service01_words(speed, 0x0AF0, text);
  assert_string_equal(text, "700.00");
}

static void test_identifiers_ascend(void **unused) {
  (void)unused;
  for (size_t k = 1; k < service01_count; k++) assert_true(service01_rows[k].identifier > service01_rows[k - 1].identifier);
  assert_null(service01_of(0x02));
}

/* Readings of an engine that nobody measured: every channel 1, so that only what is not fitted stays out. */
static void fill(struct scan_data *reading) {
  *reading = (struct scan_data){.awake = true, .wanted_lambda = 1.0, .fuel = SCAN_DATA_FUEL_CLOSED};
  for (int i = 0; i < CHANNEL_COUNT; i++) reading->values[i] = 1.0;
}

/* Absolute load by hand: 2.25 g/s at 750 rpm are 0.36 g a cycle; 1.184 g/L times 1.6 L are 1.8944 g: 19.0 %. */
static void test_computed_values(void **unused) {
  (void)unused;
  struct engine engine = {0};
  struct scan_data reading;
  const struct service01_source source = {&engine, &reading, NULL};
  fill(&reading);
  engine.plant.charge.displacement_m3 = 1.6e-3;
  reading.values[CHANNEL_maf_gps] = 2.25;
  reading.values[CHANNEL_speed_rpm] = 750.0;
  check_close(service01_of(0x43)->value(&source), 100.0 * 0.36 / 1.8944, 1e-9);
  reading.values[CHANNEL_tps1_v] = 0.75; // of 5 V
  reading.values[CHANNEL_tp_pct] = 15.0;
  reading.closed_position_pct = 10.0;
  check_close(service01_of(0x11)->value(&source), 15.0, 1e-9);
  check_close(service01_of(0x45)->value(&source), 5.0, 1e-9);
  engine.plant.throttle.kind = THROTTLE_ELECTRONIC;
  engine.plant.throttle.bore.closed_angle_rad = 10.0 * UNITS_RAD_PER_DEG;
  reading.values[CHANNEL_command_deg] = 4.0; // of 80 degrees
  check_close(service01_of(0x4C)->value(&source), 5.0, 1e-9);
  // 47: 4.4 V of 5 V on a track that falls from 90 % closed to 10 % open are 12 % open, not 88; on one that rises 0.6 V are
  engine.plant.throttle.closed2_position_ratio = 0.9;
  engine.plant.throttle.open2_position_ratio = 0.1;
  reading.values[CHANNEL_tps2_v] = 4.4;
  check_close(service01_of(0x47)->value(&source), 12.0, 1e-9);
  engine.plant.throttle.closed2_position_ratio = 0.1;
  engine.plant.throttle.open2_position_ratio = 0.9;
  reading.values[CHANNEL_tps2_v] = 0.6;
  check_close(service01_of(0x47)->value(&source), 12.0, 1e-9);
  reading.values[CHANNEL_maf_gps] = NAN;
  assert_true(isnan(service01_of(0x43)->value(&source)));
  check_close(service01_of(0x0D)->value(&source), 0.0, 0.0); // no car of the model ever moves
  assert_true(service01_of(0x0D)->in_frame);
}

/* Byte A: 80 lamp + 2 codes; byte B: all three groups fitted (07), none complete (70). Bits by hand. */
static void test_status_bits(void **unused) {
  (void)unused;
  struct engine engine = {0};
  struct scan_data reading;
  static struct monitors monitors;
  fill(&reading);
  const struct service01_source source = {&engine, &reading, &monitors};
  const struct service01_row *row = service01_of(0x01);
  monitors.code[MONITOR_P0506].code = monitors.code[MONITOR_P0171].code = CODE_CONFIRMED;
  monitors.code[MONITOR_P0507].code = CODE_PENDING; // does not count
  monitors.code[MONITOR_P0171].lamp = true;
  assert_int_equal(service01_encode(row, row->value(&source)), 0x82770000U);
  for (int i = 0; i < MONITOR_CODE_COUNT; i++) monitors.code[i].ready = true;
  assert_int_equal(service01_encode(row, row->value(&source)), 0x82070000U);
  monitors.code[MONITOR_P0300].ready = false;
  assert_int_equal(service01_encode(row, row->value(&source)), 0x82170000U);
  const struct service01_row *fuel = service01_of(0x03);
  assert_int_equal(service01_encode(fuel, fuel->value(&source)), 0x0200);
}

/* The list of identifiers says exactly which rows have a value; highest bit first, last bit: there is a next list. */
static void test_supported_lists(void **unused) {
  (void)unused;
  struct engine engine = {0};
  struct scan_data reading;
  static struct monitors monitors;
  fill(&reading);
  const struct service01_source source = {&engine, &reading, &monitors};
  for (unsigned identifier = 1; identifier <= 0x5F; identifier++) {
    const struct service01_row *row = service01_of(identifier);
    const uint32_t list = service01_supported(&source, (identifier - 1) & 0xE0U);
    const bool listed = list >> (31 - ((identifier - 1) & 0x1F)) & 1;
    const bool next_list = identifier == 0x20 || identifier == 0x40;
    assert_int_equal(listed, next_list || (row && !isnan(row->value(&source))));
  }
}

/* docs/readings.md carries the table as text; every row must stand there as the table has it. */
static void test_document(void **unused) {
  (void)unused;
  FILE *file = fopen("docs/readings.md", "r");
  assert_non_null(file);
  static char text[32768];
  const size_t size = fread(text, 1, sizeof text - 1, file);
  text[size] = '\0';
  fclose(file);
  size_t lines = 0;
  for (const char *at = text; (at = strstr(at, "\n| `")); at++) lines++;
  assert_int_equal(lines, service01_count);
  for (size_t i = 0; i < service01_count; i++) {
    const struct service01_row *row = &service01_rows[i];
    char line[256];
    snprintf(line, sizeof line, "\n| `%02X` | %s | %d | %.8g | %g | %s | %s | %s |\n", row->identifier, row->name, row->bytes,
             row->scale, row->offset, row->unit, row->origin, row->in_frame ? "yes" : "");
    if (!strstr(text, line)) fail_msg("docs/readings.md lacks this line:%s", line);
  }
}

/* ---- Freeze frame: invariants of its life ---- */

static void test_frame_lives_with_its_code(void **unused) {
  (void)unused;
  struct error error;
  struct engine engine;
  struct scenario scenario;
  error_clear(&error);
  scenario_init(&scenario);
  scenario.duration_s = 1.0;
  scenario.record_s = 0.1;
  assert_int_equal(engine_file_read("models/four-16.cfg", &engine, &error), STATUS_OK);
  conditions_init(&scenario.initial);
  scenario.running = false;
  const struct solver_options options = solver_options_default();
  struct simulation *sim;
  assert_int_equal(simulation_create(&engine, &scenario, &solver_fixed, &options, &sim, &error), STATUS_OK);
  struct freeze_frame frame = {.state = FREEZE_FRAME_NONE};
  struct scan_data now;
  simulation_read(sim, &now);
  freeze_frame_code_stored(&frame, &now, MONITOR_P0171, CODE_PENDING);
  assert_int_equal(frame.state, FREEZE_FRAME_STORED);
  check_close(frame.reading.values[CHANNEL_time_s], 0.0, 1e-9);
  freeze_frame_code_stored(&frame, &now, MONITOR_P0506, CODE_PENDING); // the first stays
  assert_int_equal(frame.code, MONITOR_P0171);
  freeze_frame_code_erased(&frame, MONITOR_P0506, 2.0);
  assert_int_equal(frame.state, FREEZE_FRAME_STORED);
  freeze_frame_code_erased(&frame, MONITOR_P0171, 3.0);
  assert_int_equal(frame.state, FREEZE_FRAME_ERASED);
  check_close(frame.erased_s, 3.0, 0.0);
  freeze_frame_code_stored(&frame, &now, MONITOR_P0506, CODE_CONFIRMED); // and makes room
  assert_int_equal(frame.code, MONITOR_P0506);
  assert_int_equal(frame.stored_as, CODE_CONFIRMED);
  simulation_destroy(sim);
  scenario_destroy(&scenario);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(test_published_pairs),           cmocka_unit_test(test_round_trip_and_clamping),
      cmocka_unit_test(test_bytes_high_first),          cmocka_unit_test(test_identifiers_ascend),
      cmocka_unit_test(test_computed_values),           cmocka_unit_test(test_status_bits),
      cmocka_unit_test(test_supported_lists),           cmocka_unit_test(test_document),
      cmocka_unit_test(test_frame_lives_with_its_code),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
