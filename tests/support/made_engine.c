#include "support/made_engine.h"

#include "base/units.h"

#define TOLERANCE_UM 0.1

static double air_gps(struct plant_probe *probe, double load_w) {
  plant_probe_set(probe, "electrical_load_w", load_w);
  plant_probe_settle(probe);
  return plant_probe_value(probe, CHANNEL_airflow_gps);
}

/* Friction by bisection; then the computer is told what this engine needs. */
struct plant_probe *made_engine_create(const struct made_engine_kind *kind) {
  struct plant_probe *probe = plant_probe_create(MADE_ENGINE_MODEL);
  const double wanted_gps = kind->gps_per_l * 1e3 * probe->engine.plant.charge.displacement_m3;
  plant_probe_set(probe, "throttle.bore_radius_mm", 0.5 * kind->bore_mm);
  plant_probe_set(probe, "idle_air.learned_most_pct", kind->learned_pct);
  plant_probe_set(probe, "idle_air.base_gps", wanted_gps);
  double low = 0.1, high = 2.0;
  for (int i = 0; i < 30; i++) {
    const double middle = 0.5 * (low + high);
    plant_probe_set(probe, "friction.constant_bar", middle);
    if (air_gps(probe, 0.0) > wanted_gps)
      high = middle;
    else
      low = middle;
  }
  const double without = air_gps(probe, 0.0), with = air_gps(probe, 300.0);
  plant_probe_set(probe, "idle_air.electrical_gps_per_kw", (with - without) / 0.3);
  plant_probe_settle(probe);
  return probe;
}

struct made_engine_gap made_engine_gap(const struct plant_probe *probe) {
  const struct idle_air_params *air = &probe->engine.computer.air;
  const struct plant_signals signals = plant_probe_signals(probe);
  const double rim_mm = UNITS_PI * 2e3 * probe->engine.plant.throttle.bore.radius_m;
  const double area_mm2 = plant_probe_value(probe, CHANNEL_area_mm2);
  const double most_kg_s = (air->learned_most_ratio + air->effort_most_ratio) * air->base_kg_s;
  return (struct made_engine_gap){area_mm2, 1e3 * area_mm2 / rim_mm, most_kg_s / signals.path_kg_s[PLANT_PATH_blade]};
}

double made_engine_rule_k(const struct made_engine_gap *gap) { return 1.09 - (1.0 + gap->room_ratio) * gap->width_um / 375.0; }

double made_engine_rule_hidden_um(const struct made_engine_gap *gap) {
  return gap->room_ratio * gap->width_um / made_engine_rule_k(gap);
}

double made_engine_rule_stall_um(const struct made_engine_gap *gap) {
  return (gap->room_ratio + 0.55) * gap->width_um / made_engine_rule_k(gap);
}

static bool below(const struct plant_probe *probe, double rpm) {
  if (probe->point.outcome == SETTLE_STALLS) return true;
  return plant_probe_value(probe, CHANNEL_speed_rpm) < plant_probe_value(probe, CHANNEL_target_rpm) - rpm;
}

double made_engine_film_um(struct plant_probe *probe, double below_rpm) {
  double low = 0.0, high = MADE_ENGINE_FILM_MOST_UM;
  while (high - low > TOLERANCE_UM) {
    const double middle = 0.5 * (low + high);
    plant_probe_set(probe, "film_um", middle);
    plant_probe_settle(probe);
    if (below(probe, below_rpm))
      high = middle;
    else
      low = middle;
  }
  plant_probe_set(probe, "film_um", 0.0);
  plant_probe_settle(probe);
  return high;
}
