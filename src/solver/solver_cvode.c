/* SUNDIALS CVODE behind the solver interface. The only file that knows SUNDIALS.
 *
 * Method: Adams with functional iteration. Between two ticks nothing is stiff (fastest modes: the throttle drive, some
 * 60 1/s), and a re-initialised Adams needs no Jacobian. Every advance starts afresh, because the inputs jumped at the tick:
 * history from before a jump costs accuracy and time. The first two steps are of first order and therefore short, so that what they
 * miss is little beside the tolerance; from the third on they are as long as the error test lets them be. */
#include "solver/solver.h"

#include <cvode/cvode.h>
#include <math.h>
#include <nvector/nvector_serial.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>
#include <sunnonlinsol/sunnonlinsol_fixedpoint.h>

#define FIRST_STEP_S         2e-4 // at this tolerance; what a step of first order misses goes with its square
#define FIRST_STEP_TOLERANCE 1e-6
#define SECOND_STEP_GROWTH   1.2
#define LATER_STEP_GROWTH    1e3
enum { STEP_MAX = 2000, MESSAGE_SIZE = 240 }; // 2000 steps inside one tick mean that something is wrong

struct cvode_solver {
  struct solver base;
  struct solver_problem problem;
  SUNContext context;
  void *memory;
  N_Vector state, tolerance;
  SUNNonlinearSolver nonlinear;
  double *events_start, *events_end;
  int *roots;
  double first_step_s;
  char message[MESSAGE_SIZE];
};

static int rates_callback(realtype t, N_Vector y, N_Vector ydot, void *user) {
  const struct cvode_solver *solver = user;
  const struct solver_problem *p = &solver->problem;
  double *rates = NV_DATA_S(ydot);
  p->rates(t, NV_DATA_S(y), rates, p->context);
  double sum = 0.0;
  for (size_t i = 0; i < p->state_count; i++) sum += rates[i];
  return isfinite(sum) ? 0 : 1; // 1: try again with a smaller step
}

static int events_callback(realtype t, N_Vector y, realtype *values, void *user) {
  const struct cvode_solver *solver = user;
  solver->problem.events(t, NV_DATA_S(y), values, solver->problem.context);
  return 0;
}

static void message_callback(int code, const char *module, const char *function, char *text, void *user) {
  struct cvode_solver *solver = user;
  (void)module;
  if (code < 0) {
    strncpy(solver->message, text, sizeof solver->message - 1);
    (void)function;
  }
}

static void cvode_destroy(struct solver *base) {
  struct cvode_solver *solver = (struct cvode_solver *)base;
  if (solver->memory) CVodeFree(&solver->memory);
  if (solver->nonlinear) SUNNonlinSolFree(solver->nonlinear);
  if (solver->state) N_VDestroy(solver->state);
  if (solver->tolerance) N_VDestroy(solver->tolerance);
  if (solver->context) SUNContext_Free(&solver->context);
  free(solver->events_start);
  free(solver->roots);
  free(solver);
}

/* Everything SUNDIALS allocates; false where any of it failed. */
static int set_up(struct cvode_solver *solver, const struct solver_options *options) {
  const struct solver_problem *p = &solver->problem;
  const sunindextype n = (sunindextype)p->state_count;
  solver->first_step_s = FIRST_STEP_S * sqrt(options->relative_tolerance / FIRST_STEP_TOLERANCE);
  if (SUNContext_Create(NULL, &solver->context)) return 0;
  solver->state = N_VNew_Serial(n, solver->context);
  solver->tolerance = N_VNew_Serial(n, solver->context);
  solver->memory = CVodeCreate(CV_ADAMS, solver->context);
  if (!solver->state || !solver->tolerance || !solver->memory) return 0;
  N_VConst(0.0, solver->state);
  for (sunindextype i = 0; i < n; i++) NV_Ith_S(solver->tolerance, i) = options->relative_tolerance * p->nominal[i];
  if (CVodeSetErrHandlerFn(solver->memory, message_callback, solver)) return 0;
  if (CVodeInit(solver->memory, rates_callback, 0.0, solver->state)) return 0;
  if (CVodeSVtolerances(solver->memory, options->relative_tolerance, solver->tolerance)) return 0;
  if (CVodeSetEtaMaxFirstStep(solver->memory, SECOND_STEP_GROWTH)) return 0;
  if (CVodeSetEtaMaxEarlyStep(solver->memory, LATER_STEP_GROWTH)) return 0;
  if (CVodeSetUserData(solver->memory, solver)) return 0;
  if (CVodeSetMaxNumSteps(solver->memory, STEP_MAX)) return 0;
  solver->nonlinear = SUNNonlinSol_FixedPoint(solver->state, 0, solver->context);
  if (!solver->nonlinear || CVodeSetNonlinearSolver(solver->memory, solver->nonlinear)) return 0;
  if (p->event_count) {
    if (CVodeRootInit(solver->memory, (int)p->event_count, events_callback)) return 0;
    for (size_t i = 0; i < p->event_count; i++) solver->roots[i] = -1;
    if (CVodeSetRootDirection(solver->memory, solver->roots)) return 0;
    if (CVodeSetNoInactiveRootWarn(solver->memory)) return 0;
  }
  return 1;
}

static enum status cvode_create(const struct solver_problem *problem, const struct solver_options *options,
                                struct solver **result, struct error *error) {
  struct cvode_solver *solver = calloc(1, sizeof *solver);
  if (!solver) return error_set(error, STATUS_NO_MEMORY, "out of memory for CVODE");
  solver->base.vtable = &solver_cvode;
  solver->problem = *problem;
  solver->events_start = calloc(2 * problem->event_count + 1, sizeof(double));
  solver->events_end = solver->events_start ? solver->events_start + problem->event_count : NULL;
  solver->roots = calloc(problem->event_count + 1, sizeof(int));
  if (!solver->events_start || !solver->roots || !set_up(solver, options)) {
    cvode_destroy(&solver->base);
    return error_set(error, STATUS_INTERNAL, "CVODE could not be set up");
  }
  *result = &solver->base;
  return STATUS_OK;
}

/* CVODE reports a root exactly at the stop time only in the next interval, which we start afresh and where it would be
 * lost: so compare both ends ourselves. */
static bool fallen_at_end(struct cvode_solver *solver, double end_s, const double *state, size_t *event) {
  const struct solver_problem *p = &solver->problem;
  if (!p->event_count) return false;
  p->events(end_s, state, solver->events_end, p->context);
  for (size_t i = 0; i < p->event_count; i++)
    if (solver->events_start[i] > 0.0 && solver->events_end[i] <= 0.0) {
      *event = i;
      return true;
    }
  return false;
}

static enum status failure(struct cvode_solver *solver, double time_s, int flag, struct error *error) {
  char *name = CVodeGetReturnFlagName(flag);
  const enum status status = error_set(error, STATUS_INTERNAL, "CVODE failed at %.6f s (%s): %s", time_s, name, solver->message);
  free(name);
  return status;
}

static enum status cvode_advance(struct solver *base, double *time_s, double end_s, double *state, enum solver_stop *stop,
                                 size_t *event, struct error *error) {
  struct cvode_solver *solver = (struct cvode_solver *)base;
  const struct solver_problem *p = &solver->problem;
  const size_t size = p->state_count * sizeof *state;
  memcpy(NV_DATA_S(solver->state), state, size);
  int flag = CVodeReInit(solver->memory, *time_s, solver->state);
  if (!flag) flag = CVodeSetStopTime(solver->memory, end_s);
  if (!flag) flag = CVodeSetInitStep(solver->memory, fmin(solver->first_step_s, end_s - *time_s));
  if (flag) return failure(solver, *time_s, flag, error);
  if (p->event_count) p->events(*time_s, state, solver->events_start, p->context);
  realtype reached = *time_s;
  flag = CVode(solver->memory, end_s, solver->state, &reached, CV_NORMAL);
  if (flag < 0) return failure(solver, reached, flag, error);
  memcpy(state, NV_DATA_S(solver->state), size);
  *stop = SOLVER_STOP_TIME;
  *time_s = flag == CV_ROOT_RETURN ? reached : end_s;
  if (flag == CV_ROOT_RETURN) {
    CVodeGetRootInfo(solver->memory, solver->roots);
    *event = 0;
    while (*event < p->event_count && solver->roots[*event] >= 0) ++*event;
    if (*event < p->event_count) *stop = SOLVER_STOP_EVENT;
  } else if (fallen_at_end(solver, end_s, state, event)) {
    *stop = SOLVER_STOP_EVENT;
  }
  return STATUS_OK;
}

const struct solver_vtable solver_cvode = {"cvode", "SUNDIALS CVODE, adaptive Adams", cvode_create, cvode_advance, cvode_destroy};
