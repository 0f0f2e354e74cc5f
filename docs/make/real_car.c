/* Fits tests/reference/real-car.cfg to the two warm idle points of the real car, and to nothing else.
 *
 *   make_real_car             from the top of the source tree: shows the fit
 *   make_real_car --write     writes it into the file
 *
 * Least squares over settled points: position, pressure and spark of both idles, six figures for a dozen unknowns, so each unknown has
 * a prior: where it stands if the points say nothing of it, and how far it may go. Priors are everyday values, not the car's.
 * Gauss-Newton with halving steps. Then the computer's own feed-forward is calibrated on what was found, as a maker's would be: base
 * air, compressor, cold air. An unknown that the engine file's rows do not know is left out, with a word. */
#include "reference/validation/real_car.h"
#include "base/attributes.h"
#include "base/units.h"
#include "car/setting.h"
#include "make/rewrite_engine_file.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

struct unknown {
  const char *name;
  double prior, sigma; // in the file's unit; of a curve, times the template's
};

#define EFFICIENCY    "combustion.efficiency_by_rpm"
#define TEMPLATE_PATH "models/four-16.cfg"

// clang-format off
static const struct unknown unknowns[] = {
    {"throttle.closed_position_pct", 12.0, 2.0},
    {"throttle.bore_radius_mm", 24.0, 2.0},
    {"throttle.closed_deg", 6.5, 1.5},
    {"throttle.clearance_um", 20.0, 8.0},
    {"throttle.contour_um", 50.0, 50.0},         // a shoulder is likely, its size is not known
    {"throttle.contour_mm", 3.0, 1.0},
    {"intake.ventilation_mm2", 0.8, 0.3},
    {"charge.pressure_slope_ratio", 0.95, 0.03},
    {"charge.pressure_offset_kpa", -6.5, 0.5},
    {"combustion.retard_loss_per_deg2", 2.33e-4, 0.3e-4},
    {"friction.constant_bar", 0.6, 0.15},
    {"friction.per_krpm_bar", 0.12, 0.05},
    {"loads.compressor_nm", 9.0, 3.0},
    {"idle_spark.base_deg", 1.0, 5.0},
    {EFFICIENCY, 1.0, 0.08},                     // times that of four-16, over all speeds
};
// clang-format on
enum { UNKNOWN_COUNT = ARRAY_COUNT(unknowns), FIGURE_COUNT = 3 * REAL_CAR_IDLE_COUNT, ROUND_MAX = 40 };

#define POSITION_SIGMA_PCT 0.05
#define SPARK_SIGMA_DEG    0.2
#define STEP_SIGMAS        0.02 // of the difference quotients

struct fit {
  struct plant_probe *probe;
  struct curve efficiency; // the template's
  bool known[UNKNOWN_COUNT];
  double least[UNKNOWN_COUNT], most[UNKNOWN_COUNT]; // what the engine file allows
  double z[UNKNOWN_COUNT];                          // in sigmas from the prior
};

static double value_of(const struct fit *fit, size_t i, double z) {
  return fmin(fmax(unknowns[i].prior + z * unknowns[i].sigma, fit->least[i]), fit->most[i]);
}

static bool is_curve(size_t i) { return strcmp(unknowns[i].name, EFFICIENCY) == 0; }

static void scale_efficiency(const struct fit *fit, double scale) {
  struct curve *curve = &fit->probe->engine.plant.combustion.efficiency;
  *curve = fit->efficiency;
  for (size_t i = 0; i < curve->count; i++) curve->y[i] *= scale;
  if (!curve_init(curve)) abort();
}

static void put(const struct fit *fit, const double *z) {
  for (size_t i = 0; i < UNKNOWN_COUNT; i++) {
    if (is_curve(i))
      scale_efficiency(fit, value_of(fit, i, z[i]));
    else if (fit->known[i])
      plant_probe_set(fit->probe, unknowns[i].name, value_of(fit, i, z[i]));
  }
}

/* Residuals in standard deviations: of figures, then priors. Returns half the sum of squares. */
static double residuals(struct fit *fit, const double *z, double *out) {
  put(fit, z);
  for (size_t i = 0; i < REAL_CAR_IDLE_COUNT; i++) {
    const struct real_car_idle *idle = &real_car_idles[i];
    real_car_conditions(fit->probe, idle->compressor);
    plant_probe_settle(fit->probe);
    out[3 * i] = (plant_probe_value(fit->probe, CHANNEL_tp_pct) - idle->position_pct) / POSITION_SIGMA_PCT;
    out[3 * i + 1] = (plant_probe_value(fit->probe, CHANNEL_manifold_kpa) - idle->manifold_kpa) / idle->manifold_sd_kpa;
    out[3 * i + 2] = (plant_probe_value(fit->probe, CHANNEL_spark_deg) - idle->spark_deg) / SPARK_SIGMA_DEG;
  }
  double sum = 0.0;
  for (size_t i = 0; i < FIGURE_COUNT; i++) sum += 0.5 * out[i] * out[i];
  for (size_t i = 0; i < UNKNOWN_COUNT; i++) sum += 0.5 * z[i] * z[i];
  return sum;
}

/* Solves (J^T J + 1) step = -(J^T r + z) by elimination; the matrix is positive definite. */
static void newton_step(double jacobian[FIGURE_COUNT][UNKNOWN_COUNT], const double *r, const double *z, double *step) {
  double a[UNKNOWN_COUNT][UNKNOWN_COUNT + 1];
  for (size_t i = 0; i < UNKNOWN_COUNT; i++) {
    for (size_t j = 0; j < UNKNOWN_COUNT; j++) {
      a[i][j] = i == j ? 1.0 : 0.0;
      for (size_t f = 0; f < FIGURE_COUNT; f++) a[i][j] += jacobian[f][i] * jacobian[f][j];
    }
    a[i][UNKNOWN_COUNT] = -z[i];
    for (size_t f = 0; f < FIGURE_COUNT; f++) a[i][UNKNOWN_COUNT] -= jacobian[f][i] * r[f];
  }
  for (size_t p = 0; p < UNKNOWN_COUNT; p++)
    for (size_t i = p + 1; i < UNKNOWN_COUNT; i++) {
      const double ratio = a[i][p] / a[p][p];
      for (size_t j = p; j <= UNKNOWN_COUNT; j++) a[i][j] -= ratio * a[p][j];
    }
  for (size_t p = UNKNOWN_COUNT; p-- > 0;) {
    step[p] = a[p][UNKNOWN_COUNT];
    for (size_t j = p + 1; j < UNKNOWN_COUNT; j++) step[p] -= a[p][j] * step[j];
    step[p] /= a[p][p];
  }
}

/* One round; false when it no longer gets better. */
static bool improve(struct fit *fit, double *cost) {
  double r[FIGURE_COUNT], moved[FIGURE_COUNT], jacobian[FIGURE_COUNT][UNKNOWN_COUNT], step[UNKNOWN_COUNT], z[UNKNOWN_COUNT];
  residuals(fit, fit->z, r);
  for (size_t i = 0; i < UNKNOWN_COUNT; i++) {
    memcpy(z, fit->z, sizeof z);
    z[i] += STEP_SIGMAS;
    if (fit->known[i]) residuals(fit, z, moved);
    for (size_t f = 0; f < FIGURE_COUNT; f++) jacobian[f][i] = fit->known[i] ? (moved[f] - r[f]) / STEP_SIGMAS : 0.0;
  }
  newton_step(jacobian, r, fit->z, step);
  for (double share = 1.0; share > 0.01; share *= 0.5) {
    for (size_t i = 0; i < UNKNOWN_COUNT; i++) z[i] = fmin(fmax(fit->z[i] + share * step[i], -3.9), 3.9);
    const double reached = residuals(fit, z, moved);
    if (!(reached < *cost)) continue;
    const bool worth_it = *cost - reached > 1e-9 * *cost;
    memcpy(fit->z, z, sizeof z);
    *cost = reached;
    return worth_it;
  }
  return false;
}

/* False for a key that this program's engine files do not have. */
static bool find_key(const char *name, struct setting *setting) {
  struct error error;
  error_clear(&error);
  return setting_find(name, setting, &error) == STATUS_OK;
}

static bool has_key(const char *name) {
  struct setting setting;
  return find_key(name, &setting);
}

static void find_keys(struct fit *fit) {
  struct plant_probe *other = plant_probe_create(TEMPLATE_PATH);
  fit->efficiency = other->engine.plant.combustion.efficiency;
  plant_probe_destroy(other);
  for (size_t i = 0; i < UNKNOWN_COUNT; i++) {
    fit->least[i] = 0.5;
    fit->most[i] = 1.5;
    fit->known[i] = is_curve(i);
    if (is_curve(i)) continue;
    struct setting setting;
    fit->known[i] = find_key(unknowns[i].name, &setting);
    if (!fit->known[i]) continue;
    fit->least[i] = setting.field->min;
    fit->most[i] = setting.field->max;
  }
}

/* ---- the computer's feed-forward ---- */

/* Air that the controller adds, learned or not: a cold engine learns nothing. */
static double added_ratio(struct plant_probe *probe) {
  plant_probe_settle(probe);
  const double added_pct = plant_probe_value(probe, CHANNEL_learned_pct) + plant_probe_value(probe, CHANNEL_effort_pct);
  return UNITS_RATIO_PER_PCT * added_pct;
}

/* Cold air ratios at the points of the file's curve, at the targets asked for there. */
static void calibrate_cold(struct plant_probe *probe) {
  struct curve *cold = &probe->engine.computer.air.cold_ratio;
  for (size_t i = 0; i + 1 < cold->count; i++) {
    const double coolant_c = cold->x[i] - UNITS_KELVIN_AT_ZERO_C;
    for (int round = 0; round < 6; round++) {
      real_car_conditions(probe, false);
      plant_probe_set(probe, "coolant_c", coolant_c);
      plant_probe_set(probe, "oil_c", coolant_c);
      const double added = added_ratio(probe), target = probe->vehicle.computer.target_rad_s;
      const double warm_rad_s = real_car_idles[0].rpm * UNITS_RAD_S_PER_RPM;
      cold->y[i] *= 1.0 + added / (cold->y[i] * target / warm_rad_s);
      if (!curve_init(cold)) abort();
    }
  }
  plant_probe_set(probe, "coolant_c", 90.0);
  plant_probe_set(probe, "oil_c", 90.0);
}

/* Air that a kilowatt at the alternator takes, g/s; into the feed-forward, where the computer has one. */
#define PER_KILOWATT "idle_air.electrical_gps_per_kw"
#define MORE_W       250.0

static double air_gps(struct plant_probe *probe, double load_w) {
  plant_probe_set(probe, "electrical_load_w", load_w);
  plant_probe_settle(probe);
  return plant_probe_value(probe, CHANNEL_airflow_gps);
}

static double per_kilowatt_gps(struct plant_probe *probe) {
  real_car_conditions(probe, false);
  const double load_w = probe->query.conditions.electrical_load_w;
  return (air_gps(probe, load_w + MORE_W) - air_gps(probe, load_w)) / (1e-3 * MORE_W);
}

static void calibrate(struct plant_probe *probe) {
  if (has_key(PER_KILOWATT)) plant_probe_set(probe, PER_KILOWATT, per_kilowatt_gps(probe));
  struct idle_air_params *air = &probe->engine.computer.air;
  for (int round = 0; round < 8; round++) {
    real_car_conditions(probe, false);
    air->base_kg_s *= 1.0 + added_ratio(probe);
    real_car_conditions(probe, true);
    air->compressor_kg_s = fmax(air->compressor_kg_s + air->base_kg_s * added_ratio(probe), 0.0);
  }
  calibrate_cold(probe);
}

/* ---- out ---- */

static bool write_value(const char *name, double value) {
  char text[40];
  snprintf(text, sizeof text, "%.5g", value);
  if (!strpbrk(text, ".e")) strcat(text, ".0");
  printf("  %s = %s\n", name, text);
  if (rewrite_engine_file(REAL_CAR_PATH, name, text)) return true;
  fprintf(stderr, "%s: %s cannot be written\n", REAL_CAR_PATH, name);
  return false;
}

/* A curve with its points in the user's unit. */
static bool write_curve(const char *name, const struct curve *curve, double x_at_zero, double per_x) {
  char text[1024] = "(";
  for (size_t i = 0; i < curve->count; i++) {
    const size_t used = strlen(text);
    const char *gap = i == 0 ? "" : i == 6 ? ",\n                     " : ", ";
    snprintf(text + used, sizeof text - used, "%s(%.1f, %.4g)", gap, (curve->x[i] - x_at_zero) / per_x, curve->y[i]);
  }
  strcat(text, ")");
  return rewrite_engine_file(REAL_CAR_PATH, name, text);
}

static int write_all(const struct fit *fit) {
  const struct idle_air_params *air = &fit->probe->engine.computer.air;
  bool good = true;
  for (size_t i = 0; i < UNKNOWN_COUNT; i++)
    if (fit->known[i] && !is_curve(i)) good = write_value(unknowns[i].name, value_of(fit, i, fit->z[i])) && good;
  good = write_curve(EFFICIENCY, &fit->probe->engine.plant.combustion.efficiency, 0.0, UNITS_RAD_S_PER_RPM) && good;
  if (has_key(PER_KILOWATT)) good = write_value(PER_KILOWATT, per_kilowatt_gps(fit->probe)) && good;
  good = write_value("idle_air.base_gps", air->base_kg_s / UNITS_KG_S_PER_GPS) && good;
  good = write_value("idle_air.compressor_gps", air->compressor_kg_s / UNITS_KG_S_PER_GPS) && good;
  return write_curve("idle_air.cold_ratio_by_c", &air->cold_ratio, UNITS_KELVIN_AT_ZERO_C, 1.0) && good ? EXIT_SUCCESS
                                                                                                        : EXIT_FAILURE;
}

static void show(struct fit *fit, double cost) {
  double r[FIGURE_COUNT];
  residuals(fit, fit->z, r);
  printf("cost %.3f\n%-34s %10s %10s\n", cost, "unknown", "value", "sigmas");
  for (size_t i = 0; i < UNKNOWN_COUNT; i++)
    if (fit->known[i])
      printf("%-34s %10.4g %+10.2f\n", unknowns[i].name, value_of(fit, i, fit->z[i]), fit->z[i]);
    else
      printf("%-34s (no key of this program's engine files)\n", unknowns[i].name);
  static const char *const figures[] = {"position", "pressure", "spark"};
  for (size_t i = 0; i < FIGURE_COUNT; i++)
    printf("%s, compressor %s: %+.2f sigmas off\n", figures[i % 3], i < 3 ? "off" : "on", r[i]);
}

int main(int count, char **words) {
  static struct fit fit;
  fit.probe = plant_probe_create(REAL_CAR_PATH);
  find_keys(&fit);
  double r[FIGURE_COUNT], cost = residuals(&fit, fit.z, r);
  for (int round = 0; round < ROUND_MAX && improve(&fit, &cost); round++) continue;
  show(&fit, cost);
  put(&fit, fit.z);
  calibrate(fit.probe);
  const int code = count == 2 && strcmp(words[1], "--write") == 0 ? write_all(&fit) : EXIT_SUCCESS;
  plant_probe_destroy(fit.probe);
  return code;
}
