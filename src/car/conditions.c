#include "car/conditions.h"

#include "base/attributes.h"
#include "base/units.h"
#include "physics/atmosphere.h"

#include <string.h>

#define UM  UNITS_M_PER_UM
#define MM2 UNITS_M2_PER_MM2
#define RPM UNITS_RAD_S_PER_RPM
#define PCT UNITS_RATIO_PER_PCT

#define REAL(member, key, factor, min, max, text) FIELD_ROW_REAL(struct conditions, member, key, factor, min, max, text)
#define CELSIUS(member, key, min, max, text)      FIELD_ROW_CELSIUS(struct conditions, member, key, min, max, text)
#define SWITCH(member, key, text)                 FIELD_ROW_SWITCH(struct conditions, member, key, text)

/* Columns: kind, value at the start in the user's unit, then the row of field.h. */
/* The rows of one potentiometer track. */
// clang-format off
#define TRACK_ROWS(circuit, name, text)                                                                       \
  {CONDITION_FAULT, 0, REAL(circuit_faults.track[circuit].offset_v, name "_offset_v", 1.0, -2, 2, text " reads so much more")}, \
  {CONDITION_FAULT, 1, REAL(circuit_faults.track[circuit].gain_ratio, name "_gain_ratio", 1.0, 0.3, 1.7, text " reads this times the truth")}, \
  {CONDITION_FAULT, 0, SWITCH(circuit_faults.track[circuit].open, name "_open", text ": signal wire broken")}, \
  {CONDITION_FAULT, 0, SWITCH(circuit_faults.track[circuit].shorted_to_ground, name "_grounded", text ": signal shorted to ground")}, \
  {CONDITION_FAULT, 0, SWITCH(circuit_faults.track[circuit].shorted_to_supply, name "_shorted", text ": signal shorted to the supply")}, \
  {CONDITION_FAULT, 0, REAL(circuit_faults.track[circuit].worn_v, name "_worn_v", 1.0, 0, 4, text ": depth of a worn spot")}
// clang-format on

// clang-format off
const struct condition_row condition_rows[] = {
    {CONDITION_FAULT, 0, REAL(film_m, "film_um", UM, 0, 300,
                              "deposit on the bore wall: thickness at the closed line, mean round the bore")},
    {CONDITION_FAULT, 0, REAL(edge_film_m, "edge_film_um", UM, 0, 300, "deposit on the blade's edge")},
    {CONDITION_FAULT, 0, REAL(faults.bypass_film_m, "bypass_film_um", UM, 0, 1000,
                              "deposit on seat and pintle of the idle bypass valve; cable throttle only")},
    {CONDITION_FAULT, 0, REAL(faults.leak_area_m2, "leak_mm2", MM2, 0, 200, "vacuum leak: unmetered opening behind the blade")},
    {CONDITION_FAULT, 50, REAL(faults.leak_bank1_ratio, "leak_bank1_pct", PCT, 0, 100,
                               "share of the leak's air that bank 1 draws; engines with two banks")},
    {CONDITION_FAULT, 0, REAL(faults.booster_leak_area_m2, "booster_leak_mm2", MM2, 0, 100, "brake booster leaks into the manifold")},
    {CONDITION_FAULT, 0, REAL(faults.boot_leak_area_m2, "boot_leak_mm2", MM2, 0, 1500,
                              "intake boot torn between air-flow sensor and throttle")},
    {CONDITION_FAULT, 0, REAL(faults.ventilation_area_m2, "ventilation_stuck_mm2", MM2, 0, 40,
                              "crankcase ventilation valve stuck further open by this")},
    {CONDITION_FAULT, 0, REAL(faults.purge_area_m2, "purge_stuck_mm2", MM2, 0, 40, "canister purge valve stuck open")},
    {CONDITION_FAULT, 15, REAL(faults.purge_vapour_ratio, "purge_vapour_pct", PCT, 0, 60,
                               "fuel vapour in what the purge brings; 6.4 is as much as burns, a full canister gives more")},
    {CONDITION_FAULT, 0, REAL(faults.recirculation_area_m2, "egr_stuck_mm2", MM2, 0, 60,
                              "exhaust-gas recirculation valve stuck open")},
    {CONDITION_FAULT, 1, REAL(faults.filter_ratio, "filter_ratio", 1.0, 0.2, 300,
                              "loss of the air cleaner, times that of a new element")},
    {CONDITION_FAULT, 1, REAL(faults.exhaust_ratio, "exhaust_ratio", 1.0, 0.2, 300, "exhaust back pressure, times that of a free one")},
    {CONDITION_FAULT, 1, REAL(sensor_faults.air_flow_gain_ratio, "maf_gain_ratio", 1.0, 0.3, 2,
                              "air-flow sensor reads this times the truth")},
    {CONDITION_FAULT, 0, REAL(sensor_faults.air_flow_offset_kg_s, "maf_offset_gps", UNITS_KG_S_PER_GPS, -3, 3,
                              "air-flow sensor reads so much more")},
    {CONDITION_FAULT, 1, REAL(faults.air_sensor_lag_ratio, "maf_lag_ratio", 1.0, 0.2, 100,
                              "air-flow sensor is so many times slower")},
    {CONDITION_FAULT, 0, REAL(sensor_faults.pressure_offset_pa, "map_offset_kpa", UNITS_PA_PER_KPA, -30, 30,
                              "manifold pressure sensor reads so much more")},
    {CONDITION_FAULT, 0, REAL(sensor_faults.coolant_bias_k, "coolant_bias_c", 1.0, -100, 60, "coolant sensor reads so much more")},
    {CONDITION_FAULT, 0, REAL(sensor_faults.intake_bias_k, "intake_bias_c", 1.0, -80, 80, "intake-air sensor reads so much more")},
    {CONDITION_FAULT, 1, REAL(faults.fuel_delivery_ratio, "fuel_delivery_ratio", 1.0, 0.2, 1.5,
                              "fuel that arrives over fuel asked for; below 1 a weak pump or dirty injectors")},
    {CONDITION_FAULT, 1, REAL(faults.weak_cylinder_ratio, "weak_cylinder_ratio", 1.0, 0, 1,
                              "torque of cylinder 1, share of the others'; 0 is a dead one")},
    {CONDITION_FAULT, 0, REAL(faults.spark_offset_rad, "spark_offset_deg", UNITS_RAD_PER_DEG, -30, 20,
                              "spark at the crank against what the computer wants; negative is late")},
    {CONDITION_FAULT, 0, REAL(faults.compression_loss_ratio, "compression_loss_pct", PCT, 0, 60,
                              "charge lost past rings and valves, all cylinders")},
    {CONDITION_FAULT, 0, REAL(faults.drag_nm, "drag_nm", 1.0, 0, 200, "dragging accessory: torque on the crank that nobody asked for")},
    {CONDITION_FAULT, 0, REAL(blade_stick_rad, "blade_stick_deg", UNITS_RAD_PER_DEG, 0, 5,
                              "sticking blade: it moves only when the command has gone further than this")},
    {CONDITION_FAULT, 0, REAL(position_offset_rad, "position_offset_deg", UNITS_RAD_PER_DEG, -3, 3,
                              "learned closed position lost: the blade stands so far off where the computer means it")},
    {CONDITION_FAULT, 0, SWITCH(blade_jammed, "blade_jammed", "the blade is jammed where it stands")},
    {CONDITION_FAULT, 0, SWITCH(faults.motor_open, "motor_open", "throttle motor or its wiring interrupted")},
    {CONDITION_FAULT, 1, REAL(faults.motor_resistance_ratio, "motor_resistance_ratio", 1.0, 0.3, 20,
                              "resistance of throttle motor and wiring, times that of a good one")},
    {CONDITION_FAULT, 0, SWITCH(motor_supply_lost, "motor_supply_lost", "no supply at the throttle drive")},
    {CONDITION_FAULT, 1, REAL(faults.spring_ratio, "spring_ratio", 1.0, 0, 3, "strength of the blade's return springs; 0 broken")},
    TRACK_ROWS(CIRCUIT_TRACK1, "tps1", "position track 1"),
    TRACK_ROWS(CIRCUIT_TRACK2, "tps2", "position track 2"),
    TRACK_ROWS(CIRCUIT_PEDAL1, "app1", "pedal track 1"),
    TRACK_ROWS(CIRCUIT_PEDAL2, "app2", "pedal track 2"),
    {CONDITION_FAULT, 3, REAL(circuit_faults.worn_at_rad, "tps_worn_at_deg", UNITS_RAD_PER_DEG, 0, 83,
                              "blade opening where its tracks are worn; matters with tps1_worn_v or tps2_worn_v")},
    {CONDITION_FAULT, 20, REAL(circuit_faults.worn_pedal_ratio, "app_worn_at_pct", PCT, 0, 100,
                               "pedal travel where its tracks are worn; matters with app1_worn_v or app2_worn_v")},
    {CONDITION_FAULT, 5, REAL(circuit_faults.supply_v, "sensor_supply_v", 1.0, 0, 5.5, "supply of the position sensors; 5 is right")},
    {CONDITION_FAULT, 0, REAL(circuit_faults.ground_ohm, "tps_ground_ohm", 1.0, 0, 1000, "resistance in the blade sensor's ground")},
    {CONDITION_FAULT, 0, SWITCH(circuit_faults.supply_swapped, "tps_supply_swapped", "blade sensor's supply and ground swapped")},
    {CONDITION_FAULT, 0, SWITCH(circuit_faults.air_flow_open, "maf_open", "air-flow sensor's signal wire broken")},
    {CONDITION_FAULT, 0, SWITCH(circuit_faults.air_flow_shorted, "maf_shorted", "air-flow sensor's signal shorted to the supply")},
    {CONDITION_FAULT, 12.6, REAL(battery_v, "battery_rest_v", 1.0, 6, 13.5, "battery at rest; 12.6 is full")},
    {CONDITION_LOAD, 0, SWITCH(compressor_request, "air_conditioning", "compressor asked for")},
    {CONDITION_LOAD, 0, SWITCH(drive_selected, "drive", "in gear, brakes on")},
    {CONDITION_LOAD, 0, REAL(steering_ratio, "steering_pct", PCT, 0, 100, "power steering; 100 is the wheel held at its stop")},
    {CONDITION_LOAD, 300, REAL(electrical_load_w, "electrical_load_w", 1.0, 0, 3000, "what the alternator has to deliver")},
    {CONDITION_DRIVER, 0, REAL(pedal_ratio, "pedal_pct", PCT, 0, 100, "pedal travel")},
    {CONDITION_DRIVER, 0, REAL(hand_nm, "hand_nm", 1.0, -3, 3, "a hand pushes the blade of an electronic throttle; positive opens")},
    {CONDITION_DRIVER, 0, REAL(hold_speed_rad_s, "hold_rpm", RPM, 0, 6000,
                               "speed the driver holds with the pedal; 0: nobody does")},
    {CONDITION_WORLD, 90, CELSIUS(coolant_k, "coolant_c", -40, 120, "coolant temperature: at the start, or from when it is set")},
    {CONDITION_WORLD, 90, CELSIUS(oil_k, "oil_c", -40, 150, "oil temperature: at the start, or from when it is set")},
    {CONDITION_WORLD, 1, SWITCH(warmth_held, "warmth_held", "coolant and oil keep their temperature")},
    {CONDITION_WORLD, 20, CELSIUS(intake_k, "intake_c", -40, 80, "temperature of the air that is drawn in")},
    {CONDITION_WORLD, 0, REAL(altitude_m, "altitude_m", 1.0, -500, 4500, "altitude for the standard atmosphere's pressure")},
    {CONDITION_WORLD, 0, REAL(ambient_pa, "ambient_kpa", UNITS_PA_PER_KPA, 0, 110, "ambient pressure; 0: from altitude_m")},
    {CONDITION_TEACHING, 0, SWITCH(controller_frozen, "controller_frozen", "idle air, spark and trims stay where they are")},
};
// clang-format on
const size_t condition_count = ARRAY_COUNT(condition_rows);

const char *const condition_kind_names[] = {"fault", "load", "driver", "world", "teaching"};

const struct condition_row *condition_find(const char *key) {
  for (size_t i = 0; i < condition_count; i++)
    if (strcmp(condition_rows[i].field.key, key) == 0) return &condition_rows[i];
  return NULL;
}

void conditions_init(struct conditions *conditions) {
  *conditions = (struct conditions){0};
  for (size_t i = 0; i < condition_count; i++) {
    const struct condition_row *row = &condition_rows[i];
    field_set_real(&row->field, conditions, field_to_si(&row->field, row->initial));
  }
}

double conditions_ambient_pa(const struct conditions *conditions) {
  return conditions->ambient_pa > 0.0 ? conditions->ambient_pa : atmosphere_pressure_pa(conditions->altitude_m);
}
