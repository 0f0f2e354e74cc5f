/* physics/drive: motor, gear and springs. Truth: Ohm's law and the lever of the gear by hand, for a drive of
 * round numbers; symmetry and slope of the springs. */
#include "support/check.h"

#include "physics/drive.h"

/* n K = 0.4 N m/A, stall at 12 V: 6 A and 2.4 N m; free-running at 12 / 0.4 = 30 rad/s. */
static const struct drive_params drive = {
    .gear_ratio = 20.0,
    .motor_constant_nm_a = 0.02,
    .resistance_ohm = 2.0,
    .inertia_kg_m2 = 1e-3,
    .spring_nm_rad = 0.2,
    .spring_preload_nm = 0.25,
    .rest_opening_rad = 0.07,
};

static void stalled_motor(void **state) {
  (void)state;
  check_relative(drive_current_a(&drive, 12.0, 0.0), 6.0, 1e-14);
  check_relative(drive_motor_nm(&drive, 12.0, 0.0), 2.4, 1e-14);
  check_relative(drive_motor_nm(&drive, -12.0, 0.0), -2.4, 1e-14);
  check_relative(drive_nm_per_v(&drive), 0.2, 1e-14);
}

static void back_voltage(void **state) {
  (void)state;
  check_close(drive_current_a(&drive, 12.0, 30.0), 0.0, 1e-12);
  check_relative(drive_current_a(&drive, 12.0, 15.0), 3.0, 1e-12);
  check_relative(drive_current_a(&drive, 0.0, 15.0), -3.0, 1e-12); // a shorted motor that is turned brakes
}

static void springs_meet_at_rest(void **state) {
  (void)state;
  check_close(drive_spring_nm(&drive, 0.07), 0.0, 1e-15);
  for (double off = 0.001; off < 1.4; off *= 1.7) {
    const double opening = drive_spring_nm(&drive, 0.07 - off), closing = drive_spring_nm(&drive, 0.07 + off);
    check_above_at(off, opening, 0.0);
    check_relative_at(off, closing, -opening, 1e-9);
  }
  // far from rest: preload and 0.2 N m/rad; the bend where they meet is 0.004 rad wide, at 1 rad its share is
  // 8e-6 of the preload
  check_close(drive_spring_nm(&drive, 1.07), -(0.25 + 0.2), 3e-6);
  check_close(drive_spring_nm(&drive, 0.0), 0.25 / sqrt(1.0 + 0.004 * 0.004 / 0.0049) + 0.2 * 0.07, 1e-12);
}

static void holding_voltage_balances(void **state) {
  (void)state;
  for (double opening = 0.0; opening < 1.45; opening += 0.05) {
    const double volts = drive_holding_v(&drive, opening);
    check_close_at(opening, drive_motor_nm(&drive, volts, 0.0) + drive_spring_nm(&drive, opening), 0.0, 1e-15);
  }
  check_below(drive_holding_v(&drive, 0.0), 0.0); // closing takes current too: the springs open it
}

int main(void) {
  const struct CMUnitTest tests[] = {cmocka_unit_test(stalled_motor), cmocka_unit_test(back_voltage),
                                     cmocka_unit_test(springs_meet_at_rest), cmocka_unit_test(holding_voltage_balances)};
  return cmocka_run_group_tests(tests, NULL, NULL);
}
