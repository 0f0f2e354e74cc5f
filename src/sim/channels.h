/* Every quantity a run gives back: one row per channel. From the row come the CSV column, `list channels`, the plots'
 * labels and the test that walks the table.
 *
 * CHANNEL(name at the edge with its unit, decimals in the CSV, who can see it, what it is, value from snapshot s) */
#ifndef SIM_CHANNELS_H
#define SIM_CHANNELS_H

#include "base/units.h"
#include "car/conditions.h"
#include "control/computer.h"
#include "plant/plant.h"

/* Everything that is known at one moment. */
struct snapshot {
  double time_s;
  const struct plant_params *plant;
  const struct computer_design *design;
  const struct conditions *conditions;
  const struct plant_inputs *inputs;
  const struct plant_state *state;
  const struct plant_signals *signals;
  const struct computer_state *computer;
  const struct sensors *sensors;
  double clean_area_m2;  // gap at this blade angle without any deposit
  double closed_gap_m2;  // gap with the blade at its closed stop, deposit included
  double speed_sd_rad_s; // standard deviation of speed over the last ten seconds
  double pedal_ratio;    // where the driver's foot is
  double battery_v;
  double motor_v, motor_a; // throttle drive
  double track_v[CIRCUIT_COUNT];
};

/* INSTRUMENT: some trade instrument shows it; TRUTH: no instrument does, it is here for teaching. */
enum channel_view { CHANNEL_INSTRUMENT, CHANNEL_TRUTH };

// clang-format off
#define CHANNEL_LIST(CHANNEL)                                                                                 \
  CHANNEL(time_s, 2, INSTRUMENT, "simulated time", s->time_s)                                                 \
  CHANNEL(speed_rpm, 1, INSTRUMENT, "engine speed", s->state->crank_speed_rad_s / UNITS_RAD_S_PER_RPM)        \
  CHANNEL(target_rpm, 1, INSTRUMENT, "idle target of the computer", s->computer->target_rad_s / UNITS_RAD_S_PER_RPM) \
  CHANNEL(speed_sd_rpm, 2, INSTRUMENT, "standard deviation of speed, last 10 s", s->speed_sd_rad_s / UNITS_RAD_S_PER_RPM) \
  CHANNEL(blade_deg, 3, TRUTH, "blade opening above the closed stop", channels_opening_rad(s) / UNITS_RAD_PER_DEG) \
  CHANNEL(blade_pct, 3, INSTRUMENT, "blade opening, share of its travel; 0 is tp_pct at the closed stop", \
          100.0 * channels_opening_ratio(s))                                                                  \
  CHANNEL(tp_pct, 3, INSTRUMENT, "absolute throttle position; at the closed stop it reads about 10, where blade_pct is 0", \
          100.0 * s->track_v[CIRCUIT_TRACK1] / POSITION_SUPPLY_V)                                                                 \
  CHANNEL(area_mm2, 3, TRUTH, "gap between blade and wall, deposit taken off", s->signals->gap_area_m2 / UNITS_M2_PER_MM2) \
  CHANNEL(clean_area_mm2, 3, TRUTH, "gap at this blade angle in a clean bore", s->clean_area_m2 / UNITS_M2_PER_MM2) \
  CHANNEL(closed_gap_mm2, 3, TRUTH, "gap at the closed stop: the light a torch shows through it", s->closed_gap_m2 / UNITS_M2_PER_MM2) \
  CHANNEL(bypass_steps, 0, INSTRUMENT, "idle bypass valve, steps from its seat; cable throttle only", channels_bypass_steps(s)) \
  CHANNEL(film_um, 2, TRUTH, "deposit on the bore wall", s->conditions->film_m / UNITS_M_PER_UM)              \
  CHANNEL(edge_film_um, 2, TRUTH, "deposit on the blade's edge", s->conditions->edge_film_m / UNITS_M_PER_UM) \
  CHANNEL(bypass_film_um, 2, TRUTH, "deposit in the idle bypass valve; cable throttle only", channels_bypass_film_um(s)) \
  CHANNEL(airflow_gps, 4, TRUTH, "all air into the manifold", s->signals->airflow_kg_s / UNITS_KG_S_PER_GPS)  \
  CHANNEL(unmetered_gps, 4, TRUTH, "the part of it that comes in behind the air-flow sensor: leaks, purge, a torn boot; below 0 if some escapes from a charge hose", \
          (s->signals->airflow_kg_s - s->signals->metered_kg_s) / UNITS_KG_S_PER_GPS)                           \
  CHANNEL(maf_gps, 4, INSTRUMENT, "air-flow sensor, where there is one", channels_air_flow_kg_s(s) / UNITS_KG_S_PER_GPS) \
  CHANNEL(map_kpa, 3, INSTRUMENT, "manifold pressure sensor, where there is one", channels_pressure_pa(s) / UNITS_PA_PER_KPA) \
  CHANNEL(charge_kpa, 3, INSTRUMENT, "charge-pressure sensor, before the throttle; turbocharger only", channels_charge_pa(s) / UNITS_PA_PER_KPA) \
  CHANNEL(manifold_kpa, 3, INSTRUMENT, "manifold absolute pressure as a gauge shows it", s->state->manifold_pressure_pa / UNITS_PA_PER_KPA) \
  CHANNEL(spark_deg, 2, INSTRUMENT, "spark before top dead centre", s->inputs->spark_rad / UNITS_RAD_PER_DEG) \
  CHANNEL(spark_reserve_pct, 2, TRUTH, "torque that earlier spark could still add", 100.0 * channels_spark_reserve_ratio(s)) \
  CHANNEL(effort_pct, 3, INSTRUMENT, "air the idle controller adds, share of a new engine's", 100.0 * s->computer->effort_ratio) \
  CHANNEL(learned_pct, 3, INSTRUMENT, "learned air offset, share of a new engine's", 100.0 * s->computer->memory.learned_ratio) \
  CHANNEL(lambda, 4, INSTRUMENT, "oxygen sensor, bank 1", s->sensors->lambda[0])                              \
  CHANNEL(stft_pct, 3, INSTRUMENT, "short-term fuel trim, bank 1", 100.0 * s->computer->short_trim[0])        \
  CHANNEL(ltft_pct, 3, INSTRUMENT, "long-term fuel trim in use, bank 1", 100.0 * channels_long_trim(s, 0))    \
  CHANNEL(lambda2, 4, INSTRUMENT, "oxygen sensor, bank 2", channels_second_bank(s, s->sensors->lambda[1]))    \
  CHANNEL(stft2_pct, 3, INSTRUMENT, "short-term fuel trim, bank 2", channels_second_bank(s, 100.0 * s->computer->short_trim[1])) \
  CHANNEL(ltft2_pct, 3, INSTRUMENT, "long-term fuel trim in use, bank 2", channels_second_bank(s, 100.0 * channels_long_trim(s, 1))) \
  CHANNEL(residual_pct, 2, TRUTH, "burned gas left in the charge", 100.0 * s->signals->residual_fraction)     \
  CHANNEL(torque_nm, 3, TRUTH, "indicated torque", s->signals->indicated_nm)                                  \
  CHANNEL(load_pct, 2, INSTRUMENT, "calculated load: air as a share of what wide-open throttle would give", 100.0 * channels_load_ratio(s)) \
  CHANNEL(coolant_c, 1, INSTRUMENT, "coolant sensor", s->state->coolant_k + s->conditions->sensor_faults.coolant_bias_k - UNITS_KELVIN_AT_ZERO_C) \
  CHANNEL(oil_c, 1, TRUTH, "oil temperature", s->state->oil_k - UNITS_KELVIN_AT_ZERO_C)                       \
  CHANNEL(intake_c, 1, INSTRUMENT, "intake-air sensor", s->conditions->intake_k + s->conditions->sensor_faults.intake_bias_k - UNITS_KELVIN_AT_ZERO_C) \
  CHANNEL(battery_v, 2, INSTRUMENT, "battery", s->battery_v)                                                  \
  CHANNEL(tps1_v, 3, INSTRUMENT, "blade position, track 1", s->track_v[CIRCUIT_TRACK1])                       \
  CHANNEL(tps2_v, 3, INSTRUMENT, "blade position, track 2", channels_second_track(s))                         \
  CHANNEL(app1_v, 3, INSTRUMENT, "pedal position, track 1", channels_pedal_track(s, CIRCUIT_PEDAL1))          \
  CHANNEL(app2_v, 3, INSTRUMENT, "pedal position, track 2", channels_pedal_track(s, CIRCUIT_PEDAL2))          \
  CHANNEL(maf_v, 3, INSTRUMENT, "air-flow sensor's signal, where there is one", channels_air_flow_v(s))       \
  CHANNEL(motor_v, 2, INSTRUMENT, "mean voltage on the throttle motor", channels_drive(s, s->motor_v)) \
  CHANNEL(motor_a, 3, INSTRUMENT, "its current", channels_drive(s, s->motor_a))                      \
  CHANNEL(duty_pct, 1, INSTRUMENT, "duty of the throttle drive", channels_drive(s, 100.0 * s->motor_v / s->battery_v)) \
  CHANNEL(motor_supply_v, 2, INSTRUMENT, "supply at the throttle drive; gone while it sleeps", \
          channels_drive(s, s->computer->asleep_in_s > 0.0 && s->conditions->motor_supply_lost < 0.5 ? s->battery_v : 0.0)) \
  CHANNEL(command_deg, 3, INSTRUMENT, "blade opening asked for", (s->inputs->blade_command_rad - s->plant->throttle.bore.closed_angle_rad) / UNITS_RAD_PER_DEG) \
  CHANNEL(pedal_pct, 2, INSTRUMENT, "pedal travel", 100.0 * s->pedal_ratio)                                   \
  CHANNEL(air_conditioning, 0, INSTRUMENT, "compressor asked for", s->conditions->compressor_request)         \
  CHANNEL(drive, 0, INSTRUMENT, "in gear", s->conditions->drive_selected)                                     \
  CHANNEL(leak_mm2, 2, TRUTH, "vacuum leak", s->conditions->faults.leak_area_m2 / UNITS_M2_PER_MM2)                  \
  CHANNEL(codes_pending, 0, INSTRUMENT, "number of codes pending", channels_code_count(s, CODE_PENDING))      \
  CHANNEL(codes_confirmed, 0, INSTRUMENT, "number of codes confirmed", channels_code_count(s, CODE_CONFIRMED))
// clang-format on

enum channel {
#define CHANNEL(name, decimals, view, text, value) CHANNEL_##name,
  CHANNEL_LIST(CHANNEL)
#undef CHANNEL
      CHANNEL_COUNT
};

struct channel_row {
  const char *name;
  int decimals;
  enum channel_view view;
  const char *text;
  double (*value)(const struct snapshot *snapshot);
};
extern const struct channel_row channel_rows[CHANNEL_COUNT];

/* Index of the channel with this name, -1 if none. */
int channel_find(const char *name);

/* All channels at once, in the order of the list. */
void channels_sample(const struct snapshot *snapshot, double values[CHANNEL_COUNT]);

#endif
