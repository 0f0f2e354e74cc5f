#include "analysis/estimate/estimate_lost.h"

#include "analysis/curve/opening_blocks.h"
#include "base/bounds.h"
#include "base/units.h"
#include "physics/orifice.h"
#include "physics/slot.h"
#include "plant/air.h"
#include "plant/plant.h"

#include <math.h>

#define SAME_PLACE_RAD 1e-6 // a track without a fault reads where the blade is, but for rounding

/* The blade that reads so on the track as it was built. */
static double blade_of_reading_rad(const struct throttle_params *throttle, double position_ratio) {
  const double share = bounds_clamp(plant_track_share(throttle, position_ratio), 0.0, 1.0);
  return throttle->bore.closed_angle_rad + plant_travel_rad(throttle) * share;
}

static double clean_blade_m2(const struct vehicle *v, double blade_rad) {
  const struct throttle_params *throttle = &v->engine->plant.throttle;
  const struct bore_film none = {0};
  const struct bore_passage gap = bore_passage_at(&throttle->bore, &throttle->film_shape, &none, blade_rad);
  const double viscosity =
      slot_relative_viscosity(v->inputs.ambient_pa, v->inputs.ambient_k, v->state.manifold_pressure_pa / v->inputs.ambient_pa);
  return slot_cda_m2(gap.area_m2, gap.passing_m2, curve_value(&throttle->discharge, blade_rad - throttle->bore.closed_angle_rad),
                     viscosity);
}

/* Gain of what meters the air, against that of the same car without a fault. */
static double metering_ratio(const struct vehicle *v, bool by_flow) {
  const struct sensor_faults *faults = &v->conditions.sensor_faults;
  if (by_flow)
    return v->state.air_sensor_kg_s > 0.0 ? sensors_air_flow_kg_s(faults, v->state.air_sensor_kg_s) / v->state.air_sensor_kg_s
                                          : 1.0;
  const double true_pa = v->state.manifold_pressure_pa + v->engine->plant.intake.pressure_sensor_pa;
  const double kept = (1.0 - v->inputs.faults.compression_loss_ratio) *
                      (1.0 - plant_faults_pushed_back_ratio(&v->inputs.faults) / v->engine->plant.charge.cylinder_count);
  return opening_blocks_charge_pa(sensors_pressure_pa(faults, true_pa)) / (opening_blocks_charge_pa(true_pa) * kept);
}

double estimate_lost_ratio(const struct vehicle *v, double position_ratio, enum estimate_lost_air air) {
  const struct plant_params *plant = &v->engine->plant;
  const bool by_flow =
      air == ESTIMATE_LOST_AS_ENGINE ? v->engine->computer.fuel.metering == METERING_AIR_FLOW : air == ESTIMATE_LOST_BY_FLOW;
  struct plant_signals s;
  plant_signals(plant, &v->inputs, &v->state, &s);
  const double flux_kg_s_m2 =
      orifice_mass_flow_kg_s(1.0, s.duct_pa, v->inputs.ambient_k, v->state.manifold_pressure_pa, v->state.manifold_temperature_k);
  const double blade_rad = blade_of_reading_rad(&plant->throttle, position_ratio);
  const bool clean = v->conditions.film_m <= 0.0 && v->conditions.edge_film_m <= 0.0;
  double clean_kg_s = s.path_kg_s[PLANT_PATH_blade];
  if (!clean || fabs(blade_rad - v->state.blade_rad) > SAME_PLACE_RAD) clean_kg_s = flux_kg_s_m2 * clean_blade_m2(v, blade_rad);
  clean_kg_s += flux_kg_s_m2 * plant->intake.ventilation_cda_m2;
  if (plant->throttle.kind == THROTTLE_CABLE)
    clean_kg_s += flux_kg_s_m2 * plant->bypass.discharge_ratio * bypass_area_m2(&plant->bypass, v->inputs.bypass_steps, 0.0);
  if (!by_flow) // a purge that stands as it should
    clean_kg_s += orifice_mass_flow_kg_s(plant->intake.purge_cda_m2 * v->inputs.purge_ratio, v->inputs.ambient_pa,
                                         v->inputs.ambient_k, v->state.manifold_pressure_pa, v->state.manifold_temperature_k);
  const double seen_kg_s = metering_ratio(v, by_flow) * (by_flow ? s.metered_kg_s : s.inflow_kg_s);
  return clean_kg_s > 0.0 ? 1.0 - seen_kg_s / clean_kg_s : NAN;
}
