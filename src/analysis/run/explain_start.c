/* How the engine started: cranking, first firing, flare, fast idle and how it went away. */
#include "analysis/run/explain_account.h"

#include "analysis/run/window.h"

#include <math.h>

#define FIRING_NM  0.5 // indicated torque that is no rounding
#define FLARE_S    4.0 // the start's extra air fades with some 1.5 s
#define SETTLED_S  8.0
#define MEAN_S     2.0  // takes the cycle scatter out of what is told
#define PATIENCE_S 10.0 // the starter is let go before
#define COLD_K     20.0 // this far below the monitors' warm engine
#define RACE_RPM   60.0
#define WARM_C     50.0 // a start above is no cold start
#define RPM        UNITS_RAD_S_PER_RPM

/* One turn of the key. */
struct start {
  double key_s, fired_s, started_s; // NAN: did not happen
};

static bool is_key_start(const struct recording_event *event) {
  return event->kind == RECORDING_ENGINE && event->value == RECORDING_VALUE_KEY + KEY_START;
}

/* The next start at or after a time, from a standing or stalled engine; false if there is none. */
static bool next_start(const struct explain_account *a, double after_s, struct start *start) {
  const struct recording *r = a->recording;
  const double stall_rpm = a->sim->vehicle.engine->plant.crank.stall_speed_rad_s / RPM;
  for (size_t i = 0; i < r->event_count; i++) {
    const struct recording_event *event = &r->events[i];
    if (!is_key_start(event) || event->time_s < after_s) continue;
    const struct window now = window_between(r, event->time_s - 0.2, event->time_s);
    if (window_rows(now) && window_mean(r, now, CHANNEL_speed_rpm) > stall_rpm) continue; // it runs already
    *start = (struct start){event->time_s, NAN, NAN};
    for (size_t k = i + 1; k < r->event_count && r->events[k].time_s < event->time_s + PATIENCE_S; k++)
      if (r->events[k].kind == RECORDING_ENGINE && r->events[k].value == RECORDING_VALUE_STARTED) {
        start->started_s = r->events[k].time_s;
        break;
      }
    const struct window crank = window_between(r, event->time_s, event->time_s + PATIENCE_S);
    for (size_t row = crank.first; row < crank.last && isnan(start->fired_s); row++)
      if (recording_value(r, row, CHANNEL_torque_nm) > FIRING_NM) start->fired_s = recording_value(r, row, CHANNEL_time_s);
    return true;
  }
  return false;
}

static double mean_of(const struct explain_account *a, double from_s, double to_s, enum channel channel) {
  return window_mean(a->recording, window_between(a->recording, from_s, to_s), channel);
}

static double most_of(const struct explain_account *a, double from_s, double to_s, enum channel channel) {
  return window_most(a->recording, window_between(a->recording, from_s, to_s), channel);
}

static void say_cranking(struct explain_account *a, const struct start *start) {
  const double until = isfinite(start->fired_s) ? start->fired_s : start->key_s + SETTLED_S;
  const double crank_rpm = mean_of(a, fmin(start->key_s + 0.3, until - 0.1), until - 0.05, CHANNEL_speed_rpm);
  const double battery = mean_of(a, start->key_s + 0.1, until, CHANNEL_battery_v);
  const double oil = mean_of(a, start->key_s, start->key_s + 0.2, CHANNEL_oil_c);
  if (!isfinite(start->started_s)) {
    explain_account_say(a,
                        "At %.0f s the starter turned the engine at %.0f rpm (battery_v %.1f, oil at %.0f C)%s and let go "
                        "without a start.",
                        start->key_s, crank_rpm, battery, oil, isfinite(start->fired_s) ? ", it fired" : ", it did not fire");
    return;
  }
  explain_account_say(a,
                      "At %.0f s the starter turned the engine at %.0f rpm (battery_v %.1f, oil at %.0f C). It fired after "
                      "%.1f s and ran by itself after %.1f s.",
                      start->key_s, crank_rpm, battery, oil, start->fired_s - start->key_s, start->started_s - start->key_s);
  const double most = most_of(a, start->started_s, start->started_s + FLARE_S, CHANNEL_speed_rpm);
  const double settled = mean_of(a, start->started_s + SETTLED_S, start->started_s + SETTLED_S + MEAN_S, CHANNEL_speed_rpm);
  explain_account_say(a,
                      "It flared to %.0f rpm on the air and fuel a start is given, and ran at %.0f rpm %.0f s later "
                      "(target_rpm %.0f).",
                      most, settled, SETTLED_S,
                      mean_of(a, start->started_s + SETTLED_S, start->started_s + SETTLED_S + MEAN_S, CHANNEL_target_rpm));
}

/* First time after `from_s` that a channel reaches a value; NAN if never. */
static double reached_s(const struct explain_account *a, double from_s, enum channel channel, double value) {
  const struct recording *r = a->recording;
  for (size_t row = window_between(r, from_s, INFINITY).first; row < r->row_count; row++)
    if (recording_value(r, row, channel) >= value) return recording_value(r, row, CHANNEL_time_s);
  return NAN;
}

static void say_cold(struct explain_account *a, const struct start *start) {
  const struct computer_params *computer = &a->sim->vehicle.engine->computer;
  const double at = start->started_s + SETTLED_S, end = a->sim->scenario->duration_s;
  const double coolant = mean_of(a, at, at + MEAN_S, CHANNEL_coolant_c);
  const double warm_c = computer->supervision.warm_k - UNITS_KELVIN_AT_ZERO_C;
  if (coolant > warm_c - COLD_K) return;
  const struct curve *target = &computer->target.by_coolant;
  explain_account_say(a,
                      "Cold it needs more of everything: at coolant_c %.0f the target is %.0f rpm (warm %.0f), air %.2f g/s "
                      "(a warm idle takes %.2f) against thick oil, and lambda %.2f, because part of the fuel stays on cold "
                      "walls.",
                      coolant, mean_of(a, at, at + MEAN_S, CHANNEL_target_rpm), target->y[target->count - 1] / RPM,
                      mean_of(a, at, at + MEAN_S, CHANNEL_airflow_gps), computer->air.base_kg_s / UNITS_KG_S_PER_GPS,
                      mean_of(a, at, at + MEAN_S, CHANNEL_lambda));
  const double closed_c = computer->fuel.closed_loop_k - UNITS_KELVIN_AT_ZERO_C;
  const double heeded = reached_s(a, start->started_s + computer->fuel.closed_loop_delay_s, CHANNEL_coolant_c, closed_c);
  if (isfinite(heeded))
    explain_account_say(a,
                        "The oxygen sensor was heeded from coolant_c %.0f on, %.0f s after the start; until then no trim "
                        "could tell anything.",
                        closed_c, heeded - start->started_s);
  const double warm = reached_s(a, start->started_s, CHANNEL_coolant_c, warm_c);
  const double last_c = mean_of(a, end - 1.0, end, CHANNEL_coolant_c);
  const double last_target = mean_of(a, end - 1.0, end, CHANNEL_target_rpm);
  if (isfinite(warm))
    explain_account_say(a,
                        "The fast idle went down with the coolant: %.0f s after the start coolant_c was "
                        "%.0f, warm enough for "
                        "the idle monitors, and at the end target_rpm is %.0f.",
                        warm - start->started_s, warm_c, last_target);
  else
    explain_account_say(a,
                        "The fast idle goes down with the coolant: at the end coolant_c is %.0f and target_rpm %.0f, still "
                        "too cold for the idle monitors, which wait for %.0f.",
                        last_c, last_target, warm_c);
}

/* Cold idle above target with the controller at its lower limit. */
static void say_over_target(struct explain_account *a, const struct start *start) {
  const double least_pct = 100.0 * a->sim->vehicle.engine->computer.air.effort_least_ratio;
  const struct recording *r = a->recording;
  double most = 0.0, most_s = 0.0;
  for (size_t row = window_between(r, start->started_s + SETTLED_S, INFINITY).first; row < r->row_count; row++) {
    const double over = recording_value(r, row, CHANNEL_speed_rpm) - recording_value(r, row, CHANNEL_target_rpm);
    const bool idles = recording_value(r, row, CHANNEL_pedal_pct) < 1.0 && recording_value(r, row, CHANNEL_target_rpm) > 0.0;
    if (idles && over > most && recording_value(r, row, CHANNEL_effort_pct) <= least_pct + 0.1) {
      most = over;
      most_s = recording_value(r, row, CHANNEL_time_s);
    }
  }
  if (most > RACE_RPM)
    explain_account_say(a,
                        "On the way it ran up to %.0f rpm above target (at %.0f s): the calibrated cold air was more than "
                        "enough, and the controller may take away no more than %.0f %% (effort_pct %.0f, its lower limit).",
                        most, most_s, -least_pct, least_pct);
}

/* Least and most of a channel over the whole run. */
static void range_of(const struct explain_account *a, enum channel channel, double *least, double *most) {
  const struct window all = {0, a->recording->row_count};
  *least = window_least(a->recording, all, channel);
  *most = window_most(a->recording, all, channel);
}

/* Key on, engine standing: what the pedal and the blade did, and what their tracks read. */
static void say_standing(struct explain_account *a) {
  double least, most, blade_least, blade_most;
  range_of(a, CHANNEL_speed_rpm, &least, &most);
  if (!(most <= 0.0)) return;
  range_of(a, CHANNEL_pedal_pct, &least, &most);
  range_of(a, CHANNEL_blade_deg, &blade_least, &blade_most);
  explain_account_say(a,
                      "The engine stood. pedal_pct went from %.0f to %.0f, and the blade stood anywhere from %.2f to %.2f "
                      "degrees above its closed stop.",
                      least, most, blade_least, blade_most);
  static const enum channel tracks[] = {CHANNEL_tps1_v, CHANNEL_tps2_v, CHANNEL_app1_v, CHANNEL_app2_v};
  for (size_t i = 0; i < ARRAY_COUNT(tracks); i++) {
    range_of(a, tracks[i], &least, &most);
    if (isfinite(least)) explain_account_say(a, "%s read from %.2f to %.2f V.", channel_rows[tracks[i]].name, least, most);
  }
}

void explain_start_tell(struct explain_account *a) {
  struct start start;
  say_standing(a);
  if (a->sim->scenario->running || !next_start(a, 0.0, &start)) return;
  say_cranking(a, &start);
  if (!isfinite(start.started_s)) return;
  say_cold(a, &start);
  say_over_target(a, &start);
}

/* Starts after the first one of a run that began with the key off, or all of one that began idling. */
void explain_start_again(struct explain_account *a, int most) {
  struct start start;
  double from_s = 0.0;
  if (!a->sim->scenario->running && next_start(a, 0.0, &start)) from_s = start.key_s + 0.1;
  for (int told = 0; told < most && next_start(a, from_s, &start); told++, from_s = start.key_s + 0.1) {
    const double film = mean_of(a, start.key_s, start.key_s + 0.1, CHANNEL_film_um);
    const double learned = mean_of(a, start.key_s, start.key_s + 0.1, CHANNEL_learned_pct);
    const double coolant = mean_of(a, start.key_s, start.key_s + 0.1, CHANNEL_coolant_c);
    if (!isfinite(start.started_s)) {
      explain_account_say(a,
                          "Started again at %.0f s (film %.0f um, coolant_c %.0f): the starter turned it and let go without "
                          "a start.",
                          start.key_s, film, coolant);
      continue;
    }
    const double at = start.started_s + SETTLED_S;
    explain_account_say(a,
                        "Started again at %.0f s (film %.0f um, coolant_c %.0f): it fired after %.1f s, "
                        "flared to %.0f rpm and "
                        "ran at %.0f rpm %.0f s later, with learned_pct %.0f kept from before.",
                        start.key_s, film, coolant, start.fired_s - start.key_s,
                        most_of(a, start.started_s, start.started_s + FLARE_S, CHANNEL_speed_rpm),
                        mean_of(a, at, at + MEAN_S, CHANNEL_speed_rpm), SETTLED_S, learned);
    say_cold(a, &start);
    if (coolant < WARM_C) say_over_target(a, &start);
  }
}
