#include "control/misfire.h"

#include "base/units.h"

#define LEAST_TICKS      2.0   // from firing to firing; less is not seen
#define MISSING_RATIO    0.3   // of a firing's work: less is the scatter of sound cycles, which stays below 0.17; our own
#define FOUND_AGAIN      0.5   // of MISSING_RATIO: the next one is looked for when it has fallen below
#define MEAN_REVOLUTIONS 200.0 // 13 CCR 1968.2 (e)(3): catalyst damage is judged over 200 revolutions (from memory)
#define LEAST_NM         1.0   // with less there is nothing to miss

/* Speed so many ticks ago. */
static double speed_ago_rad_s(const struct computer_misfire *misfire, double ticks) {
  const long whole = (long)ticks;
  const double part = ticks - (double)whole;
  const long newest = misfire->count - 1 - whole;
  return (1.0 - part) * misfire->speed_rad_s[newest % COMPUTER_MISFIRE_TICKS] +
         part * misfire->speed_rad_s[(newest - 1) % COMPUTER_MISFIRE_TICKS];
}

/* Indicated torque that the fuel asked for should give with this spark. */
static double expected_nm(const struct computer_design *design, double speed_rad_s, const struct computer_state *state) {
  const struct combustion_params *combustion = &design->plant->combustion;
  double fuel_kg = 0.0;
  for (int bank = 0; bank < design->plant->charge.bank_count; bank++) fuel_kg += state->fuel_per_cycle_kg[bank];
  const double retard = curve_value(&combustion->best_spark_rad, speed_rad_s) - state->spark_rad;
  return fuel_kg * combustion->heating_value_j_kg * curve_value(&combustion->efficiency, speed_rad_s) *
         combustion_spark_efficiency(retard) / (4.0 * UNITS_PI);
}

/* Share of its work that the firing in the middle of the last cycle did not do. */
static double missing_ratio(const struct computer_design *design, double firing_ticks, double torque_nm,
                            const struct computer_misfire *misfire) {
  const double cylinders = design->plant->charge.cylinder_count, cycle_ticks = cylinders * firing_ticks;
  const double mean = (speed_ago_rad_s(misfire, 0.0) - speed_ago_rad_s(misfire, cycle_ticks)) / cylinders;
  const double own =
      speed_ago_rad_s(misfire, 0.5 * (cycle_ticks - firing_ticks)) - speed_ago_rad_s(misfire, 0.5 * (cycle_ticks + firing_ticks));
  const double firing_s = firing_ticks * COMPUTER_PERIOD_S;
  return (mean - own) * design->plant->crank.inertia_kg_m2 / (torque_nm * firing_s * (1.0 - 1.0 / cylinders));
}

void misfire_tick(const struct computer_design *design, const struct computer_sensors *sensors, struct computer_state *state) {
  struct computer_misfire *misfire = &state->misfire;
  const int cylinders = design->plant->charge.cylinder_count;
  if (state->mode != COMPUTER_RUNNING || sensors->speed_rad_s <= 0.0) {
    *misfire = (struct computer_misfire){0};
    return;
  }
  misfire->speed_rad_s[misfire->count++ % COMPUTER_MISFIRE_TICKS] = sensors->speed_rad_s;
  const double firing_ticks = 4.0 * UNITS_PI / (cylinders * sensors->speed_rad_s * COMPUTER_PERIOD_S);
  const double span_ticks = cylinders * firing_ticks + 2.0;
  const double torque_nm = expected_nm(design, sensors->speed_rad_s, state);
  const bool seen = firing_ticks >= LEAST_TICKS && span_ticks <= COMPUTER_MISFIRE_TICKS && span_ticks <= (double)misfire->count;
  if (cylinders < 2 || !seen || state->fuel_cut || torque_nm < LEAST_NM) return;
  const double share = 2.0 / (MEAN_REVOLUTIONS * cylinders); // of one firing in the mean
  misfire->ratio *= 1.0 - share / firing_ticks;
  const double missing = missing_ratio(design, firing_ticks, torque_nm, misfire);
  if (!misfire->found && missing > MISSING_RATIO) misfire->ratio += share;
  misfire->found = missing > (misfire->found ? FOUND_AGAIN : 1.0) * MISSING_RATIO;
}
