/* What else was wrong, and what each thing did: against the same engine without it, in the run's own readings. */
#include "analysis/run/explain_account.h"

#include "analysis/run/window.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#define BLADE_DEG    0.03 // least changes worth a word: about the scatter of a ten-second mean
#define STEPS        1.0
#define ADDED_PCT    1.0
#define SPARK_DEG    1.0
#define LOW_RPM      12.0
#define ROUGH_RATIO  1.3
#define ROUGH_RPM    2.0
#define RACE_RPM     30.0
#define FAST_RPM     100.0 // from here on it is called racing
#define SAME_FILM_UM 0.05  // a film that stands
#define SOON_S       1.0   // a fault gone for less is the same, of another size
#define HAIR_S       0.05  // before what comes next
#define SAME_NM      3.0   // work that counts as the same
#define RESIDUAL_PCT 4.0
#define ASTRAY_DEG   0.2 // a good drive is nearer to its command
#define PEDAL_PCT    0.3
#define LEARNED_PCT  2.0
#define WAKES_S      1.5 // key on to the drive having found its closed stop

enum { PAIRS_TOLD_MAX = 4 };

/* A phase beside the one it is measured against. */
struct pair {
  const struct phase *phase, *base;
  struct story_moment before, now;           // idle
  struct story_moment held_before, held_now; // off idle, at the same speed
  char but[CLAIM_EXCEPT_SIZE];               // the faults by which they differ
};

static double reading(const struct story_moment *moment, enum channel channel) { return moment->mean[channel]; }

/* The faults that the phase has and its base has not, by their keys. */
static void list_keys(const struct phase *phase, const struct phase *base, const char *between, bool values, char *text,
                      size_t size) {
  size_t used = 0;
  text[0] = '\0';
  for (size_t i = 0; i < phase->fault_count && used + 1 < size; i++) {
    const struct phase_fault *fault = &phase->faults[i];
    if (base && phases_have_at(base, fault)) continue;
    used += (size_t)snprintf(text + used, size - used, "%s%s", used ? between : "", fault->row->field.key);
    if (values && used + 1 < size) used += (size_t)snprintf(text + used, size - used, " %.4g", fault->value);
  }
}

/* The phase in which a fault came that this phase still has. */
static const struct phase *came_with(const struct explain_account *a, const struct phase *phase,
                                     const struct phase_fault *fault) {
  while (phase > a->phases && phases_have_at(phase - 1, fault)) phase--;
  return phase;
}

/* What came, and when; what came before is named as what it stands beside. */
static void say_came(struct explain_account *a, const struct phase *phase, bool first) {
  struct claim_draft *d = &a->draft;
  const double end = explain_account_end_s(a);
  struct phase fresh = *phase;
  fresh.fault_count = 0;
  for (size_t i = 0; i < phase->fault_count; i++)
    if (came_with(a, phase, &phase->faults[i]) == phase) fresh.faults[fresh.fault_count++] = phase->faults[i];
  if (fresh.fault_count == 0 || phase->from_s > end) return;
  claim_begin(d, CLAIM_fault_came, CLAIM_PART_CHAIN, first && fresh.fault_count == phase->fault_count ? 5 : 9, phase->from_s);
  claim_window(d, phase->from_s - 1.0, fmin(fmax(phase->full_s, phase->from_s + 1.0), end));
  explain_account_faults(a, &fresh, NULL, "what", false);
  claim_constant(d, "from", phase->from_s, 0, "s", "scenario: step");
  claim_constant(d, "to", phase->full_s, 0, "s", "scenario: end of the ramp");
  bool beside = fresh.fault_count < phase->fault_count;
  for (size_t i = 0; i < fresh.fault_count; i++) // of another size, but no other fault
    for (const struct phase *one = phase; one > a->phases && one[-1].to_s > phase->from_s - SOON_S; one--)
      if (phases_have(one - 1, fresh.faults[i].row->field.key)) beside = false;
  if (phase->full_s > end)
    claim_say(d, "What began at {from} s would be complete at {to} s, after the end: {what}.");
  else if (phase->from_s <= 0.0 && phase->full_s <= 0.0)
    claim_say(d, "From the start: {what}.");
  else if (phase->from_s <= 0.0)
    claim_say(d, "From the start, in full from {to} s on: {what}.");
  else if (phase->full_s > phase->from_s)
    claim_say(d, fresh.fault_count > 1 ? "Between {from} and {to} s: {what}."
                 : beside              ? "From {from} to {to} s another fault: {what}."
                                       : "From {from} to {to} s: {what}.");
  else
    claim_say(d, beside ? "At {from} s another fault: {what}." : "At {from} s: {what}.");
}

/* ---- What it did to the idle ---- */

/* What it is measured against was read later: nothing "goes from" there. */
static bool backwards(const struct pair *pair) { return pair->before.time_s > pair->now.time_s; }

static bool filmed(const struct explain_account *a, const struct pair *pair) {
  const struct window rows = window_between(a->recording, pair->now.time_s, pair->now.time_s + pair->now.length_s);
  return window_most(a->recording, rows, CHANNEL_film_um) >= EXPLAIN_FILM_UM;
}

/* {speed} and {target} at a moment, {before} before, alike but for the faults. */
static size_t idle_pair(struct explain_account *a, const struct pair *pair) {
  struct claim_draft *d = &a->draft;
  const size_t causes = explain_account_faults(a, pair->phase, NULL, "what", pair->phase->fault_count == 1 && !filmed(a, pair));
  if (pair->before.happened) {
    explain_account_window(a, &pair->before);
    claim_mean(d, "before", CHANNEL_speed_rpm, 0);
    claim_mean(d, "sd_before", CHANNEL_speed_sd_rpm, 0);
    explain_account_promise_alike(a, &pair->before, &pair->now, pair->but);
  }
  explain_account_window(a, &pair->now);
  claim_mean(d, "speed", CHANNEL_speed_rpm, 0);
  claim_mean(d, "target", CHANNEL_target_rpm, 0);
  claim_mean(d, "sd", CHANNEL_speed_sd_rpm, 0);
  return causes;
}

/* One cause is told as one, two as two; a film that is there as well is a cause of its own, with its number. */
static void say_of(struct explain_account *a, const struct pair *pair, size_t causes, const char *words) {
  char text[CLAIM_TEXT_SIZE];
  if (filmed(a, pair))
    claim_max(&a->draft, "film", CHANNEL_film_um, 0);
  else
    claim_zero(&a->draft, CHANNEL_film_um, EXPLAIN_FILM_UM);
  const char *film = filmed(a, pair) ? ", and a film of {film} um (film_um)" : "", *since = "";
  causes += filmed(a, pair);
  if (causes == 1) { // when it came is told here, and not once more in the chain
    const double since_s = came_with(a, pair->phase, &pair->phase->faults[0])->from_s;
    since = since_s > 0.0 ? ", from {since} s" : ", from the start";
    if (since_s > 0.0) claim_constant(&a->draft, "since", since_s, 0, "s", "scenario: step");
  }
  snprintf(text, sizeof text, "%s{what}%s%s: %s",
           causes > 2    ? "Several faults at once: "
           : causes == 2 ? "Two faults at once: "
                         : "",
           film, since, words);
  claim_say(&a->draft, text);
}

/* The bore was cleaned since what the idle is measured against: the learned share that outlives the film is a cause of its own. */
static bool cleaned_since(const struct explain_account *a, const struct pair *pair) {
  const struct story_moment *clean = &a->story->clean;
  if (!clean->happened || clean->time_s > pair->now.time_s) return false;
  return !pair->before.happened || pair->before.time_s < clean->time_s;
}

static bool say_with_clean(struct explain_account *a, const struct pair *pair) {
  struct claim_draft *d = &a->draft;
  claim_begin(d, CLAIM_fault_and_clean, CLAIM_PART_HEADLINE, 10, pair->now.time_s);
  explain_account_faults(a, pair->phase, NULL, "what", false);
  claim_constant(d, "clean_s", a->story->clean.time_s, 0, "s", "scenario: bore cleaned");
  explain_account_window(a, &pair->now);
  claim_mean(d, "speed", CHANNEL_speed_rpm, 0);
  claim_mean(d, "target", CHANNEL_target_rpm, 0);
  claim_mean(d, "learned", CHANNEL_learned_pct, 0);
  claim_at(d, "now_s", CHANNEL_time_s, 0);
  claim_constant(d, "least", LEARNED_PCT, 0, "%", "rule: less is nothing learned");
  claim_above(d, "learned", "least", 0.0);
  claim_zero(d, CHANNEL_film_um, EXPLAIN_FILM_UM);
  claim_before(d, "clean_s", "now_s");
  return claim_say(
      d, "Two things at once: {what}, and the bore cleaned at {clean_s} s with the learned share still there (learned_pct "
         "{learned}): the "
         "idle is at {speed} rpm, target {target}.");
}

static void say_speed(struct explain_account *a, const struct pair *pair) {
  struct claim_draft *d = &a->draft;
  if (cleaned_since(a, pair) && say_with_clean(a, pair)) return;
  const double speed = reading(&pair->now, CHANNEL_speed_rpm), target = reading(&pair->now, CHANNEL_target_rpm);
  const double rough = reading(&pair->now, CHANNEL_speed_sd_rpm);
  const double rough_before = pair->before.happened ? reading(&pair->before, CHANNEL_speed_sd_rpm) : INFINITY;
  const bool both = filmed(a, pair) || pair->phase->fault_count > 1;
  const bool rougher = rough > ROUGH_RATIO * rough_before && rough > rough_before + ROUGH_RPM;
  const enum claim_kind kind = speed - target > RACE_RPM  ? CLAIM_fault_races
                               : target - speed > LOW_RPM ? CLAIM_fault_low
                               : rougher                  ? CLAIM_fault_unsteady
                                                          : CLAIM_fault_holds;
  claim_begin(d, kind, CLAIM_PART_HEADLINE, both ? 10 : kind == CLAIM_fault_holds ? 6 : 8, pair->now.time_s);
  const size_t causes = idle_pair(a, pair);
  switch (kind) {
  case CLAIM_fault_races:
    claim_difference(d, "over", "speed", "target", 0);
    claim_above(d, "speed", "target", RACE_RPM);
    say_of(a, pair, causes,
           speed - target > FAST_RPM ? "the idle races at {speed} rpm, {over} above target."
                                     : "the engine idles at {speed} rpm, {over} above target.");
    break;
  case CLAIM_fault_low:
    claim_difference(d, "short", "target", "speed", 0);
    claim_below(d, "speed", "target", LOW_RPM);
    say_of(a, pair, causes, "the engine idles at {speed} rpm, {short} below target.");
    break;
  case CLAIM_fault_unsteady:
    claim_equal(d, "speed", "target", RACE_RPM);
    claim_above(d, "sd", "sd_before", ROUGH_RPM);
    say_of(
        a, pair, causes,
        "the engine idles at {speed} rpm on average, but unsteadily: plus or minus {sd} rpm (speed_sd_rpm), before {sd_before}.");
    break;
  default:
    claim_equal(d, "speed", "target", RACE_RPM);
    say_of(a, pair, causes, "the idle still holds {speed} rpm, target {target}.");
  }
}

/* ---- The chain ---- */

/* The computer's own idle air, and what it did about the fault; not of a blade that does not obey. */
static void say_control(struct explain_account *a, const struct pair *pair) {
  if (backwards(pair)) return;
  struct claim_draft *d = &a->draft;
  const bool cable = explain_account_is_cable(a);
  const enum channel opening = cable ? CHANNEL_bypass_steps : CHANNEL_blade_deg;
  const double change = reading(&pair->now, opening) - reading(&pair->before, opening);
  claim_begin(d, CLAIM_control_answered, CLAIM_PART_CHAIN, 6, pair->now.time_s + 1.0);
  explain_account_window(a, &pair->before);
  claim_mean(d, "before", opening, cable ? 0 : 2);
  claim_mean(d, "learned_before", CHANNEL_learned_pct, 1);
  claim_mean(d, "effort_before", CHANNEL_effort_pct, 1);
  claim_derive(d, "added_before", CLAIM_STATISTIC_sum, "learned_before", "effort_before", 1, "%");
  explain_account_window(a, &pair->now);
  claim_mean(d, "after", opening, cable ? 0 : 2);
  claim_mean(d, "learned", CHANNEL_learned_pct, 1);
  claim_mean(d, "effort", CHANNEL_effort_pct, 1);
  claim_derive(d, "added", CLAIM_STATISTIC_sum, "learned", "effort", 1, "%");
  if (change > 0.0) {
    claim_above(d, "after", "before", cable ? STEPS : BLADE_DEG);
    claim_above(d, "added", "added_before", ADDED_PCT);
  } else {
    claim_below(d, "after", "before", cable ? STEPS : BLADE_DEG);
    claim_below(d, "added", "added_before", ADDED_PCT);
  }
  explain_account_promise_alike(a, &pair->before, &pair->now, pair->but);
  if (cable)
    claim_say(d, change > 0.0
                     ? "The computer adds air: the idle valve goes from {before} to {after} steps (bypass_steps)."
                     : "The computer takes air away: the idle valve goes from {before} to {after} steps (bypass_steps).");
  else
    claim_say(d, change > 0.0 ? "The computer adds air: the blade goes from {before} to {after} degrees (blade_deg)."
                              : "The computer takes air away: the blade goes from {before} to {after} degrees (blade_deg).");
}

static void say_limit(struct explain_account *a, const struct pair *pair) {
  const struct idle_air_params *air = &a->sim->vehicle.engine->computer.air;
  struct claim_draft *d = &a->draft;
  const bool upper = reading(&pair->now, CHANNEL_effort_pct) > 0.0;
  claim_begin(d, upper ? CLAIM_control_upper_limit : CLAIM_control_lower_limit, CLAIM_PART_CHAIN, 5, pair->now.time_s + 2.0);
  explain_account_window(a, &pair->now);
  claim_mean(d, "effort", CHANNEL_effort_pct, 0);
  claim_constant(d, "limit", 100.0 * (upper ? air->effort_most_ratio : air->effort_least_ratio), 0, "%",
                 upper ? "engine: idle_air.effort_most_pct" : "engine: idle_air.effort_least_pct");
  claim_equal(d, "effort", "limit", 0.2);
  claim_say(
      d,
      upper ? "All that the computer may add at once is in use (effort_pct {effort})."
            : "It may take away only so much at once (effort_pct {effort}), and it cannot shut off air that comes in elsewhere.");
}

static void say_residual(struct explain_account *a, const struct pair *pair) {
  if (backwards(pair)) return;
  struct claim_draft *d = &a->draft;
  claim_begin(d, CLAIM_residual_rose, CLAIM_PART_CHAIN, 8, pair->now.time_s);
  explain_account_window(a, &pair->before);
  claim_mean(d, "before", CHANNEL_residual_pct, 0);
  explain_account_window(a, &pair->now);
  claim_mean(d, "after", CHANNEL_residual_pct, 0);
  claim_above(d, "after", "before", RESIDUAL_PCT);
  explain_account_promise_alike(a, &pair->before, &pair->now, pair->but);
  claim_say(d, "Burned gas in the charge goes from {before} to {after} % (residual_pct): such a charge burns late and unevenly.");
}

/* The blade of an electronic throttle that does not go where it is told. */
static void say_astray(struct explain_account *a, const struct pair *pair) {
  if (explain_account_is_cable(a)) return;
  struct claim_draft *d = &a->draft;
  for (int moving = 1; moving >= 0; moving--) {
    claim_begin(d, CLAIM_blade_astray, CLAIM_PART_CHAIN, 8, pair->now.time_s);
    explain_account_window(a, &pair->before);
    claim_pair_max(d, "off_before", CLAIM_PAIRING_apart, CHANNEL_blade_deg, CHANNEL_command_deg, 2);
    claim_constant(d, "least", ASTRAY_DEG, 1, "degrees", "rule: a good drive is nearer");
    explain_account_window(a, &pair->now);
    claim_pair_max(d, "off", CLAIM_PAIRING_apart, CHANNEL_blade_deg, CHANNEL_command_deg, 1);
    claim_min(d, "low", CHANNEL_blade_deg, 1);
    claim_max(d, "high", CHANNEL_blade_deg, 1);
    claim_above(d, "off", "least", 0.0);
    claim_above(d, "off", "off_before", 0.1);
    if (moving) claim_above(d, "high", "low", 0.1);
    if (claim_say(
            d,
            moving
                ? "The blade does not go where it is told: up to {off} degrees off (command_deg), anywhere from {low} to {high} "
                  "degrees (blade_deg)."
                : "The blade does not go where it is told: it stands at {high} degrees (blade_deg), {off} from its command "
                  "(command_deg)."))
      return;
  }
}

/* Key on, engine standing: the same in the stretch before the fault and in that with it. */
static void say_standing(struct explain_account *a, const struct phase *phase) {
  if (explain_account_is_cable(a) || phase == a->phases) return;
  struct claim_draft *d = &a->draft;
  const struct recording_event *on = explain_account_event(a, RECORDING_ENGINE, RECORDING_VALUE_KEY + KEY_ON, 0.0);
  const double on_s = (on ? on->time_s : 0.0) + WAKES_S;
  const struct recording_event *off = explain_account_event(a, RECORDING_ENGINE, RECORDING_VALUE_KEY + KEY_OFF, phase->rest_s);
  const double off_s = off ? fmin(off->time_s, phase->to_s) : phase->to_s;
  claim_begin(d, CLAIM_blade_astray, CLAIM_PART_HEADLINE, 8, phase->from_s);
  claim_window(d, fmax(phase[-1].from_s, on_s), phase[-1].to_s - 0.1);
  claim_pair_max(d, "off_before", CLAIM_PAIRING_apart, CHANNEL_blade_deg, CHANNEL_command_deg, 1);
  claim_zero(d, CHANNEL_speed_rpm, 0.0);
  claim_window(d, phase->rest_s, off_s - 0.1);
  claim_pair_max(d, "off", CLAIM_PAIRING_apart, CHANNEL_blade_deg, CHANNEL_command_deg, 1);
  claim_zero(d, CHANNEL_speed_rpm, 0.0);
  claim_above(d, "off", "off_before", ASTRAY_DEG);
  const size_t causes = explain_account_faults(a, phase, NULL, "what", phase->fault_count == 1);
  if (causes == 1)
    claim_say(d, "{what}: the blade is up to {off} degrees off its command (blade_deg, command_deg), before up to {off_before}.");
  else
    claim_say(d, "Several faults at once: {what}: the blade is up to {off} degrees off its command (blade_deg, command_deg), "
                 "before up to {off_before}.");
}

static void say_spark(struct explain_account *a, const struct pair *pair) {
  if (backwards(pair)) return;
  const double change = reading(&pair->now, CHANNEL_spark_deg) - reading(&pair->before, CHANNEL_spark_deg);
  struct claim_draft *d = &a->draft;
  claim_begin(d, CLAIM_spark_helped, CLAIM_PART_MORE, 4, pair->now.time_s);
  explain_account_window(a, &pair->before);
  claim_mean(d, "before", CHANNEL_spark_deg, 1);
  explain_account_window(a, &pair->now);
  claim_mean(d, "after", CHANNEL_spark_deg, 1);
  claim_mean(d, "speed", CHANNEL_speed_rpm, 0);
  claim_mean(d, "target", CHANNEL_target_rpm, 0);
  if (change > 0.0) { // early spark pulls up, late spark holds down
    claim_above(d, "after", "before", SPARK_DEG);
    claim_below(d, "speed", "target", LOW_RPM);
    claim_say(d, "The spark goes from {before} to {after} degrees (spark_deg), to pull the speed up.");
  } else {
    claim_below(d, "after", "before", SPARK_DEG);
    claim_above(d, "speed", "target", LOW_RPM);
    claim_say(d, "The spark goes from {before} to {after} degrees (spark_deg), to hold the speed down.");
  }
}

/* What a filter or an exhaust takes grows with the square of the flow: told where one of them is the fault. */
static void say_square(struct explain_account *a, const struct pair *pair) {
  struct claim_draft *d = &a->draft;
  for (size_t i = 0; i < pair->phase->fault_count; i++) {
    const struct phase_fault *fault = &pair->phase->faults[i];
    const bool filter = strcmp(fault->row->field.key, "filter_ratio") == 0;
    if (!filter && strcmp(fault->row->field.key, "exhaust_ratio") != 0) continue;
    const struct intake_params *intake = &a->sim->vehicle.engine->plant.intake;
    const double loss = (filter ? intake->filter_drop_pa_s2_kg2 : intake->exhaust_drop_pa_s2_kg2) * fault->value *
                        UNITS_KG_S_PER_GPS * UNITS_KG_S_PER_GPS / UNITS_PA_PER_KPA;
    claim_begin(d, CLAIM_square_of_flow, CLAIM_PART_CHAIN, 9, pair->held_now.happened ? pair->held_now.time_s : NAN);
    claim_constant(d, "loss", loss, 6, "kPa s2/g2",
                   filter ? "engine: intake.filter_drop, times the fault" : "engine: intake.exhaust_drop, times the fault");
    explain_account_window(a, &pair->now);
    claim_mean(d, "air", CHANNEL_airflow_gps, 1);
    claim_derive(d, "air_squared", CLAIM_STATISTIC_product, "air", "air", 2, "");
    claim_derive(d, "idle", CLAIM_STATISTIC_product, "loss", "air_squared", 2, "kPa");
    explain_account_window(a, &pair->held_now);
    claim_mean(d, "held_air", CHANNEL_airflow_gps, 1);
    claim_derive(d, "held_squared", CLAIM_STATISTIC_product, "held_air", "held_air", 2, "");
    claim_derive(d, "held", CLAIM_STATISTIC_product, "loss", "held_squared", 1, "kPa");
    claim_mean(d, "speed", CHANNEL_speed_rpm, 0);
    claim_above(d, "held", "idle", 0.1);
    claim_say(
        d, filter
               ? "The air cleaner takes {idle} kPa at idle and {held} kPa at {speed} rpm: its loss grows with the square of the "
                 "flow."
               : "The exhaust holds back {idle} kPa at idle and {held} kPa at {speed} rpm: that grows with the square of the "
                 "flow.");
  }
}

static void say_held(struct explain_account *a, const struct pair *pair) {
  if (!pair->held_before.happened || !pair->held_now.happened) return;
  struct claim_draft *d = &a->draft;
  const double pedal = reading(&pair->held_now, CHANNEL_pedal_pct) - reading(&pair->held_before, CHANNEL_pedal_pct);
  claim_begin(d, CLAIM_held_pair, CLAIM_PART_MORE, 4, pair->held_now.time_s);
  explain_account_window(a, &pair->held_before);
  claim_mean(d, "pedal_before", CHANNEL_pedal_pct, 1);
  claim_mean(d, "air_before", CHANNEL_airflow_gps, 2);
  explain_account_window(a, &pair->held_now);
  claim_mean(d, "speed", CHANNEL_speed_rpm, 0);
  claim_mean(d, "pedal", CHANNEL_pedal_pct, 1);
  claim_mean(d, "air", CHANNEL_airflow_gps, 2);
  if (fabs(pedal) < PEDAL_PCT)
    claim_equal(d, "pedal", "pedal_before", PEDAL_PCT);
  else if (pedal > 0.0)
    claim_above(d, "pedal", "pedal_before", 0.5 * PEDAL_PCT);
  else
    claim_below(d, "pedal", "pedal_before", 0.5 * PEDAL_PCT);
  claim_say(d, fabs(pedal) < PEDAL_PCT
                   ? "Held at {speed} rpm, the pedal is where it was, at {pedal} % (pedal_pct); air {air} g/s "
                     "(airflow_gps), before {air_before}."
                   : "Held at {speed} rpm, the pedal is at {pedal} % (pedal_pct), before at {pedal_before}; air {air} g/s "
                     "(airflow_gps), before {air_before}.");
}

/* The phase with the most of its faults that has what is asked for; of several the one whose engine did most nearly the same
 * work, so that a brake on the bench is in both. */
static const struct phase *find_base(const struct explain_account *a, const struct pair *pair, bool idle,
                                     const struct story_moment *now, struct story_moment *moment) {
  const double film_um = reading(now, CHANNEL_film_um), near_rpm = reading(now, CHANNEL_speed_rpm);
  const double work_nm = reading(now, CHANNEL_torque_nm);
  const struct phase *best = NULL;
  struct story_moment found;
  for (size_t i = 0; i < a->phase_count; i++) {
    const struct phase *phase = &a->phases[i];
    if (!phases_within(phase, pair->phase) || (best && phase->fault_count < best->fault_count)) continue;
    const double from = phase->rest_s;
    const bool there = idle ? story_idle_between(a->recording, from, phase->to_s, film_um, &found)
                            : story_held_between(a->recording, from, phase->to_s, film_um, near_rpm, &found);
    if (!there || !explain_account_alike(a, found.time_s, now->time_s + now->length_s)) continue;
    const bool equal = best && phase->fault_count == best->fault_count;
    const double off_nm = fabs(reading(&found, CHANNEL_torque_nm) - work_nm);
    if (equal && off_nm > fabs(reading(moment, CHANNEL_torque_nm) - work_nm) - SAME_NM) {
      // alike: the last one before the fault, rather than one after it
      if (phase->from_s > pair->phase->from_s || off_nm > fabs(reading(moment, CHANNEL_torque_nm) - work_nm) + SAME_NM) continue;
    }
    best = phase;
    *moment = found;
  }
  return best;
}

/* The last idle of a phase while a film, if there is one, stands; else the last one. */
static bool last_idle(const struct explain_account *a, const struct phase *phase, struct story_moment *moment) {
  double until_s = phase->to_s - HAIR_S;
  struct story_moment now;
  *moment = (struct story_moment){0};
  while (story_idle_between(a->recording, phase->rest_s, until_s, STORY_ANY_FILM, &now)) {
    if (!moment->happened) *moment = now;
    const struct window rows = window_between(a->recording, now.time_s, now.time_s + now.length_s);
    const double grown = window_most(a->recording, rows, CHANNEL_film_um) - window_least(a->recording, rows, CHANNEL_film_um);
    if (grown < SAME_FILM_UM) {
      *moment = now;
      return true;
    }
    until_s = now.time_s + now.length_s - STORY_STEP_S;
  }
  return moment->happened;
}

static void fill_pair(const struct explain_account *a, const struct phase *phase, struct pair *pair) {
  *pair = (struct pair){.phase = phase};
  const double from = phase->rest_s;
  if (last_idle(a, phase, &pair->now)) pair->base = find_base(a, pair, true, &pair->now, &pair->before);
  if (story_held_between(a->recording, from, phase->to_s, STORY_ANY_FILM, 0.0, &pair->held_now)) {
    const struct phase *base = find_base(a, pair, false, &pair->held_now, &pair->held_before);
    if (!pair->base) pair->base = base;
  }
}

static void tell_pair(struct explain_account *a, struct pair *pair) {
  char now[EXPLAIN_LABEL_SIZE];
  const struct story_moment *base = pair->before.happened ? &pair->before : &pair->held_before;
  const bool film = base->happened && reading(base, CHANNEL_film_um) >= EXPLAIN_FILM_UM;
  const char *base_label = pair->base && pair->base->fault_count ? "fewer faults" : film ? "film only" : "no fault";
  list_keys(pair->phase, NULL, ", ", true, now, sizeof now);
  list_keys(pair->phase, pair->base, " ", false, pair->but, sizeof pair->but);
  if (pair->now.happened) explain_account_keep(a, &pair->now, "%s", now);
  if (pair->now.happened)
    say_speed(a, pair);
  else
    say_standing(a, pair->phase);
  if (pair->now.happened) explain_account_keep(a, &pair->before, "%s", base_label);
  // what the fault changed; a base that comes after it shows what the repair did
  if (pair->now.happened && pair->before.happened && pair->before.time_s < pair->now.time_s) {
    explain_mixture_faults(a, &pair->before, &pair->now, &pair->held_now, pair->but);
    say_residual(a, pair);
    say_control(a, pair);
    say_limit(a, pair);
    say_astray(a, pair);
    say_spark(a, pair);
  }
  explain_account_keep_held(a, &pair->held_before, "held, %s", base_label);
  explain_account_keep_held(a, &pair->held_now, "held, %s", now);
  say_held(a, pair);
  say_square(a, pair);
}

void explain_faults_tell(struct explain_account *a) {
  int told = 0;
  for (size_t i = 0; i < a->phase_count; i++) {
    if (a->phases[i].fault_count == 0) continue;
    // a phase that only takes faults away from the one before is a repair
    if (i > 0 && phases_within(&a->phases[i], &a->phases[i - 1])) continue;
    say_came(a, &a->phases[i], told == 0);
    if (told++ >= PAIRS_TOLD_MAX) continue;
    struct pair pair;
    fill_pair(a, &a->phases[i], &pair);
    tell_pair(a, &pair);
  }
}
