/* solver_fixed on an equation quicker than its steps of 1 ms:  y' = k (1 - y),  y = 1 - exp(-k t)  by the textbook. A Runge-Kutta method of
 * fourth order is stable while step times k is below 2.785 (J. D. Lambert, Numerical Methods for Ordinary Differential Systems, 1991,
 * section 5.12, from memory); here 1 ms times k is 6. */
#include "support/check.h"

#include "solver/solver.h"

#define K_PER_S 6000.0

static void rates(double time_s, const double *state, double *out, const void *context) {
  (void)time_s, (void)context;
  out[0] = K_PER_S * (1.0 - state[0]);
}

static void half_way(double time_s, const double *state, double *values, const void *context) {
  (void)time_s, (void)context;
  values[0] = 0.5 - state[0];
}

static struct solver_steps hint(double time_s, const double *state, const void *context) {
  (void)time_s, (void)state, (void)context;
  return (struct solver_steps){1.0, 0.4 / K_PER_S}; // so that no part is above 1 / k
}

static struct solver *solver_of(const struct solver_problem *problem, double step_s) {
  const struct solver_options options = {.step_s = step_s};
  struct solver *solver = NULL;
  struct error error = {0};
  assert_int_equal(solver_fixed.create(problem, &options, &solver, &error), STATUS_OK);
  return solver;
}

static double advance(struct solver *solver, double *time_s, double end_s, double *y, enum solver_stop wanted) {
  enum solver_stop stop;
  size_t event;
  struct error error = {0};
  assert_int_equal(solver_advance(solver, time_s, end_s, y, &stop, &event, &error), STATUS_OK);
  assert_int_equal(stop, wanted);
  return *time_s;
}

/* Without being told, it swings ever wider: the equation is one that needs the parts. */
static void comes_to_rest(void **state) {
  (void)state;
  struct solver_problem problem = {.state_count = 1, .rates = rates};
  double untold = 0.0, told = 0.0, time_s = 0.0;
  struct solver *solver = solver_of(&problem, 1e-3);
  advance(solver, &time_s, 0.01, &untold, SOLVER_STOP_TIME);
  check_above(fabs(untold - 1.0), 1e6);
  solver_destroy(solver);
  problem.step_hint = hint;
  solver = solver_of(&problem, 1e-3);
  time_s = 0.0;
  check_close(advance(solver, &time_s, 0.01, &told, SOLVER_STOP_TIME), 0.01, 0.0);
  check_close(told, 1.0, 1e-12);
  solver_destroy(solver);
}

/* An event in the second part of a step: y = 1/2 at ln 2 / k = 0.69 / k and, from y = -1, at ln 4 / k = 1.39 / k. One part is wrong
 * by (1/5!) (k h)^5 at most. */
static void event_in_a_part(void **state) {
  (void)state;
  const struct solver_problem problem = {
      .state_count = 1, .rates = rates, .event_count = 1, .events = half_way, .step_hint = hint};
  struct solver *solver = solver_of(&problem, 1e-3);
  const double starts[] = {0.0, -1.0};
  for (int i = 0; i < 2; i++) {
    double y = starts[i], time_s = 0.0;
    check_close_at(starts[i], advance(solver, &time_s, 0.01, &y, SOLVER_STOP_EVENT), log(2.0 * (1.0 - starts[i])) / K_PER_S,
                   0.02 / K_PER_S);
    check_close_at(starts[i], y, 0.5, 1e-5);
    advance(solver, &time_s, 0.01, &y, SOLVER_STOP_TIME); // and it goes on from there
    check_close_at(starts[i], y, 1.0, 1e-12);
  }
  solver_destroy(solver);
}

/* ---- Many parts at once: Runge-Kutta-Legendre ---- */

static struct solver_steps short_hint(double time_s, const double *state, const void *context) {
  (void)time_s, (void)state, (void)context;
  return (struct solver_steps){1.0, 1e-5};
}

static void quick(double time_s, const double *state, double *out, const void *context) {
  (void)time_s, (void)context;
  out[0] = 1e5 * (1.0 - state[0]);
}

/* 100 times too quick for the step: it comes to rest without swinging, by a third a step or more (its stability polynomial lies between 0 and 2/3
 * there: Meyer and others 2012, from memory). */
static void quick_comes_to_rest(void **state) {
  (void)state;
  const struct solver_problem problem = {.state_count = 1, .rates = quick, .step_hint = short_hint};
  struct solver *solver = solver_of(&problem, 1e-3);
  double y = 0.0, time_s = 0.0, off = 1.0;
  for (int i = 1; i <= 80; i++) {
    advance(solver, &time_s, 1e-3 * i, &y, SOLVER_STOP_TIME);
    check_below_at(i, fabs(y - 1.0), 0.67 * off + 1e-15);
    off = fabs(y - 1.0);
  }
  check_close(y, 1.0, 1e-12);
  solver_destroy(solver);
}

/* Not stiff at all, and with the time in it: what has any order. */
static void slow(double time_s, const double *state, double *out, const void *context) {
  (void)context;
  out[0] = 200.0 * (cos(300.0 * time_s) - state[0] * state[0]);
}

static double slow_end(const struct solver_problem *problem, double step_s) {
  struct solver *solver = solver_of(problem, step_s);
  double y = 1.0, time_s = 0.0;
  advance(solver, &time_s, 0.008, &y, SOLVER_STOP_TIME);
  solver_destroy(solver);
  return y;
}

/* Of second order: half the step, a quarter of the error. The classic method with steps of 10 us tells the truth, to 1e-12. */
static void second_order(void **state) {
  (void)state;
  const struct solver_problem told = {.state_count = 1, .rates = slow, .step_hint = short_hint},
                              untold = {.state_count = 1, .rates = slow};
  const double truth = slow_end(&untold, 1e-5);
  const double coarse = fabs(slow_end(&told, 1e-3) - truth), fine = fabs(slow_end(&told, 5e-4) - truth),
               finest = fabs(slow_end(&told, 2.5e-4) - truth);
  check_below(coarse, 5e-3);
  check_close(coarse / fine, 4.0, 1.0);
  check_close(fine / finest, 4.0, 0.5);
}

int main(void) {
  const struct CMUnitTest tests[] = {cmocka_unit_test(comes_to_rest), cmocka_unit_test(event_in_a_part),
                                     cmocka_unit_test(quick_comes_to_rest), cmocka_unit_test(second_order)};
  return cmocka_run_group_tests(tests, NULL, NULL);
}
