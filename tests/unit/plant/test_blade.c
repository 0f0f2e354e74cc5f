/* plant/blade: position loop, friction and stops of the driven blade, alone and without the engine round it.
 *
 * Truth by hand. Without friction and springs the loop is  x'' = w^2 (command - x) - 2 z w x'  by its design,
 * with the textbook step response of a second-order system. With friction, Coulomb's law: current while
 * opening and while closing differ by twice the sliding friction over n K; a held blade breaks loose when
 * proportional and integral part together reach the sticking torque. */
#include "support/check.h"

#include "base/units.h"
#include "car/engine.h"
#include "io/config/engine_file.h"
#include "plant/blade.h"
#include "solver/solver.h"

#define DEG UNITS_RAD_PER_DEG

/* The drive of four-16 on a bench with a supply of 12 V. */
struct rig {
  struct engine engine;
  struct plant_inputs inputs;
  struct plant_state state;
  struct solver *solver;
  double time_s, event_s; // now, and when the last event was
  enum plant_event event;
};

static void rates(double time_s, const double *state, double *out, const void *context) {
  const struct rig *rig = context;
  (void)time_s;
  struct plant_state *result = (struct plant_state *)out;
  *result = (struct plant_state){0};
  blade_rates(&rig->engine.plant, &rig->inputs, (const struct plant_state *)state, result);
}

static void events(double time_s, const double *state, double *values, const void *context) {
  const struct rig *rig = context;
  (void)time_s;
  for (int i = 0; i < PLANT_EVENT_COUNT; i++) values[i] = 1.0;
  blade_event_values(&rig->engine.plant, &rig->inputs, (const struct plant_state *)state, values);
}

static double closed_rad(const struct rig *rig) { return rig->engine.plant.throttle.bore.closed_angle_rad; }

static void command(struct rig *rig, double opening_rad) {
  rig->inputs.blade_command_rad = closed_rad(rig) + opening_rad;
  rig->inputs.holding_v = drive_holding_v(&rig->engine.plant.drive, opening_rad);
}

static void rig_init(struct rig *rig, double opening_rad) {
  struct error error;
  *rig = (struct rig){.event = PLANT_EVENT_COUNT};
  assert_int_equal(engine_file_read("models/four-16.cfg", &rig->engine, &error), STATUS_OK);
  const struct drive_params *drive = &rig->engine.plant.drive;
  rig->inputs = (struct plant_inputs){.mode.blade = BLADE_HELD,
                                      .drive_powered = true,
                                      .motor_supply_v = 12.0,
                                      .slide_nm = drive->slide_nm,
                                      .stick_nm = drive->stick_nm,
                                      .faults = {.motor_resistance_ratio = 1.0, .spring_ratio = 1.0}};
  rig->state.blade_rad = closed_rad(rig) + opening_rad;
  command(rig, opening_rad);
  double nominal[PLANT_STATE_COUNT];
  for (int i = 0; i < PLANT_STATE_COUNT; i++) nominal[i] = plant_state_rows[i].nominal;
  const struct solver_problem problem = {.state_count = PLANT_STATE_COUNT,
                                         .rates = rates,
                                         .event_count = PLANT_EVENT_COUNT,
                                         .events = events,
                                         .context = rig,
                                         .nominal = nominal};
  struct solver_options options = solver_options_default();
  options.relative_tolerance = 1e-9;
  assert_int_equal(solver_cvode.create(&problem, &options, &rig->solver, &error), STATUS_OK);
}

static void rig_end(struct rig *rig) { solver_destroy(rig->solver); }

/* To a time, with the inputs held and events applied; stop_at: leave at this event. */
static void run_to(struct rig *rig, double end_s, enum plant_event stop_at) {
  blade_release(&rig->engine.plant, &rig->inputs, &rig->state, &rig->inputs.mode, &rig->state.blade_rate_rad_s);
  while (rig->time_s < end_s) {
    struct error error;
    enum solver_stop stop;
    size_t event = 0;
    if (solver_advance(rig->solver, &rig->time_s, end_s, (double *)&rig->state, &stop, &event, &error) != STATUS_OK)
      fail_msg("%s", error.text);
    if (stop != SOLVER_STOP_EVENT) continue;
    rig->event = (enum plant_event)event;
    rig->event_s = rig->time_s;
    blade_event_apply(&rig->engine.plant, &rig->inputs, rig->event, &rig->inputs.mode, &rig->state);
    if (rig->event == stop_at) return;
  }
}

static double opening(const struct rig *rig) { return rig->state.blade_rad - closed_rad(rig); }

/* Unit step of x'' + 2 z w x' + w^2 x = w^2. */
static double step_response(double w, double z, double t) {
  const double wd = w * sqrt(1.0 - z * z);
  return 1.0 - exp(-z * w * t) * (cos(wd * t) + z / sqrt(1.0 - z * z) * sin(wd * t));
}

static void step_without_friction(void **state) {
  (void)state;
  const double dampings[] = {0.5, 0.9};
  for (int k = 0; k < 2; k++) {
    struct rig rig;
    rig_init(&rig, 0.3);
    rig.engine.plant.throttle.damping_ratio = dampings[k];
    rig.engine.plant.drive.spring_nm_rad = rig.engine.plant.drive.spring_preload_nm = rig.engine.plant.drive.integral_1_s = 0.0;
    rig.inputs.slide_nm = rig.inputs.stick_nm = 0.0;
    command(&rig, 0.35); // 47 V/rad: within the supply
    const double w = rig.engine.plant.throttle.natural_frequency_rad_s;
    double highest = 0.0;
    for (int i = 1; i <= 120; i++) {
      run_to(&rig, i * 1e-3, PLANT_EVENT_COUNT);
      const double share = (opening(&rig) - 0.3) / 0.05;
      check_close_at(rig.time_s, share, step_response(w, dampings[k], rig.time_s),
                     1e-4); // it begins at 1e-4 rad/s, not at rest
      highest = fmax(highest, share);
    }
    // overshoot exp(-pi z / sqrt(1 - z^2)): 16.3 % for 0.5, 0.15 % for 0.9; read every millisecond
    check_close_at(dampings[k], highest - 1.0, exp(-UNITS_PI * dampings[k] / sqrt(1.0 - dampings[k] * dampings[k])), 1e-3);
    rig_end(&rig);
  }
}

/* 0.0005 rad ahead: the proportional part gives J w^2 0.0005 = 0.0055 N m, the springs' own slope c 0.0005
 * more; the integral part adds 20 times the proportional part a second until 0.030 N m are there. */
static void breaks_loose_in_time(void **state) {
  (void)state;
  struct rig rig;
  rig_init(&rig, 0.3);
  command(&rig, 0.3005);
  run_to(&rig, 2.0, PLANT_EVENT_blade_opens);
  const struct drive_params *drive = &rig.engine.plant.drive;
  const double w = rig.engine.plant.throttle.natural_frequency_rad_s;
  const double proportional = drive->inertia_kg_m2 * w * w * 0.0005;
  const double expected = ((drive->stick_nm - drive->spring_nm_rad * 0.0005) / proportional - 1.0) / drive->integral_1_s;
  assert_int_equal(rig.event, PLANT_EVENT_blade_opens);
  check_relative(rig.event_s, expected, 1e-3);
  check_close(opening(&rig), 0.3, 1e-12); // until then it stands
  assert_int_equal(rig.inputs.mode.blade, BLADE_OPENING);
  rig_end(&rig);
}

/* Inside the dead band nothing winds, beyond it only the excess does: then it breaks loose as above, the integral growing with 0.0005 rad
 * less the band. */
static void dead_band_winds_nothing(void **state) {
  (void)state;
  struct rig rig;
  rig_init(&rig, 0.3);
  struct drive_params *drive = &rig.engine.plant.drive;
  drive->dead_band_rad = 0.0006;
  command(&rig, 0.3005);
  run_to(&rig, 20.0, PLANT_EVENT_blade_opens);
  assert_int_equal(rig.inputs.mode.blade, BLADE_HELD);
  check_close(rig.state.drive_integral_v, 0.0, 0.0);
  drive->dead_band_rad = 0.0002;
  run_to(&rig, 30.0, PLANT_EVENT_blade_opens);
  const double w = rig.engine.plant.throttle.natural_frequency_rad_s;
  const double proportional = drive->inertia_kg_m2 * w * w * 0.0005;
  const double expected = ((drive->stick_nm - drive->spring_nm_rad * 0.0005) / proportional - 1.0) / drive->integral_1_s;
  assert_int_equal(rig.event, PLANT_EVENT_blade_opens);
  check_relative(rig.event_s - 20.0, expected / (1.0 - 0.0002 / 0.0005), 1e-3);
  rig_end(&rig);
}

/* Integral and stiction hunt (textbook: sticking friction above sliding, and an integral, make a limit cycle); a dead band wider than half the
 * way of one slip, (stick - slide)/(J w^2) = 0.052 deg at most, ends it. */
static void dead_band_ends_the_hunt(void **state) {
  (void)state;
  for (int banded = 0; banded <= 1; banded++) {
    struct rig rig;
    rig_init(&rig, 0.3);
    rig.engine.plant.drive.dead_band_rad = banded ? 0.03 * DEG : 0.0;
    command(&rig, 0.301);
    run_to(&rig, 10.0, PLANT_EVENT_COUNT);
    const double settled_rad = opening(&rig);
    run_to(&rig, 30.0, PLANT_EVENT_COUNT);
    if (banded) {
      check_below(rig.event_s, 10.0);
      check_close(opening(&rig), settled_rad, 0.0);
      check_close(opening(&rig) / DEG, 0.301 / DEG, 0.06);
    } else {
      check_above(rig.event_s, 28.0);
    }
    rig_end(&rig);
  }
}

/* A motor with many times its resistance cannot do what is asked: the voltage wanted goes along the supply's limit. The integral part must
 * neither wind up beyond it nor be switched on and off there without end, for which a solver has no step short enough. */
static void goes_along_the_limit(void **state) {
  (void)state;
  const double ratios[] = {5.0, 8.0, 12.0, 20.0};
  for (int i = 0; i < 4; i++)
    for (int down = 0; down <= 1; down++) {
      struct rig rig;
      rig_init(&rig, 10.0 * DEG);
      rig.inputs.faults.motor_resistance_ratio = ratios[i];
      command(&rig, (down ? 1.0 : 25.0) * DEG);
      double most_v = 0.0;
      for (int k = 1; k <= 500; k++) {
        run_to(&rig, k * 0.01, PLANT_EVENT_COUNT);
        most_v = fmax(most_v, fabs(rig.state.drive_integral_v));
      }
      check_below_at(ratios[i], most_v, 2.0 * rig.inputs.motor_supply_v);
      rig_end(&rig);
    }
}

/* Command swept slowly up and down: the current at the same opening differs by twice the sliding friction
 * over n K. Sticking is made equal to sliding, so that the blade does not jump. */
static void current_has_a_loop(void **state) {
  (void)state;
  struct rig rig;
  rig_init(&rig, 10.0 * DEG);
  rig.inputs.stick_nm = rig.inputs.slide_nm;
  const struct drive_params *drive = &rig.engine.plant.drive;
  double sum_a[2] = {0.0, 0.0};
  int count[2] = {0, 0};
  for (int i = 0; i < 20000; i++) { // 10 s up and 10 s down at 2 degrees a second
    const double opening_deg = 10.0 + 2.0 * (i < 10000 ? i : 20000 - i) * 1e-3;
    command(&rig, opening_deg * DEG);
    run_to(&rig, (i + 1) * 1e-3, PLANT_EVENT_COUNT);
    if (fabs(opening(&rig) / DEG - 20.0) > 1.0) continue; // round the middle
    sum_a[i / 10000] += blade_motor_a(&rig.engine.plant, &rig.inputs, &rig.state);
    count[i / 10000]++;
  }
  assert_true(count[0] > 500 && count[1] > 500);
  const double loop = sum_a[0] / count[0] - sum_a[1] / count[1];
  check_relative(loop, 2.0 * drive->slide_nm / (drive->gear_ratio * drive->motor_constant_nm_a), 0.01);
  rig_end(&rig);
}

static void stops_hold_it(void **state) {
  (void)state;
  struct rig rig;
  rig_init(&rig, 10.0 * DEG);
  command(&rig, -1.0 * DEG);
  run_to(&rig, 0.5, PLANT_EVENT_COUNT);
  check_close(opening(&rig), 0.0, 1e-12);
  assert_int_equal(rig.inputs.mode.blade, BLADE_HELD);
  command(&rig, 90.0 * DEG);
  run_to(&rig, 1.5, PLANT_EVENT_COUNT);
  check_close(rig.state.blade_rad, 0.5 * UNITS_PI, 1e-12);
  assert_int_equal(rig.inputs.mode.blade, BLADE_HELD);
  command(&rig, 20.0 * DEG); // and it lets go again
  run_to(&rig, 3.0, PLANT_EVENT_COUNT);
  check_close(opening(&rig) / DEG, 20.0, 0.2);
  rig_end(&rig);
}

/* Stalled against a hard stop at the supply's limit: Ohm's law, 12 V over 1.9 ohm; a doubled resistance
 * halves it, a broken wire has none. */
static void stall_current(void **state) {
  (void)state;
  struct rig rig;
  rig_init(&rig, 0.0);
  rig.state.blade_rad = 0.5 * UNITS_PI;
  command(&rig, 180.0 * DEG);
  check_relative(blade_motor_v(&rig.engine.plant, &rig.inputs, &rig.state), 12.0, 1e-12);
  check_relative(blade_motor_a(&rig.engine.plant, &rig.inputs, &rig.state), 12.0 / rig.engine.plant.drive.resistance_ohm, 1e-12);
  rig.inputs.faults.motor_resistance_ratio = 2.0;
  check_relative(blade_motor_a(&rig.engine.plant, &rig.inputs, &rig.state), 6.0 / rig.engine.plant.drive.resistance_ohm, 1e-12);
  rig.inputs.faults.motor_open = 1.0;
  check_close(blade_motor_a(&rig.engine.plant, &rig.inputs, &rig.state), 0.0, 0.0);
  rig.inputs.drive_powered = false;
  check_close(blade_motor_v(&rig.engine.plant, &rig.inputs, &rig.state), 0.0, 0.0);
  rig_end(&rig);
}

/* Without power the springs bring it from either side to the rest angle, as near as sticking lets them:
 * |T_spring| <= stick, which near the rest angle is a band of stick * width / preload (drive.c: 0.004 rad
 * where the springs meet). */
static void springs_bring_it_home(void **state) {
  (void)state;
  const double starts_deg[] = {0.0, 2.0, 10.0, 60.0, 83.0};
  for (int i = 0; i < 5; i++) {
    struct rig rig;
    rig_init(&rig, starts_deg[i] * DEG);
    rig.inputs.drive_powered = false;
    run_to(&rig, 20.0, PLANT_EVENT_COUNT);
    const struct drive_params *drive = &rig.engine.plant.drive;
    assert_int_equal(rig.inputs.mode.blade, BLADE_HELD);
    check_close_at(starts_deg[i], opening(&rig), drive->rest_opening_rad,
                   1.02 * drive->stick_nm * 0.004 / drive->spring_preload_nm);
    rig_end(&rig);
  }
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(step_without_friction),   cmocka_unit_test(breaks_loose_in_time),
      cmocka_unit_test(dead_band_winds_nothing), cmocka_unit_test(dead_band_ends_the_hunt),
      cmocka_unit_test(goes_along_the_limit),    cmocka_unit_test(current_has_a_loop),
      cmocka_unit_test(stops_hold_it),           cmocka_unit_test(stall_current),
      cmocka_unit_test(springs_bring_it_home),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
