/* One interface for every integrator: CVODE in solver_cvode.c (the only file that knows SUNDIALS), and our own explicit ones, with a
 * fixed step in solver_fixed.c and with steps as long as the equations allow in solver_fast.c. Several solvers may live in one process, each used by one thread at a time. */
#ifndef SOLVER_SOLVER_H
#define SOLVER_SOLVER_H

#include "base/error.h"

#include <stdbool.h>
#include <stddef.h>

struct solver_steps {
  double lead_s, rest_s;
};

/* The equations. Callbacks are pure: same arguments, same answer. */
struct solver_problem {
  size_t state_count;
  void (*rates)(double time_s, const double *state, double *rates, const void *context);
  size_t event_count;
  /* An event happens where its value falls through zero. NULL if there are none. */
  void (*events)(double time_s, const double *state, double *values, const void *context);
  const void *context;
  /* For solver_fast; all may be left out. Some states, one behind the other, lead: their rates, and the events from
   * lead_event_first on, follow from themselves alone. They are cheap, so they may take short steps of their own. */
  size_t lead_first, lead_count, lead_event_first;
  void (*lead_rates)(double time_s, const double *state, double *rates,
                     const void *context); // writes those of the leading states
  void (*lead_events)(double time_s, const double *state, double *values, const void *context); // and of their events
  void (*rest_rates)(double time_s, const double *state, double *rates, const void *context);   // the same for all others
  void (*rest_events)(double time_s, const double *state, double *values, const void *context);
  /* The longest steps that suit the equations as they are now, of the leading states and of the others: no longer than the time in
   * which their quickest motion falls to 1/e. solver_fixed asks for the second too. */
  struct solver_steps (*step_hint)(double time_s, const double *state, const void *context);
  // each read by create() only
  const double *nominal;   // everyday size of each state; absolute tolerance = relative tolerance * this
  const double *bend_most; // how far each state's rate times the step may bend in a step of solver_fast; NULL: any
};

struct solver_options {
  double relative_tolerance; // adaptive solvers; 1e-6 keeps speed within 0.02 rpm (tests/reference/test_tolerance.c)
  double step_s;             // fixed-step solvers
};
struct solver_options solver_options_default(void);

enum solver_stop { SOLVER_STOP_TIME, SOLVER_STOP_EVENT };

struct solver;

struct solver_vtable {
  const char *name;
  const char *text;
  enum status (*create)(const struct solver_problem *problem, const struct solver_options *options, struct solver **solver,
                        struct error *error);
  /* Integrates from *time_s towards end_s, never past it, starting afresh from the state given. Stops at the first event:
   * then *event is its index and *time_s where it happened; else *time_s == end_s. STATUS_INTERNAL with a message that
   * names time and cause if the integration fails; the state is then what it was when it last was good. */
  enum status (*advance)(struct solver *solver, double *time_s, double end_s, double *state, enum solver_stop *stop,
                         size_t *event, struct error *error);
  void (*destroy)(struct solver *solver);
};

/* Every solver begins with this, so that the caller need not know which it is. */
struct solver {
  const struct solver_vtable *vtable;
};

extern const struct solver_vtable solver_fixed; // classic Runge-Kutta of fourth order, fixed step
extern const struct solver_vtable solver_fast;  // the same, with steps as long as the equations allow
extern const struct solver_vtable solver_cvode; // SUNDIALS CVODE, adaptive; only where the program links it

static inline enum status solver_advance(struct solver *solver, double *time_s, double end_s, double *state,
                                         enum solver_stop *stop, size_t *event, struct error *error) {
  return solver->vtable->advance(solver, time_s, end_s, state, stop, event, error);
}
static inline void solver_destroy(struct solver *solver) {
  if (solver) solver->vtable->destroy(solver);
}

#endif
