/* solver: all three by one interface. Truth: closed forms (a decay, a falling body), and the promises of solver.h: the first event, never
 * past the end, and after a failure the state that was last good and a message with the time. */
#include "solver/solver.h"

#include "base/attributes.h"
#include "support/check.h"

#include <string.h>

static const struct solver_vtable *const solvers[] = {&solver_fixed, &solver_fast, &solver_cvode};

/* A body that falls with 10 m/s2, and something that decays with 1/s beside it. Events: at heights of 8 m, 5 m, 2 m, in another order. */
enum { HEIGHT, SPEED, DECAY, STATE_COUNT };
enum { AT_5, AT_8, AT_2, EVENT_COUNT };
struct world {
  double broken_at_s; // rates are no numbers from then on; 0: never
};

static void rates(double time_s, const double *state, double *out, const void *context) {
  const struct world *world = context;
  out[HEIGHT] = state[SPEED];
  out[SPEED] = -10.0;
  out[DECAY] = world->broken_at_s > 0.0 && time_s >= world->broken_at_s ? (double)NAN : -state[DECAY];
}

static void events(double time_s, const double *state, double *values, const void *context) {
  (void)time_s;
  (void)context;
  values[AT_5] = state[HEIGHT] - 5.0;
  values[AT_8] = state[HEIGHT] - 8.0;
  values[AT_2] = state[HEIGHT] - 2.0;
}

static struct solver_steps steps(double time_s, const double *state, const void *context) {
  (void)time_s;
  (void)state;
  (void)context;
  return (struct solver_steps){0.01, 0.01};
}

static struct solver *create(const struct solver_vtable *vtable, const struct world *world, size_t event_count) {
  static const double nominal[STATE_COUNT] = {10.0, 10.0, 1.0};
  const struct solver_problem problem = {.state_count = STATE_COUNT,
                                         .rates = rates,
                                         .event_count = event_count,
                                         .events = event_count ? events : NULL,
                                         .context = world,
                                         .nominal = nominal,
                                         .step_hint = vtable == &solver_fast ? steps : NULL};
  struct solver_options options = solver_options_default();
  options.relative_tolerance = 1e-9;
  options.step_s = 1e-3;
  struct solver *solver;
  struct error error;
  error_clear(&error);
  if (vtable->create(&problem, &options, &solver, &error) != STATUS_OK) fail_msg("%s", error.text);
  return solver;
}

static void closed_forms(void **unused) {
  (void)unused;
  static const struct world world = {0.0};
  for (size_t i = 0; i < ARRAY_COUNT(solvers); i++) {
    struct solver *solver = create(solvers[i], &world, 0);
    double state[STATE_COUNT] = {10.0, 0.0, 1.0}, time_s = 0.0;
    enum solver_stop stop;
    size_t event;
    struct error error;
    for (int k = 1; k <= 10; k++) {
      assert_int_equal(solver_advance(solver, &time_s, 0.1 * k, state, &stop, &event, &error), STATUS_OK);
      assert_int_equal(stop, SOLVER_STOP_TIME);
      check_close_at(k, time_s, 0.1 * k, 0.0);
      check_close_at(k, state[HEIGHT], 10.0 - 5.0 * time_s * time_s, 1e-6);
      check_close_at(k, state[DECAY], exp(-time_s), 1e-6);
    }
    solver_destroy(solver);
  }
  solver_destroy(NULL); // is allowed
}

/* 8, 5 and 2 m are passed after sqrt(0.4), 1 and sqrt(1.6) s. */
static void events_in_order(void **unused) {
  (void)unused;
  static const struct world world = {0.0};
  for (size_t i = 0; i < ARRAY_COUNT(solvers); i++) {
    struct solver *solver = create(solvers[i], &world, EVENT_COUNT);
    double state[STATE_COUNT] = {10.0, 0.0, 1.0}, time_s = 0.0;
    enum solver_stop stop;
    size_t event;
    struct error error;
    assert_int_equal(solver_advance(solver, &time_s, 1.5, state, &stop, &event, &error), STATUS_OK);
    assert_int_equal(stop, SOLVER_STOP_EVENT);
    assert_int_equal(event, AT_8);
    check_close_at((double)i, time_s, sqrt(0.4), 1e-6);
    assert_int_equal(solver_advance(solver, &time_s, 1.5, state, &stop, &event, &error), STATUS_OK);
    assert_int_equal(stop, SOLVER_STOP_EVENT);
    assert_int_equal(event, AT_5);
    check_close_at((double)i, time_s, 1.0, 1e-6);
    state[HEIGHT] = fmin(state[HEIGHT], 5.0); // it has happened
    assert_int_equal(solver_advance(solver, &time_s, 1.1, state, &stop, &event, &error), STATUS_OK);
    assert_int_equal(stop, SOLVER_STOP_TIME);
    check_close_at((double)i, time_s, 1.1, 0.0);
    assert_int_equal(solver_advance(solver, &time_s, 2.0, state, &stop, &event, &error), STATUS_OK);
    assert_int_equal(event, AT_2);
    check_close_at((double)i, time_s, sqrt(1.6), 1e-6);
    solver_destroy(solver);
  }
}

/* From 0.5 s on a rate is no number: an error that names the time, and the state is as it last was good. */
static void no_number(void **unused) {
  (void)unused;
  static const struct world world = {0.5};
  for (size_t i = 0; i < ARRAY_COUNT(solvers); i++) {
    struct solver *solver = create(solvers[i], &world, EVENT_COUNT);
    double state[STATE_COUNT] = {100.0, 0.0, 1.0}, time_s = 0.0;
    enum solver_stop stop;
    size_t event;
    struct error error;
    error_clear(&error);
    assert_int_equal(solver_advance(solver, &time_s, 0.4, state, &stop, &event, &error), STATUS_OK);
    assert_int_equal(solver_advance(solver, &time_s, 1.0, state, &stop, &event, &error), STATUS_INTERNAL);
    assert_true(strstr(error.text, "0.4") || strstr(error.text, "0.5"));
    for (int k = 0; k < STATE_COUNT; k++) assert_true(isfinite(state[k]));
    assert_true(state[HEIGHT] >= 100.0 - 5.0 * 0.51 * 0.51 && state[HEIGHT] <= 100.0 - 5.0 * 0.16 + 1e-6);
    solver_destroy(solver);
  }
}

int main(void) {
  const struct CMUnitTest tests[] = {cmocka_unit_test(closed_forms), cmocka_unit_test(events_in_order),
                                     cmocka_unit_test(no_number)};
  return cmocka_run_group_tests(tests, NULL, NULL);
}
