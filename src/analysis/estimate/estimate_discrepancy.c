#include "analysis/estimate/estimate_discrepancy.h"

#include "base/matrix.h"

#include <math.h>
#include <string.h>

/* Quantities that are not here are measured as they are, whatever the model: temperatures, barometer, battery, target. The errors: what engines of other
 * structure, fitted by this one as well as it can be, are still off by (tests/alien). The day: a real car from day to day (its trims 1.7 %,
 * spark 0.9 deg, pressure 0.4 kPa, position below 0.1 %; data set of a thesis, IEEE document 8891367), the rest in proportion. Unlisted:
 * invented, some three times what a workshop sees on good cars. */
const struct estimate_discrepancy_row estimate_discrepancy_rows[ESTIMATE_QUANTITY_COUNT] = {
    // clang-format off
    [ESTIMATE_QUANTITY_speed_rpm]      = {3.0, 3.0, 0.0, 120.0, 0.0},
    [ESTIMATE_QUANTITY_target_rpm]     = {0.0, 0.0, 0.0, 60.0, 0.0},
    [ESTIMATE_QUANTITY_tp_pct]         = {0.2, 0.15, 0.08, 3.0, 0.0},
    [ESTIMATE_QUANTITY_blade_pct]      = {0.2, 0.15, 0.08, 3.0, 0.0},
    [ESTIMATE_QUANTITY_maf_gps]        = {0.03, 0.03, 0.015, 0.3, 0.6},
    [ESTIMATE_QUANTITY_map_kpa]        = {0.6, 0.6, 0.4, 8.0, 0.0},
    [ESTIMATE_QUANTITY_manifold_kpa]   = {0.6, 0.6, 0.4, 8.0, 0.0},
    [ESTIMATE_QUANTITY_charge_kpa]     = {0.3, 0.3, 0.2, 6.0, 0.0},
    [ESTIMATE_QUANTITY_load_pct]       = {0.05, 0.03, 0.02, 0.4, 12.0},
    [ESTIMATE_QUANTITY_spark_deg]      = {1.0, 1.0, 0.9, 10.0, 0.0},
    [ESTIMATE_QUANTITY_trim_pct]       = {1.0, 0.7, 1.5, 10.0, 0.0},
    [ESTIMATE_QUANTITY_stft_pct]       = {0.7, 0.7, 1.0, 8.0, 0.0},
    [ESTIMATE_QUANTITY_ltft_pct]       = {0.7, 0.7, 1.2, 8.0, 0.0},
    [ESTIMATE_QUANTITY_trim2_pct]      = {1.0, 0.7, 1.5, 10.0, 0.0},
    [ESTIMATE_QUANTITY_stft2_pct]      = {0.7, 0.7, 1.0, 8.0, 0.0},
    [ESTIMATE_QUANTITY_ltft2_pct]      = {0.7, 0.7, 1.2, 8.0, 0.0},
    [ESTIMATE_QUANTITY_idle_air_pct]   = {2.0, 2.0, 1.5, 15.0, 0.0},
    [ESTIMATE_QUANTITY_learned_pct]    = {2.0, 2.0, 1.5, 12.0, 0.0},
    [ESTIMATE_QUANTITY_effort_pct]     = {1.0, 1.0, 1.0, 8.0, 0.0},
    [ESTIMATE_QUANTITY_bypass_steps]   = {4.0, 4.0, 1.5, 20.0, 0.0},
    [ESTIMATE_QUANTITY_coolant_c]      = {0.0, 0.0, 0.0, 15.0, 0.0},
    [ESTIMATE_QUANTITY_intake_c]       = {0.0, 0.0, 0.0, 15.0, 0.0},
    [ESTIMATE_QUANTITY_battery_v]      = {0.0, 0.0, 0.0, 0.7, 0.0},
    [ESTIMATE_QUANTITY_tps1_v]         = {0.01, 0.0075, 0.004, 0.15, 0.0},
    [ESTIMATE_QUANTITY_tps2_v]         = {0.01, 0.0075, 0.004, 0.15, 0.0},
    [ESTIMATE_QUANTITY_maf_v]          = {0.02, 0.02, 0.01, 0.2, 0.0},
    [ESTIMATE_QUANTITY_closed_gap_mm2] = {0.1, 0.0, 0.0, 3.0, 0.0},
    [ESTIMATE_QUANTITY_charging_v]     = {0.0, 0.0, 0.0, 1.0, 0.0},
    [ESTIMATE_QUANTITY_area_lost_pct]  = {3.0, 0.0, 0.0, 15.0, 0.0}, // a difference of two curves: their interval has most of it
    // clang-format on
};

double estimate_discrepancy_scale(const struct estimate_discrepancy_row *row, double value) {
  return row->floor > 0.0 ? fmax(fabs(value), row->floor) : 1.0;
}

double estimate_discrepancy_between(const struct estimate_reading *a, const struct estimate_reading *b, bool same_day) {
  if (a->quantity != b->quantity) return 0.0;
  const struct estimate_discrepancy_row *row = &estimate_discrepancy_rows[a->quantity];
  const double scale = estimate_discrepancy_scale(row, a->value) * estimate_discrepancy_scale(row, b->value);
  const double own = a->condition == b->condition ? row->own * row->own : 0.0;
  const double day = same_day ? row->day * row->day : 0.0;
  return scale * (row->common * row->common + own + day);
}

/* D and the readings' own variances. */
static void fill(const struct estimate_readings *readings, double *covariance) {
  const size_t n = readings->count;
  for (size_t j = 0; j < n; j++) {
    for (size_t l = 0; l < n; l++)
      covariance[j * n + l] = estimate_discrepancy_between(&readings->readings[j], &readings->readings[l], true);
    covariance[j * n + j] += readings->readings[j].sd * readings->readings[j].sd;
  }
}

bool estimate_past_take(const struct estimate_readings *readings, const double *residual, const struct estimate_slopes *slopes,
                        size_t count, const double *lasts, struct estimate_past *past) {
  const size_t n = readings->count;
  past->readings = *readings;
  fill(readings, past->room);
  for (size_t i = 0; i < count; i++) {
    const double passes = 1.0 - lasts[i] * lasts[i];
    if (passes <= 0.0) continue;
    for (size_t j = 0; j < n; j++)
      for (size_t l = 0; l < n; l++) past->room[j * n + l] += passes * slopes->by[j][i] * slopes->by[l][i];
  }
  if (!matrix_cholesky(n, past->room)) {
    past->readings.count = 0;
    return false;
  }
  matrix_cholesky_inverse(n, past->room, past->weight);
  for (size_t j = 0; j < n; j++) {
    past->pull[j] = 0.0;
    memset(past->tie[j], 0, sizeof past->tie[j]);
    for (size_t l = 0; l < n; l++) {
      past->pull[j] += past->weight[j * n + l] * residual[l];
      for (size_t i = 0; i < count; i++) past->tie[j][i] += lasts[i] * past->weight[j * n + l] * slopes->by[l][i];
    }
  }
  return true;
}

/* What the past tells of the errors of these readings. */
static void remember(const struct estimate_readings *readings, const struct estimate_past *past, size_t count,
                     struct estimate_discrepancy *d) {
  const size_t n = readings->count, m = past->readings.count;
  for (size_t j = 0; j < n; j++) {
    double told[ESTIMATE_READING_MAX] = {0.0}; // row j of D_b' W
    for (size_t b = 0; b < m; b++) {
      const double shared = estimate_discrepancy_between(&readings->readings[j], &past->readings.readings[b], false);
      if (shared == 0.0) continue;
      d->offset[j] += shared * past->pull[b];
      for (size_t i = 0; i < count; i++) d->tie[j][i] -= shared * past->tie[b][i];
      for (size_t k = 0; k < m; k++) told[k] += shared * past->weight[b * m + k];
    }
    for (size_t l = 0; l < n; l++)
      for (size_t k = 0; k < m; k++)
        if (past->readings.readings[k].quantity == readings->readings[l].quantity)
          d->covariance[j * n + l] -=
              told[k] * estimate_discrepancy_between(&past->readings.readings[k], &readings->readings[l], false);
  }
}

static bool invert(size_t n, struct estimate_discrepancy *d) {
  memcpy(d->room, d->covariance, n * n * sizeof *d->room);
  if (!matrix_cholesky(n, d->room)) return false;
  matrix_cholesky_inverse(n, d->room, d->weight);
  d->log_sd = 0.5 * matrix_cholesky_log_determinant(n, d->room);
  return true;
}

void estimate_discrepancy_expect(const struct estimate_readings *readings, const struct estimate_past *past, size_t count,
                                 struct estimate_discrepancy *d) {
  memset(d->offset, 0, sizeof d->offset);
  memset(d->tie, 0, sizeof d->tie);
  fill(readings, d->covariance);
  if (past) remember(readings, past, count, d);
}

bool estimate_discrepancy_of(const struct estimate_readings *readings, const struct estimate_past *past, size_t count,
                             struct estimate_discrepancy *d) {
  const size_t n = readings->count;
  estimate_discrepancy_expect(readings, past, count, d);
  return invert(n, d);
}

bool estimate_discrepancy_widen(const struct estimate_discrepancy *good, size_t n, const double *moved,
                                struct estimate_discrepancy *d) {
  memcpy(d->offset, good->offset, n * sizeof *d->offset);
  memcpy(d->tie, good->tie, n * sizeof *d->tie);
  memcpy(d->covariance, good->covariance, n * n * sizeof *d->covariance);
  for (size_t j = 0; j < n; j++) d->covariance[j * n + j] += ESTIMATE_EFFECT_SD * ESTIMATE_EFFECT_SD * moved[j] * moved[j];
  return invert(n, d);
}
