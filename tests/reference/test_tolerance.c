/* How far the answer depends on the solver: the default tolerance, and the fixed-step solver, against CVODE
 * at 1e-9.
 *
 * Truth: a second solution at a far tighter tolerance. Scatter is off, so that both see the same inputs but
 * for what the computer makes of their difference. The scenario has every event: a start, the blade at its
 * closed stop, a stall, a standstill. */
#include "support/scene.h"

#include "support/check.h"

#include <math.h>

#define RECORD_S    0.01
#define IDLE_FROM_S 4.0
#define IDLE_TO_S   20.0

/* Largest differences found. */
struct spread {
  double idle_rpm;     // from the film's beginning to the touch of the pedal
  double speed_rpm;    // anywhere
  double pressure_kpa; // while the crank turns
  double event_s;
};

/* One run through it all. */
static void build(struct scene *scene, const struct solver_vtable *solver, double tolerance) {
  scene_init(scene, "four-16", 45.0);
  scene->engine.plant.combustion.scatter_ratio = 0.0;
  scene->solver = solver;
  scene->options.relative_tolerance = tolerance;
  scene->scenario.record_s = RECORD_S;
  scene->scenario.running = false;
  scene_key(scene, 0.5, KEY_ON);
  scene_key(scene, 1.0, KEY_START);
  scene_ramp(scene, 4.0, 6.0, "film_um", 40.0);
  scene_set(scene, 12.0, "air_conditioning", 1.0);
  scene_set(scene, 17.0, "air_conditioning", 0.0);
  scene_set(scene, 20.0, "pedal_pct", 12.0);
  scene_set(scene, 21.0, "pedal_pct", 0.0); // the blade falls shut
  scene_key(scene, 26.0, KEY_OFF);
  scene_key(scene, 29.0, KEY_ON);
  scene_key(scene, 30.0, KEY_START);
  scene_set(scene, 38.0, "drag_nm", 60.0); // stalls it
}

static double difference(const struct recording *a, const struct recording *b, size_t row,
                         enum channel channel) {
  return fabs(recording_value(a, row, channel) - recording_value(b, row, channel));
}

static struct spread against_tight(const struct solver_vtable *solver, double tolerance) {
  struct scene loose, tight;
  build(&loose, solver, tolerance);
  build(&tight, &solver_cvode, 1e-9);
  scene_run(&loose);
  scene_run(&tight);
  const struct recording *a = &loose.recording, *b = &tight.recording;
  assert_int_equal(a->row_count, b->row_count);
  assert_int_equal(a->event_count, b->event_count);
  assert_true(scene_stalled(&tight));
  assert_int_equal(scene_events(&tight, RECORDING_ENGINE, -1, RECORDING_VALUE_STARTED), 2);
  assert_int_equal(scene_events(&tight, RECORDING_ENGINE, -1, RECORDING_VALUE_STANDSTILL), 2);
  check_close(scene_least(&tight, 2.0, 38.0, CHANNEL_blade_deg), 0.0, 1e-9); // it was at its stop
  struct spread spread = {0.0, 0.0, 0.0, 0.0};
  for (size_t row = 0; row < a->row_count; row++) {
    const double now_s = recording_value(b, row, CHANNEL_time_s);
    const double speed = difference(a, b, row, CHANNEL_speed_rpm);
    spread.speed_rpm = fmax(spread.speed_rpm, speed);
    if (now_s > IDLE_FROM_S && now_s < IDLE_TO_S) spread.idle_rpm = fmax(spread.idle_rpm, speed);
    if (recording_value(b, row, CHANNEL_speed_rpm) > 0.0)
      spread.pressure_kpa = fmax(spread.pressure_kpa, difference(a, b, row, CHANNEL_manifold_kpa));
  }
  for (size_t i = 0; i < a->event_count; i++) {
    assert_int_equal(a->events[i].kind, b->events[i].kind);
    assert_int_equal(a->events[i].value, b->events[i].value);
    spread.event_s = fmax(spread.event_s, fabs(a->events[i].time_s - b->events[i].time_s));
  }
  scene_end(&loose);
  scene_end(&tight);
  print_message(
      "%s %g: idle within %.3g rpm, speed within %.3g rpm, manifold within %.3g kPa, events within %.3g s\n",
      solver->name, tolerance, spread.idle_rpm, spread.speed_rpm, spread.pressure_kpa, spread.event_s);
  return spread;
}

/* Allowed: three times what was measured, which is the comment of the row. From 1e-6 on it shrinks with the
 * tolerance, as it must. It is hundreds of tolerances because the blade has dry friction: a small difference
 * moves the moment at which it breaks loose. With the friction taken away 1e-5 to 1e-8 give 0.26 to 0.0004 rpm,
 * some 30 to 45 tolerances: a hundred ticks a second each start afresh, and the idle forgets in about a second.
 * (A standing engine forgets nothing, so its manifold's pressure is left out.) */
static const struct {
  const struct solver_vtable *solver;
  double tolerance;
  double speed_rpm, pressure_kpa, event_s;
} rows[] = {
    {&solver_cvode, 1e-5, 3.5, 0.17, 3e-4},     // 1.15 rpm, in a start; 0.25 at idle; 0.055 kPa; 9e-5 s
    {&solver_cvode, 1e-6, 1.0, 0.10, 4e-5},     // 0.33 rpm, 0.030 kPa, 1.1e-5 s
    {&solver_cvode, 1e-7, 0.2, 0.018, 1e-6},    // 0.064 rpm, 0.0058 kPa, 9e-8 s
    {&solver_cvode, 1e-8, 0.025, 0.0022, 1e-6}, // 0.008 rpm, 0.0007 kPa, 6e-8 s
    {&solver_fixed, 0.0, 0.03, 0.0035, 1e-6},   // 0.010 rpm, 0.0011 kPa, 5e-8 s
};

static void close_to_tight(void **state) {
  (void)state;
  for (size_t i = 0; i < ARRAY_COUNT(rows); i++) {
    const struct spread spread = against_tight(rows[i].solver, rows[i].tolerance);
    check_below_at((double)i, spread.speed_rpm, rows[i].speed_rpm);
    check_below_at((double)i, spread.pressure_kpa, rows[i].pressure_kpa);
    check_below_at((double)i, spread.event_s, rows[i].event_s);
  }
}

/* The default tolerance at idle: a third of an rpm is below what any instrument shows. */
static void default_at_idle(void **state) {
  (void)state;
  const struct spread spread = against_tight(&solver_cvode, solver_options_default().relative_tolerance);
  check_below(spread.idle_rpm, 0.8); // measured 0.25
}

int main(void) {
  const struct CMUnitTest tests[] = {cmocka_unit_test(close_to_tight), cmocka_unit_test(default_at_idle)};
  return cmocka_run_group_tests(tests, NULL, NULL);
}
