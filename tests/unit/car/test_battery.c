/* sim/battery. Truth: hand values from docs/physics.md section 7; the voltages are common practice, no
 * source. */
#include "support/check.h"

#include "car/battery.h"

static void terminal(void **state) {
  (void)state;
  check_close(battery_terminal_v(12.6, 14.0, 0.0, false), 12.6, 0.0);
  check_close(battery_terminal_v(12.6, 14.0, 1.0, false), 14.0, 1e-14);
  check_close(battery_terminal_v(12.6, 14.0, 0.5, false), 13.3, 1e-14);
  check_close(battery_terminal_v(12.0, 14.0, 0.25, false), 12.5, 1e-14);
  check_close(battery_terminal_v(12.6, 0.0, 1.0, false), 12.6, 0.0);    // it does not charge
  check_close(battery_terminal_v(12.6, 15.5, 1.0, false), 15.5, 1e-14); // nothing holds it back
  check_close(battery_terminal_v(14.4, 14.0, 1.0, false), 14.4, 0.0);   // the alternator never pulls it down
  check_close(battery_terminal_v(12.6, 14.0, 0.0, true), 10.4, 1e-14);
  check_above(battery_terminal_v(12.6, 14.0, 0.0, true),
              9.6); // a good battery cranks above this: common practice, no source
}

/* (U - 8)/(12.6 - 8): 10.3 V gives one half; at most 1.1. */
static void starter(void **state) {
  (void)state;
  check_close(battery_starter_ratio(12.6), 1.0, 1e-15);
  check_close(battery_starter_ratio(10.3), 0.5, 1e-14);
  check_close(battery_starter_ratio(8.0), 0.0, 0.0);
  check_close(battery_starter_ratio(6.0), 0.0, 0.0);
  check_close(battery_starter_ratio(13.5), 1.1, 0.0);
}

int main(void) {
  const struct CMUnitTest tests[] = {cmocka_unit_test(terminal), cmocka_unit_test(starter)};
  return cmocka_run_group_tests(tests, NULL, NULL);
}
