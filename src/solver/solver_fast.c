/* Runge-Kutta of fourth order with steps as long as the equations allow, and two step lengths at once.
 *
 * The throttle blade moves ten times as quickly as the engine, breaks loose and comes to rest, and does not feel the engine. So the
 * states that lead (solver.h) go first, in short steps of their own rates alone:
 *
 *   leading   t ..|..|..|.. t + h/2 ..|..|..|.. t + h     short steps, each tried for events; the first event ends h there
 *   others    k1                k2, k3              k4     one step of length h, the leading states taken from above
 *
 * For the others the leading states are then known functions of time, and order four holds. A step in which the rates bend too
 * much is taken again at half the length:
 *
 *   h |k1 - k2 - k3 + k4| = (h lambda)^3 / 4 of a motion of rate lambda, where the step's error is (h lambda)^5 / 120;
 *   where the right-hand side has a kink inside the step, the two are about the same.
 *
 * An event inside a step is found by repeating the step with other lengths: regula falsi with the Illinois halving, M. Dowell,
 * P. Jarratt, BIT 11 (1971) 168-174. Every trial is a step of the method, so the state found is as good as any other. */
#include "solver/solver.h"

#include "base/bounds.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define EVENT_TIME_S 1e-10 // an event is located to this: a blade's 1 rad/s is then 1e-10 rad off
#define STEP_LEAST_S 2e-5  // steps are not halved below this: only a kink asks for it, and that is then well enclosed
#define HAIR         1e-6  // of a step: 10 ms are ten steps of 1 ms and not eleven

struct fast_solver {
  struct solver base;
  struct solver_problem problem;
  double *work;                         // all the vectors below
  double *k[4], *stage, *before;        // of all states
  double *start, *trial, *middle, *end; // of all states, but only the leading ones change
  double *bend_most;
  double *events_before, *events_after;
};
enum { VECTOR_COUNT = 11 };

static void fast_destroy(struct solver *base) {
  struct fast_solver *solver = (struct fast_solver *)base;
  free(solver->work);
  free(solver);
}

static enum status fast_create(const struct solver_problem *problem, const struct solver_options *options, struct solver **result,
                               struct error *error) {
  (void)options;
  struct fast_solver *solver = calloc(1, sizeof *solver);
  const size_t n = problem->state_count;
  if (solver) solver->work = calloc(VECTOR_COUNT * n + 2 * problem->event_count, sizeof(double));
  if (!solver || !solver->work) {
    free(solver);
    return error_set(error, STATUS_NO_MEMORY, "out of memory for the fast solver");
  }
  solver->base.vtable = &solver_fast;
  solver->problem = *problem;
  if (!problem->lead_count) solver->problem.lead_event_first = problem->event_count;
  if (!problem->rest_rates) solver->problem.rest_rates = problem->rates;
  if (!problem->rest_events) solver->problem.rest_events = problem->events;
  double **const vectors[VECTOR_COUNT] = {&solver->k[0],   &solver->k[1],   &solver->k[2],     &solver->k[3],
                                          &solver->stage,  &solver->before, &solver->start,    &solver->trial,
                                          &solver->middle, &solver->end,    &solver->bend_most};
  for (size_t i = 0; i < VECTOR_COUNT; i++) *vectors[i] = solver->work + i * n;
  solver->events_before = solver->work + VECTOR_COUNT * n;
  solver->events_after = solver->events_before + problem->event_count;
  for (size_t i = 0; i < n; i++) solver->bend_most[i] = problem->bend_most ? problem->bend_most[i] : INFINITY;
  *result = &solver->base;
  return STATUS_OK;
}

/* The states and events that one of the two parts is about: first, and one beyond the last. */
struct range {
  size_t first, end;
};

static struct range lead_states(const struct solver_problem *p) {
  return (struct range){p->lead_first, p->lead_first + p->lead_count};
}

/* True if a rate of these states bent too much within the last step. */
static bool bends(const struct fast_solver *solver, struct range states, double h) {
  const double *k1 = solver->k[0], *k2 = solver->k[1], *k3 = solver->k[2], *k4 = solver->k[3];
  bool too_much = false;
  for (size_t i = states.first; i < states.end; i++) too_much |= h * fabs(k1[i] - k2[i] - k3[i] + k4[i]) > solver->bend_most[i];
  return too_much && h > STEP_LEAST_S;
}

static void stage_at(double *stage, const double *y, double h, const double *k, struct range states) {
  for (size_t i = states.first; i < states.end; i++) stage[i] = y[i] + h * k[i];
}

static void step_end(const struct fast_solver *solver, double h, const double *y, struct range states, double *out) {
  const double *k1 = solver->k[0], *k2 = solver->k[1], *k3 = solver->k[2], *k4 = solver->k[3];
  for (size_t i = states.first; i < states.end; i++) out[i] = y[i] + h / 6.0 * (k1[i] + 2.0 * (k2[i] + k3[i]) + k4[i]);
}

/* Index of the first event of these whose value fell through zero, event_count if none. */
static size_t fallen(const struct fast_solver *solver, struct range events) {
  for (size_t i = events.first; i < events.end; i++)
    if (solver->events_before[i] > 0.0 && solver->events_after[i] <= 0.0) return i;
  return solver->problem.event_count;
}

static void copy_lead(const struct fast_solver *solver, double *to, const double *from) {
  const struct range states = lead_states(&solver->problem);
  for (size_t i = states.first; i < states.end; i++) to[i] = from[i];
}

/* One step of the leading states; y and out may not overlap. */
static void lead_step(struct fast_solver *solver, double t, double h, const double *y, double *out) {
  const struct solver_problem *p = &solver->problem;
  const struct range states = lead_states(p);
  double *stage = solver->stage;
  p->lead_rates(t, y, solver->k[0], p->context);
  stage_at(stage, y, 0.5 * h, solver->k[0], states);
  p->lead_rates(t + 0.5 * h, stage, solver->k[1], p->context);
  stage_at(stage, y, 0.5 * h, solver->k[1], states);
  p->lead_rates(t + 0.5 * h, stage, solver->k[2], p->context);
  stage_at(stage, y, h, solver->k[2], states);
  p->lead_rates(t + h, stage, solver->k[3], p->context);
  step_end(solver, h, y, states, out);
}

/* One step of the others, from y into out; middle and end: the leading states half way and at its end. */
static void rest_step(struct fast_solver *solver, double t, double h, const double *y, double *out) {
  const struct solver_problem *p = &solver->problem;
  const struct range lead = lead_states(p), low = {0, lead.first}, high = {lead.end, p->state_count};
  double *stage = solver->stage;
  p->rest_rates(t, y, solver->k[0], p->context);
  copy_lead(solver, stage, solver->middle);
  for (int i = 1; i <= 2; i++) {
    stage_at(stage, y, 0.5 * h, solver->k[i - 1], low);
    stage_at(stage, y, 0.5 * h, solver->k[i - 1], high);
    p->rest_rates(t + 0.5 * h, stage, solver->k[i], p->context);
  }
  copy_lead(solver, stage, solver->end);
  stage_at(stage, y, h, solver->k[2], low);
  stage_at(stage, y, h, solver->k[2], high);
  p->rest_rates(t + h, stage, solver->k[3], p->context);
  step_end(solver, h, y, low, out);
  step_end(solver, h, y, high, out);
  copy_lead(solver, out, solver->end);
}

/* Where an event is sought: between two lengths of step, the longer of which has it. */
struct bracket {
  double low, high, low_value, high_value;
  int side; // which end moved last
};

static struct bracket bracket_of(const struct fast_solver *solver, size_t event, double h) {
  return (struct bracket){0.0, h, solver->events_before[event], solver->events_after[event], 0};
}

static double bracket_next(const struct bracket *b) {
  double next = (b->low * b->high_value - b->high * b->low_value) / (b->high_value - b->low_value);
  if (!(next > b->low && next < b->high)) next = 0.5 * (b->low + b->high);
  // a hair beyond the estimate, so that the trial falls and closes the bracket from above
  return bounds_smaller(next + 0.4 * EVENT_TIME_S, b->high - 0.1 * EVENT_TIME_S);
}

static void bracket_close(struct bracket *b, double at, double value, bool has_fallen) {
  if (has_fallen) {
    b->high = at;
    b->high_value = value;
    if (b->side == 1) b->low_value *= 0.5;
    b->side = 1;
  } else {
    b->low = at;
    b->low_value = value;
    if (b->side == -1) b->high_value *= 0.5;
    b->side = -1;
  }
}

static void lead_values(const struct fast_solver *solver, double t, const double *y, double *values) {
  solver->problem.lead_events(t, y, values, solver->problem.context);
}

/* The shortest lead step from y after which an event of the leading states has fallen; h has one. */
static double lead_locate(struct fast_solver *solver, double t, double h, const double *y, size_t *event) {
  const struct range events = {solver->problem.lead_event_first, solver->problem.event_count};
  struct bracket b = bracket_of(solver, *event, h);
  while (b.high - b.low > EVENT_TIME_S) {
    const double at = bracket_next(&b);
    lead_step(solver, t, at, y, solver->trial);
    lead_values(solver, t + at, solver->trial, solver->events_after);
    const size_t now = fallen(solver, events);
    const bool any = now < solver->problem.event_count;
    if (any && now != *event) { // another one falls earlier
      *event = now;
      b = bracket_of(solver, now, at);
    } else {
      bracket_close(&b, at, solver->events_after[*event], any);
    }
  }
  return b.high;
}

/* Moves the leading states in y on by h in steps of at most longest. Returns how far it came: h, or where *event happened; looks
 * for events only if event is given, and leaves event_count in it if there was none. */
static double lead_go(struct fast_solver *solver, double t, double h, double longest, double *y, size_t *event) {
  const struct range states = lead_states(&solver->problem),
                     events = {solver->problem.lead_event_first, solver->problem.event_count};
  double gone = 0.0, d = h / bounds_larger(ceil(h / longest - HAIR), 1.0);
  while (h - gone > HAIR * d) {
    d = bounds_smaller(d, h - gone);
    lead_step(solver, t + gone, d, y, solver->trial);
    if (bends(solver, states, d)) {
      d *= 0.5;
      continue;
    }
    if (event) {
      lead_values(solver, t + gone + d, solver->trial, solver->events_after);
      *event = fallen(solver, events);
      if (*event < solver->problem.event_count) return gone + lead_locate(solver, t + gone, d, y, event);
      for (size_t i = events.first; i < events.end; i++) solver->events_before[i] = solver->events_after[i];
    }
    copy_lead(solver, y, solver->trial);
    gone += d;
  }
  return h;
}

/* The leading states half way and at the end of a step of length h from y, without looking for events. */
static void lead_path(struct fast_solver *solver, double t, double h, double longest, const double *y) {
  if (!solver->problem.lead_count) return;
  copy_lead(solver, solver->end, y);
  lead_go(solver, t, 0.5 * h, longest, solver->end, NULL);
  copy_lead(solver, solver->middle, solver->end);
  lead_go(solver, t + 0.5 * h, 0.5 * h, longest, solver->end, NULL);
}

/* The same in one step, as a blade at rest allows it: half way stands what the step itself says there, to third order,
 * y + h/24 (5 k1 + 4 k2 + 4 k3 - k4) (E. Hairer, S. Norsett, G. Wanner, Solving Ordinary Differential Equations I, section II.6,
 * from memory). False if that is too long, or an event lies in it. */
static bool lead_at_once(struct fast_solver *solver, double t, double h, const double *y) {
  const struct range states = lead_states(&solver->problem),
                     events = {solver->problem.lead_event_first, solver->problem.event_count};
  lead_step(solver, t, h, y, solver->end);
  if (bends(solver, states, h)) return false;
  lead_values(solver, t + h, solver->end, solver->events_after);
  if (fallen(solver, events) < solver->problem.event_count) return false;
  const double *k1 = solver->k[0], *k2 = solver->k[1], *k3 = solver->k[2], *k4 = solver->k[3];
  for (size_t i = states.first; i < states.end; i++)
    solver->middle[i] = y[i] + h / 24.0 * (5.0 * k1[i] + 4.0 * (k2[i] + k3[i]) - k4[i]);
  return true;
}

/* The same up to the first event of the leading states: then *event is its index, and the length that is returned shorter. */
static double lead_path_to_event(struct fast_solver *solver, double t, double h, double longest, const double *y, size_t *event) {
  const size_t none = solver->problem.event_count;
  *event = none;
  if (!solver->problem.lead_count) return h;
  lead_values(solver, t, y, solver->events_before);
  if (longest >= h && lead_at_once(solver, t, h, y)) return h;
  copy_lead(solver, solver->end, y);
  double gone = lead_go(solver, t, 0.5 * h, longest, solver->end, event);
  if (*event == none) {
    copy_lead(solver, solver->middle, solver->end);
    gone += lead_go(solver, t + gone, 0.5 * h, longest, solver->end, event);
  }
  if (*event < none) lead_path(solver, t, gone, longest, y);
  return gone;
}

static void rest_values(const struct fast_solver *solver, double t, const double *y, double *values) {
  solver->problem.rest_events(t, y, values, solver->problem.context);
}

/* The shortest step from before after which an event of the other states has fallen, and the state there in y; h has one. */
static double rest_locate(struct fast_solver *solver, double t, double h, double lead_longest, double *y, size_t *event) {
  const struct range events = {0, solver->problem.lead_event_first};
  struct bracket b = bracket_of(solver, *event, h);
  while (b.high - b.low > EVENT_TIME_S) {
    const double at = bracket_next(&b);
    lead_path(solver, t, at, lead_longest, solver->before);
    rest_step(solver, t, at, solver->before, y);
    rest_values(solver, t + at, y, solver->events_after);
    const size_t now = fallen(solver, events);
    const bool any = now < solver->problem.event_count;
    if (any && now != *event) {
      *event = now;
      b = bracket_of(solver, now, at);
    } else {
      bracket_close(&b, at, solver->events_after[*event], any);
    }
  }
  lead_path(solver, t, b.high, lead_longest, solver->before);
  rest_step(solver, t, b.high, solver->before, y);
  return b.high;
}

static bool all_finite(const double *y, size_t n) {
  for (size_t i = 0; i < n; i++)
    if (!isfinite(y[i])) return false;
  return true;
}

/* One step of at most h from state; *h becomes its length. False if the state is no longer finite. *event is event_count or what
 * happened at its end. */
static bool whole_step(struct fast_solver *solver, double t, double *h, double lead_longest, double *state, size_t *event) {
  const struct solver_problem *p = &solver->problem;
  const struct range low = {0, p->lead_first}, high = {p->lead_first + p->lead_count, p->state_count};
  memcpy(solver->before, state, p->state_count * sizeof *state);
  for (;;) {
    *h = lead_path_to_event(solver, t, *h, lead_longest, solver->before, event);
    rest_step(solver, t, *h, solver->before, state);
    if (!bends(solver, low, *h) && !bends(solver, high, *h)) break;
    *h *= 0.5;
  }
  if (!all_finite(state, p->state_count)) {
    memcpy(state, solver->before, p->state_count * sizeof *state);
    return false;
  }
  if (!p->lead_event_first) return true;
  const struct range events = {0, p->lead_event_first};
  rest_values(solver, t, solver->before, solver->events_before);
  rest_values(solver, t + *h, state, solver->events_after);
  const size_t own = fallen(solver, events);
  if (own < p->event_count) {
    *event = own;
    *h = rest_locate(solver, t, *h, lead_longest, state, event);
  }
  return true;
}

static enum status fast_advance(struct solver *base, double *time_s, double end_s, double *state, enum solver_stop *stop,
                                size_t *event, struct error *error) {
  struct fast_solver *solver = (struct fast_solver *)base;
  const struct solver_problem *p = &solver->problem;
  *stop = SOLVER_STOP_TIME;
  while (end_s - *time_s > EVENT_TIME_S) {
    const struct solver_steps longest =
        p->step_hint ? p->step_hint(*time_s, state, p->context) : (struct solver_steps){end_s - *time_s, end_s - *time_s};
    double h = (end_s - *time_s) / bounds_larger(ceil((end_s - *time_s) / longest.rest_s - HAIR), 1.0);
    if (!whole_step(solver, *time_s, &h, longest.lead_s, state, event))
      return error_set(error, STATUS_INTERNAL, "fast solver: the state is no longer finite after %.6f s", *time_s);
    *time_s += h;
    if (*event == p->event_count) continue;
    *stop = SOLVER_STOP_EVENT;
    return STATUS_OK;
  }
  *time_s = end_s;
  return STATUS_OK;
}

const struct solver_vtable solver_fast = {"fast", "Runge-Kutta of fourth order, steps as long as the equations allow",
                                          fast_create, fast_advance, fast_destroy};
