#include "analysis/fit/card_engine.h"

#include "analysis/estimate/estimate_place.h"
#include "base/attributes.h"
#include "base/units.h"
#include "car/scatter.h"
#include "plant/plant.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* ---- The engine to start from ---- */

#define SIX_FROM_L 2.3 // midway, by logarithms, between the shipped 1.6 and 3.0 litres

const char *card_engine_start(const struct card *card) {
  if (card_choice(card, CARD_kind, CARD_KIND_ELECTRONIC) == CARD_KIND_CABLE) return "four-18-cable";
  if (card_choice(card, CARD_turbo, 0) == 1) return "four-15-turbo";
  if (card_choice(card, CARD_metering, CARD_METERING_AIR_FLOW) == CARD_METERING_PRESSURE) return "three-10";
  const bool six =
      card_has(card, CARD_cylinders) ? card->values[CARD_cylinders] > 4.5 : card->values[CARD_displacement_l] > SIX_FROM_L;
  return six ? "six-30" : "four-16";
}

/* ---- Size ---- */

/* What grows with displacement: member times s to the power. */
#define GROWS(member, power) \
  { offsetof(struct plant_params, member), power }
static const struct {
  size_t offset;
  double power;
} grows[] = {
    GROWS(intake.manifold_volume_m3, 1.0),
    GROWS(intake.wall_conductance_w_k, 0.65),
    GROWS(intake.ventilation_cda_m2, 0.8),
    GROWS(intake.purge_cda_m2, 0.8),
    GROWS(intake.filter_drop_pa_s2_kg2, -2.0),
    GROWS(intake.exhaust_drop_pa_s2_kg2, -2.0),
    GROWS(loads.steering_torque_nm, 0.6),
    GROWS(loads.converter_torque_nm, 1.0),
    GROWS(loads.starter_torque_nm, 0.9),
    GROWS(warmth.coolant_j_k, 0.9),
    GROWS(warmth.oil_j_k, 0.9),
    GROWS(warmth.coolant_loss_w_k, 0.65),
    GROWS(warmth.oil_loss_w_k, 0.65),
    GROWS(warmth.coolant_oil_w_k, 0.85),
    GROWS(warmth.radiator_w_k, 0.85),
    GROWS(crank.inertia_kg_m2, 0.95),
    GROWS(bypass.seat_diameter_m, 0.5),
    GROWS(bypass.pitch_m, 0.5),
    GROWS(throttle.rest_opening_rad, 0.35),
};

/* Air that the computer adds, to begin calibrating from. */
static void grow_computer(struct idle_air_params *air, double ratio) {
  air->base_kg_s *= ratio;
  air->drive_kg_s *= ratio;
  air->compressor_kg_s *= pow(ratio, 0.6);
  air->steering_kg_s *= pow(ratio, 0.6);
}

/* A car has the compressor that its cabin wants rather than its engine; one of 1.5 l had 14 Nm. */
#define COMPRESSOR_NM 10.0
#define COMPRESSOR_L  1.6

static void grow(const struct card *card, struct engine *engine) {
  struct plant_params *plant = &engine->plant;
  struct charge_params *charge = &plant->charge;
  const double litres = card->values[CARD_displacement_l], before_l = charge->displacement_m3 / UNITS_M3_PER_L;
  const double ratio = litres / before_l, cylinder_before_l = before_l / charge->cylinder_count;
  for (size_t i = 0; i < ARRAY_COUNT(grows); i++) *(double *)((char *)plant + grows[i].offset) *= pow(ratio, grows[i].power);
  charge->displacement_m3 = litres * UNITS_M3_PER_L;
  if (card_has(card, CARD_cylinders)) charge->cylinder_count = (int)card->values[CARD_cylinders];
  charge->bank_count = charge->cylinder_count >= 6 && card_has(card, CARD_cylinders) ? 2 : charge->bank_count;
  if (charge->cylinder_count < 6) charge->bank_count = 1;
  charge->overlap_factor_deg_m *=
      cbrt(cylinder_before_l / (litres / charge->cylinder_count)); // degrees by valve edge over volume
  if (plant->loads.compressor_torque_nm > 0.0)
    plant->loads.compressor_torque_nm = COMPRESSOR_NM * pow(litres / COMPRESSOR_L, 0.6);
  const double bore_mm = card_has(card, CARD_bore_mm) ? card->values[CARD_bore_mm] : card_usual_bore_mm(litres);
  const double wider = 0.5 * bore_mm * UNITS_M_PER_MM / plant->throttle.bore.radius_m;
  plant->throttle.bore.radius_m *= wider;
  plant->throttle.bore.shaft_diameter_m *= wider;
  grow_computer(&engine->computer.air, ratio);
  struct curve *rise = &plant->charger.rise_pa; // a larger charger on a larger engine
  for (size_t i = 0; i < rise->count; i++) rise->x[i] *= ratio;
  if (rise->count > 0 && !curve_init(rise)) rise->count = 0;
}

/* ---- What else a card says ---- */

#define OTTO_EXPONENT      0.3
#define PETROL_KG_L        0.745
#define ETHANOL_KG_L       0.789
#define PETROL_AIR         14.7
#define ETHANOL_AIR        9.0
#define PETROL_J_KG        44e6
#define ETHANOL_J_KG       26.8e6
#define AIR_G_MOL          28.97
#define CONVERTER_NM_PER_L (12.0 / 1.6) // of the shipped 1.6 l at its 750 rpm

static void set_fuel(int fuel, struct plant_params *plant) {
  static const struct {
    double ethanol_share;        // by volume
    double air, j_kg, gas_g_mol; // of a gas; common figures: propane and butane, methane
  } rows[] = {
      [CARD_FUEL_PETROL] = {.ethanol_share = 0.0}, [CARD_FUEL_E10] = {.ethanol_share = 0.10},
      [CARD_FUEL_E27] = {.ethanol_share = 0.27},   [CARD_FUEL_E85] = {.ethanol_share = 0.85},
      [CARD_FUEL_LPG] = {0.0, 15.6, 46.1e6, 50.0}, [CARD_FUEL_CNG] = {0.0, 17.0, 49.0e6, 16.5},
      [CARD_FUEL_DIESEL] = {.ethanol_share = 0.0},
  };
  struct combustion_params *combustion = &plant->combustion;
  if (rows[fuel].gas_g_mol > 0.0) {
    combustion->stoichiometric_ratio = rows[fuel].air;
    combustion->heating_value_j_kg = rows[fuel].j_kg;
    plant->charge.pressure_slope_ratio /= 1.0 + AIR_G_MOL / rows[fuel].gas_g_mol / rows[fuel].air;
    plant->mixture.wall_share_ratio = 0.0; // nothing wets the port
    return;
  }
  const double volume = rows[fuel].ethanol_share;
  const double mass = volume * ETHANOL_KG_L / (volume * ETHANOL_KG_L + (1.0 - volume) * PETROL_KG_L);
  combustion->stoichiometric_ratio = mass * ETHANOL_AIR + (1.0 - mass) * PETROL_AIR;
  combustion->heating_value_j_kg = mass * ETHANOL_J_KG + (1.0 - mass) * PETROL_J_KG;
}

static void set_compression(double ratio, struct plant_params *plant) {
  const double before = 1.0 - pow(plant->charge.compression_ratio, -OTTO_EXPONENT);
  curve_scale(&plant->combustion.efficiency, (1.0 - pow(ratio, -OTTO_EXPONENT)) / before);
  plant->charge.compression_ratio = ratio;
}

static double warm_target(const struct idle_target_params *target) { return target->by_coolant.y[target->by_coolant.count - 1]; }

static void set_targets(const struct card *card, struct idle_target_params *target) {
  if (card_has(card, CARD_idle_rpm)) {
    const double higher = card->values[CARD_idle_rpm] * UNITS_RAD_S_PER_RPM - warm_target(target);
    curve_raise(&target->by_coolant, higher);
    target->drive_rad_s += higher;
    target->compressor_rad_s += higher;
  }
  if (card_has(card, CARD_idle_drive_rpm)) target->drive_rad_s = card->values[CARD_idle_drive_rpm] * UNITS_RAD_S_PER_RPM;
  if (card_has(card, CARD_idle_ac_rpm)) target->compressor_rad_s = card->values[CARD_idle_ac_rpm] * UNITS_RAD_S_PER_RPM;
}

static void set_gearbox(int gearbox, struct engine *engine) {
  struct load_params *loads = &engine->plant.loads;
  if (gearbox == CARD_GEARBOX_MANUAL) {
    loads->converter_torque_nm = 0.0;
    engine->computer.air.drive_kg_s = 0.0;
    engine->computer.target.drive_rad_s = warm_target(&engine->computer.target);
  } else if (loads->converter_torque_nm <= 0.0) {
    loads->converter_torque_nm = CONVERTER_NM_PER_L * engine->plant.charge.displacement_m3 / UNITS_M3_PER_L;
    loads->converter_speed_rad_s = 750.0 * UNITS_RAD_S_PER_RPM;
    engine->computer.target.drive_rad_s = warm_target(&engine->computer.target) - 50.0 * UNITS_RAD_S_PER_RPM;
  }
}

static void set_spark(const struct card *card, struct idle_spark_params *spark) {
  const double speed = 2500.0 * UNITS_RAD_S_PER_RPM;
  if (card_has(card, CARD_spark_idle_deg)) spark->base_rad = card->values[CARD_spark_idle_deg] * UNITS_RAD_PER_DEG;
  if (card_has(card, CARD_spark_2500_deg))
    curve_raise(&spark->running_rad,
                card->values[CARD_spark_2500_deg] * UNITS_RAD_PER_DEG - curve_value(&spark->running_rad, speed));
}

/* Position at the closed stop. With the key on the blade may stand at rest instead, some degrees further open. */
static void set_positions(const struct card *card, struct engine *engine) {
  struct throttle_params *throttle = &engine->plant.throttle;
  const double stood = throttle->closed_position_ratio, second = throttle->closed2_position_ratio;
  const int means = card_choice(card, CARD_key_on_means, COMPUTER_KEY_ON_UNKNOWN);
  if (card_has(card, CARD_floor_pct)) throttle->open_position_ratio = card->values[CARD_floor_pct] * UNITS_RATIO_PER_PCT;
  if (card_has(card, CARD_stop_pct)) {
    const double rest_rad = plant_rest_angle_rad(&engine->plant) - throttle->bore.closed_angle_rad;
    const double share = rest_rad / plant_travel_rad(throttle), read = card->values[CARD_stop_pct] * UNITS_RATIO_PER_PCT;
    const double closed = (read - share * throttle->open_position_ratio) / (1.0 - share); // if it is at rest
    const double least = 0.03;                                                            // of the row
    throttle->closed_position_ratio = means == COMPUTER_KEY_ON_STOP   ? read
                                      : means == COMPUTER_KEY_ON_REST ? fmax(closed, least)
                                                                      : fmax(0.5 * (read + closed), least);
  }
  if (fabs(stood + second - 1.0) < 1e-9) { // track 2 mirrors track 1
    throttle->closed2_position_ratio = 1.0 - throttle->closed_position_ratio;
    throttle->open2_position_ratio = 1.0 - throttle->open_position_ratio;
  }
  engine->computer.scan.key_on_definition = means;
}

static void set_rest(const struct card *card, struct engine *engine) {
  if (card_has(card, CARD_metering)) engine->computer.fuel.metering = (int)card->values[CARD_metering];
  if (card_has(card, CARD_compression)) set_compression(card->values[CARD_compression], &engine->plant);
  set_fuel(card_choice(card, CARD_fuel, CARD_FUEL_PETROL), &engine->plant);
  if (card_has(card, CARD_gearbox)) set_gearbox((int)card->values[CARD_gearbox], engine);
  set_targets(card, &engine->computer.target);
  set_spark(card, &engine->computer.spark);
  set_positions(card, engine);
  engine->computer.scan.load_definition = card_choice(card, CARD_load_means, COMPUTER_LOAD_UNKNOWN);
  engine->computer.scan.relative_definition = card_choice(card, CARD_relative_means, COMPUTER_RELATIVE_UNKNOWN);
}

/* ---- How wide it spreads ---- */

/* What a card says was read on one car, or stands in papers: so sure, and cars of a model differ beside. Our own choice where nothing else
 * stands. */
#define BY_RULE_PCT   1.0 // half a millimetre of 50
#define ONE_COUNT_PCT 0.25
#define AT_REST_PCT   1.2 // a degree of rest opening, more or less
#define EITHER_PCT    2.3 // half of what lies between stop and rest
#define AS_SAID_RPM   4.0
#define AS_SAID_DEG   1.0
#define THERMOMETER_K 2.0

static void narrow(struct engine *engine, const struct scatter_params *usual, enum scatter scatter, double said) {
  engine->scatter.sd[scatter] = hypot(scatter_rows[scatter].factor * said, usual->sd[scatter]);
}

static void narrow_positions(const struct card *card, const struct scatter_params *usual, struct engine *engine) {
  static const double track[] = {
      [COMPUTER_KEY_ON_STOP] = ONE_COUNT_PCT, [COMPUTER_KEY_ON_REST] = AT_REST_PCT, [COMPUTER_KEY_ON_UNKNOWN] = EITHER_PCT};
  if (card_has(card, CARD_bore_mm)) narrow(engine, usual, SCATTER_bore_pct, BY_RULE_PCT);
  if (card_has(card, CARD_stop_pct)) narrow(engine, usual, SCATTER_track_pct, track[engine->computer.scan.key_on_definition]);
}

static void spread(const struct card *card, struct engine *engine) {
  const struct scatter_params usual = engine->scatter;
  const bool in_gear = engine->plant.loads.converter_torque_nm > 0.0;
  memset(&engine->scatter, 0, sizeof engine->scatter);
  engine->scatter.of_models = true;
  for (int i = 0; i < SCATTER_COUNT; i++) engine->scatter.sd[i] = scatter_rows[i].factor * scatter_road[i];
  narrow_positions(card, &usual, engine);
  if (card_has(card, CARD_idle_rpm)) narrow(engine, &usual, SCATTER_target_rpm, AS_SAID_RPM);
  if (card_has(card, CARD_idle_ac_rpm) && (!in_gear || card_has(card, CARD_idle_drive_rpm)))
    narrow(engine, &usual, SCATTER_target_loaded_rpm, AS_SAID_RPM);
  if (card_has(card, CARD_spark_idle_deg)) narrow(engine, &usual, SCATTER_spark_map_deg, AS_SAID_DEG);
  if (card_has(card, CARD_spark_2500_deg)) narrow(engine, &usual, SCATTER_spark_2500_deg, AS_SAID_DEG);
  if (card_has(card, CARD_intake_c)) engine->scatter.sd[SCATTER_intake_c] = THERMOMETER_K;
  struct conditions day;
  conditions_init(&day);
  if (!card_has(card, CARD_altitude_m)) estimate_place_unknown(engine, &day);
}

/* ---- The computer, calibrated on it ---- */

enum { CALIBRATE_ROUNDS = 4 };
#define SOME_LOAD_W 300.0
#define WIDE_LEAST  (-0.95)
#define WIDE_MOST   4.0

static bool idle_effort(struct settle *settle, const struct settle_query *query, const struct engine *engine, double *air_kg_s) {
  struct settle_point point;
  settle_change_engine(settle, engine);
  settle_solve(settle, query, &point);
  *air_kg_s = UNITS_RATIO_PER_PCT * point.values[CHANNEL_effort_pct] * engine->computer.air.base_kg_s;
  return point.outcome == SETTLE_IDLES;
}

/* Moves what is fed forward until the controller has nothing to add: *fed by `share` of what it adds. */
static bool feed_forward(struct settle *settle, const struct settle_query *query, struct engine *engine, double *fed,
                         double per) {
  for (int i = 0; i < CALIBRATE_ROUNDS; i++) {
    double missing_kg_s;
    if (!idle_effort(settle, query, engine, &missing_kg_s)) return false;
    *fed += missing_kg_s / per;
  }
  return true;
}

static bool calibrate_wide(struct settle *settle, double learned_ratio, struct engine *engine) {
  struct idle_air_params *air = &engine->computer.air;
  struct settle_query query;
  settle_query_init(&query);
  query.conditions.warmth_held = 1.0;
  query.learning = SETTLE_STALE;
  const struct field *load = &condition_find("electrical_load_w")->field;
  conditions_set(&query.conditions, load, 0.0);
  const bool unloaded = feed_forward(settle, &query, engine, &air->base_kg_s, 1.0);
  conditions_set(&query.conditions, load, SOME_LOAD_W);
  // with nothing to turn it may race, the blade on its stop: then what a load takes stays as it is known
  if (!feed_forward(settle, &query, engine, unloaded ? &air->electrical_kg_j : &air->base_kg_s, unloaded ? SOME_LOAD_W : 1.0))
    return false;
  if (engine->plant.loads.compressor_torque_nm > 0.0) {
    query.conditions.compressor_request = 1.0;
    if (!feed_forward(settle, &query, engine, &air->compressor_kg_s, 1.0)) return false;
    query.conditions.compressor_request = 0.0;
  }
  if (engine->plant.loads.converter_torque_nm > 0.0) {
    query.conditions.drive_selected = 1.0;
    if (!feed_forward(settle, &query, engine, &air->drive_kg_s, 1.0)) return false;
    query.conditions.drive_selected = 0.0;
  }
  air->base_kg_s /= 1.0 + learned_ratio;
  return true;
}

void card_engine_widen(struct idle_air_params *air) {
  air->effort_least_ratio = air->learned_least_ratio = WIDE_LEAST;
  air->effort_most_ratio = air->learned_most_ratio = WIDE_MOST;
}

static void restore_limits(const struct idle_air_params *limits, struct idle_air_params *air) {
  air->effort_least_ratio = limits->effort_least_ratio;
  air->effort_most_ratio = limits->effort_most_ratio;
  air->learned_least_ratio = limits->learned_least_ratio;
  air->learned_most_ratio = limits->learned_most_ratio;
}

bool card_engine_calibrate(struct settle *settle, double learned_ratio, struct engine *engine) {
  struct idle_air_params *air = &engine->computer.air;
  const struct idle_air_params limits = *air;
  card_engine_widen(air);
  const double steering = air->steering_kg_s / air->base_kg_s;
  const bool idles = calibrate_wide(settle, learned_ratio, engine);
  air->steering_kg_s = steering * air->base_kg_s;
  restore_limits(&limits, air);
  return idles;
}

void card_engine_day(const struct card *card, struct conditions *conditions) {
  conditions->altitude_m = card_has(card, CARD_altitude_m) ? card->values[CARD_altitude_m] : ESTIMATE_PLACE_ALTITUDE_M;
  if (card_has(card, CARD_intake_c)) conditions->intake_k = card->values[CARD_intake_c] + UNITS_KELVIN_AT_ZERO_C;
}

/* ---- How much it breathes ---- */

/* Idle air of engines with nothing on, without what the alternator takes, at 750 rpm; it goes with the speed. With 300 W that makes 0.92
 * g/s a litre for 3 l at 700 rpm, 0.92 to 0.98 being the mean of a fleet of cars (DOE), and 1.03 for 1.5 l at 650, of which one car
 * had 0.88. The shipped engines, invented, have up to 0.94. */
#define AIR_GPS_PER_L 0.8
#define AT_RPM        750.0
#define LIGHTER_LEAST 0.5 // friction against the shipped engine's
#define LIGHTER_MOST  1.4
#define FROM_BURNING  (1.0 / 3.0) // how much of it is put to the efficiency, as a power
enum { LIGHTER_ROUNDS = 14 };

static void lighten(double ratio, struct engine *engine) {
  engine->plant.friction.constant_pa *= ratio;
  engine->plant.friction.per_krpm_pa *= ratio;
  engine->plant.friction.per_krpm2_pa *= ratio;
  curve_scale(&engine->plant.combustion.efficiency, pow(ratio, -FROM_BURNING));
}

static bool idle_air(struct settle *settle, struct engine *engine, double *air_kg_s) {
  struct settle_query query;
  struct settle_point point;
  settle_query_init(&query);
  query.conditions.warmth_held = 1.0;
  conditions_set(&query.conditions, &condition_find("electrical_load_w")->field, 0.0);
  card_engine_widen(&engine->computer.air);
  settle_change_engine(settle, engine);
  settle_solve(settle, &query, &point);
  *air_kg_s = point.values[CHANNEL_airflow_gps] * UNITS_KG_S_PER_GPS;
  return point.outcome == SETTLE_IDLES;
}

/* Friction and efficiency such that it breathes as engines of its size do. */
static bool breathe(struct settle *settle, struct engine *engine, struct engine *tried) {
  const double speed_ratio = warm_target(&engine->computer.target) / (AT_RPM * UNITS_RAD_S_PER_RPM);
  const double wanted = AIR_GPS_PER_L * UNITS_KG_S_PER_GPS * engine->plant.charge.displacement_m3 / UNITS_M3_PER_L * speed_ratio;
  double low = LIGHTER_LEAST, high = LIGHTER_MOST;
  bool idles = false;
  for (int i = 0; i < LIGHTER_ROUNDS; i++) {
    double air_kg_s;
    *tried = *engine;
    lighten(0.5 * (low + high), tried);
    const bool runs = idle_air(settle, tried, &air_kg_s);
    idles = idles || runs;
    *(!runs || air_kg_s < wanted ? &low : &high) = 0.5 * (low + high);
  }
  lighten(0.5 * (low + high), engine);
  return idles;
}

/* ---- The whole ---- */

enum { TIGHTER_ROUNDS = 6 };
#define TIGHTER 0.8

/* A blade that shuts so far only that the engine would race is shut further: its maker did so. */
static bool make_idle(struct settle *settle, struct engine *engine, struct engine *tried) {
  for (int i = 0; i < TIGHTER_ROUNDS; i++) {
    if (breathe(settle, engine, tried) && card_engine_calibrate(settle, 0.0, engine)) return true;
    engine->plant.throttle.bore.clearance_m *= TIGHTER;
    engine->plant.throttle.rest_opening_rad *= TIGHTER;
  }
  return false;
}

static void name(struct engine *engine) {
  const struct charge_params *charge = &engine->plant.charge;
  const unsigned features = engine_features(engine);
  char like[ENGINE_TEXT_SIZE / 4];
  snprintf(like, sizeof like, "%.30s", engine->name);
  snprintf(engine->title, sizeof engine->title, "%.3g l, %d cylinders, %s throttle, %s sensor%s; from a card, like %s",
           charge->displacement_m3 / UNITS_M3_PER_L, charge->cylinder_count, features & FEATURE_cable ? "cable" : "electronic",
           features & FEATURE_air_flow ? "air-flow" : "pressure", features & FEATURE_converter ? ", automatic" : "", like);
}

enum status card_engine_make(const struct card *card, const struct engine *start, struct engine *engine, struct error *error) {
  if (!card_has(card, CARD_displacement_l))
    return error_append(
        error, STATUS_BAD_DATA,
        "the card has no displacement_l, and all the air that an engine needs depends on it: see the car's papers");
  *engine = *start;
  grow(card, engine);
  set_rest(card, engine);
  spread(card, engine);
  name(engine);
  struct settle *settle = NULL;
  struct engine *tried = calloc(1, sizeof *tried); // some kilobytes of curves: not on the stack
  enum status status =
      tried ? settle_create(engine, &settle, error) : error_append(error, STATUS_NO_MEMORY, "out of memory for a card");
  if (status == STATUS_OK && !make_idle(settle, engine, tried))
    status = error_append(error, STATUS_BAD_DATA,
                          "an engine of this card does not idle at its target: check displacement, bore and idle target");
  settle_destroy(settle);
  free(tried);
  return status;
}
