/* How fast a run is, and what that costs in accuracy beside a hand-written Runge-Kutta of fourth order (solver_fixed.c). */
#include "parts/measure.h"

#include "base/attributes.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

static void speed_row(const char *what, struct measure_run *run) {
  const double taken_s = measure_median_s(measure_cpu_s, measure_run_once, run);
  measure_row(what, "%.3f s CPU for %.0f s: **%.0f** times real time (%.0f without settling in, which is in the time)", taken_s,
              measure_simulated_s(run), measure_simulated_s(run) / taken_s, run->scenario.duration_s / taken_s);
}

void measure_solvers(void) {
  static const char *const engines[] = {"four-16", "four-18-cable", "three-10", "six-30"};
  static const struct solver_vtable *const solvers[] = {&solver_cvode, &solver_fast};
  static const char *const names[] = {"CVODE 1e-6", "fast"};
  static struct measure_run run;
  char what[MEASURE_TEXT];
  measure_heading("steady idle, 1000 s, a row every second");
  for (size_t e = 0; e < ARRAY_COUNT(engines); e++)
    for (size_t s = 0; s < ARRAY_COUNT(solvers); s++) {
      if (!measure_run_idle(&run, engines[e], 1000.0)) return;
      run.solver = solvers[s];
      snprintf(what, sizeof what, "%s, %s", engines[e], names[s]);
      speed_row(what, &run);
      measure_run_end(&run);
    }
  measure_heading("a film grows: " MEASURE_DROOP);
  for (size_t s = 0; s < ARRAY_COUNT(solvers); s++) {
    if (!measure_run_read(&run, MEASURE_DROOP)) return;
    run.solver = solvers[s];
    speed_row(names[s], &run);
    measure_run_end(&run);
  }
  measure_heading("cost against simulated time: four-16 at idle, fast");
  for (double duration_s = 500.0; duration_s < 9000.0; duration_s *= 4.0) {
    if (!measure_run_idle(&run, "four-16", duration_s)) return;
    const double taken_s = measure_median_s(measure_cpu_s, measure_run_once, &run);
    snprintf(what, sizeof what, "%.0f s and settling in", duration_s);
    measure_row(what, "%.3f s CPU, %.0f us a simulated second", taken_s, 1e6 * taken_s / measure_simulated_s(&run));
    measure_run_end(&run);
  }
}

/* Largest difference in speed between two recordings of the same rows, rpm. */
static double apart_rpm(const struct recording *a, const struct recording *b) {
  double most = a->row_count == b->row_count ? 0.0 : INFINITY;
  for (size_t row = 0; row < a->row_count && row < b->row_count; row++)
    most = fmax(most, fabs(recording_value(a, row, CHANNEL_speed_rpm) - recording_value(b, row, CHANNEL_speed_rpm)));
  return most;
}

/* A run with the ideal position loop, on which all solvers agree; what sticks would make of every last digit some rpm. */
static bool ideal_run(struct measure_run *run, const char *path, double duration_s) {
  if (!measure_run_read(run, path)) return false;
  run->engine.plant.drive = (struct drive_params){0};
  run->scenario.duration_s = fmin(run->scenario.duration_s, duration_s);
  return true;
}

static double timed(struct measure_run *run, const struct solver_vtable *solver, double setting, const struct recording *truth,
                    double *taken_s) {
  run->solver = solver;
  run->options.relative_tolerance = run->options.step_s = setting;
  *taken_s = measure_median_s(measure_cpu_s, measure_run_once, run);
  return apart_rpm(&run->recording, truth);
}

static void equal_error(const char *path, double duration_s) {
  static struct measure_run truth, run;
  char what[MEASURE_TEXT];
  if (!ideal_run(&truth, path, duration_s) || !ideal_run(&run, path, duration_s)) return;
  truth.solver = &solver_cvode;
  truth.options.relative_tolerance = 1e-10;
  if (!measure_run_once(&truth)) return;
  snprintf(what, sizeof what, "%s, %.0f s, ideal loop; errors against CVODE 1e-10", path, run.scenario.duration_s);
  measure_heading(what);
  double fast_s, taken_s;
  const double fast_rpm = timed(&run, &solver_fast, 0.0, &truth.recording, &fast_s);
  measure_row("fast", "%.4f s CPU, error %.2g rpm", fast_s, fast_rpm);
  static const double steps_s[] = {10e-3, 5e-3, 10e-3 / 3, 2.5e-3, 2e-3, 1e-3, 0.5e-3, 0.25e-3, 0.1e-3};
  bool reached = false;
  for (size_t i = 0; i < ARRAY_COUNT(steps_s); i++) {
    const bool usual = fabs(steps_s[i] - 1e-3) < 1e-6;
    if (reached && !usual) continue;
    const double error_rpm = timed(&run, &solver_fixed, steps_s[i], &truth.recording, &taken_s);
    const bool equal = !reached && error_rpm <= fast_rpm;
    reached = reached || equal;
    snprintf(what, sizeof what, "Runge-Kutta 4, %.2f ms%s", 1e3 * steps_s[i], equal ? ": **as good as fast**" : "");
    measure_row(what, "%.4f s CPU, error %.2g rpm; fast is %.2f times as fast", taken_s, error_rpm, taken_s / fast_s);
  }
  reached = false;
  for (double tolerance = 1e-5; tolerance > 1e-10 && !reached; tolerance *= 0.1) {
    const double error_rpm = timed(&run, &solver_cvode, tolerance, &truth.recording, &taken_s);
    reached = error_rpm <= fast_rpm;
    snprintf(what, sizeof what, "CVODE %.0e%s", tolerance, reached ? ": **as good as fast**" : "");
    measure_row(what, "%.4f s CPU, error %.2g rpm; fast is %.2f times as fast", taken_s, error_rpm, taken_s / fast_s);
  }
  measure_run_end(&truth);
  measure_run_end(&run);
}

void measure_equal_error(void) {
  equal_error(MEASURE_DROOP, 60.0);
  equal_error("scenarios/restart.cfg", 60.0);
}
