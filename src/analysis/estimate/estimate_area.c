#include "analysis/estimate/estimate_area.h"

#include "base/probability.h"
#include "base/units.h"
#include "physics/bore.h"

#include <math.h>
#include <string.h>

#define DIFFERENCE_SD  0.5  // as for slopes (estimate_fit.c)
#define MASS_LEAST     1e-3 // of the film's probability: less moves no quantile
#define ANGLE_STEP_RAD 1e-4 // a secant's first
enum { SECANT_STEPS = 6, QUANTILE_STEPS = 40, PART_MAX = 512 };

/* A normal part of the posterior. */
struct part {
  double mass, mean, sd;
};

static double gap_m2(const struct throttle_params *throttle, double film_m, double angle_rad) {
  const struct bore_film film = {film_m, 0.0};
  return bore_area_m2(&throttle->bore, &throttle->film_shape, &film, angle_rad);
}

void estimate_area_find_clean(const struct engine *engine, struct estimate_forward *forward, struct estimate_area *area) {
  const double z[SCATTER_COUNT] = {0};
  const struct estimate_fault nothing = {0};
  struct estimate_setting setting;
  estimate_setting_init(&setting);
  struct estimate_point points[ESTIMATE_CONDITION_COUNT];
  estimate_forward_predict(forward, &setting, z, &nothing, ESTIMATE_AT(idle), points);
  const struct plant_params *plant = &engine->plant;
  const double *values = points[ESTIMATE_CONDITION_idle].values, steps = values[CHANNEL_bypass_steps];
  area->idle_rad = plant->throttle.bore.closed_angle_rad + values[CHANNEL_blade_deg] * UNITS_RAD_PER_DEG;
  area->idle_m2 = gap_m2(&plant->throttle, 0.0, area->idle_rad);
  area->bypass_m2 = plant->throttle.kind == THROTTLE_CABLE && !isnan(steps) ? bypass_area_m2(&plant->bypass, steps, 0.0) : 0.0;
}

/* The angle at which the gap has an area; not below the closed stop. */
static double angle_of(const struct throttle_params *throttle, double film_m, double area_m2, double start_rad) {
  const double closed = throttle->bore.closed_angle_rad;
  double here = start_rad, off = gap_m2(throttle, film_m, here) - area_m2;
  double before = here + ANGLE_STEP_RAD, off_before = gap_m2(throttle, film_m, before) - area_m2;
  for (int i = 0; i < SECANT_STEPS && off != off_before; i++) {
    const double next = fmax(here - off * (here - before) / (off - off_before), closed);
    before = here;
    off_before = off;
    here = next;
    off = gap_m2(throttle, film_m, here) - area_m2;
  }
  return here;
}

/* Where a filmed throttle idles: as far open as it needs, or as its computer may. A cable throttle rests on its stop. */
static double idle_angle_rad(const struct engine *nominal, const struct estimate_area *area, const struct engine *car,
                             double film_m) {
  const struct throttle_params *throttle = &car->plant.throttle;
  const double closed = throttle->bore.closed_angle_rad;
  if (throttle->kind == THROTTLE_CABLE) return closed;
  const struct idle_air_params *air = &car->computer.air;
  const double start = closed + area->idle_rad - nominal->plant.throttle.bore.closed_angle_rad;
  const double most_m2 = area->idle_m2 * (1.0 + air->learned_most_ratio + air->effort_most_ratio);
  const double clean = angle_of(throttle, 0.0, area->idle_m2, start), most = angle_of(throttle, 0.0, most_m2, clean);
  return fmin(angle_of(throttle, film_m, area->idle_m2, clean), most);
}

static double lost_by(const struct engine *nominal, const struct estimate_area *area, double film_m) {
  const struct engine *car = &area->car;
  const struct throttle_params *throttle = &car->plant.throttle;
  const double angle = idle_angle_rad(nominal, area, car, film_m), clean = gap_m2(throttle, 0.0, angle);
  return (clean - gap_m2(throttle, film_m, angle)) / (clean + area->bypass_m2);
}

static double lost_ratio(const struct engine *nominal, const double *z, double film_m, struct estimate_area *area) {
  double amounts[SCATTER_COUNT];
  scatter_amounts(nominal, z, amounts);
  scatter_make_car(nominal, amounts, &area->car);
  return lost_by(nominal, area, film_m);
}

static bool moves_loss(enum scatter scatter) {
  return scatter == SCATTER_closed_deg || scatter == SCATTER_clearance_um || scatter == SCATTER_bore_pct ||
         scatter == SCATTER_band_pct || scatter == SCATTER_land_pct || scatter == SCATTER_learned_limit_pct ||
         scatter == SCATTER_effort_limit_pct;
}

/* What the deviations left open at the likeliest node do to the loss. */
static double spread_of(const struct estimate_problem *p, const struct estimate_hypothesis *h, size_t place,
                        struct estimate_area *area) {
  const struct estimate_node *node = &h->nodes[h->best];
  const double film_m = estimate_node_severity(h, node, place) * UNITS_M_PER_UM,
               here = lost_ratio(p->engine, node->fit.z, film_m, area);
  const size_t n = p->count;
  double slope[SCATTER_COUNT] = {0.0}, variance = 0.0;
  for (size_t i = 0; i < n; i++) {
    if (!moves_loss(p->scatter[i])) continue;
    double z[SCATTER_COUNT];
    memcpy(z, node->fit.z, sizeof z);
    z[p->scatter[i]] += DIFFERENCE_SD;
    slope[i] = (lost_ratio(p->engine, z, film_m, area) - here) / DIFFERENCE_SD;
  }
  for (size_t i = 0; i < n; i++)
    for (size_t k = 0; k < n; k++) variance += slope[i] * h->covariance[i * n + k] * slope[k];
  return sqrt(fmax(variance, 0.0));
}

static double quantile(const struct part *parts, size_t count, double p) {
  double low = 0.0, high = 1.0;
  for (int step = 0; step < QUANTILE_STEPS; step++) {
    const double middle = 0.5 * (low + high);
    double below = 0.0;
    for (size_t i = 0; i < count; i++)
      below += parts[i].mass * (parts[i].sd > 0.0        ? probability_normal_cdf((middle - parts[i].mean) / parts[i].sd)
                                : parts[i].mean < middle ? 1.0
                                                         : 0.0);
    *(below < p ? &low : &high) = middle;
  }
  return 0.5 * (low + high);
}

void estimate_area_mix(const struct estimate_problem *p, size_t hypothesis_count, const struct estimate_hypothesis *hypotheses,
                       double film_probability, struct estimate_area *area) {
  area->best_ratio = area->low_ratio = area->high_ratio = NAN;
  if (!(film_probability > 0.0)) return;
  struct part parts[PART_MAX];
  size_t count = 0;
  double mass = 0.0, mean = 0.0;
  for (size_t i = 0; i < hypothesis_count; i++) {
    const struct estimate_hypothesis *h = &hypotheses[i];
    const int place = estimate_hypothesis_place(h, CAUSE_film);
    if (place < 0 || !(h->probability > MASS_LEAST * film_probability)) continue;
    const double sd = spread_of(p, h, (size_t)place, area);
    for (size_t k = 0; k < h->node_count && count < PART_MAX; k++) {
      const struct estimate_node *node = &h->nodes[k];
      const double part = h->probability * node->mass / film_probability;
      if (!(part > MASS_LEAST * MASS_LEAST) || !node->fit.possible) continue;
      const double film_m = estimate_node_severity(h, node, (size_t)place) * UNITS_M_PER_UM;
      parts[count++] = (struct part){part, lost_ratio(p->engine, node->fit.z, film_m, area), sd};
      mass += part;
      mean += part * parts[count - 1].mean;
    }
  }
  if (!(mass > 0.0)) return;
  for (size_t i = 0; i < count; i++) parts[i].mass /= mass;
  area->low_ratio = quantile(parts, count, 0.5 * (1.0 - ESTIMATE_INTERVAL));
  area->high_ratio = quantile(parts, count, 0.5 * (1.0 + ESTIMATE_INTERVAL));
  area->best_ratio = fmin(fmax(mean / mass, area->low_ratio), area->high_ratio);
}
