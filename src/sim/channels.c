#include "sim/channels.h"

#include "control/fuel.h"
#include "control/position.h"

#include <math.h>
#include <string.h>

#define STANDARD_PA 101325.0
#define STANDARD_K  298.15
#define WARM_K      363.15 // 90 degrees C
enum { WIDE_OPEN_ROUNDS = 4 };

static double channels_opening_rad(const struct snapshot *s) {
  return s->state->blade_rad - s->plant->throttle.bore.closed_angle_rad;
}

static double channels_opening_ratio(const struct snapshot *s) {
  return channels_opening_rad(s) / (0.5 * UNITS_PI - s->plant->throttle.bore.closed_angle_rad);
}

/* Torque at best spark over torque now, less one. */
static double channels_spark_reserve_ratio(const struct snapshot *s) {
  const double retard = s->signals->best_spark_rad - s->signals->spark_rad;
  return s->inputs->firing ? 1.0 / combustion_spark_efficiency(&s->plant->combustion, retard) - 1.0 : 0.0;
}

/* Air of one cycle with the throttle wide open at this speed, 25 degrees C and a standard atmosphere, the engine warm. */
static double channels_wide_open_kg(const struct snapshot *s) {
  const struct computer_sensors standard = {.intake_k = STANDARD_K, .coolant_k = WARM_K};
  const double speed = s->state->crank_speed_rad_s;
  double air_kg = 0.0;
  for (int i = 0; i < WIDE_OPEN_ROUNDS; i++) { // more air, less warmed by the manifold
    const double temperature = fuel_manifold_k(s->design, &standard, air_kg * speed / (4.0 * UNITS_PI));
    air_kg = charge_air_per_cycle_kg(&s->plant->charge, STANDARD_PA, STANDARD_PA, temperature, speed);
  }
  return air_kg;
}

/* Calculated load, SAE J1979 PID 04 (wording from memory): air flow over the most air flow at this speed in standard conditions,
 * times barometer over 101.325 kPa, times sqrt(298 / (ambient temperature, K)). Some makers give manifold pressure over barometer, others
 * leave barometer and temperature out. */
static double channels_load_ratio(const struct snapshot *s) {
  if (s->state->crank_speed_rad_s <= 0.0) return 0.0;
  if (s->design->params->scan.load_definition == COMPUTER_LOAD_PRESSURE_RATIO)
    return s->state->manifold_pressure_pa / s->inputs->ambient_pa;
  if (s->design->params->scan.load_definition == COMPUTER_LOAD_SEA_LEVEL)
    return s->signals->intake_air_kg / channels_wide_open_kg(s);
  const double most = channels_wide_open_kg(s) * (s->inputs->ambient_pa / STANDARD_PA) * sqrt(STANDARD_K / s->inputs->ambient_k);
  return s->signals->intake_air_kg / most;
}

static double channels_code_count(const struct snapshot *s, enum code_state state) {
  int count = 0;
  for (int i = 0; i < MONITOR_CODE_COUNT; i++) count += s->computer->memory.monitors.code[i].code == state;
  return count;
}

static double channels_long_trim(const struct snapshot *s, int bank) {
  return s->computer->memory.long_trim[bank][s->computer->cell];
}

/* What this engine has not is NaN: an empty cell. */
static double channels_second_bank(const struct snapshot *s, double value) {
  return s->plant->charge.bank_count == 2 ? value : NAN;
}

/* A scan tool shows what the computer asked for, also where the valve no longer follows. */
static double channels_bypass_steps(const struct snapshot *s) {
  if (s->plant->throttle.kind != THROTTLE_CABLE) return NAN;
  return circuits_bypass_moves(&s->conditions->circuit_faults) ? s->inputs->bypass_steps : s->computer->bypass_steps;
}

static double channels_bypass_film_um(const struct snapshot *s) {
  return s->plant->throttle.kind == THROTTLE_CABLE ? s->conditions->faults.bypass_film_m / UNITS_M_PER_UM : NAN;
}

static double channels_air_flow_kg_s(const struct snapshot *s) {
  if (s->design->params->fuel.metering != METERING_AIR_FLOW) return NAN;
  return sensors_air_flow_kg_s(&s->conditions->sensor_faults, s->state->air_sensor_kg_s);
}

static double channels_pressure_pa(const struct snapshot *s) {
  const bool charger = s->plant->charger.rise_pa.count > 0;
  if (!charger && s->design->params->fuel.metering != METERING_PRESSURE) return NAN;
  return sensors_pressure_pa(&s->conditions->sensor_faults, s->state->manifold_pressure_pa + s->plant->intake.pressure_sensor_pa);
}

static double channels_charge_pa(const struct snapshot *s) {
  if (s->plant->charger.rise_pa.count == 0) return NAN;
  return sensors_charge_pa(&s->conditions->sensor_faults, s->signals->duct_pa);
}

static double channels_second_track(const struct snapshot *s) {
  return s->plant->throttle.open2_position_ratio > 0.0 ? s->track_v[CIRCUIT_TRACK2] : NAN;
}

static double channels_pedal_track(const struct snapshot *s, enum circuit circuit) {
  return s->plant->throttle.kind == THROTTLE_ELECTRONIC ? s->track_v[circuit] : NAN;
}

static double channels_air_flow_v(const struct snapshot *s) {
  const double flow = channels_air_flow_kg_s(s);
  return isnan(flow) ? NAN : circuits_air_flow_v(&s->conditions->circuit_faults, flow);
}

static double channels_drive(const struct snapshot *s, double value) { return s->plant->drive.gear_ratio > 0.0 ? value : NAN; }

#define CHANNEL(name, decimals, view, text, expression) \
  static double value_##name(const struct snapshot *s) { return expression; }
CHANNEL_LIST(CHANNEL)
#undef CHANNEL

const struct channel_row channel_rows[CHANNEL_COUNT] = {
#define CHANNEL(name, decimals, view, text, expression) {#name, decimals, CHANNEL_##view, text, value_##name},
    CHANNEL_LIST(CHANNEL)
#undef CHANNEL
};

int channel_find(const char *name) {
  for (int i = 0; i < CHANNEL_COUNT; i++)
    if (strcmp(channel_rows[i].name, name) == 0) return i;
  return -1;
}

void channels_sample(const struct snapshot *snapshot, double values[CHANNEL_COUNT]) {
  for (int i = 0; i < CHANNEL_COUNT; i++) values[i] = channel_rows[i].value(snapshot);
}
