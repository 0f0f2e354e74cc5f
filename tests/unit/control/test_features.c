/* What an engine has, by what its file says. Truth: the first lines of the files in models/. */
#include "support/check.h"

#include "base/attributes.h"
#include "car/engine.h"
#include "control/monitors.h"
#include "io/config/engine_file.h"
#include "sim/scan.h"

static void shipped_engines(void **state) {
  (void)state;
  static const struct {
    const char *path;
    unsigned features;
  } rows[] = {
      {"models/four-16.cfg", FEATURE_electronic | FEATURE_drive | FEATURE_air_flow | FEATURE_two_tracks | FEATURE_one_bank |
                                 FEATURE_converter | FEATURE_compressor},
      {"models/four-18-cable.cfg", FEATURE_cable | FEATURE_air_flow | FEATURE_one_track | FEATURE_one_bank | FEATURE_compressor},
      {"models/six-30.cfg", FEATURE_electronic | FEATURE_drive | FEATURE_air_flow | FEATURE_two_tracks | FEATURE_two_banks |
                                FEATURE_converter | FEATURE_compressor},
      {"models/three-10.cfg", FEATURE_electronic | FEATURE_drive | FEATURE_pressure | FEATURE_manifold_sensor |
                                  FEATURE_two_tracks | FEATURE_one_bank | FEATURE_compressor},
      {"models/four-15-turbo.cfg", FEATURE_electronic | FEATURE_drive | FEATURE_air_flow | FEATURE_manifold_sensor |
                                       FEATURE_charger | FEATURE_two_tracks | FEATURE_one_bank | FEATURE_compressor},
  };
  for (size_t i = 0; i < ARRAY_COUNT(rows); i++) {
    struct engine engine;
    struct error error = {0};
    assert_int_equal(engine_file_read(rows[i].path, &engine, &error), STATUS_OK);
    assert_int_equal(engine_features(&engine), rows[i].features);
    assert_true(engine_has(&engine, 0));
    assert_true(engine_has(&engine, rows[i].features));
    assert_false(engine_has(&engine, FEATURE_two_banks | FEATURE_one_bank));
  }
}

/* Monitors of what is not there can never run, all others can. */
static void monitors_follow(void **state) {
  (void)state;
  const unsigned all = (1u << FEATURE_COUNT) - 1u;
  assert_int_equal(monitors_possible(all), (1u << MONITOR_ENABLE_COUNT) - 1u);
  assert_int_equal(monitors_possible(all & ~(unsigned)FEATURE_drive),
                   ((1u << MONITOR_ENABLE_COUNT) - 1u) & ~(unsigned)(MONITOR_ENABLE_drive | MONITOR_ENABLE_electronic));
  struct engine engine;
  struct error error = {0};
  assert_int_equal(engine_file_read("models/four-18-cable.cfg", &engine, &error), STATUS_OK);
  assert_false(scan_monitor_fitted(&engine, MONITOR_P2101)); // throttle motor
  assert_false(scan_monitor_fitted(&engine, MONITOR_P2138)); // pedal tracks
  assert_false(scan_monitor_fitted(&engine, MONITOR_P0174)); // bank 2
  assert_false(scan_monitor_fitted(&engine, MONITOR_P0106)); // manifold pressure
  assert_true(scan_monitor_fitted(&engine, MONITOR_P0102));  // air-flow sensor
  assert_true(scan_monitor_fitted(&engine, MONITOR_P0506));
  assert_int_equal(engine_file_read("models/four-15-turbo.cfg", &engine, &error), STATUS_OK);
  assert_true(scan_monitor_fitted(&engine, MONITOR_P0106)); // it has both sensors
  assert_true(scan_monitor_fitted(&engine, MONITOR_P0102));
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(shipped_engines),
      cmocka_unit_test(monitors_follow),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
