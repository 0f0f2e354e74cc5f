/* Stalls: what came before, and what there was left to catch it. */
#include "analysis/run/explain_account.h"

#include "analysis/run/window.h"

#include <ctype.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

#define BEFORE_S     2.0 // readings just before the cause
#define LOAD_S       6.0 // a load this recent is the last straw
#define PEDAL_S      8.0
#define FAULT_S      20.0 // and so is a fault, or a film that grows
#define LEAN_LAMBDA  1.15 // an idling engine misfires from here on; common practice, no source
#define RICH_LAMBDA  0.75
#define UNSEEN_PCT   15.0 // as much too little fuel
#define RESIDUAL_PCT 40.0
#define GROWN_UM     1.0

enum { TOLD_MAX = 4, STARTS_MAX = 4 };

/* What came last before a stall. */
struct stall_cause {
  const struct load_step *load;
  const struct recording_event *start; // of the engine
  const struct phase *fault;
  double time_s;
  bool pedal; // the engine comes down to idle, which ends in the stall itself
};

static struct stall_cause find_cause(const struct explain_account *a, double stall_s) {
  struct stall_cause cause = {.time_s = NAN};
  for (size_t i = 0; i < a->story->load_count; i++) {
    const struct load_step *step = &a->story->loads[i];
    const double patience = step->kind == LOAD_STEPS_pedal ? PEDAL_S : LOAD_S;
    if (step->time_s <= stall_s && step->time_s > stall_s - patience) cause.load = step;
  }
  for (size_t i = 1; i < a->phase_count; i++)
    if (a->phases[i].from_s <= stall_s && a->phases[i].full_s > stall_s - FAULT_S) cause.fault = &a->phases[i];
  for (const struct recording_event *event = explain_account_event(a, RECORDING_ENGINE, RECORDING_VALUE_STARTED, 0.0);
       event && event->time_s <= stall_s;
       event = explain_account_event(a, RECORDING_ENGINE, RECORDING_VALUE_STARTED, event->time_s + 1e-6))
    if (event->time_s > stall_s - FAULT_S) cause.start = event;
  if (cause.load && cause.fault && cause.fault->from_s > cause.load->time_s) cause.load = NULL; // the later one
  if (cause.start && cause.load && cause.load->time_s < cause.start->time_s) cause.load = NULL;
  if (cause.start && cause.fault && cause.fault->from_s < cause.start->time_s) cause.fault = NULL;
  if (cause.load) cause.fault = NULL;
  if (cause.load) cause.time_s = cause.load->time_s;
  if (cause.fault) cause.time_s = cause.fault->from_s;
  if (!cause.load && !cause.fault && cause.start) cause.time_s = cause.start->time_s;
  cause.pedal = cause.load && cause.load->kind == LOAD_STEPS_pedal;
  return cause;
}

/* Of a fault whose size has not been reached: its name. */
static void growing_words(struct explain_account *a, const struct phase *phase, const struct phase *before) {
  char plain[CLAIM_WORDS_SIZE], text[CLAIM_WORDS_SIZE] = "a fault";
  for (size_t i = phase->fault_count; i-- > 0;) { // the first that is new
    if (before && phases_have_at(before, &phase->faults[i])) continue;
    explain_account_plain(phase->faults[i].row, plain);
    snprintf(text, sizeof text, "%.120s (%.40s), still on its way", plain, phase->faults[i].row->field.key);
  }
  claim_words(&a->draft, "cause", text, "scenario: what comes");
}

/* What came, in words: one that comes and one that goes are not the same. */
static void cause_words(struct explain_account *a, const struct stall_cause *cause, double stall_s) {
  struct claim_draft *d = &a->draft;
  char text[CLAIM_WORDS_SIZE];
  if (cause->load) {
    snprintf(text, sizeof text, "%s", load_steps_kind_rows[cause->load->kind].text);
    text[0] = (char)tolower((unsigned char)text[0]);
    claim_words(d, "cause", cause->load->on ? text : "a load off", "rule: what happened");
    return;
  }
  if (!cause->fault) {
    claim_words(d, "cause", "the start", "rule: what happened");
    return;
  }
  const struct phase *before = cause->fault > a->phases ? cause->fault - 1 : NULL;
  if (before && phases_within(cause->fault, before))
    claim_words(d, "cause", "a fault gone", "scenario: what went");
  else if (stall_s < cause->fault->full_s)
    growing_words(a, cause->fault, before);
  else
    explain_account_faults(a, cause->fault, before, "cause", false); // what is new
}

/* The film at a stall. */
static double film_at(const struct explain_account *a, const struct recording_event *event) {
  const struct window last = window_between(a->recording, event->time_s - 1.0, event->time_s);
  return window_rows(last) ? window_most(a->recording, last, CHANNEL_film_um) : 0.0;
}

static void say_stall(struct explain_account *a, const struct recording_event *event, const struct stall_cause *cause,
                      bool first) {
  struct claim_draft *d = &a->draft;
  const enum claim_part part = first ? CLAIM_PART_HEADLINE : CLAIM_PART_MORE;
  if (isfinite(cause->time_s)) {
    const bool begun = cause->fault && cause->fault->full_s > event->time_s; // and not come to its end yet
    claim_begin(d, CLAIM_stall_after, part, 9, event->time_s);
    cause_words(a, cause, event->time_s);
    claim_event(d, "time", event, 1);
    claim_constant(d, "cause_s", cause->time_s, 1, "s",
                   cause->load    ? "rule: time of the load step"
                   : cause->fault ? "scenario: step"
                                  : "event: started");
    claim_difference(d, "after", "time", "cause_s", 1);
    claim_before(d, "cause_s", "time");
    claim_window(d, cause->time_s, event->time_s);
    claim_max(d, "film", CHANNEL_film_um, 0);
    if (film_at(a, event) >= EXPLAIN_FILM_UM)
      claim_say(d, begun ? "At {time} s the engine stalls, {after} s after this began: {cause}; film {film} um (film_um)."
                         : "At {time} s the engine stalls, {after} s after this: {cause}; film {film} um (film_um).");
    else
      claim_say(d, begun ? "At {time} s the engine stalls, {after} s after this began: {cause}."
                         : "At {time} s the engine stalls, {after} s after this: {cause}.");
    return;
  }
  claim_begin(d, CLAIM_stall_film_grew, part, 9, event->time_s);
  claim_event(d, "time", event, 1);
  claim_window(d, fmax(event->time_s - FAULT_S, 0.0), event->time_s);
  claim_at(d, "film_before", CHANNEL_film_um, 0);
  claim_max(d, "film", CHANNEL_film_um, 0);
  claim_above(d, "film", "film_before", GROWN_UM);
  claim_promise(d, CLAIM_PREDICATE_alone, "film_um", explain_account_alone(a, fmax(event->time_s - FAULT_S, 0.0), event->time_s));
  if (claim_say(d, "At {time} s the engine stalls while the film grows, from {film_before} to {film} um (film_um).")) return;
  claim_begin(d, CLAIM_stall, part, 9, event->time_s);
  claim_event(d, "time", event, 1);
  claim_window(d, event->time_s - 1.0, event->time_s);
  claim_max(d, "film", CHANNEL_film_um, 0);
  claim_say(d, film_at(a, event) >= EXPLAIN_FILM_UM ? "At {time} s the engine stalls; film {film} um (film_um)."
                                                    : "At {time} s the engine stalls.");
}

static void say_margin(struct explain_account *a, const struct recording_event *event, const struct stall_cause *cause) {
  const struct idle_air_params *air = &a->sim->vehicle.engine->computer.air;
  struct claim_draft *d = &a->draft;
  const double cause_s = isfinite(cause->time_s) ? cause->time_s : event->time_s;
  claim_begin(d, CLAIM_stall_margin, CLAIM_PART_CHAIN, 8, cause->pedal ? event->time_s - 0.8 : cause_s - 0.1);
  claim_window(d, cause->pedal ? event->time_s - 0.8 : cause_s - BEFORE_S, cause->pedal ? event->time_s - 0.1 : cause_s - 0.1);
  claim_mean(d, "speed", CHANNEL_speed_rpm, 0);
  claim_mean(d, "reserve", CHANNEL_spark_reserve_pct, 0);
  claim_mean(d, "effort", CHANNEL_effort_pct, 1);
  claim_constant(d, "effort_most", 100.0 * air->effort_most_ratio, 0, "%", "engine: idle_air.effort_most_pct");
  claim_difference(d, "left", "effort_most", "effort", 0);
  claim_event(d, "time", event, 1);
  claim_say(d, cause->pedal ? "As it comes down, this is left: {reserve} % of torque by earlier spark (spark_reserve_pct), "
                              "{left} % more air (effort_pct)."
                            : "Just before, at {speed} rpm, this is left: {reserve} % of torque by earlier spark "
                              "(spark_reserve_pct), {left} % more air (effort_pct).");
}

/* What the last moments show: a mixture that does not burn, or air that is not there. */
static void say_end(struct explain_account *a, const struct recording_event *event, const struct stall_cause *cause) {
  struct claim_draft *d = &a->draft;
  const double from_s = isfinite(cause->time_s) ? fmax(cause->time_s, event->time_s - 1.5) : event->time_s - 1.5;
  if (explain_account_by_air_flow(a)) {
    claim_begin(d, CLAIM_stall_uncounted, CLAIM_PART_CHAIN, 9, event->time_s - 0.05);
    claim_window(d, from_s, event->time_s);
    claim_mean(d, "air", CHANNEL_airflow_gps, 2);
    claim_mean(d, "unmetered", CHANNEL_unmetered_gps, 2);
    claim_difference(d, "metered", "air", "unmetered", 2);
    claim_derive(d, "unseen", CLAIM_STATISTIC_percent_less, "air", "metered", 0, "%");
    claim_constant(d, "much", UNSEEN_PCT, 0, "%", "rule: too lean to burn well");
    claim_above(d, "unseen", "much", 0.0);
    if (claim_say(d, "Of the last {air} g/s of air (airflow_gps) {unmetered} are not counted (unmetered_gps), and get no fuel: "
                     "too lean to "
                     "burn well."))
      return;
  }
  for (int rich = 0; rich < 2; rich++) {
    claim_begin(d, CLAIM_stall_mixture, CLAIM_PART_CHAIN, 9, event->time_s - 0.05);
    claim_window(d, from_s, event->time_s);
    if (rich)
      claim_min(d, "lambda", CHANNEL_lambda, 2);
    else
      claim_max(d, "lambda", CHANNEL_lambda, 2);
    claim_constant(d, "limit", rich ? RICH_LAMBDA : LEAN_LAMBDA, 2, "", "rule: misfires from here on");
    if (rich)
      claim_below(d, "lambda", "limit", 0.0);
    else
      claim_above(d, "lambda", "limit", 0.0);
    if (claim_say(d, rich ? "In its last moments the mixture is rich, lambda {lambda}."
                          : "In its last moments the mixture is lean, lambda {lambda}."))
      return;
  }
  claim_begin(d, CLAIM_stall_residual, CLAIM_PART_CHAIN, 8, event->time_s - 0.05);
  claim_window(d, from_s, event->time_s);
  claim_max(d, "residual", CHANNEL_residual_pct, 0);
  claim_constant(d, "much", RESIDUAL_PCT, 0, "%", "rule: burns late and unevenly");
  claim_above(d, "residual", "much", 0.0);
  claim_say(d, "Burned gas makes up {residual} % of the last charges (residual_pct): they burn late and unevenly.");
}

void explain_stall_tell(struct explain_account *a) {
  struct claim_draft *d = &a->draft;
  int stalls = 0;
  for (size_t i = 0; i < a->recording->event_count; i++) {
    const struct recording_event *event = &a->recording->events[i];
    if (event->kind != RECORDING_ENGINE || event->value != RECORDING_VALUE_STALL) continue;
    if (++stalls > TOLD_MAX) continue;
    const struct stall_cause cause = find_cause(a, event->time_s);
    say_stall(a, event, &cause, stalls == 1);
    if (stalls > 1) continue; // the margins of one stall teach it
    say_margin(a, event, &cause);
    say_end(a, event, &cause);
  }
  if (stalls > 1) {
    claim_begin(d, CLAIM_stall_count, CLAIM_PART_CHAIN, 6, explain_account_end_s(a));
    claim_window(d, 0.0, explain_account_end_s(a));
    claim_count(d, "count", "stall");
    claim_say(d, "It stalls {count} times in all.");
  }
  explain_start_again(a, STARTS_MAX);
}
