#include "control/idle.h"

#include "base/bounds.h"
#include "base/units.h"
#include "control/actuate.h"

#include <math.h>

/* With the pedal just touched spark does not jump: it goes from idle's to that of the curve over so much speed above the warm target. */
#define RUNNING_SPARK_SPAN_RAD_S (600.0 * UNITS_RAD_S_PER_RPM)

#define CATALYST_AFTER_S 3.0 // the flare of the start comes first
#define CATALYST_BLEND_S 5.0 // air needs time to follow the spark

/* Cold raises the target, gear lowers the warm one, the compressor holds it up. */
double idle_target_rad_s(const struct computer_design *design, const struct computer_sensors *sensors) {
  const struct idle_target_params *target = &design->params->target;
  const double neutral = curve_value(&target->by_coolant, sensors->coolant_k);
  const double warm = target->by_coolant.y[target->by_coolant.count - 1];
  double speed = sensors->drive_selected ? neutral + target->drive_rad_s - warm : neutral;
  if (sensors->compressor_request) speed = bounds_larger(speed, target->compressor_rad_s);
  return speed;
}

/* What a new engine needs unloaded at this target and coolant temperature, share of base. */
static double unloaded_ratio(const struct computer_design *design, const struct computer_sensors *sensors, double target_rad_s) {
  const struct curve *by_coolant = &design->params->target.by_coolant;
  const double warm = by_coolant->y[by_coolant->count - 1];
  return target_rad_s / warm * curve_value(&design->params->air.cold_ratio, sensors->coolant_k);
}

double idle_air_kg_s(const struct computer_design *design, const struct computer_sensors *sensors, double target_rad_s,
                     double added_ratio) {
  const struct computer_params *params = design->params;
  double air = params->air.base_kg_s * (unloaded_ratio(design, sensors, target_rad_s) + added_ratio);
  if (sensors->compressor_request) air += params->air.compressor_kg_s;
  if (sensors->drive_selected) air += params->air.drive_kg_s;
  if (sensors->steering) air += params->air.steering_kg_s;
  air += params->air.electrical_kg_j * sensors->alternator_w;
  return air;
}

/* P + I with clamping; the integral stops where it would only push against a limit. */
static void effort_tick(const struct idle_air_params *air, double error_rad_s, struct computer_state *state) {
  const double low = air->effort_least_ratio, high = air->effort_most_ratio;
  const double proportional = air->proportional_s_rad * error_rad_s;
  const double wanted = proportional + state->integral_ratio;
  const double step = air->integral_1_rad * error_rad_s * COMPUTER_PERIOD_S;
  const bool pushing = (wanted >= high && step > 0.0) || (wanted <= low && step < 0.0);
  if (fabs(error_rad_s) <= air->integral_window_rad_s && !pushing)
    state->integral_ratio = bounds_clamp(state->integral_ratio + step, low, high);
  state->effort_ratio = bounds_clamp(proportional + state->integral_ratio, low, high);
}

/* What the controller adds for long becomes the learned offset, and leaves the integral by as much. A cold engine is no
 * measure of the gap: nothing is learned from it. */
static void learn_tick(const struct idle_air_params *air, bool warm, struct computer_state *state) {
  if (!warm || state->settled_s < air->learn_delay_s) return;
  const double moved = state->effort_ratio * (COMPUTER_PERIOD_S / air->learn_time_s);
  const double before = state->memory.learned_ratio;
  state->memory.learned_ratio = bounds_clamp(before + moved, air->learned_least_ratio, air->learned_most_ratio);
  state->integral_ratio -= state->memory.learned_ratio - before;
}

double idle_spark_goal_rad(const struct computer_design *design, double speed_rad_s, double error_rad_s, bool idling) {
  const struct idle_spark_params *spark = &design->params->spark;
  const double best = curve_value(&design->plant->combustion.best_spark_rad, speed_rad_s);
  const struct curve *by_coolant = &design->params->target.by_coolant;
  const double above = (speed_rad_s - by_coolant->y[by_coolant->count - 1]) / RUNNING_SPARK_SPAN_RAD_S;
  double goal =
      spark->base_rad + bounds_clamp(above, 0.0, 1.0) * (curve_value(&spark->running_rad, speed_rad_s) - spark->base_rad);
  if (idling)
    goal = spark->base_rad + bounds_clamp(spark->gain_s * error_rad_s, -spark->retard_limit_rad, spark->advance_limit_rad);
  return bounds_smaller(goal, best);
}

/* How far the late spark of catalyst heating is in force, 0 to 1: it comes in after the start, and goes again. */
static double catalyst_share(const struct computer_design *design, const struct computer_state *state) {
  const struct catalyst_heating_params *catalyst = &design->params->catalyst;
  if (catalyst->retard_rad <= 0.0 || state->coolant_at_start_k >= catalyst->below_k) return 0.0;
  const double begun = bounds_clamp((state->running_s - CATALYST_AFTER_S) / CATALYST_BLEND_S, 0.0, 1.0);
  const double left = bounds_clamp((catalyst->time_s - state->running_s) / CATALYST_BLEND_S, 0.0, 1.0);
  return begun * left;
}

bool idle_in_control(const struct computer_design *design, const struct computer_state *state) {
  return state->pedal_seen_ratio <= design->params->pedal.closed_ratio && state->limp != COMPUTER_LIMP_REST;
}

void idle_tick(const struct computer_design *design, const struct computer_sensors *sensors, struct computer_state *state) {
  const struct computer_params *params = design->params;
  state->idling = idle_in_control(design, state);
  state->target_rad_s = idle_target_rad_s(design, sensors);
  const double error = state->target_rad_s - sensors->speed_rad_s;
  if (state->idling) {
    effort_tick(&params->air, error, state);
    if (!sensors->learned_frozen) learn_tick(&params->air, sensors->coolant_k >= params->supervision.warm_k, state);
  }
  const double heating = catalyst_share(design, state);
  const double warming = heating * params->catalyst.air_ratio * unloaded_ratio(design, sensors, state->target_rad_s);
  const double added = warming + state->start_extra_ratio + state->effort_ratio + state->memory.learned_ratio;
  actuate_idle_air(design, sensors, idle_air_kg_s(design, sensors, state->target_rad_s, added), state);
  if (sensors->spark_frozen) return;
  const double step = params->spark.slew_rad_s * COMPUTER_PERIOD_S;
  const double retard = state->idling ? heating * params->catalyst.retard_rad : 0.0;
  const double goal = idle_spark_goal_rad(design, sensors->speed_rad_s, error, state->idling) - retard;
  state->spark_rad += bounds_clamp(goal - state->spark_rad, -step, step);
}

void idle_limits(const struct computer_params *params, double kept_ratio, double *low, double *high) {
  const struct idle_air_params *air = &params->air;
  *low = air->effort_least_ratio + (isnan(kept_ratio) ? air->learned_least_ratio : kept_ratio);
  *high = air->effort_most_ratio + (isnan(kept_ratio) ? air->learned_most_ratio : kept_ratio);
}

void idle_rest(const struct computer_design *design, const struct computer_sensors *sensors, double added_ratio,
               struct computer_state *state) {
  const double air = idle_air_kg_s(design, sensors, state->target_rad_s, added_ratio);
  actuate_idle_air_rest(design, sensors, air, state);
}

void idle_learned_rest(const struct computer_params *params, double added_ratio, double kept_ratio,
                       struct computer_state *state) {
  const struct idle_air_params *air = &params->air;
  state->memory.learned_ratio =
      isnan(kept_ratio) ? bounds_clamp(added_ratio, air->learned_least_ratio, air->learned_most_ratio) : kept_ratio;
  state->integral_ratio = state->effort_ratio = added_ratio - state->memory.learned_ratio;
}

bool idle_at_limit(const struct computer_design *design, const struct computer_state *state) {
  const struct idle_air_params *air = &design->params->air;
  const double learned = state->memory.learned_ratio, hair = 1e-9;
  return (state->effort_ratio >= air->effort_most_ratio - hair && learned >= air->learned_most_ratio - hair) ||
         (state->effort_ratio <= air->effort_least_ratio + hair && learned <= air->learned_least_ratio + hair);
}
