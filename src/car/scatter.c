#include "car/scatter.h"

#include "base/attributes.h"
#include "base/units.h"

#include <math.h>
#include <string.h>

#define LEAST_CLEARANCE_M  1e-6 // a blade that touches all round would jam
#define LEAST_VENTILATION  0.1  // share of the nominal valve's flow
#define LEAST_CLOSED_RATIO 0.01
#define LEAST_CLOSED_RAD   (0.5 * UNITS_RAD_PER_DEG) // a blade square to the bore would bind
#define LEAST_SHARE        0.2                       // of what a deviation multiplies
#define OFF_IDLE_RAD_S     (900.0 * UNITS_RAD_S_PER_RPM)
#define NO_LOAD_RAD_S      (2500.0 * UNITS_RAD_S_PER_RPM)
#define LEAST_RISE         0.1 // share of the nominal charger's

const struct scatter_row scatter_rows[SCATTER_COUNT] = {
#define SCATTER(key, factor, usual, road, most, needs, kind, text, why, why_road) {SCATTER_##kind, needs, #key, text, factor},
    SCATTER_LIST(SCATTER)
#undef SCATTER
};

bool scatter_applies(const struct engine *engine, enum scatter scatter) {
  return engine->scatter.sd[scatter] > 0.0 && engine_has(engine, scatter_rows[scatter].needs);
}

int scatter_find(const char *key) {
  for (int i = 0; i < SCATTER_COUNT; i++)
    if (strcmp(scatter_rows[i].key, key) == 0) return i;
  return -1;
}

void scatter_amounts(const struct engine *nominal, const double *z, double amounts[SCATTER_COUNT]) {
  for (int i = 0; i < SCATTER_COUNT; i++)
    amounts[i] = scatter_applies(nominal, (enum scatter)i) ? z[i] * nominal->scatter.sd[i] : 0.0;
}

#define AMOUNT(key) amounts[SCATTER_##key]
#define FACTOR(key) fmax(1.0 + AMOUNT(key), LEAST_SHARE)

static void make_throttle(const double *amounts, struct throttle_params *throttle) {
  struct bore_geometry *bore = &throttle->bore;
  bore->radius_m *= FACTOR(bore_pct);
  bore->edge_land_m *= FACTOR(land_pct);
  bore->closed_angle_rad = fmax(bore->closed_angle_rad + AMOUNT(closed_deg), LEAST_CLOSED_RAD);
  bore->clearance_m = fmax(bore->clearance_m + AMOUNT(clearance_um), LEAST_CLEARANCE_M);
  throttle->film_shape.band_half_width_m *= FACTOR(band_pct);
  curve_scale(&throttle->discharge, FACTOR(discharge_pct));
  throttle->closed_position_ratio = fmax(throttle->closed_position_ratio + AMOUNT(track_pct), LEAST_CLOSED_RATIO);
}

static void make_metal(const double *amounts, struct plant_params *plant) {
  const double friction = FACTOR(friction_pct), slope = FACTOR(friction_slope_pct);
  plant->friction.constant_pa *= friction;
  plant->friction.per_krpm_pa *= friction * slope;
  plant->friction.per_krpm2_pa *= friction * slope;
  plant->charge.pressure_slope_ratio *= FACTOR(filling_pct);
  curve_bend(&plant->charge.speed_factor, OFF_IDLE_RAD_S, NO_LOAD_RAD_S, FACTOR(filling_2500_pct), 0.0);
  curve_scale(&plant->combustion.efficiency, FACTOR(efficiency_pct));
  make_throttle(amounts, &plant->throttle);
  plant->intake.ventilation_cda_m2 *= fmax(1.0 + AMOUNT(ventilation_pct), LEAST_VENTILATION);
  plant->intake.purge_cda_m2 = fmax(plant->intake.purge_cda_m2 + AMOUNT(purge_mm2), 0.0);
  curve_scale(&plant->charger.rise_pa, fmax(1.0 + AMOUNT(charger_pct), LEAST_RISE));
  plant->loads.compressor_torque_nm *= FACTOR(compressor_pct);
  plant->loads.converter_torque_nm *= FACTOR(converter_pct);
}

static void make_computer(const double *amounts, struct computer_params *computer) {
  curve_raise(&computer->target.by_coolant, AMOUNT(target_rpm));
  computer->target.drive_rad_s += AMOUNT(target_rpm) + AMOUNT(target_loaded_rpm);
  computer->target.compressor_rad_s += AMOUNT(target_rpm) + AMOUNT(target_loaded_rpm);
  computer->spark.base_rad += AMOUNT(spark_map_deg);
  curve_raise(&computer->spark.running_rad, AMOUNT(spark_map_deg));
  curve_bend(&computer->spark.running_rad, OFF_IDLE_RAD_S, NO_LOAD_RAD_S, 1.0, AMOUNT(spark_2500_deg));
  computer->air.base_kg_s *= FACTOR(feed_pct);
  computer->air.learned_least_ratio *= FACTOR(learned_limit_pct);
  computer->air.learned_most_ratio *= FACTOR(learned_limit_pct);
  computer->air.effort_least_ratio *= FACTOR(effort_limit_pct);
  computer->air.effort_most_ratio *= FACTOR(effort_limit_pct);
  curve_stretch(&computer->target.by_coolant, computer->target.by_coolant.y[computer->target.by_coolant.count - 1],
                FACTOR(cold_target_pct));
  curve_stretch(&computer->fuel.lambda, 1.0, FACTOR(cold_fuel_pct));
  computer->fuel.short_limit_ratio *= FACTOR(trim_limit_pct);
  computer->fuel.long_limit_ratio *= FACTOR(trim_limit_pct);
}

void scatter_make_car(const struct engine *nominal, const double amounts[SCATTER_COUNT], struct engine *car) {
  *car = *nominal;
  car->calibrated_on = nominal->calibrated_on ? nominal->calibrated_on : &nominal->plant;
  if (nominal->scatter.of_models) car->calibrated_on = NULL;
  make_metal(amounts, &car->plant);
  make_computer(amounts, &car->computer);
}

void scatter_make_conditions(const double amounts[SCATTER_COUNT], struct conditions *conditions) {
  conditions->faults.drag_nm += AMOUNT(accessory_nm);
  conditions->faults.spark_offset_rad += AMOUNT(spark_deg);
  conditions->faults.fuel_delivery_ratio *= 1.0 + AMOUNT(injector_pct);
  conditions->faults.purge_vapour_ratio = fmax(conditions->faults.purge_vapour_ratio + AMOUNT(vapour_pct), 0.0);
  conditions->faults.cylinder_exhaust_ratio =
      fmin(fmax(conditions->faults.cylinder_exhaust_ratio + AMOUNT(exhaust_valve_pct), 0.0), 1.0);
  conditions->sensor_faults.air_flow_gain_ratio *= 1.0 + AMOUNT(maf_gain_pct);
  conditions->sensor_faults.pressure_offset_pa += AMOUNT(map_offset_kpa);
  conditions->sensor_faults.charge_offset_pa += AMOUNT(charge_offset_kpa);
  const struct field *load = &condition_find("electrical_load_w")->field; // set past its faults' part
  conditions_set(conditions, load, fmax(conditions_value(conditions, load) + AMOUNT(electrical_w), 0.0));
  conditions->coolant_k += AMOUNT(coolant_c);
  conditions->oil_k += AMOUNT(coolant_c);
  conditions->intake_k += AMOUNT(intake_c);
  conditions->ambient_pa = conditions_ambient_pa(conditions) + AMOUNT(ambient_kpa);
}
