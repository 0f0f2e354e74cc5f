/* How the engine started: cranking, first firing, flare, fast idle and how it went away. Or that it stood all through. */
#include "analysis/run/explain_account.h"

#include "analysis/run/window.h"
#include "control/position.h"

#include <math.h>

#define LOST_S       5.0  // looked at before and after a closed stop is forgotten
#define LOST_RPM     30.0 // a fall worth a headline
#define FLARE_S      4.0  // the start's extra air fades with some 1.5 s
#define SETTLED_S    8.0
#define MEAN_S       2.0  // takes the cycle scatter out of what is told
#define PATIENCE_S   10.0 // the starter is let go before
#define COLD_K       20.0 // this far below the monitors' warm engine
#define RACE_RPM     60.0
#define WARM_C       50.0 // a start above is no cold start
#define MINUTE_S     60.0
#define RPM          UNITS_RAD_S_PER_RPM
#define MOVED_DEG    1.0
#define STILL_DEG    0.5
#define PEDAL_PCT    20.0
#define RELEASED_PCT 1.0 // a pedal that nobody touches
#define TRACK_V      0.1

/* One turn of the key. */
struct start {
  const struct recording_event *key, *started; // started: NULL if it did not
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
    *start = (struct start){event, NULL};
    for (size_t k = i + 1; k < r->event_count && r->events[k].time_s < event->time_s + PATIENCE_S; k++)
      if (r->events[k].kind == RECORDING_ENGINE && r->events[k].value == RECORDING_VALUE_STARTED) {
        start->started = &r->events[k];
        break;
      }
    return true;
  }
  return false;
}

/* Whether a stall comes in a stretch. */
static bool stalls_between(const struct explain_account *a, double from_s, double to_s) {
  const struct recording_event *stall = explain_account_event(a, RECORDING_ENGINE, RECORDING_VALUE_STALL, from_s);
  return stall && stall->time_s <= to_s;
}

static void say_cranking(struct explain_account *a, const struct start *start, bool first) {
  struct claim_draft *d = &a->draft;
  const double key_s = start->key->time_s;
  if (!start->started) {
    if (key_s + PATIENCE_S > explain_account_end_s(a)) return; // who knows
    claim_begin(d, CLAIM_start_failed, CLAIM_PART_CHAIN, 8, key_s);
    claim_event(d, "key", start->key, 0);
    claim_window(d, key_s, key_s + PATIENCE_S);
    claim_no_event(d, "started");
    claim_mean(d, "battery", CHANNEL_battery_v, 1);
    claim_say(d, "At {key} s the starter is turned and let go again without a start (battery_v {battery}).");
    return;
  }
  claim_begin(d, first ? CLAIM_start_first : CLAIM_start_again, first ? CLAIM_PART_CHAIN : CLAIM_PART_MORE, 7, key_s);
  claim_event(d, "key", start->key, 0);
  claim_event(d, "started", start->started, 1);
  claim_difference(d, "took", "started", "key", 1);
  claim_before(d, "key", "started");
  claim_window(d, key_s + 0.1, start->started->time_s);
  claim_min(d, "battery", CHANNEL_battery_v, 1);
  claim_window(d, key_s - 0.1, key_s + 0.1);
  claim_at(d, "learned", CHANNEL_learned_pct, 0);
  if (first)
    claim_say(d, "At {key} s the starter turns it (battery_v down to {battery}); after {took} s it runs by itself.");
  else
    claim_say(
        d,
        "At {key} s it is started again and runs by itself after {took} s, with {learned} % learned from before (learned_pct).");
}

static void say_flare(struct explain_account *a, const struct start *start, bool first) {
  struct claim_draft *d = &a->draft;
  const double at = start->started->time_s;
  claim_begin(d, CLAIM_start_flare, first ? CLAIM_PART_CHAIN : CLAIM_PART_MORE, 6, at + 0.1);
  claim_constant(d, "later", SETTLED_S, 0, "s", "rule: the flare is over");
  claim_window(d, at, at + FLARE_S);
  claim_max(d, "most", CHANNEL_speed_rpm, 0);
  claim_window(d, at + SETTLED_S, at + SETTLED_S + MEAN_S);
  claim_mean(d, "speed", CHANNEL_speed_rpm, 0);
  claim_nonzero(d, CHANNEL_speed_rpm, 1.0);
  claim_above(d, "most", "speed", 0.0);
  claim_window(d, at, at + SETTLED_S + MEAN_S);
  claim_zero(d, CHANNEL_pedal_pct, RELEASED_PCT);
  claim_say(d, "It flares to {most} rpm on the air and fuel that a start is given; {later} s later it runs at {speed} rpm.");
}

/* A start that ends in a stall at once. */
static void say_dies(struct explain_account *a, const struct start *start) {
  struct claim_draft *d = &a->draft;
  const double at = start->started->time_s;
  if (!stalls_between(a, at, at + SETTLED_S + MEAN_S)) return;
  claim_begin(d, CLAIM_start_dies, CLAIM_PART_MORE, 6, at + 0.2);
  claim_event(d, "started", start->started, 1);
  claim_event(d, "stall", explain_account_event(a, RECORDING_ENGINE, RECORDING_VALUE_STALL, at), 1);
  claim_difference(d, "after", "stall", "started", 1);
  claim_before(d, "started", "stall");
  claim_say(d, "It stalls again {after} s after that start.");
}

/* {name} at a time after the start. */
static void say_cold(struct explain_account *a, const struct start *start) {
  struct claim_draft *d = &a->draft;
  const struct computer_params *computer = &a->sim->vehicle.engine->computer;
  const double at = start->started->time_s + SETTLED_S, end = explain_account_end_s(a);
  const double warm_c = computer->supervision.warm_k - UNITS_KELVIN_AT_ZERO_C;
  const double closed_c = computer->fuel.closed_loop_k - UNITS_KELVIN_AT_ZERO_C;
  claim_begin(d, CLAIM_cold_idle, CLAIM_PART_CHAIN, 9, at);
  claim_constant(d, "cold", warm_c - COLD_K, 0, "C", "rule: this far below a warm engine");
  claim_window(d, at, at + MEAN_S);
  claim_mean(d, "coolant", CHANNEL_coolant_c, 0);
  claim_mean(d, "speed", CHANNEL_speed_rpm, 0);
  claim_mean(d, "target", CHANNEL_target_rpm, 0);
  claim_mean(d, "lambda", CHANNEL_lambda, 2);
  claim_constant(d, "right", 1.0, 0, "", "rule: lambda of a complete mixture");
  claim_below(d, "coolant", "cold", 0.0);
  claim_below(d, "lambda", "right", 0.03);
  claim_nonzero(d, CHANNEL_speed_rpm, 1.0);
  if (!claim_say(
          d,
          "Cold, at {coolant} C (coolant_c), its target is {target} rpm, and the mixture rich, lambda {lambda}: part of the fuel "
          "stays on cold walls."))
    return;
  claim_begin(d, CLAIM_cold_headline, CLAIM_PART_HEADLINE, 9, at);
  claim_window(d, at, at + MEAN_S);
  claim_mean(d, "coolant", CHANNEL_coolant_c, 0);
  claim_mean(d, "speed", CHANNEL_speed_rpm, 0);
  claim_event(d, "started_s", start->started, 1);
  claim_window(d, end - MEAN_S, end);
  claim_mean(d, "last", CHANNEL_speed_rpm, 0);
  claim_mean(d, "last_coolant", CHANNEL_coolant_c, 0);
  claim_max(d, "end_s", CHANNEL_time_s, 1);
  claim_difference(d, "took_s", "end_s", "started_s", 0);
  claim_constant(d, "minute_s", MINUTE_S, 0, "s", "rule: a minute");
  claim_derive(d, "took", CLAIM_STATISTIC_quotient, "took_s", "minute_s", 1, "min");
  claim_below(d, "last", "speed", RACE_RPM);
  claim_above(d, "last_coolant", "coolant", 5.0);
  claim_nonzero(d, CHANNEL_speed_rpm, 1.0);
  claim_zero(d, CHANNEL_pedal_pct, 1.0);
  claim_say(d, "At {coolant} C the engine idles fast, at {speed} rpm; {took} minutes after the start, at {last_coolant} C, at "
               "{last} rpm.");
  claim_begin(d, CLAIM_cold_sensor, CLAIM_PART_CHAIN, 7, at + 1.0);
  claim_event(d, "started_s", start->started, 1);
  claim_window(d, start->started->time_s + computer->fuel.closed_loop_delay_s, end);
  claim_constant(d, "closed", closed_c, 0, "C", "engine: fuel.closed_loop_c");
  claim_first(d, "closed_s", CHANNEL_coolant_c, closed_c, false, 0);
  claim_difference(d, "after", "closed_s", "started_s", 0);
  claim_before(d, "started_s", "closed_s");
  claim_say(d, "The oxygen sensor is used only from {closed} C on (coolant_c), {after} s after the start; until then the fuel "
               "trims mean nothing.");
  claim_begin(d, CLAIM_cold_not_watched, CLAIM_PART_MORE, 5, end);
  claim_constant(d, "warm", warm_c, 0, "C", "engine: supervision.warm_c");
  claim_window(d, at, end);
  claim_max(d, "most", CHANNEL_coolant_c, 0);
  claim_below(d, "most", "warm", 0.0);
  claim_say(d, "It stays too cold for the idle codes: {most} C (coolant_c), and they wait for {warm} C.");
}

/* Cold idle above target with the controller at its lower limit. */
static void say_over_target(struct explain_account *a, const struct start *start) {
  const double least_pct = 100.0 * a->sim->vehicle.engine->computer.air.effort_least_ratio;
  const struct recording *r = a->recording;
  const double cold_c = a->sim->vehicle.engine->computer.supervision.warm_k - UNITS_KELVIN_AT_ZERO_C - COLD_K;
  const struct recording_event *off =
      explain_account_event(a, RECORDING_ENGINE, RECORDING_VALUE_KEY + KEY_OFF, start->started->time_s);
  const double until_s = off ? off->time_s : INFINITY;
  double most = 0.0, most_s = NAN;
  for (size_t row = window_between(r, start->started->time_s + SETTLED_S, INFINITY).first; row < r->row_count; row++) {
    const double over = recording_value(r, row, CHANNEL_speed_rpm) - recording_value(r, row, CHANNEL_target_rpm);
    const bool idles = recording_value(r, row, CHANNEL_pedal_pct) < 1.0 && recording_value(r, row, CHANNEL_target_rpm) > 0.0;
    const bool cold = recording_value(r, row, CHANNEL_coolant_c) < cold_c;
    if (recording_value(r, row, CHANNEL_time_s) > until_s) break;
    if (idles && cold && over > most && recording_value(r, row, CHANNEL_effort_pct) <= least_pct + 0.1) {
      most = over;
      most_s = recording_value(r, row, CHANNEL_time_s);
    }
  }
  struct claim_draft *d = &a->draft;
  claim_begin(d, CLAIM_cold_over_target, CLAIM_PART_CHAIN, 8, most_s);
  claim_window(d, most_s, most_s);
  claim_at(d, "speed", CHANNEL_speed_rpm, 0);
  claim_at(d, "target", CHANNEL_target_rpm, 0);
  claim_at(d, "effort", CHANNEL_effort_pct, 0);
  claim_at(d, "time", CHANNEL_time_s, 0);
  claim_difference(d, "over", "speed", "target", 0);
  claim_constant(d, "limit", least_pct, 0, "%", "engine: idle_air.effort_least_pct");
  claim_above(d, "speed", "target", RACE_RPM);
  claim_equal(d, "effort", "limit", 0.15);
  claim_constant(d, "cold", cold_c, 0, "C", "rule: this far below a warm engine");
  claim_at(d, "coolant", CHANNEL_coolant_c, 0);
  claim_below(d, "coolant", "cold", 0.0);
  claim_say(d, "At {time} s it runs {over} rpm above its target: the air given for the cold is more than enough, and little may "
               "be taken away "
               "(effort_pct {effort}).");
}

/* ---- Key on, engine standing ---- */

static void pedal_and_blade(struct explain_account *a, const struct window *pressed) {
  struct claim_draft *d = &a->draft;
  claim_window(d, 0.0, explain_account_end_s(a));
  claim_zero(d, CHANNEL_speed_rpm, 0.0);
  claim_window(d, recording_value(a->recording, pressed->first, CHANNEL_time_s),
               recording_value(a->recording, pressed->last - 1, CHANNEL_time_s));
  claim_max(d, "pedal", CHANNEL_pedal_pct, 0);
  claim_min(d, "low", CHANNEL_blade_deg, 1);
  claim_max(d, "high", CHANNEL_blade_deg, 1);
  claim_range(d, "moved", CHANNEL_blade_deg, 1);
  claim_constant(d, "still", MOVED_DEG, 1, "degrees", "rule: more is a move");
}

/* From the first to the last row at which the pedal is pressed. */
static struct window pressed_rows(const struct explain_account *a) {
  struct window pressed = {0, 0};
  for (size_t row = 0; row < a->recording->row_count; row++) {
    if (recording_value(a->recording, row, CHANNEL_pedal_pct) < 1.0) continue;
    if (window_rows(pressed) == 0) pressed.first = row;
    pressed.last = row + 1;
  }
  return pressed;
}

/* Speed zero all through; what the blade does while the pedal is pressed. */
static void say_pedal(struct explain_account *a) {
  struct claim_draft *d = &a->draft;
  const struct window pressed = pressed_rows(a);
  if (window_rows(pressed) == 0) return;
  claim_begin(d, CLAIM_engine_stands, CLAIM_PART_HEADLINE, 7, 0.0);
  pedal_and_blade(a, &pressed);
  claim_above(d, "moved", "still", 0.0);
  if (claim_say(d,
                "The engine stands; as the pedal goes to {pedal} % (pedal_pct) the blade moves between {low} and {high} degrees "
                "(blade_deg)."))
    return;
  claim_begin(d, CLAIM_engine_stands_still, CLAIM_PART_HEADLINE, 9, 0.0);
  pedal_and_blade(a, &pressed);
  claim_constant(d, "pressed", PEDAL_PCT, 0, "%", "rule: a pedal well down");
  claim_equal(d, "high", "low", MOVED_DEG);
  claim_above(d, "pedal", "pressed", 0.0);
  claim_say(d, "The engine stands; the pedal goes to {pedal} % (pedal_pct), but the blade stays at {high} degrees (blade_deg).");
}

/* The tracks of blade and pedal with the engine off. */
static void say_standing(struct explain_account *a) {
  struct claim_draft *d = &a->draft;
  const double end = explain_account_end_s(a);
  say_pedal(a);
  claim_begin(d, CLAIM_tracks_apart, CLAIM_PART_CHAIN, 8, 1.0);
  claim_window(d, 0.0, end);
  claim_zero(d, CHANNEL_speed_rpm, 0.0);
  claim_constant(d, "supply", POSITION_SUPPLY_V, 0, "V", "rule: supply of the tracks");
  claim_pair_max(d, "less", CLAIM_PAIRING_minus_both, CHANNEL_tps1_v, CHANNEL_tps2_v, 1);
  claim_derive(d, "missing", CLAIM_STATISTIC_sum, "less", "supply", 1, "V");
  claim_constant(d, "least", TRACK_V, 1, "V", "rule: a good pair is nearer");
  claim_above(d, "missing", "least", 0.0);
  claim_say(d, "The two tracks of the blade do not agree: together they should read {supply} V, and fall short by up to "
               "{missing} V (tps1_v, "
               "tps2_v).");
  static const enum channel tracks[] = {CHANNEL_tps1_v, CHANNEL_tps2_v, CHANNEL_app1_v, CHANNEL_app2_v};
  static const char *const words[] = {"first track of the blade (tps1_v)", "second track of the blade (tps2_v)",
                                      "first track of the pedal (app1_v)", "second track of the pedal (app2_v)"};
  for (size_t i = 0; i < sizeof tracks / sizeof tracks[0]; i++) {
    claim_begin(d, CLAIM_track_read, CLAIM_PART_MORE, 4, (double)i);
    claim_window(d, 0.0, end);
    claim_zero(d, CHANNEL_speed_rpm, 0.0);
    claim_min(d, "low", tracks[i], 2);
    claim_max(d, "high", tracks[i], 2);
    claim_words(d, "track", words[i], "rule: name of the track");
    claim_say(d, "The {track} reads {low} to {high} V.");
  }
}

/* In limp-home the blade is on its springs, whatever the pedal says. */
static void say_after_limp(struct explain_account *a) {
  struct claim_draft *d = &a->draft;
  const struct recording_event *limp = explain_account_event(a, RECORDING_CONTROLLER, RECORDING_VALUE_LIMP, 0.0);
  const struct recording_event *off =
      limp ? explain_account_event(a, RECORDING_ENGINE, RECORDING_VALUE_KEY + KEY_OFF, limp->time_s) : NULL;
  if (!limp) return;
  claim_begin(d, CLAIM_limp_blade, CLAIM_PART_CHAIN, 8, limp->time_s + 1.0);
  claim_event(d, "limp", limp, 0);
  claim_window(d, limp->time_s + 1.0, off ? off->time_s : explain_account_end_s(a));
  claim_max(d, "pedal", CHANNEL_pedal_pct, 0);
  claim_min(d, "low", CHANNEL_blade_deg, 1);
  claim_max(d, "high", CHANNEL_blade_deg, 1);
  claim_constant(d, "pressed", PEDAL_PCT, 0, "%", "rule: a pedal well down");
  claim_equal(d, "low", "high", STILL_DEG);
  claim_above(d, "pedal", "pressed", 0.0);
  claim_say(d, "From then on the pedal does nothing: pressed to {pedal} % (pedal_pct), and the blade stays at {high} degrees "
               "(blade_deg).");
}

/* The computer has forgotten where the closed stop is, and takes the blade for further open than it is. */
static void say_closed_lost(struct explain_account *a) {
  struct claim_draft *d = &a->draft;
  const struct recording_event *lost = explain_account_event(a, RECORDING_CONTROLLER, RECORDING_VALUE_LOST_CLOSED, LOST_S);
  if (!lost) return;
  const double to_s = fmin(lost->time_s + LOST_S, explain_account_end_s(a));
  claim_begin(d, CLAIM_closed_lost, CLAIM_PART_HEADLINE, 9, lost->time_s);
  claim_event(d, "time", lost, 0);
  claim_window(d, lost->time_s - LOST_S, lost->time_s - 0.1);
  claim_mean(d, "before", CHANNEL_speed_rpm, 0);
  claim_window(d, lost->time_s, to_s);
  claim_min(d, "low", CHANNEL_speed_rpm, 0);
  claim_zero(d, CHANNEL_pedal_pct, 1.0);
  claim_below(d, "low", "before", LOST_RPM);
  claim_window(d, lost->time_s + 1.0, to_s);
  claim_mean(d, "told", CHANNEL_command_deg, 1);
  claim_mean(d, "stands", CHANNEL_blade_deg, 1);
  claim_below(d, "stands", "told", STILL_DEG);
  claim_promise(d, CLAIM_PREDICATE_alike, "", explain_account_alike(a, lost->time_s - LOST_S, to_s));
  claim_say(
      d, "At {time} s the computer forgets where the closed stop is, and the idle falls from {before} to {low} rpm: told to go "
         "to {told} degrees (command_deg), the blade stands at {stands} (blade_deg).");
}

void explain_start_tell(struct explain_account *a) {
  struct start start;
  say_standing(a);
  say_closed_lost(a);
  say_after_limp(a);
  if (a->sim->scenario->running || !next_start(a, 0.0, &start)) return;
  say_cranking(a, &start, true);
  if (!start.started) return;
  say_flare(a, &start, true);
  say_cold(a, &start);
  say_over_target(a, &start);
}

/* Starts after the first one of a run that began with the key off, or all of one that began idling. */
void explain_start_again(struct explain_account *a, int most) {
  struct start start;
  double from_s = 0.0;
  if (!a->sim->scenario->running && next_start(a, 0.0, &start)) from_s = start.key->time_s + 0.1;
  // the starts end it, not the time. NOLINTNEXTLINE(cert-flp30-c)
  for (int told = 0; told < most && next_start(a, from_s, &start); told++, from_s = start.key->time_s + 0.1) {
    say_cranking(a, &start, false);
    if (!start.started) continue;
    say_flare(a, &start, false);
    say_dies(a, &start);
    const struct window key = window_between(a->recording, start.key->time_s, start.key->time_s + 0.1);
    if (window_rows(key) == 0 || window_mean(a->recording, key, CHANNEL_coolant_c) > WARM_C) continue;
    say_cold(a, &start);
    say_over_target(a, &start);
  }
}
