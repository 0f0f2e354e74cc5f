/* Classic Runge-Kutta of fourth order with a fixed step, for ensembles and for places without SUNDIALS.
 *
 *   k1 = f(t, y), k2 = f(t + h/2, y + h k1/2), k3 = f(t + h/2, y + h k2/2), k4 = f(t + h, y + h k3)
 *   y(t + h) = y + h/6 (k1 + 2 k2 + 2 k3 + k4)
 *
 * A step is cut into equal parts where the equations allow none as long (step_hint of solver.h): beyond h lambda = 2.8 of its
 * fastest motion the method swings from step to step and never comes to rest (J. D. Lambert, Numerical Methods for Ordinary
 * Differential Systems, 1991, section 5.12, from memory). Where that would be many parts, as in a manifold that stands open to
 * the air, one step of a method of second order takes their place, whose s stages are stable to h lambda = (s^2 + s - 2) / 2:
 *
 *   Runge-Kutta-Legendre, C. D. Meyer, D. S. Balsara, T. D. Aslam, Monthly Notices of the Royal Astronomical Society 422 (2012)
 *   2102-2115; formulas from memory, held against their order and stability in tests/unit/solver.
 *
 * Between ticks the right-hand side is smooth, so order four holds. An event inside a step is found by repeating the step with other
 * lengths, by regula falsi with the Illinois halving (M. Dowell, P. Jarratt, BIT 11 (1971) 168-174), until it ends where the event's
 * value has just fallen through zero. */
#include "solver/solver.h"

#include "base/bounds.h"

#include <math.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

#define HAIR         1e-6 // of a step: 10 ms are ten steps of 1 ms and not eleven
#define STABLE_RATIO 2.5 // a part is at most so many of the steps that suit the equations: stable, and settling by a third a part
#define PARTS_MOST   8.0 // of the classic method: steps of 1 ms keep to it
#define EVENT_TIME_S 1e-9 // an event is located to this: below any effect on speed (0.001 rpm at 1e6 rpm/s)

// odd, so that the quickest motions fall too; 29 are stable to 434
enum { STAGES_LEAST = 3, STAGES_MOST = 29 };

struct fixed_solver {
  struct solver base;
  struct solver_problem problem;
  double step_s;
  int stages;   // of the Legendre method, in the part of a step that is taken now; 0: the classic one
  double *work; // k1 .. k4, stage, before: six vectors
  double *events_before, *events_after;
};

static void fixed_destroy(struct solver *base) {
  struct fixed_solver *solver = (struct fixed_solver *)base;
  free(solver->work);
  free(solver->events_before);
  free(solver);
}

static enum status fixed_create(const struct solver_problem *problem, const struct solver_options *options,
                                struct solver **result, struct error *error) {
  struct fixed_solver *solver = calloc(1, sizeof *solver);
  if (!solver) return error_set(error, STATUS_NO_MEMORY, "out of memory for the fixed-step solver");
  solver->base.vtable = &solver_fixed;
  solver->problem = *problem;
  solver->step_s = options->step_s;
  solver->work = calloc(6 * problem->state_count, sizeof(double));
  solver->events_before = calloc(2 * problem->event_count + 1, sizeof(double));
  solver->events_after = solver->events_before ? solver->events_before + problem->event_count : NULL;
  if (!solver->work || !solver->events_before) {
    fixed_destroy(&solver->base);
    return error_set(error, STATUS_NO_MEMORY, "out of memory for the fixed-step solver");
  }
  *result = &solver->base;
  return STATUS_OK;
}

static void step_classic(const struct fixed_solver *solver, double t, double h, const double *y, double *out) {
  const struct solver_problem *p = &solver->problem;
  const size_t n = p->state_count;
  double *k1 = solver->work, *k2 = k1 + n, *k3 = k2 + n, *k4 = k3 + n, *stage = k4 + n;
  p->rates(t, y, k1, p->context);
  for (size_t i = 0; i < n; i++) stage[i] = y[i] + 0.5 * h * k1[i];
  p->rates(t + 0.5 * h, stage, k2, p->context);
  for (size_t i = 0; i < n; i++) stage[i] = y[i] + 0.5 * h * k2[i];
  p->rates(t + 0.5 * h, stage, k3, p->context);
  for (size_t i = 0; i < n; i++) stage[i] = y[i] + h * k3[i];
  p->rates(t + h, stage, k4, p->context);
  for (size_t i = 0; i < n; i++) out[i] = y[i] + h / 6.0 * (k1[i] + 2.0 * (k2[i] + k3[i]) + k4[i]);
}

/* b of stage j; a is 1 - b. */
static double legendre_b(int j) { return j < 2 ? 1.0 / 3.0 : (double)(j * j + j - 2) / (2 * j * (j + 1)); }

/* Stage j is (1 - mu - nu) y + mu Y_j-1 + nu Y_j-2 + h w mu F_j-1 - (1 - b_j-1) h w mu F_0, of the recurrence of Legendre's polynomials. */
static void step_legendre(const struct fixed_solver *solver, double t, double h, const double *y, double *out) {
  const struct solver_problem *p = &solver->problem;
  const size_t n = p->state_count;
  const double w = 4.0 / (solver->stages * solver->stages + solver->stages - 2);
  double *start = solver->work, *rates = start + n, *older = rates + n, *old = older + n, *now = old + n;
  p->rates(t, y, start, p->context);
  for (size_t i = 0; i < n; i++) {
    older[i] = y[i];
    old[i] = y[i] + legendre_b(1) * w * h * start[i];
  }
  for (int j = 2; j <= solver->stages; j++) {
    const double at = j == 2 ? w / 3.0 : 0.25 * w * (j * j - j - 2); // where the stage before stands, of the step
    const double mu = (2.0 * j - 1.0) / j * legendre_b(j) / legendre_b(j - 1),
                 nu = -(j - 1.0) / j * legendre_b(j) / legendre_b(j - 2);
    p->rates(t + at * h, old, rates, p->context);
    for (size_t i = 0; i < n; i++)
      now[i] =
          (1.0 - mu - nu) * y[i] + mu * old[i] + nu * older[i] + h * w * mu * (rates[i] - (1.0 - legendre_b(j - 1)) * start[i]);
    double *const spare = older;
    older = old;
    old = now;
    now = spare;
  }
  memcpy(out, old, n * sizeof *out);
}

/* One step of length h from (t, y) into out; y and out may not overlap. */
static void step(const struct fixed_solver *solver, double t, double h, const double *y, double *out) {
  if (solver->stages > 0)
    step_legendre(solver, t, h, y, out);
  else
    step_classic(solver, t, h, y, out);
}

/* Of a step of so many stages to the time in which the quickest motion that it follows stably falls to 1/e. */
static double legendre_ratio(int stages) { return 0.5 * (stages * stages + stages - 2); }

/* How long the next part of what is left may be, and by which method. */
static double choose_part(struct fixed_solver *solver, double t, double left, const double *state) {
  const struct solver_problem *p = &solver->problem;
  solver->stages = 0;
  if (!p->step_hint) return left;
  const double ratio = left / p->step_hint(t, state, p->context).rest_s; // of left to what suits the equations
  const double parts = bounds_larger(ceil(ratio / STABLE_RATIO - HAIR), 1.0);
  if (parts <= PARTS_MOST) return left / parts;
  solver->stages = STAGES_LEAST;
  while (solver->stages < STAGES_MOST && legendre_ratio(solver->stages) < ratio) solver->stages += 2;
  return left / bounds_larger(ceil(ratio / legendre_ratio(solver->stages) - HAIR), 1.0);
}

/* Index of the first event whose value fell through zero, event_count if none. */
static size_t fallen(const struct fixed_solver *solver) {
  size_t i = 0;
  while (i < solver->problem.event_count && !(solver->events_before[i] > 0.0 && solver->events_after[i] <= 0.0)) i++;
  return i;
}

static void event_values(const struct fixed_solver *solver, double t, const double *y, double *values) {
  if (solver->problem.event_count) solver->problem.events(t, y, values, solver->problem.context);
}

/* The value that decides between two lengths of step: of the first event that has fallen after the longer one. */
static double deciding(const struct fixed_solver *solver, size_t event) { return solver->events_after[event]; }

/* The shortest step after which some event has fallen; h: a length that has one. Leaves the state there in y. Regula falsi
 * with the Illinois halving on the value of the event; every trial is a step of the method, so the state found is as good as
 * any other. */
static double locate(struct fixed_solver *solver, double t, double h, const double *before, double *y) {
  size_t event = fallen(solver);
  double low = 0.0, high = h, low_value = solver->events_before[event], high_value = deciding(solver, event);
  int side = 0;
  while (high - low > EVENT_TIME_S) {
    double middle = (low * high_value - high * low_value) / (high_value - low_value);
    if (!(middle > low && middle < high)) middle = 0.5 * (low + high);
    // a hair beyond the estimate, so that the trial falls and closes the bracket from above
    middle = fmin(middle + 0.4 * EVENT_TIME_S, high - 0.1 * EVENT_TIME_S);
    step(solver, t, middle, before, y);
    event_values(solver, t + middle, y, solver->events_after);
    const size_t now = fallen(solver);
    if (now < solver->problem.event_count) {
      if (now != event) { // another one falls earlier
        event = now;
        low_value = solver->events_before[event];
        low = 0.0;
      }
      high = middle;
      high_value = deciding(solver, event);
      if (side == 1) low_value *= 0.5;
      side = 1;
    } else {
      low = middle;
      low_value = deciding(solver, event);
      if (side == -1) high_value *= 0.5;
      side = -1;
    }
  }
  step(solver, t, high, before, y);
  event_values(solver, t + high, y, solver->events_after);
  return high;
}

static bool all_finite(const double *y, size_t n) {
  for (size_t i = 0; i < n; i++)
    if (!isfinite(y[i])) return false;
  return true;
}

/* One step of h in as many parts as the equations ask for: one, but where air rushes through a wide gap into a full manifold. *gone
 * becomes how much of it was taken: h, or less if it ended at *event, which is event_count otherwise. False if the state is no
 * longer finite; it is then as it was. */
static bool whole_step(struct fixed_solver *solver, double start, double h, double *gone, double *state, size_t *event) {
  const struct solver_problem *p = &solver->problem;
  double *before = solver->work + 5 * p->state_count;
  *gone = 0.0;
  while (h - *gone > HAIR * h) {
    const double t = start + *gone, part = choose_part(solver, t, h - *gone, state);
    memcpy(before, state, p->state_count * sizeof *state);
    step(solver, t, part, before, state);
    if (!all_finite(state, p->state_count)) {
      memcpy(state, before, p->state_count * sizeof *state);
      return false;
    }
    event_values(solver, t + part, state, solver->events_after);
    *event = fallen(solver);
    if (*event < p->event_count) {
      *gone += locate(solver, t, part, before, state);
      *event = fallen(solver);
      return true;
    }
    memcpy(solver->events_before, solver->events_after, p->event_count * sizeof(double));
    *gone += part;
  }
  return true;
}

static enum status fixed_advance(struct solver *base, double *time_s, double end_s, double *state, enum solver_stop *stop,
                                 size_t *event, struct error *error) {
  struct fixed_solver *solver = (struct fixed_solver *)base;
  const double start = *time_s;
  // equal steps that end exactly at end_s
  const int count = (int)fmax(ceil((end_s - start) / solver->step_s - HAIR), 1.0);
  const double h = (end_s - start) / count;
  double gone = 0.0;
  *event = solver->problem.event_count;
  event_values(solver, start, state, solver->events_before);
  *stop = SOLVER_STOP_TIME;
  for (int i = 0; i < count; i++) {
    const double t = start + i * h;
    const bool finite = whole_step(solver, t, h, &gone, state, event);
    *time_s = t + gone;
    if (!finite)
      return error_set(error, STATUS_INTERNAL, "fixed-step solver: the state is no longer finite after %.6f s", *time_s);
    if (*event == solver->problem.event_count) continue;
    *stop = SOLVER_STOP_EVENT;
    return STATUS_OK;
  }
  *time_s = end_s;
  return STATUS_OK;
}

struct solver_options solver_options_default(void) {
  return (struct solver_options){1e-6, 1e-3};
}

const struct solver_vtable solver_fixed = {"fixed", "Runge-Kutta of fourth order, steps of 1 ms and less", fixed_create,
                                           fixed_advance, fixed_destroy};
