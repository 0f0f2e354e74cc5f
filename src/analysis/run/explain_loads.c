/* Loads that cut in while it idles: how low the speed goes, what catches it, and where it comes to rest with the load on. */
#include "analysis/run/explain_account.h"

#include "analysis/run/window.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#define SETTLED_S   8.0 // a load must last so long for a reading with the load on
#define AVERAGE_S   3.0
#define GAP_S       0.2 // from a mean to the next switch
#define AFTER_S     3.0 // a dip is over by then
#define SAME_UM     3.0
#define FLAT_RPM    25.0 // dips that count as the same: the scatter of single dips
#define DEEPER_RPM  30.0
#define RAISED_RPM  15.0
#define AIR_GPS     0.05
#define RESERVE_PCT 2.0

enum { SINGLE_MAX = 3, SERIES_MAX = 10 };

static const struct load_step *step_at(const struct explain_account *a, size_t i) { return &a->story->loads[i]; }

/* When the next thing happens to the loads; the end of the run if nothing does. */
static double next_change_s(const struct explain_account *a, const struct load_step *step) {
  for (size_t i = 0; i < a->story->load_count; i++)
    if (step_at(a, i)->time_s > step->time_s + 0.05) return step_at(a, i)->time_s;
  return explain_account_end_s(a);
}

/* The computer is told of these and gives their air with them: switches of compressor, gear and steering, the alternator's field duty. */
static bool is_known(const struct explain_account *a, enum load_steps_kind kind) {
  const struct idle_air_params *air = &a->sim->vehicle.engine->computer.air;
  switch (kind) {
  case LOAD_STEPS_compressor:
    return air->compressor_kg_s > 0.0;
  case LOAD_STEPS_gear:
    return air->drive_kg_s > 0.0;
  case LOAD_STEPS_steering:
    return air->steering_kg_s > 0.0;
  case LOAD_STEPS_electrical:
    return air->electrical_kg_j > 0.0;
  default:
    return false;
  }
}

/* The steps of a kind with the least and with the most film that did not stall. */
struct extremes {
  const struct load_step *least, *most;
};

static struct extremes find_extremes(const struct explain_account *a, enum load_steps_kind kind) {
  struct extremes found = {NULL, NULL};
  for (size_t i = 0; i < a->story->load_count; i++) {
    const struct load_step *step = step_at(a, i);
    if (step->kind != kind || !step->on || step->stalled) continue;
    if (!found.least || step->film_um < found.least->film_um) found.least = step;
    if (!found.most || step->film_um > found.most->film_um) found.most = step;
  }
  return found;
}

static void words_of(struct explain_account *a, enum load_steps_kind kind) {
  claim_words(&a->draft, "load", load_steps_kind_rows[kind].text, "rule: what happened");
}

static void before_step(struct explain_account *a, const struct load_step *step) {
  claim_window(&a->draft, step->time_s - AVERAGE_S, step->time_s - 0.1);
}

static void with_load(struct explain_account *a, const struct load_step *step) {
  const double end = next_change_s(a, step);
  claim_window(&a->draft, fmax(end - AVERAGE_S, step->time_s + AFTER_S), end - GAP_S);
}

/* In the window: nothing but the load acts on it. */
static void runs_on(struct claim_draft *d) {
  claim_no_event(d, "stall");
  claim_no_event(d, "key_off");
  claim_no_event(d, "started");
}

/* By the scenario nothing but the load itself moves from one time to another; of a film that grows, less than shows in a dip. */
static bool only_it(const struct explain_account *a, const struct load_step *step, double from_s, double to_s) {
  static const char *const conditions[LOAD_STEPS_KIND_COUNT] = {[LOAD_STEPS_compressor] = "air_conditioning",
                                                                [LOAD_STEPS_gear] = "drive",
                                                                [LOAD_STEPS_steering] = "steering_pct",
                                                                [LOAD_STEPS_electrical] = "electrical_load_w",
                                                                [LOAD_STEPS_pedal] = "hold_rpm"};
  const struct window rows = window_between(a->recording, from_s, to_s);
  if (window_rows(rows) == 0) return false;
  const double grown_um = window_most(a->recording, rows, CHANNEL_film_um) - window_least(a->recording, rows, CHANNEL_film_um);
  const struct scenario *scenario = a->sim->scenario;
  for (size_t i = 0; i < scenario->step_count; i++) {
    const struct scenario_step *other = &scenario->steps[i];
    const bool ramps = other->ramp_s > 0.0 && other->at_s + other->ramp_s > from_s;
    if (other->at_s >= to_s || !(other->at_s > from_s || ramps)) continue;
    for (size_t k = 0; k < other->set_count; k++) {
      const char *key = condition_rows[other->sets[k].condition].field.key;
      if (strcmp(key, conditions[step->kind]) == 0) continue;
      if (strcmp(key, "film_um") != 0 || grown_um > SAME_UM) return false;
    }
  }
  return true;
}

/* From the reading before the load to that with it. */
static void runs_through(struct explain_account *a, const struct load_step *step) {
  claim_window(&a->draft, step->time_s - AVERAGE_S, next_change_s(a, step) - GAP_S);
  runs_on(&a->draft);
}

static bool lasts(const struct explain_account *a, const struct load_step *step) {
  return step->kind != LOAD_STEPS_pedal && next_change_s(a, step) - step->time_s >= SETTLED_S;
}

/* ---- One step ---- */

static void say_dip(struct explain_account *a, const struct load_step *step) {
  struct claim_draft *d = &a->draft;
  const bool pedal = step->kind == LOAD_STEPS_pedal;
  if (!pedal && !only_it(a, step, step->time_s - 1.0, step->time_s + AFTER_S)) return;
  claim_begin(d, CLAIM_load_dip, a->story->largest_film_um < EXPLAIN_FILM_UM && !pedal ? CLAIM_PART_CHAIN : CLAIM_PART_MORE, 4,
              step->time_s);
  words_of(a, step->kind);
  claim_window(d, step->time_s - 1.0, step->time_s);
  claim_mean(d, "before", CHANNEL_speed_rpm, 0);
  claim_window(d, step->time_s, step->time_s + (pedal ? SETTLED_S : AFTER_S));
  claim_at(d, "time", CHANNEL_time_s, 0);
  claim_min(d, "least", CHANNEL_speed_rpm, 0);
  claim_below(d, "least", "before", 0.0);
  runs_on(d);
  claim_say(d, "{load} at {time} s: from {before} rpm down to {least} at the lowest.");
}

/* Told first with what the computer knows of it, if the air did come. */
static void say_with_load(struct explain_account *a, const struct load_step *step) {
  struct claim_draft *d = &a->draft;
  if (!lasts(a, step) || !only_it(a, step, step->time_s - AVERAGE_S, next_change_s(a, step))) return;
  for (int told_of = is_known(a, step->kind); told_of >= 0; told_of--) {
    claim_begin(d, CLAIM_load_with, CLAIM_PART_MORE, 4, step->time_s + 1.0);
    words_of(a, step->kind);
    before_step(a, step);
    claim_mean(d, "air_before", CHANNEL_airflow_gps, 2);
    with_load(a, step);
    claim_mean(d, "speed", CHANNEL_speed_rpm, 0);
    claim_mean(d, "target", CHANNEL_target_rpm, 0);
    claim_mean(d, "air", CHANNEL_airflow_gps, 2);
    if (told_of) claim_above(d, "air", "air_before", AIR_GPS);
    runs_through(a, step);
    if (claim_say(d, told_of
                         ? "{load}, some seconds later: {speed} rpm (target_rpm {target}), air {air} g/s, before {air_before} "
                           "(airflow_gps). The computer is told of this load and gives air for it."
                         : "{load}, some seconds later: {speed} rpm (target_rpm {target}), air {air} g/s, before {air_before} "
                           "(airflow_gps)."))
      return;
  }
}

/* A load that the computer knows of brings its own air, and a starved idle gains by it. */
static void say_raised(struct explain_account *a, const struct load_step *step) {
  struct claim_draft *d = &a->draft;
  if (!lasts(a, step) || (step->kind != LOAD_STEPS_compressor && step->kind != LOAD_STEPS_gear)) return;
  if (!is_known(a, step->kind) || !only_it(a, step, step->time_s - AVERAGE_S, next_change_s(a, step))) return;
  claim_begin(d, CLAIM_load_raised, CLAIM_PART_SURPRISE, 9, step->time_s);
  words_of(a, step->kind);
  before_step(a, step);
  claim_mean(d, "before", CHANNEL_speed_rpm, 0);
  claim_mean(d, "target", CHANNEL_target_rpm, 0);
  claim_mean(d, "air_before", CHANNEL_airflow_gps, 2);
  claim_below(d, "before", "target", EXPLAIN_TARGET_RPM);
  claim_nonzero(d, CHANNEL_film_um, EXPLAIN_FILM_UM);
  with_load(a, step);
  claim_mean(d, "with", CHANNEL_speed_rpm, 0);
  claim_mean(d, "air", CHANNEL_airflow_gps, 2);
  claim_above(d, "with", "before", RAISED_RPM);
  claim_above(d, "air", "air_before", AIR_GPS);
  runs_through(a, step);
  claim_say(d, step->kind == LOAD_STEPS_compressor
                   ? "The compressor raises the starved idle from {before} to {with} rpm: the computer opens for it."
                   : "Going into gear raises the starved idle from {before} to {with} rpm: the computer opens for it.");
}

/* ---- The same load at several films ---- */

static void say_series(struct explain_account *a, enum load_steps_kind kind) {
  struct claim_draft *d = &a->draft;
  char text[CLAIM_TEXT_SIZE] = "{load}, lowest speed after it:", name[2][CLAIM_NAME_SIZE];
  size_t used = strlen(text);
  int told = 0;
  claim_begin(d, CLAIM_load_series, CLAIM_PART_MORE, 5, 0.0);
  words_of(a, kind);
  for (size_t i = 0; i < a->story->load_count && told < SERIES_MAX && used + 60 < sizeof text; i++) {
    const struct load_step *step = step_at(a, i);
    if (step->kind != kind || !step->on || step->stalled) continue;
    if (told == 0) d->claim->at_s = step->time_s;
    snprintf(name[0], sizeof name[0], "least_%d", told);
    snprintf(name[1], sizeof name[1], "film_%d", told);
    claim_window(d, step->time_s, step->time_s + (kind == LOAD_STEPS_pedal ? SETTLED_S : AFTER_S));
    claim_min(d, name[0], CHANNEL_speed_rpm, 0);
    claim_nonzero(d, CHANNEL_speed_rpm, 0.0);
    claim_at(d, name[1], CHANNEL_film_um, 0);
    used += (size_t)snprintf(text + used, sizeof text - used, "%s {%s} rpm at {%s} um", told ? "," : "", name[0], name[1]);
    told++;
  }
  snprintf(text + used, sizeof text - used, ".");
  if (told > 1) claim_say(d, text);
}

/* {name} and {name}_um: lowest speed after a step and the film there. */
static void dip_and_film(struct explain_account *a, const struct load_step *step, const char *name) {
  struct claim_draft *d = &a->draft;
  char um[CLAIM_NAME_SIZE];
  snprintf(um, sizeof um, "%.14s_um", name);
  claim_window(d, step->time_s, step->time_s + AFTER_S);
  claim_min(d, name, CHANNEL_speed_rpm, 0);
  claim_at(d, um, CHANNEL_film_um, 0);
  runs_on(d);
}

static void say_deeper(struct explain_account *a, enum load_steps_kind kind, const struct extremes *x, bool series) {
  struct claim_draft *d = &a->draft;
  claim_begin(d, CLAIM_load_deeper, CLAIM_PART_HEADLINE, series ? 10 : 7, x->most->time_s);
  words_of(a, kind);
  dip_and_film(a, x->least, "first");
  dip_and_film(a, x->most, "last");
  claim_below(d, "last", "first", DEEPER_RPM);
  claim_below(d, "first_um", "last_um", SAME_UM);
  claim_say(d, x->least->film_um < EXPLAIN_FILM_UM
                   ? "{load}: with a clean bore the idle falls to {first} rpm, with {last_um} um of film to {last}."
                   : "{load}: with {first_um} um of film the idle falls to {first} rpm, with {last_um} um to {last}.");
}

/* The thickest film up to which every dip was as with the least: the flat part of the curve. */
static void say_flat(struct explain_account *a, enum load_steps_kind kind, const struct extremes *x) {
  const struct load_step *flat = NULL;
  for (size_t i = 0; i < a->story->load_count; i++) {
    const struct load_step *step = step_at(a, i);
    if (step->kind != kind || !step->on) continue;
    if (step->stalled || step->lowest_rpm < x->least->lowest_rpm - FLAT_RPM) break;
    flat = step;
  }
  if (!flat || flat->film_um < x->least->film_um + SAME_UM || flat == x->most) return;
  struct claim_draft *d = &a->draft;
  claim_begin(d, CLAIM_load_flat, CLAIM_PART_CHAIN, 9, flat->time_s);
  words_of(a, kind);
  dip_and_film(a, x->least, "first");
  dip_and_film(a, flat, "flat");
  claim_equal(d, "first", "flat", FLAT_RPM);
  claim_say(d, "{load}: with {flat_um} um of film the dip is much the same, {first} rpm at first and {flat} there.");
}

/* The step of air that came with the load: measured, more or less of it with the film. */
static void say_air_step(struct explain_account *a, enum load_steps_kind kind, const struct extremes *x) {
  if (!lasts(a, x->least) || !lasts(a, x->most)) return;
  struct claim_draft *d = &a->draft;
  claim_begin(d, CLAIM_load_air_step, CLAIM_PART_MORE, 5, x->most->time_s);
  words_of(a, kind);
  const struct load_step *steps[2] = {x->least, x->most};
  static const char *const names[2][3] = {{"air_a", "air_b", "first"}, {"air_c", "air_d", "last"}};
  for (int i = 0; i < 2; i++) {
    before_step(a, steps[i]);
    claim_mean(d, names[i][0], CHANNEL_airflow_gps, 2);
    with_load(a, steps[i]);
    claim_mean(d, names[i][1], CHANNEL_airflow_gps, 2);
    claim_difference(d, names[i][2], names[i][1], names[i][0], 2);
  }
  claim_at(d, "film", CHANNEL_film_um, 0);
  if (d->broken) return;
  const double change = claim_value_of(d->claim, "last")->value - claim_value_of(d->claim, "first")->value;
  if (fabs(change) <= AIR_GPS)
    claim_equal(d, "last", "first", AIR_GPS);
  else if (change > 0.0)
    claim_above(d, "last", "first", AIR_GPS);
  else
    claim_below(d, "last", "first", AIR_GPS);
  claim_say(d,
            fabs(change) <= AIR_GPS
                ? "{load}: the air that comes with it is no less for the film, {first} g/s before it and {last} with {film} um."
            : change > 0.0
                ? "{load}: the air that comes with it is more with the film, {first} g/s before it and {last} with {film} um."
                : "{load}: the air that comes with it is less with the film, {first} g/s before it and {last} with {film} um.");
}

/* What catches a load before its air comes. */
static void say_reserve(struct explain_account *a, const struct extremes *x) {
  struct claim_draft *d = &a->draft;
  claim_begin(d, CLAIM_load_reserve, CLAIM_PART_CHAIN, 5, x->most->time_s - 1.0);
  before_step(a, x->least);
  claim_mean(d, "first", CHANNEL_spark_reserve_pct, 0);
  before_step(a, x->most);
  claim_mean(d, "last", CHANNEL_spark_reserve_pct, 0);
  claim_mean(d, "film", CHANNEL_film_um, 0);
  claim_below(d, "last", "first", RESERVE_PCT);
  claim_say(d, "What catches a load before its air comes is earlier spark; of that {first} % are in reserve at first, "
               "{last} % with "
               "{film} um (spark_reserve_pct).");
}

/* ---- All kinds ---- */

static int count_on(const struct explain_account *a, enum load_steps_kind kind) {
  int count = 0;
  for (size_t i = 0; i < a->story->load_count; i++) count += step_at(a, i)->kind == kind && step_at(a, i)->on;
  return count;
}

static void tell_singles(struct explain_account *a, enum load_steps_kind kind) {
  const bool pedal = kind == LOAD_STEPS_pedal;
  if (pedal && a->story->largest_film_um < EXPLAIN_FILM_UM) return; // a return to idle as always
  for (size_t i = 0; i < a->story->load_count; i++) {
    const struct load_step *step = step_at(a, i);
    if (step->kind != kind || !step->on || step->stalled) continue; // a stall is told where stalls are
    say_dip(a, step);
    say_with_load(a, step);
    say_raised(a, step);
  }
}

void explain_loads_tell(struct explain_account *a) {
  bool compared = false;
  for (int k = 0; k < LOAD_STEPS_KIND_COUNT; k++) {
    const enum load_steps_kind kind = (enum load_steps_kind)k;
    const bool pedal = kind == LOAD_STEPS_pedal;
    const int count = count_on(a, kind);
    if (count == 0) continue;
    if (count <= SINGLE_MAX)
      tell_singles(a, kind);
    else if (!pedal || a->phase_count == 1) // else other faults lie between its steps
      say_series(a, kind);
    const struct extremes x = find_extremes(a, kind);
    if (compared || pedal || count < 2 || !x.least || !x.most || x.most->film_um - x.least->film_um < SAME_UM) continue;
    compared = true;
    if (a->phase_count > 1) continue;
    say_air_step(a, kind, &x);
    say_reserve(a, &x);
    say_deeper(a, kind, &x, count > SINGLE_MAX);
    if (count <= SINGLE_MAX) continue;
    say_flat(a, kind, &x);
  }
}
