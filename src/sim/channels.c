#include "sim/channels.h"

#include <math.h>
#include <string.h>

static double channels_opening_rad(const struct snapshot *s) {
  return s->state->blade_rad - s->plant->throttle.bore.closed_angle_rad;
}

static double channels_opening_ratio(const struct snapshot *s) {
  return channels_opening_rad(s) / (0.5 * UNITS_PI - s->plant->throttle.bore.closed_angle_rad);
}

/* Torque at best spark over torque now, less one. */
static double channels_spark_reserve_ratio(const struct snapshot *s) {
  const double retard = s->signals->best_spark_rad - s->signals->spark_rad;
  return s->inputs->firing ? 1.0 / combustion_spark_efficiency(retard) - 1.0 : 0.0;
}

/* SAE J1979 PID 04: air now over the most air at this speed, corrected for barometer; here the most air is the filling
 * at ambient pressure. */
static double channels_load_ratio(const struct snapshot *s) {
  const double most = charge_air_per_cycle_kg(&s->plant->charge, s->inputs->ambient_pa, s->state->manifold_temperature_k,
                                              s->state->crank_speed_rad_s);
  return s->state->crank_speed_rad_s > 0.0 ? s->signals->intake_air_kg / most : 0.0;
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

static double channels_bypass_steps(const struct snapshot *s) {
  return s->plant->throttle.kind == THROTTLE_CABLE ? s->inputs->bypass_steps : NAN;
}

static double channels_air_flow_kg_s(const struct snapshot *s) {
  if (s->design->params->fuel.metering != METERING_AIR_FLOW) return NAN;
  return sensors_air_flow_kg_s(&s->conditions->sensor_faults, s->state->air_sensor_kg_s);
}

static double channels_pressure_pa(const struct snapshot *s) {
  if (s->design->params->fuel.metering != METERING_PRESSURE) return NAN;
  return sensors_pressure_pa(&s->conditions->sensor_faults, s->state->manifold_pressure_pa);
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
