#include "analysis/curve/opening_lost.h"

#include "base/matrix.h"

#include <math.h>

// What differs between two days of one car, one standard deviation. Gain of an air-flow sensor, which ages; filling: invented. A real car's
// idle air varied by 3.1 % from day to day, which holds loads and weather too.
#define FLOW_CHANGE_RATIO     0.020
#define FILLING_CHANGE_RATIO  0.012
#define UNCHECKED_RATIO       0.04 // where the curves do not meet well above idle, and so nothing tells that the sensor is as it was
#define INTAKE_CHANGE_RATIO   0.004 // 2.5 K
#define OFFSET_CHANGE_SHARE   0.15  // of the doubt: exhaust pressure, residual gas
#define TILT_CHANGE_SHARE     0.15
#define POSITION_CHANGE_RATIO 0.001  // a track read on two days: 5 mV of 5 V; invented
#define INTERVAL_SDS          1.6449 // 90 % of a normal distribution
#define REACH_FIRST_RATIO     0.012
#define REACH_MOST_RATIO      0.045
#define BEYOND_MOST_RATIO     0.003 // how far a curve is carried on past its last point
#define UPPER_RATIO           0.035 // so far above idle a film near the closed line takes little,
#define UPPER_FILM_RATIO      0.15  // at most about this, or, of a blade that idles a degree open,
#define UPPER_FILM_SHARE      0.75  // this of what it takes at idle
#define UPPER_SDS             3.5
#define SENSOR_SHARE          0.65 // of what is lost at idle: a film takes a third of it there, a sensor's gain the whole
#define SENSOR_LEAST_RATIO    0.03
enum { QUADRATIC = 3, ENOUGH_POINTS = 5, LEAST_POINTS = 3 };

static double square(double x) { return x * x; }

/* ---- A curve between its points ---- */

static size_t count_within(const struct opening_points *points, double position, double reach) {
  size_t count = 0;
  for (size_t i = 0; i < points->count; i++) count += fabs(points->points[i].position_ratio - position) < reach;
  return count;
}

bool opening_lost_curve_at(const struct opening_points *points, double step_m2, double position_ratio, double *cda_m2,
                           double *sd_m2, double *slope_m2) {
  if (points->count < LEAST_POINTS) return false;
  const double beyond = BEYOND_MOST_RATIO + points->quantum_ratio; // the same place may read a step lower
  if (position_ratio < points->points[0].position_ratio - beyond ||
      position_ratio > points->points[points->count - 1].position_ratio + beyond)
    return false;
  double reach = REACH_FIRST_RATIO;
  while (count_within(points, position_ratio, reach) < ENOUGH_POINTS && reach < REACH_MOST_RATIO) reach *= 1.15;
  const size_t count = count_within(points, position_ratio, reach);
  if (count < LEAST_POINTS) return false;
  const size_t terms = count > LEAST_POINTS ? QUADRATIC : QUADRATIC - 1;
  double normal[QUADRATIC * QUADRATIC] = {0}, right[QUADRATIC] = {0}, inverse[QUADRATIC * QUADRATIC];
  for (size_t i = 0; i < points->count; i++) {
    const struct opening_point *p = &points->points[i];
    const double x = (p->position_ratio - position_ratio) / reach, powers[QUADRATIC] = {1.0, x, x * x};
    if (fabs(x) >= 1.0) continue;
    const double weight = (1.0 - 0.9 * x * x) / square(opening_points_sd_m2(points, p));
    const double cda = p->cda_m2 + (points->step_m2 - step_m2) * p->steps;
    for (size_t a = 0; a < terms; a++) {
      right[a] += weight * powers[a] * cda;
      for (size_t b = 0; b < terms; b++) normal[a * terms + b] += weight * powers[a] * powers[b];
    }
  }
  if (!matrix_cholesky(terms, normal)) return false;
  matrix_cholesky_inverse(terms, normal, inverse);
  matrix_cholesky_solve(terms, normal, right);
  double chi2 = 0.0;
  for (size_t i = 0; i < points->count; i++) {
    const struct opening_point *p = &points->points[i];
    const double x = (p->position_ratio - position_ratio) / reach;
    if (fabs(x) >= 1.0) continue;
    const double fitted = right[0] + right[1] * x + (terms > 2 ? right[2] * x * x : 0.0);
    const double cda = p->cda_m2 + (points->step_m2 - step_m2) * p->steps;
    chi2 += square((cda - fitted) / opening_points_sd_m2(points, p));
  }
  const double rough = count > terms ? fmax(chi2 / (double)(count - terms), 1.0) : 1.0;
  *cda_m2 = right[0];
  *sd_m2 = sqrt(inverse[0] * rough);
  *slope_m2 = fmax(right[1] / reach, 0.0);
  return true;
}

/* ---- Two curves ---- */

/* The point nearest to a position: how a doubt moves a curve there, and by how many steps. */
static const struct opening_point *nearest(const struct opening_points *points, double position) {
  size_t near = 0;
  for (size_t i = 1; i < points->count; i++)
    if (fabs(points->points[i].position_ratio - position) < fabs(points->points[near].position_ratio - position)) near = i;
  return &points->points[near];
}

/* What a step opens is the same on both days. */
static void common_step(const struct opening_points *now, const struct opening_points *clean, double *step, double *sd) {
  *step = *sd = 0.0;
  if (!(now->step_sd_m2 > 0.0) || !(clean->step_sd_m2 > 0.0)) return;
  const double a = 1.0 / square(now->step_sd_m2), b = 1.0 / square(clean->step_sd_m2);
  *step = (a * now->step_m2 + b * clean->step_m2) / (a + b);
  *sd = 1.0 / sqrt(a + b);
}

static double level_change(const struct opening_points *now, const struct opening_points *clean) {
  return sqrt(square(now->air == OPENING_AIR_FLOW ? FLOW_CHANGE_RATIO : FILLING_CHANGE_RATIO) + square(INTAKE_CHANGE_RATIO) +
              square(now->ambient_sd_ratio) + square(clean->ambient_sd_ratio));
}

/* Now's curve over the clean one, weighted, where only the foot opens the blade. */
static void compare_above(const struct opening_points *now, const struct opening_points *clean, double step,
                          struct opening_lost *lost) {
  double weights = 0.0, sum = 0.0;
  lost->upper_ratio = lost->upper_sd_ratio = NAN;
  for (size_t i = 0; i < now->count; i++) {
    const struct opening_point *p = &now->points[i];
    double cda, sd, slope;
    if (p->position_ratio < lost->position_ratio + UPPER_RATIO) continue;
    if (!opening_lost_curve_at(clean, step, p->position_ratio, &cda, &sd, &slope)) continue;
    const double here = p->cda_m2 + (now->step_m2 - step) * p->steps;
    const double error = sqrt(square(sd) + square(opening_points_sd_m2(now, p)) + square(slope * POSITION_CHANGE_RATIO)) / cda;
    weights += 1.0 / square(error);
    sum += here / cda / square(error);
  }
  if (!(weights > 0.0)) return;
  lost->upper_ratio = sum / weights;
  lost->upper_sd_ratio = sqrt(1.0 / weights + square(level_change(now, clean)));
}

static bool another_car(const struct opening_lost *lost) {
  if (!isfinite(lost->upper_ratio)) return false;
  const double of_film = fmax(UPPER_FILM_RATIO, UPPER_FILM_SHARE * (1.0 - lost->now_m2 / lost->clean_m2));
  const double below = 1.0 - of_film - UPPER_SDS * lost->upper_sd_ratio;
  return lost->upper_ratio < below || lost->upper_ratio > 1.0 + UPPER_SDS * lost->upper_sd_ratio;
}

/* As large a share is missing well above idle as at idle: that is how another gain looks, and no film. */
static bool another_gain(const struct opening_lost *lost) {
  const double here = 1.0 - lost->now_m2 / lost->clean_m2, above = 1.0 - lost->upper_ratio;
  return isfinite(lost->upper_ratio) && lost->low_ratio > 0.0 && here > SENSOR_LEAST_RATIO && above > SENSOR_SHARE * here;
}

void opening_lost_find(const struct opening_points *now, const struct opening_points *clean, struct opening_lost *lost) {
  *lost = (struct opening_lost){.position_ratio = NAN,
                                .mean_ratio = NAN,
                                .sd_ratio = NAN,
                                .low_ratio = NAN,
                                .high_ratio = NAN,
                                .upper_ratio = NAN,
                                .upper_sd_ratio = NAN};
  if (!now->has_idle) {
    lost->trouble = OPENING_LOST_NO_IDLE;
    return;
  }
  if (now->air != clean->air) {
    lost->trouble = OPENING_LOST_OTHER_AIR;
    return;
  }
  double step, step_sd, slope;
  common_step(now, clean, &step, &step_sd);
  const struct opening_point *idle = &now->idle;
  lost->position_ratio = idle->position_ratio;
  lost->now_m2 = idle->cda_m2 + (now->step_m2 - step) * idle->steps;
  lost->valve_m2 = step * idle->steps;
  if (!opening_lost_curve_at(clean, step, idle->position_ratio, &lost->clean_m2, &lost->clean_sd_m2, &slope)) {
    lost->trouble = OPENING_LOST_NO_OVERLAP;
    return;
  }
  const double at = idle->position_ratio;
  const double moved = slope * sqrt(square(idle->position_sd_ratio) + square(POSITION_CHANGE_RATIO));
  lost->now_sd_m2 = idle->sd_m2;
  lost->clean_sd_m2 = sqrt(square(lost->clean_sd_m2) + square(moved)); // where it idles is where it is looked up
  const double all = lost->clean_m2 + lost->valve_m2, left_ratio = (lost->now_m2 + lost->valve_m2) / all;
  compare_above(now, clean, step, lost);
  const double level = sqrt(square(level_change(now, clean)) + square(isfinite(lost->upper_ratio) ? 0.0 : UNCHECKED_RATIO));
  const double changed = sqrt(square(level * (lost->now_m2 + lost->valve_m2)) +
                              square(OFFSET_CHANGE_SHARE * nearest(clean, at)->per_doubt_m2[OPENING_DOUBT_offset]) +
                              square(TILT_CHANGE_SHARE * nearest(clean, at)->per_doubt_m2[OPENING_DOUBT_tilt]) +
                              square(step_sd * (idle->steps - nearest(clean, at)->steps)));
  lost->mean_ratio = (lost->clean_m2 - lost->now_m2) / all;
  lost->sd_ratio = sqrt(square(lost->now_sd_m2) + square(left_ratio * lost->clean_sd_m2) + square(changed)) / all;
  lost->low_ratio = lost->mean_ratio - INTERVAL_SDS * lost->sd_ratio;
  lost->high_ratio = fmin(lost->mean_ratio + INTERVAL_SDS * lost->sd_ratio, 1.0);
  if (another_car(lost))
    lost->trouble = OPENING_LOST_OTHER_CAR;
  else if (another_gain(lost))
    lost->trouble = OPENING_LOST_OTHER_GAIN;
}
