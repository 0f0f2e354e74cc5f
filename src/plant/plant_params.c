#include "plant/plant_params.h"

#include "base/attributes.h"
#include "base/units.h"

#define DEG   UNITS_RAD_PER_DEG
#define RPM   UNITS_RAD_S_PER_RPM
#define KPA   UNITS_PA_PER_KPA
#define BAR   UNITS_PA_PER_BAR
#define MM    UNITS_M_PER_MM
#define UM    UNITS_M_PER_UM
#define MM2   UNITS_M2_PER_MM2
#define LITRE UNITS_M3_PER_L
#define PCT   UNITS_RATIO_PER_PCT

/* A drop given in kPa at a flow of 100 g/s, as a factor on flow squared. */
#define KPA_AT_100GPS (UNITS_PA_PER_KPA / (0.1 * 0.1))

/* Columns: struct, member, key, [curve: x factor,] factor to SI, least, greatest (user's unit), meaning. */

const char *const plant_params_throttle_kinds[] = {"electronic", "cable", NULL};

// clang-format off
static const struct field throttle_fields[] = {
    FIELD_ROW_CHOICE(struct throttle_params, kind, "kind", plant_params_throttle_kinds,
                     "electronic: the computer moves the blade; cable: the pedal does, idle air goes through a bypass valve"),
    FIELD_ROW_REAL(struct throttle_params, rest_opening_rad, "rest_opening_deg", DEG, 0, 5,
                   "cable throttle: opening above closed that the stop screw leaves; 0 for an electronic one"),
    FIELD_ROW_REAL(struct throttle_params, bore.radius_m, "bore_radius_mm", MM, 10, 60, "throttle bore radius"),
    FIELD_ROW_REAL(struct throttle_params, bore.closed_angle_rad, "closed_deg", DEG, 2, 20,
                   "blade angle at the closed stop, from the plane square to the bore; 5 to 15 usual"),
    FIELD_ROW_REAL(struct throttle_params, bore.shaft_diameter_m, "shaft_mm", MM, 0, 20, "throttle shaft diameter"),
    FIELD_ROW_REAL(struct throttle_params, bore.clearance_m, "clearance_um", UM, 0, 200,
                   "radial running clearance of the closed blade"),
    FIELD_ROW_REAL(struct throttle_params, bore.edge_land_m, "edge_land_mm", MM, 0, 5,
                   "height of the blade's edge along the bore"),
    FIELD_ROW_REAL_OR(struct throttle_params, bore.contour_m, "contour_um", UM, 0, 1000, 0,
                      "shoulder of the wall: how far it stands in at most, ahead of the opening blade; 0 for a plain bore"),
    FIELD_ROW_REAL_OR(struct throttle_params, bore.contour_length_m, "contour_mm", MM, 0, 20, 0,
                      "length of that shoulder along the bore, from the closed blade's edge on"),
    FIELD_ROW_CURVE(struct throttle_params, discharge, "discharge_by_opening_deg", DEG, 1.0, 0.3, 1.0,
                    "discharge coefficient over opening above closed; 0.6 to 0.98 usual"),
    FIELD_ROW_REAL(struct throttle_params, natural_frequency_rad_s, "drive_natural_frequency_rad_s", 1.0, 10, 200,
                   "position loop of the throttle drive"),
    FIELD_ROW_REAL(struct throttle_params, damping_ratio, "drive_damping_ratio", 1.0, 0.3, 3,
                   "damping of the position loop; 1 is critical"),
    FIELD_ROW_REAL(struct throttle_params, closed_position_ratio, "closed_position_pct", PCT, 3, 25,
                   "absolute position reading (service 01 PID 11) at the closed stop"),
    FIELD_ROW_REAL(struct throttle_params, open_position_ratio, "open_position_pct", PCT, 60, 99,
                   "absolute position reading wide open"),
    FIELD_ROW_REAL(struct throttle_params, closed2_position_ratio, "closed2_position_pct", PCT, 0, 99,
                   "second position track at the closed stop; 0 where there is none"),
    FIELD_ROW_REAL(struct throttle_params, open2_position_ratio, "open2_position_pct", PCT, 0, 99,
                   "second position track wide open; falls where the tracks mirror each other"),
    FIELD_ROW_REAL(struct throttle_params, released_pedal_ratio[0], "pedal1_released_pct", PCT, 0, 50,
                   "pedal track 1 released; 0 with a cable"),
    FIELD_ROW_REAL(struct throttle_params, floored_pedal_ratio[0], "pedal1_floored_pct", PCT, 0, 99, "pedal track 1 floored"),
    FIELD_ROW_REAL(struct throttle_params, released_pedal_ratio[1], "pedal2_released_pct", PCT, 0, 50,
                   "pedal track 2 released; 0 with a cable"),
    FIELD_ROW_REAL(struct throttle_params, floored_pedal_ratio[1], "pedal2_floored_pct", PCT, 0, 99, "pedal track 2 floored"),
};
// clang-format on

// clang-format off
static const struct field film_fields[] = {
    FIELD_ROW_REAL(struct throttle_params, film_shape.band_half_width_m, "band_mm", MM, 0.2, 20,
                   "half-width of the deposit along the bore, to where it has thinned to nothing"),
    FIELD_ROW_REAL(struct throttle_params, film_shape.asymmetry_ratio, "downstream_ratio", 1.0, -0.9, 0.9,
                   "how much wider the band is downstream (+) than upstream"),
    FIELD_ROW_REAL(struct throttle_params, film_shape.bias_ratio, "bias_ratio", 1.0, 0, 1,
                   "how much thicker the deposit is on one side of the bore"),
    FIELD_ROW_REAL(struct throttle_params, film_shape.bias_angle_rad, "bias_from_shaft_deg", DEG, -360, 360,
                   "where around the bore it is thickest, from the shaft; 90 is the half that opens downstream"),
    FIELD_ROW_REAL_OR(struct throttle_params, film_shape.offset_m, "offset_mm", MM, -10, 10, 0,
                      "middle of the band from the line where the blade closes, positive downstream"),
};
// clang-format on

// clang-format off
static const struct field intake_fields[] = {
    FIELD_ROW_REAL(struct intake_params, filter_drop_pa_s2_kg2, "filter_drop_kpa_at_100gps", KPA_AT_100GPS, 0, 60,
                   "pressure lost in air cleaner and duct at 100 g/s; grows with flow squared"),
    FIELD_ROW_REAL(struct intake_params, manifold_volume_m3, "manifold_volume_l", LITRE, 0.3, 20,
                   "volume between throttle and intake valves"),
    FIELD_ROW_REAL(struct intake_params, wall_conductance_w_k, "wall_conductance_w_k", 1.0, 0, 100,
                   "heat from the manifold walls to the air in it, per kelvin"),
    FIELD_ROW_REAL(struct intake_params, wall_warmth_ratio, "wall_warmth_ratio", 1.0, 0, 1,
                   "how far the manifold walls follow the coolant's warmth above ambient"),
    FIELD_ROW_REAL(struct intake_params, ventilation_cda_m2, "ventilation_mm2", MM2, 0, 20,
                   "flow area of the crankcase ventilation valve at idle, discharge coefficient included"),
    FIELD_ROW_REAL_OR(struct intake_params, purge_cda_m2, "purge_mm2", MM2, 0, 10, 0,
                      "flow area of the canister purge valve as the computer opens it on a warm engine, discharge included"),
    FIELD_ROW_REAL_OR(struct intake_params, purge_vapour_ratio, "purge_vapour_pct", PCT, 0, 60, 6.4,
                      "fuel vapour in that air; 6.4 is as much as burns with it, so that the trims do not change"),
    FIELD_ROW_REAL(struct intake_params, exhaust_drop_pa_s2_kg2, "exhaust_drop_kpa_at_100gps", KPA_AT_100GPS, 0, 100,
                   "exhaust back pressure above ambient at 100 g/s; grows with flow squared"),
    FIELD_ROW_REAL_OR(struct intake_params, pressure_sensor_pa, "pressure_sensor_kpa", KPA, -10, 10, 0,
                      "how much too much the manifold pressure sensor of this car shows; 0: as the computer expects"),
};
// clang-format on

// clang-format off
static const struct field charge_fields[] = {
    FIELD_ROW_REAL(struct charge_params, displacement_m3, "displacement_l", LITRE, 0.3, 8, "swept volume, all cylinders"),
    FIELD_ROW_COUNT(struct charge_params, cylinder_count, "cylinder_count", 1, 12, "number of cylinders"),
    FIELD_ROW_COUNT(struct charge_params, bank_count, "bank_count", 1, 2, "cylinder banks, each with an oxygen sensor"),
    FIELD_ROW_REAL(struct charge_params, compression_ratio, "compression_ratio", 1.0, 6, 16, "geometric compression ratio"),
    FIELD_ROW_REAL(struct charge_params, pressure_slope_ratio, "pressure_slope_ratio", 1.0, 0.5, 1.2,
                   "charge over manifold pressure, slope; about 0.95"),
    FIELD_ROW_REAL(struct charge_params, pressure_offset_pa, "pressure_offset_kpa", KPA, -30, 10,
                   "charge over manifold pressure, offset; about -7"),
    FIELD_ROW_CURVE(struct charge_params, speed_factor, "speed_factor_by_rpm", RPM, 1.0, 0.3, 1.3,
                    "relative filling over engine speed"),
    FIELD_ROW_REAL(struct charge_params, overlap_factor_deg_m, "valve_overlap_deg_m", 1.0, 0, 3,
                   "valve overlap factor of the residual-gas model, degrees per metre"),
    FIELD_ROW_CURVE_OR_NONE(struct charge_params, overlap_added_deg_m, "overlap_added_deg_m_by_rpm", RPM, 1.0, 0, 3,
                            "adjustable valve timing: overlap added to that, over engine speed; without it the timing is fixed"),
};
// clang-format on

// clang-format off
static const struct field combustion_fields[] = {
    FIELD_ROW_REAL(struct combustion_params, heating_value_j_kg, "heating_value_mj_kg", 1e6, 20, 50,
                   "lower heating value of the fuel; petrol 44"),
    FIELD_ROW_REAL(struct combustion_params, stoichiometric_ratio, "stoichiometric_ratio", 1.0, 6, 18,
                   "air to fuel by mass; petrol 14.7"),
    FIELD_ROW_CURVE(struct combustion_params, efficiency, "efficiency_by_rpm", RPM, 1.0, 0.1, 0.5,
                    "gross indicated efficiency at best spark over engine speed"),
    FIELD_ROW_REAL_OR(struct combustion_params, retard_loss_1_rad2, "retard_loss_per_deg2", 1.0 / (DEG * DEG), 5e-5, 1e-3, 2.33e-4,
                      "torque lost with late spark: share per square degree; 2.33e-4 fitted on a bench, 4.9e-4 published too"),
    FIELD_ROW_CURVE(struct combustion_params, best_spark_rad, "best_spark_by_rpm", RPM, DEG, 0, 60,
                    "spark for best torque, degrees before top dead centre, over engine speed"),
    FIELD_ROW_REAL(struct combustion_params, dilution_onset_fraction, "dilution_onset_pct", PCT, 5, 60,
                   "burned gas in the charge above which the burn begins to suffer"),
    FIELD_ROW_REAL(struct combustion_params, dilution_width_fraction, "dilution_width_pct", PCT, 5, 100,
                   "how much more burned gas puts the flame out"),
    FIELD_ROW_REAL(struct combustion_params, scatter_ratio, "scatter_pct", PCT, 0, 20,
                   "cycle scatter of the work at best spark and little burned gas, standard deviation"),
    FIELD_ROW_REAL(struct combustion_params, scatter_retard_ratio, "scatter_retard_ratio", 1.0, 0, 20,
                   "growth of the scatter at 20 degrees of retard"),
    FIELD_ROW_REAL(struct combustion_params, scatter_dilution_ratio, "scatter_dilution_ratio", 1.0, 0, 50,
                   "growth of the scatter at 10 points of burned gas above the onset"),
    FIELD_ROW_REAL(struct combustion_params, torque_lag_cycle_ratio, "torque_lag_cycles", 1.0, 0.1, 3,
                   "from intake to torque, engine cycles"),
};
// clang-format on

// clang-format off
static const struct field friction_fields[] = {
    FIELD_ROW_REAL(struct friction_params, constant_pa, "constant_bar", BAR, 0.1, 3, "friction mean pressure, constant part"),
    FIELD_ROW_REAL(struct friction_params, per_krpm_pa, "per_krpm_bar", BAR, 0, 1, "friction mean pressure per 1000 rpm"),
    FIELD_ROW_REAL(struct friction_params, per_krpm2_pa, "per_krpm2_bar", BAR, 0, 0.5,
                   "friction mean pressure per 1000 rpm squared"),
    {"oil_factor_by_c", FIELD_CURVE, offsetof(struct friction_params, oil_factor), FIELD_PLAIN, 0.5, 10, FIELD_CELSIUS, NULL,
     "friction relative to the warm engine's over oil temperature", false, 0.0},
};
// clang-format on

// clang-format off
static const struct field load_fields[] = {
    FIELD_ROW_REAL(struct load_params, alternator_efficiency_ratio, "alternator_efficiency_pct", PCT, 20, 95,
                   "electrical output over belt power"),
    FIELD_ROW_REAL(struct load_params, alternator_fade_low_rad_s, "alternator_fade_low_rpm", RPM, 50, 1000,
                   "engine speed below which the alternator gives nothing"),
    FIELD_ROW_REAL(struct load_params, alternator_fade_high_rad_s, "alternator_fade_high_rpm", RPM, 100, 2000,
                   "engine speed above which it gives all that is demanded"),
    FIELD_ROW_REAL(struct load_params, compressor_torque_nm, "compressor_nm", 1.0, 0, 60,
                   "air-conditioning compressor on the crank, clutch closed"),
    FIELD_ROW_REAL(struct load_params, compressor_lag_s, "compressor_lag_s", 1.0, 0.02, 5, "closing of the compressor clutch"),
    FIELD_ROW_REAL(struct load_params, steering_torque_nm, "steering_nm", 1.0, 0, 40,
                   "power steering pump on the crank, wheel at its stop"),
    FIELD_ROW_REAL(struct load_params, converter_torque_nm, "converter_nm", 1.0, 0, 100,
                   "drag in gear at standstill, at converter_rpm; 0 for a manual gearbox"),
    FIELD_ROW_REAL(struct load_params, converter_speed_rad_s, "converter_rpm", RPM, 300, 2000, "engine speed of converter_nm"),
    FIELD_ROW_REAL(struct load_params, converter_lag_s, "converter_lag_s", 1.0, 0.02, 5, "engagement of the gear"),
    FIELD_ROW_REAL(struct load_params, starter_torque_nm, "starter_nm", 1.0, 10, 400, "starter torque on the crank at standstill"),
    FIELD_ROW_REAL(struct load_params, starter_speed_rad_s, "starter_rpm", RPM, 100, 800,
                   "engine speed at which the starter's torque has fallen to nothing"),
};
// clang-format on

// clang-format off
static const struct field mixture_fields[] = {
    FIELD_ROW_REAL(struct mixture_params, wall_share_ratio, "wall_share_ratio", 1.0, 0, 0.9,
                   "share of the injected fuel that wets the port wall first"),
    {"wall_time_s_by_c", FIELD_CURVE, offsetof(struct mixture_params, wall_time_s), FIELD_PLAIN, 0.02, 20, FIELD_CELSIUS, NULL,
     "time the wall film takes to evaporate over coolant temperature", false, 0.0},
    FIELD_ROW_REAL(struct mixture_params, best_lambda_ratio, "best_lambda", 1.0, 0.8, 1,
                   "mixture for best torque; 0.85 to 0.9"),
    FIELD_ROW_REAL(struct mixture_params, torque_curvature, "torque_curvature", 1.0, 0, 20,
                   "how fast torque falls away on both sides of it"),
    FIELD_ROW_REAL(struct mixture_params, scatter_lean_ratio, "scatter_lean_ratio", 1.0, 0, 50,
                   "growth of the cycle scatter by a lean mixture, at 0.1 beyond lambda 1.05"),
    FIELD_ROW_REAL_OR(struct mixture_params, injector_ratio, "injector_pct", PCT, -40, 40, 0,
                      "how much more the injectors of this car deliver than the computer expects"),
};
// clang-format on

// clang-format off
static const struct field warmth_fields[] = {
    FIELD_ROW_REAL(struct warmth_params, coolant_j_k, "coolant_kj_k", 1e3, 1, 500, "heat capacity of coolant and metal"),
    FIELD_ROW_REAL(struct warmth_params, oil_j_k, "oil_kj_k", 1e3, 0.5, 100, "heat capacity of the oil and what it wets"),
    FIELD_ROW_REAL(struct warmth_params, wall_heat_ratio, "wall_heat_pct", PCT, 5, 90,
                   "share of the burned energy that is not work which goes into the coolant; the rest is exhaust"),
    FIELD_ROW_REAL(struct warmth_params, coolant_loss_w_k, "coolant_loss_w_k", 1.0, 0, 200, "block to the air round it"),
    FIELD_ROW_REAL(struct warmth_params, oil_loss_w_k, "oil_loss_w_k", 1.0, 0, 100, "sump to the air round it"),
    FIELD_ROW_REAL(struct warmth_params, coolant_oil_w_k, "coolant_oil_w_k", 1.0, 0, 500, "coolant to oil"),
    FIELD_ROW_CELSIUS(struct warmth_params, thermostat_opens_k, "thermostat_opens_c", 60, 110, "thermostat begins to open"),
    FIELD_ROW_CELSIUS(struct warmth_params, thermostat_open_k, "thermostat_open_c", 65, 125, "thermostat is open"),
    FIELD_ROW_REAL(struct warmth_params, radiator_w_k, "radiator_w_k", 1.0, 10, 5000, "radiator with the fan on"),
    FIELD_ROW_CELSIUS(struct warmth_params, exhaust_gas_k, "exhaust_gas_c", 50, 900, "gas that comes back from the exhaust"),
};
// clang-format on

/* Present on a cable throttle only. */
// clang-format off
static const struct field bypass_fields[] = {
    FIELD_ROW_REAL(struct bypass_params, seat_diameter_m, "seat_mm", MM, 2, 30, "diameter of the valve seat"),
    FIELD_ROW_REAL(struct bypass_params, cone_angle_rad, "cone_deg", DEG, 5, 85, "half-angle of the pintle's cone"),
    FIELD_ROW_REAL(struct bypass_params, pitch_m, "pitch_um", UM, 1, 500, "lift per step"),
    FIELD_ROW_COUNT(struct bypass_params, step_count, "step_count", 10, 1000, "steps of the whole travel"),
    FIELD_ROW_REAL(struct bypass_params, discharge_ratio, "discharge_ratio", 1.0, 0.3, 1, "discharge coefficient"),
    FIELD_ROW_REAL(struct bypass_params, steps_per_s, "steps_per_s", 1.0, 10, 1000, "speed of the stepper"),
};
// clang-format on

/* Present on an electronic throttle; without it an ideal position loop stands for the drive. */
// clang-format off
static const struct field drive_fields[] = {
    FIELD_ROW_REAL(struct drive_params, gear_ratio, "gear_ratio", 1.0, 1, 100, "motor turns per turn of the blade"),
    FIELD_ROW_REAL(struct drive_params, motor_constant_nm_a, "motor_constant_nm_a", 1.0, 0.001, 0.2,
                   "motor torque per ampere, and volts per rad/s"),
    FIELD_ROW_REAL(struct drive_params, resistance_ohm, "resistance_ohm", 1.0, 0.3, 20, "winding, wiring and driver"),
    FIELD_ROW_REAL(struct drive_params, inertia_kg_m2, "inertia_kg_m2", 1.0, 1e-5, 0.1,
                   "rotor through the gear and blade, at the blade's shaft"),
    FIELD_ROW_REAL(struct drive_params, spring_nm_rad, "spring_nm_rad", 1.0, 0, 5, "stiffness of the return springs"),
    FIELD_ROW_REAL(struct drive_params, spring_preload_nm, "spring_preload_nm", 1.0, 0, 3,
                   "torque to move the blade off its rest angle"),
    FIELD_ROW_REAL(struct drive_params, rest_opening_rad, "rest_opening_deg", DEG, 0.5, 20,
                   "opening above closed where the springs leave the blade without current"),
    FIELD_ROW_REAL(struct drive_params, slide_nm, "slide_nm", 1.0, 0, 1, "friction while it moves"),
    FIELD_ROW_REAL(struct drive_params, stick_nm, "stick_nm", 1.0, 0, 2, "friction that holds it at rest; not below slide_nm"),
    FIELD_ROW_REAL(struct drive_params, film_stick_nm_m, "film_stick_nm_per_um", 1e6, 0, 0.1,
                   "sticking torque per micrometre of film while the edge lies in it"),
    FIELD_ROW_REAL(struct drive_params, integral_1_s, "integral_1_s", 1.0, 0, 200, "integral part of the position loop"),
    FIELD_ROW_REAL_OR(struct drive_params, dead_band_rad, "dead_band_deg", DEG, 0, 1, 0,
                      "error on either side of the command that the integral part ignores"),
    FIELD_ROW_REAL(struct drive_params, awake_s, "awake_s", 1.0, 0.1, 600, "time after key-off until the drive sleeps"),
};
// clang-format on

// clang-format off
static const struct field crank_fields[] = {
    FIELD_ROW_REAL(struct crank_params, inertia_kg_m2, "inertia_kg_m2", 1.0, 0.01, 2, "all that turns with the crank"),
    FIELD_ROW_REAL(struct crank_params, stall_speed_rad_s, "stall_rpm", RPM, 50, 500,
                   "speed below which the engine cannot keep itself running"),
};
// clang-format on

static const struct field air_sensor_fields[] = {
    FIELD_ROW_REAL(struct air_sensor_params, lag_s, "lag_s", 1.0, 0.002, 1, "response of the air-flow sensor"),
    FIELD_ROW_REAL_OR(struct air_sensor_params, gain_ratio, "gain_pct", PCT, -30, 30, 0,
                      "how much too much the air-flow sensor of this car shows; 0: as the computer expects"),
};

static const struct field charger_fields[] = {
    FIELD_ROW_CURVE(struct charger_params, rise_pa, "rise_kpa_by_gps", UNITS_KG_S_PER_GPS, KPA, 0, 18,
                    "pressure before the throttle above that behind the air cleaner, over the air into the cylinders"),
};

#define GROUP(name, fields, member, text) \
  { name, fields, ARRAY_COUNT(fields), offsetof(struct plant_params, member), text, false }
#define GROUP_OPTIONAL(name, fields, member, text) \
  { name, fields, ARRAY_COUNT(fields), offsetof(struct plant_params, member), text, true }
// clang-format off
const struct field_group plant_params_groups[] = {
    GROUP("throttle", throttle_fields, throttle, "bore, blade and drive"),
    GROUP("film", film_fields, throttle, "form of the deposit; its thickness is a scenario's film_um"),
    GROUP("intake", intake_fields, intake, "air cleaner, manifold, exhaust"),
    GROUP("charge", charge_fields, charge, "what the cylinders draw"),
    GROUP("combustion", combustion_fields, combustion, "work from the charge"),
    GROUP("friction", friction_fields, friction, "rubbing friction"),
    GROUP("loads", load_fields, loads, "alternator, compressor, gearbox, starter"),
    GROUP("mixture", mixture_fields, mixture, "fuel on its way, and what the mixture does to torque"),
    GROUP("warmth", warmth_fields, warmth, "coolant and oil"),
    GROUP_OPTIONAL("bypass", bypass_fields, bypass, "idle bypass valve; only with throttle.kind \"cable\""),
    GROUP_OPTIONAL("drive", drive_fields, drive, "motor, gear and springs; only with throttle.kind \"electronic\""),
    GROUP("crank", crank_fields, crank, "inertia and stall"),
    GROUP("air_sensor", air_sensor_fields, air_sensor, "air-flow sensor"),
    GROUP_OPTIONAL("charger", charger_fields, charger, "turbocharger, with sensors of charge and manifold pressure; only with one"),
};
// clang-format on
const size_t plant_params_group_count = ARRAY_COUNT(plant_params_groups);
