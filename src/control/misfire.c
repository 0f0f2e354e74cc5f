#include "control/misfire.h"

#include "base/bounds.h"
#include "base/units.h"

#define LEAST_TICKS      2.0   // from firing to firing; less is not seen
#define MISSING_RATIO    0.3   // of a firing's work: less is the scatter of sound cycles, which stays below 0.17; our own
#define FOUND_AGAIN      0.5   // of MISSING_RATIO: the next one is looked for when it has fallen below
#define MEAN_REVOLUTIONS 200.0 // 13 CCR 1968.2 (e)(3): catalyst damage is judged over 200 revolutions (from memory)
#define LEAST_NM         5.0   // less than any engine needs to turn itself over

/* Speed so many ticks ago. */
static double speed_ago_rad_s(const struct computer_misfire *misfire, double ticks) {
  const unsigned long whole = (unsigned long)ticks, newest = misfire->count - 1 - whole;
  const double part = ticks - (double)whole;
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

/* How far the gain of speed over the firing interval in the middle of the last cycle stayed behind the cycle's mean. */
static double lost_rad_s(double cylinders, double firing_ticks, const struct computer_misfire *misfire) {
  const double cycle_ticks = cylinders * firing_ticks;
  const double mean = (speed_ago_rad_s(misfire, 0.0) - speed_ago_rad_s(misfire, cycle_ticks)) / cylinders;
  return mean - speed_ago_rad_s(misfire, 0.5 * (cycle_ticks - firing_ticks)) +
         speed_ago_rad_s(misfire, 0.5 * (cycle_ticks + firing_ticks));
}

void misfire_tick(const struct computer_design *design, const struct computer_sensors *sensors, struct computer_state *state) {
  struct computer_misfire *misfire = &state->misfire;
  const double cylinders = design->plant->charge.cylinder_count;
  if (state->mode != COMPUTER_RUNNING || sensors->speed_rad_s <= 0.0) {
    misfire->count = 0;
    misfire->ratio = 0.0;
    misfire->found = false;
    return;
  }
  misfire->speed_rad_s[misfire->count++ % COMPUTER_MISFIRE_TICKS] = sensors->speed_rad_s;
  const double firing_ticks = 4.0 * UNITS_PI / (cylinders * sensors->speed_rad_s * COMPUTER_PERIOD_S);
  const double span_ticks = cylinders * firing_ticks + 2.0;
  const bool seen = firing_ticks >= LEAST_TICKS && span_ticks <= COMPUTER_MISFIRE_TICKS && span_ticks <= (double)misfire->count;
  if (cylinders < 2.0 || !seen || state->fuel_cut) return;
  const double share = 2.0 / (MEAN_REVOLUTIONS * cylinders); // of one firing in the mean
  misfire->ratio -= misfire->ratio * share / firing_ticks;
  const double lost_nm_s = lost_rad_s(cylinders, firing_ticks, misfire) * design->plant->crank.inertia_kg_m2;
  const double whole_s = firing_ticks * COMPUTER_PERIOD_S * (1.0 - 1.0 / cylinders);
  const double limit_ratio = (misfire->found ? FOUND_AGAIN : 1.0) * MISSING_RATIO;
  // what the torque is need not be known while little is lost
  const bool found =
      lost_nm_s > limit_ratio * whole_s * LEAST_NM &&
      lost_nm_s > limit_ratio * whole_s * bounds_larger(expected_nm(design, sensors->speed_rad_s, state), LEAST_NM);
  if (found && !misfire->found) misfire->ratio += share;
  misfire->found = found;
}
