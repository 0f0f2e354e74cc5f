#include "car/scatter.h"

#include "base/attributes.h"
#include "base/units.h"

#include <math.h>

#define LEAST_CLEARANCE_M  1e-6 // a blade that touches all round would jam
#define LEAST_VENTILATION  0.1  // share of the nominal valve's flow
#define LEAST_CLOSED_RATIO 0.01
#define LEAST_RISE         0.1 // share of the nominal charger's

const struct scatter_row scatter_rows[SCATTER_COUNT] = {
#define SCATTER(key, factor, usual, most, needs, kind, text, why) {SCATTER_##kind, needs, #key, text},
    SCATTER_LIST(SCATTER)
#undef SCATTER
};

bool scatter_applies(const struct engine *engine, enum scatter scatter) {
  return engine->scatter.sd[scatter] > 0.0 && engine_has(engine, scatter_rows[scatter].needs);
}

void scatter_make_car(const struct engine *nominal, const double *z, struct engine *car) {
  *car = *nominal;
  car->calibrated_on = nominal->calibrated_on ? nominal->calibrated_on : &nominal->plant;
  const double *sd = nominal->scatter.sd;
  struct plant_params *plant = &car->plant;
#define AMOUNT(key) (scatter_applies(nominal, SCATTER_##key) ? z[SCATTER_##key] * sd[SCATTER_##key] : 0.0)
  const double friction = 1.0 + AMOUNT(friction_pct);
  plant->friction.constant_pa *= friction;
  plant->friction.per_krpm_pa *= friction;
  plant->friction.per_krpm2_pa *= friction;
  plant->charge.pressure_slope_ratio *= 1.0 + AMOUNT(filling_pct);
  curve_scale(&plant->combustion.efficiency, 1.0 + AMOUNT(efficiency_pct));
  plant->throttle.bore.closed_angle_rad += AMOUNT(closed_deg);
  plant->throttle.bore.clearance_m = fmax(plant->throttle.bore.clearance_m + AMOUNT(clearance_um), LEAST_CLEARANCE_M);
  curve_scale(&plant->throttle.discharge, 1.0 + AMOUNT(discharge_pct));
  plant->intake.ventilation_cda_m2 *= fmax(1.0 + AMOUNT(ventilation_pct), LEAST_VENTILATION);
  curve_scale(&plant->charger.rise_pa, fmax(1.0 + AMOUNT(charger_pct), LEAST_RISE));
  plant->loads.compressor_torque_nm *= 1.0 + AMOUNT(compressor_pct);
  plant->loads.converter_torque_nm *= 1.0 + AMOUNT(converter_pct);
  plant->throttle.closed_position_ratio = fmax(plant->throttle.closed_position_ratio + AMOUNT(track_pct), LEAST_CLOSED_RATIO);
  curve_raise(&car->computer.target.by_coolant, AMOUNT(target_rpm));
  car->computer.target.drive_rad_s += AMOUNT(target_rpm);
  car->computer.target.compressor_rad_s += AMOUNT(target_rpm);
}

void scatter_make_conditions(const struct engine *nominal, const double *z, struct conditions *conditions) {
  const double *sd = nominal->scatter.sd;
  conditions->faults.drag_nm += AMOUNT(accessory_nm);
  conditions->faults.spark_offset_rad += AMOUNT(spark_deg);
  conditions->faults.fuel_delivery_ratio *= 1.0 + AMOUNT(injector_pct);
  conditions->sensor_faults.air_flow_gain_ratio *= 1.0 + AMOUNT(maf_gain_pct);
  conditions->sensor_faults.pressure_offset_pa += AMOUNT(map_offset_kpa);
  conditions->sensor_faults.charge_offset_pa += AMOUNT(charge_offset_kpa);
  const struct field *load = &condition_find("electrical_load_w")->field; // set past its faults' part
  conditions_set(conditions, load, fmax(conditions_value(conditions, load) + AMOUNT(electrical_w), 0.0));
  conditions->coolant_k += AMOUNT(coolant_c);
  conditions->oil_k += AMOUNT(coolant_c);
  conditions->intake_k += AMOUNT(intake_c);
  conditions->ambient_pa = conditions_ambient_pa(conditions) + AMOUNT(ambient_kpa);
#undef AMOUNT
}
