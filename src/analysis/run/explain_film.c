/* The film on the wall: what gap an idle lives on, how far the computer hides the loss, what is left when it cannot. */
#include "analysis/run/explain_account.h"

#include "physics/orifice.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#define HIDDEN_UM 5.0 // hiding less is nothing to speak of
#define MM_UM     1000.0
#define SPARK_DEG 1.0 // least changes worth a word
#define AIR_GPS   0.05
#define BLADE_DEG 0.05
#define STEPS     2.0
#define SAG_RPM   10.0 // slower while it grows than once it has been learned
#define GROWS_S   60.0 // looked back for a film that was thinner
#define GROWN_UM  1.0
#define SAME_UM   3.0

enum { FILM_STEPS_MAX = 8 };

static double reading(const struct story_moment *moment, enum channel channel) { return moment->mean[channel]; }

static double short_of(const struct story_moment *moment) {
  return reading(moment, CHANNEL_target_rpm) - reading(moment, CHANNEL_speed_rpm);
}

/* ---- The moments ---- */

static bool is_clean(const struct story_moment *moment) { return fabs(reading(moment, CHANNEL_film_um)) < EXPLAIN_FILM_UM; }

/* The idle to measure against: the first without film at rest on target; after a clean the last of them. */
static void judge_clean(const struct explain_account *a, const struct story_moment *now, struct explain_film *film) {
  if (fabs(short_of(now)) > EXPLAIN_TARGET_RPM || !explain_account_rests(a, now)) return;
  const bool first = film->clean.happened && film->clean.time_s < film->cleaned_s;
  if (!first) film->clean = *now;
}

static void judge_filmed(const struct explain_account *a, const struct story_moment *now, struct explain_film *film) {
  const double warm_c = a->sim->vehicle.engine->computer.supervision.warm_k - UNITS_KELVIN_AT_ZERO_C;
  if (reading(now, CHANNEL_coolant_c) < warm_c) { // a story of its own: a cold engine lives on a wider gap
    if (fabs(short_of(now)) < EXPLAIN_TARGET_RPM) film->cold = *now;
    return;
  }
  if (!explain_account_alike(a, film->like_s, now->time_s + now->length_s)) return;
  const double speed = reading(now, CHANNEL_speed_rpm);
  if (fabs(short_of(now)) < EXPLAIN_TARGET_RPM) film->hidden = *now;
  struct story_moment *slow = explain_account_rests(a, now) ? &film->low : &film->sag;
  if (slow == &film->sag && short_of(now) < EXPLAIN_TARGET_RPM) return;
  if (!slow->happened || speed < reading(slow, CHANNEL_speed_rpm)) *slow = *now;
}

void explain_film_find(const struct explain_account *a, struct explain_film *film) {
  *film = (struct explain_film){.like_s = NAN, .cleaned_s = a->story->clean.happened ? a->story->clean.time_s : INFINITY};
  const struct recording *r = a->recording;
  const double end = explain_account_end_s(a);
  struct story_moment now;
  for (long i = 0; (double)i * STORY_STEP_S + STORY_STRETCH_S <= end; i++) {
    const double from = (double)i * STORY_STEP_S, to = from + STORY_STRETCH_S;
    if (!explain_account_alone(a, from, to) || !story_idle_stretch(r, from, &now)) continue;
    if (isnan(film->like_s)) film->like_s = from;
    if (is_clean(&now))
      judge_clean(a, &now, film);
    else if (to < film->cleaned_s)
      judge_filmed(a, &now, film);
  }
  if (film->hidden.happened && reading(&film->hidden, CHANNEL_film_um) < HIDDEN_UM) film->hidden.happened = false;
}

/* ---- The headline ---- */

/* {name}: the film at a moment. */
static void film_at(struct explain_account *a, const struct story_moment *moment, const char *name) {
  explain_account_window(a, moment);
  claim_mean(&a->draft, name, CHANNEL_film_um, 0);
}

/* The idle at a moment: {speed}, its target, and {short} of it. */
static void slow_idle(struct explain_account *a, const struct story_moment *low) {
  struct claim_draft *d = &a->draft;
  explain_account_window(a, low);
  claim_mean(d, "speed", CHANNEL_speed_rpm, 0);
  claim_mean(d, "target", CHANNEL_target_rpm, 0);
  claim_difference(d, "short", "target", "speed", 0);
  claim_below(d, "speed", "target", EXPLAIN_TARGET_RPM);
  explain_account_at_rest(a);
  claim_promise(d, CLAIM_PREDICATE_alone, "film_um", explain_account_alone(a, low->time_s, low->time_s + low->length_s));
}

static void hidden_idle(struct explain_account *a, const struct story_moment *hidden) {
  struct claim_draft *d = &a->draft;
  explain_account_window(a, hidden);
  claim_mean(d, "held", CHANNEL_speed_rpm, 0);
  claim_mean(d, "held_target", CHANNEL_target_rpm, 0);
  claim_equal(d, "held", "held_target", EXPLAIN_TARGET_RPM);
  claim_promise(d, CLAIM_PREDICATE_alone, "film_um", explain_account_alone(a, hidden->time_s, hidden->time_s + hidden->length_s));
}

/* Neither hidden nor at rest: the learned share still rises when the run goes on to something else. */
static void say_learning(struct explain_account *a, const struct story_moment *sag) {
  struct claim_draft *d = &a->draft;
  const double end = sag->time_s + sag->length_s;
  claim_begin(d, CLAIM_film_learning, CLAIM_PART_HEADLINE, 9, sag->happened ? sag->time_s : NAN);
  film_at(a, sag, "film");
  claim_mean(d, "speed", CHANNEL_speed_rpm, 0);
  claim_mean(d, "target", CHANNEL_target_rpm, 0);
  claim_difference(d, "short", "target", "speed", 0);
  claim_below(d, "speed", "target", EXPLAIN_TARGET_RPM);
  claim_at(d, "learned", CHANNEL_learned_pct, 0);
  claim_promise(d, CLAIM_PREDICATE_alone, "film_um", explain_account_alone(a, sag->time_s, end));
  claim_window(d, end - 0.5, end);
  claim_mean(d, "learned_after", CHANNEL_learned_pct, 0);
  claim_above(d, "learned_after", "learned", EXPLAIN_REST_PCT);
  claim_say(
      d, "With a film of {film} um the idle is at {speed} rpm, {short} below target, and the computer still learns (learned_pct "
         "{learned} to {learned_after}).");
}

static void say_headline(struct explain_account *a, const struct explain_film *film) {
  struct claim_draft *d = &a->draft;
  const bool droops = film->low.happened && short_of(&film->low) > EXPLAIN_TARGET_RPM;
  if (film->hidden.happened && droops) {
    claim_begin(d, CLAIM_film_hidden_then_low, CLAIM_PART_HEADLINE, 9, film->hidden.time_s);
    film_at(a, &film->hidden, "hid");
    hidden_idle(a, &film->hidden);
    film_at(a, &film->low, "film");
    slow_idle(a, &film->low);
    claim_below(d, "hid", "film", 0.0);
    if (claim_say(d, "A film of {hid} um stays hidden; at {film} um the idle settles at {speed} rpm, {short} below target."))
      return;
  }
  if (film->hidden.happened && !droops) {
    claim_begin(d, CLAIM_film_hidden, CLAIM_PART_HEADLINE, 9, film->hidden.time_s);
    film_at(a, &film->hidden, "hid");
    hidden_idle(a, &film->hidden);
    claim_say(d, "A film of {hid} um stays hidden: the idle holds {held} rpm, target {held_target}.");
    return;
  }
  if (!droops) {
    say_learning(a, &film->sag);
    return;
  }
  claim_begin(d, CLAIM_film_low, CLAIM_PART_HEADLINE, 9, film->low.time_s);
  film_at(a, &film->low, "film");
  slow_idle(a, &film->low);
  claim_say(d, explain_account_is_cable(a)
                   ? "With a film of {film} um on the bore the idle is at {speed} rpm, {short} below target."
                   : "With a film of {film} um the idle is at {speed} rpm, {short} below target.");
}

/* ---- The chain ---- */

/* How narrow the gap is that an idle lives on, beside the film: why so little does so much. */
static void say_gap(struct explain_account *a, const struct story_moment *clean) {
  struct claim_draft *d = &a->draft;
  const double ring_mm = 2.0 * UNITS_PI * a->sim->vehicle.engine->plant.throttle.bore.radius_m / UNITS_M_PER_MM;
  claim_begin(d, CLAIM_film_gap, CLAIM_PART_CHAIN, 6, clean->time_s);
  claim_window(d, 0.0, explain_account_end_s(a));
  claim_max(d, "film", CHANNEL_film_um, 0);
  claim_constant(d, "least", EXPLAIN_FILM_UM, 1, "um", "rule: less is no film");
  claim_above(d, "film", "least", 0.0);
  explain_account_window(a, clean);
  claim_mean(d, "area", CHANNEL_area_mm2, 1);
  claim_constant(d, "ring", ring_mm, 0, "mm", "engine: throttle bore circumference");
  claim_derive(d, "width_mm", CLAIM_STATISTIC_quotient, "area", "ring", 5, "mm");
  claim_constant(d, "um_per_mm", MM_UM, 0, "um/mm", "rule: a millimetre");
  claim_derive(d, "width", CLAIM_STATISTIC_product, "width_mm", "um_per_mm", 0, "um");
  claim_zero(d, CHANNEL_film_um, EXPLAIN_FILM_UM);
  if (explain_account_is_cable(a))
    claim_say(
        d, "The blade rests on its screw; its gap is {width} um wide on average (area_mm2 {area}), the film at most {film} um. "
           "The other air comes through the idle valve.");
  else
    claim_say(d, "The clean idle's gap is {width} um wide on average (area_mm2 {area}), the film comes to {film}.");
}

static void say_compensated(struct explain_account *a, const struct story_moment *clean, const struct story_moment *hidden) {
  struct claim_draft *d = &a->draft;
  const bool cable = explain_account_is_cable(a);
  const enum channel opening = cable ? CHANNEL_bypass_steps : CHANNEL_blade_deg;
  claim_begin(d, CLAIM_film_compensated, CLAIM_PART_CHAIN, 8, clean->time_s + 0.1); // as it grows: told before what comes then
  explain_account_window(a, clean);
  claim_mean(d, "before", opening, cable ? 0 : 1);
  hidden_idle(a, hidden);
  claim_mean(d, "after", opening, cable ? 0 : 1);
  claim_above(d, "after", "before", cable ? STEPS : BLADE_DEG);
  explain_account_promise_alike(a, clean, hidden, "film_um");
  if (cable)
    claim_say(d, "As the film grows the idle valve opens from {before} to {after} steps (bypass_steps): idle {held} rpm.");
  else
    claim_say(d, "As the film grows the blade opens from {before} to {after} degrees (blade_deg): idle {held} rpm.");
}

/* The controller and the learned share both at their upper limit; told without a film of its own: "hidden" has one number. */
static void say_limit(struct explain_account *a, const struct explain_film *film) {
  const struct recording_event *event = explain_account_event(a, RECORDING_CONTROLLER, RECORDING_VALUE_AT_LIMIT, 0.1);
  const struct recording_event *start = explain_account_event(a, RECORDING_ENGINE, RECORDING_VALUE_STARTED, 0.0);
  if (event && start && start->time_s <= event->time_s) return; // a start asks for more than an idle
  if (!event || event->time_s > film->cleaned_s || !explain_account_alone(a, event->time_s, event->time_s + 1.0)) return;
  const struct idle_air_params *air = &a->sim->vehicle.engine->computer.air;
  struct claim_draft *d = &a->draft;
  claim_begin(d, CLAIM_film_limit, CLAIM_PART_CHAIN, 7, event->time_s);
  claim_event(d, "time", event, 0);
  claim_window(d, event->time_s, event->time_s + 1.0);
  claim_at(d, "learned", CHANNEL_learned_pct, 0);
  claim_at(d, "effort", CHANNEL_effort_pct, 0);
  claim_constant(d, "learned_most", 100.0 * air->learned_most_ratio, 0, "%", "engine: idle_air.learned_most_pct");
  claim_constant(d, "effort_most", 100.0 * air->effort_most_ratio, 0, "%", "engine: idle_air.effort_most_pct");
  claim_equal(d, "learned", "learned_most", 0.5);
  claim_equal(d, "effort", "effort_most", 0.5);
  claim_nonzero(d, CHANNEL_film_um, EXPLAIN_FILM_UM);
  claim_say(d, "At {time} s the last reserve of air is used up (learned_pct {learned}, effort_pct {effort}).");
}

static void say_starved(struct explain_account *a, const struct story_moment *clean, const struct story_moment *low) {
  struct claim_draft *d = &a->draft;
  for (int with_spark = 1; with_spark >= 0; with_spark--) {
    claim_begin(d, CLAIM_film_starved, CLAIM_PART_CHAIN, 8, low->time_s);
    explain_account_window(a, clean);
    claim_mean(d, "air_before", CHANNEL_airflow_gps, 2);
    if (with_spark) claim_mean(d, "spark_before", CHANNEL_spark_deg, 0);
    slow_idle(a, low);
    claim_mean(d, "air", CHANNEL_airflow_gps, 2);
    claim_derive(d, "less", CLAIM_STATISTIC_percent_less, "air_before", "air", 0, "%");
    claim_below(d, "air", "air_before", AIR_GPS);
    if (with_spark) claim_mean(d, "spark", CHANNEL_spark_deg, 0);
    if (with_spark) claim_above(d, "spark", "spark_before", SPARK_DEG);
    explain_account_promise_alike(a, clean, low, "film_um");
    if (claim_say(d, with_spark
                         ? "The film takes {less} % of the air (airflow_gps); the spark, now {spark} degrees (spark_deg), helps."
                         : "The film takes {less} % of the air (airflow_gps)."))
      return;
  }
}

/* ---- All the rest ---- */

static void say_area(struct explain_account *a, const struct story_moment *filmed) {
  struct claim_draft *d = &a->draft;
  claim_begin(d, CLAIM_film_area, CLAIM_PART_MORE, 5, filmed->time_s);
  explain_account_window(a, filmed);
  claim_mean(d, "film", CHANNEL_film_um, 0);
  claim_mean(d, "clean_area", CHANNEL_clean_area_mm2, 1);
  claim_mean(d, "area", CHANNEL_area_mm2, 1);
  claim_derive(d, "less", CLAIM_STATISTIC_percent_less, "clean_area", "area", 0, "%");
  claim_below(d, "area", "clean_area", 0.05);
  claim_say(d, "The film of {film} um (film_um) leaves {area} mm2 of the gap open (area_mm2), where a clean bore would leave "
               "{clean_area} mm2 with the blade at the same place: {less} % of it is gone.");
}

/* Choked flow, and with an electronic throttle nearly all air goes by the blade. */
static void say_choked(struct explain_account *a, const struct story_moment *clean) {
  if (explain_account_is_cable(a)) return;
  struct claim_draft *d = &a->draft;
  const double ambient = conditions_ambient_pa(&a->sim->vehicle.conditions) / UNITS_PA_PER_KPA;
  claim_begin(d, CLAIM_film_choked, CLAIM_PART_MORE, 4, clean->time_s);
  explain_account_window(a, clean);
  claim_max(d, "manifold", CHANNEL_manifold_kpa, 1);
  claim_constant(d, "ambient", ambient, 1, "kPa", "scenario: ambient pressure");
  claim_derive(d, "ratio", CLAIM_STATISTIC_quotient, "manifold", "ambient", 2, "");
  claim_constant(d, "critical", orifice_critical_ratio(), 2, "", "rule: critical pressure ratio of air");
  claim_below(d, "ratio", "critical", 0.0);
  claim_promise(d, CLAIM_PREDICATE_alike, "film_um",
                explain_account_alike(a, clean->time_s, clean->time_s + clean->length_s) &&
                    explain_account_alike(a, clean->time_s, a->sim->scenario->duration_s));
  claim_say(d, "The air runs through the gap at the speed of sound (manifold {manifold} kPa at most, ambient {ambient} kPa: "
               "ratio {ratio}, "
               "below {critical}). More vacuum cannot draw more; only a wider gap lets more air in.");
}

static void say_learned(struct explain_account *a, const struct story_moment *clean, const struct story_moment *hidden) {
  struct claim_draft *d = &a->draft;
  claim_begin(d, CLAIM_film_learned, CLAIM_PART_MORE, 5, hidden->time_s);
  explain_account_window(a, clean);
  claim_mean(d, "learned_before", CHANNEL_learned_pct, 1);
  claim_mean(d, "air_before", CHANNEL_airflow_gps, 2);
  hidden_idle(a, hidden);
  claim_mean(d, "film", CHANNEL_film_um, 0);
  claim_mean(d, "learned", CHANNEL_learned_pct, 1);
  claim_mean(d, "air", CHANNEL_airflow_gps, 2);
  claim_above(d, "learned", "learned_before", 1.0);
  explain_account_promise_alike(a, clean, hidden, "film_um");
  claim_say(
      d,
      "With {film} um (film_um) hidden, the learned share has gone from {learned_before} to {learned} % (learned_pct); the air "
      "is {air} g/s where it was {air_before} (airflow_gps).");
}

static void say_sag(struct explain_account *a, const struct explain_film *film) {
  const struct story_moment *sag = &film->sag;
  if (!sag->happened || !film->hidden.happened || film->hidden.time_s < sag->time_s) return;
  if (reading(&film->hidden, CHANNEL_film_um) < reading(sag, CHANNEL_film_um) - SAME_UM) return;
  struct claim_draft *d = &a->draft;
  claim_begin(d, CLAIM_film_sag, CLAIM_PART_CHAIN, 6, sag->time_s);
  explain_account_window(a, sag);
  claim_mean(d, "speed", CHANNEL_speed_rpm, 0);
  claim_mean(d, "target", CHANNEL_target_rpm, 0);
  claim_difference(d, "short", "target", "speed", 0);
  claim_below(d, "speed", "target", SAG_RPM);
  claim_mean(d, "learned", CHANNEL_learned_pct, 0);
  claim_mean(d, "film", CHANNEL_film_um, 1);
  claim_window(d, fmax(0.0, sag->time_s - GROWS_S), sag->time_s);
  claim_min(d, "film_before", CHANNEL_film_um, 1);
  claim_below(d, "film_before", "film", GROWN_UM);
  hidden_idle(a, &film->hidden);
  claim_mean(d, "learned_after", CHANNEL_learned_pct, 0);
  claim_above(d, "learned_after", "learned", 1.0);
  claim_say(d, "While the film comes the idle sags to {speed} rpm, until the learned share has followed from {learned} to "
               "{learned_after} % (learned_pct).");
}

static void say_torch(struct explain_account *a, const struct story_moment *clean, const struct story_moment *low) {
  struct claim_draft *d = &a->draft;
  claim_begin(d, CLAIM_film_torch, CLAIM_PART_MORE, 3, low->time_s);
  explain_account_window(a, clean);
  claim_mean(d, "light_before", CHANNEL_closed_gap_mm2, 1);
  explain_account_window(a, low);
  claim_mean(d, "light", CHANNEL_closed_gap_mm2, 1);
  claim_below(d, "light", "light_before", 0.3);
  claim_say(
      d,
      explain_account_is_cable(a)
          ? "With the engine off, a torch behind the resting blade would show {light_before} mm2 of light in the clean bore and "
            "{light} mm2 with the film (closed_gap_mm2)."
          : "Key off, drive asleep and unplugged, the blade pressed shut: a torch behind it would show {light_before} mm2 of "
            "light in the clean bore and {light} mm2 with the film (closed_gap_mm2).");
}

/* Held off idle, once without the film and once with it: a share of the gap is less there. */
static void say_held(struct explain_account *a, const struct story_moment *filmed) {
  const double end_s = a->sim->scenario->duration_s;
  struct story_moment with, without;
  if (!story_held_between(a->recording, 0.0, end_s, reading(filmed, CHANNEL_film_um), 0.0, &with)) return;
  if (!story_held_between(a->recording, 0.0, end_s, 0.0, reading(&with, CHANNEL_speed_rpm), &without)) return;
  explain_account_keep_held(a, &without, "held, clean");
  explain_account_keep_held(a, &with, "held, %.0f um", reading(&with, CHANNEL_film_um));
  if (explain_account_is_cable(a)) return;
  struct claim_draft *d = &a->draft;
  claim_begin(d, CLAIM_film_held, CLAIM_PART_SURPRISE, 7, with.time_s);
  explain_account_window(a, filmed);
  claim_mean(d, "idle_clean_area", CHANNEL_clean_area_mm2, 1);
  claim_mean(d, "idle_area", CHANNEL_area_mm2, 1);
  claim_derive(d, "idle_less", CLAIM_STATISTIC_percent_less, "idle_clean_area", "idle_area", 0, "%");
  explain_account_window(a, &with);
  claim_mean(d, "speed", CHANNEL_speed_rpm, 0);
  claim_mean(d, "held_clean_area", CHANNEL_clean_area_mm2, 1);
  claim_mean(d, "held_area", CHANNEL_area_mm2, 1);
  claim_derive(d, "held_less", CLAIM_STATISTIC_percent_less, "held_clean_area", "held_area", 0, "%");
  claim_below(d, "held_less", "idle_less", 3.0);
  claim_above(d, "held_area", "idle_area", 1.0);
  claim_say(d,
            "Held at {speed} rpm the same film takes {held_less} % of the gap, at idle {idle_less} %: the gap is wider there.");
}

/* Cold, the same film that droops warm may not show: the fast idle takes more air, and the gap is wider. */
static void say_cold(struct explain_account *a, const struct explain_film *film) {
  struct claim_draft *d = &a->draft;
  claim_begin(d, CLAIM_film_cold, CLAIM_PART_HEADLINE, 10, film->cold.happened ? film->cold.time_s : NAN);
  slow_idle(a, &film->low);
  claim_mean(d, "warm_area", CHANNEL_area_mm2, 1);
  explain_account_window(a, &film->cold);
  claim_mean(d, "coolant", CHANNEL_coolant_c, 0);
  claim_mean(d, "cold_speed", CHANNEL_speed_rpm, 0);
  claim_mean(d, "cold_target", CHANNEL_target_rpm, 0);
  claim_mean(d, "cold_area", CHANNEL_area_mm2, 1);
  claim_equal(d, "cold_speed", "cold_target", EXPLAIN_TARGET_RPM);
  claim_above(d, "cold_area", "warm_area", 1.0);
  claim_say(d, "Cold the same film does not show: at {coolant} C the fast idle is on its target, {cold_speed} rpm, with a gap of "
               "{cold_area} mm2 instead of {warm_area} (area_mm2).");
}

/* What the scenario does to the film on the wall, told whether an idle shows it or not. */
static void say_film_step(struct explain_account *a, double before_um, double film_um, double from_s, double to_s) {
  struct claim_draft *d = &a->draft;
  char source[CLAIM_SOURCE_SIZE];
  const bool less = film_um < before_um, sudden = to_s <= from_s;
  snprintf(source, sizeof source, "scenario: film_um@%.6g", to_s);
  claim_begin(d, CLAIM_film_came, CLAIM_PART_MORE, 2, from_s);
  claim_window(d, from_s, fmin(fmax(to_s, from_s + 1.0), explain_account_end_s(a)));
  claim_constant(d, "film", film_um, 0, "um", source);
  claim_constant(d, "from", from_s, 0, "s", "scenario: step");
  claim_constant(d, "to", to_s, 0, "s", "scenario: end of the ramp");
  if (to_s > explain_account_end_s(a))
    claim_say(d, less ? "From {from} s on the film is taken away; some of it is left at the end."
                      : "From {from} s on a film grows; at the end it is still growing.");
  else if (less && film_um < EXPLAIN_FILM_UM)
    claim_say(d, sudden ? "At {from} s the film is taken away." : "From {from} to {to} s the film is taken away.");
  else if (sudden && from_s <= 0.0)
    claim_say(d, "From the start there is a film of {film} um (film_um).");
  else if (sudden)
    claim_say(d, less ? "At {from} s the film is made thinner: {film} um (film_um)."
                      : "At {from} s a film comes: {film} um (film_um).");
  else
    claim_say(d, less ? "From {from} to {to} s the film is made thinner: {film} um (film_um)."
                      : "From {from} to {to} s a film grows: {film} um (film_um).");
}

/* A step at the very start sets the film: what was there before it is never seen. */
static bool changes_at_once(const struct scenario *scenario) {
  for (size_t i = 0; i < scenario->step_count && scenario->steps[i].at_s <= 0.0; i++)
    for (size_t k = 0; k < scenario->steps[i].set_count; k++)
      if (strcmp(condition_rows[scenario->steps[i].sets[k].condition].field.key, "film_um") == 0)
        return scenario->steps[i].ramp_s <= 0.0;
  return false;
}

static void say_film_steps(struct explain_account *a) {
  const struct scenario *scenario = a->sim->scenario;
  double before_um = scenario->initial.film_m / UNITS_M_PER_UM;
  if (before_um >= EXPLAIN_FILM_UM && !changes_at_once(scenario)) say_film_step(a, 0.0, before_um, 0.0, 0.0);
  int told = 0;
  for (size_t i = 0; i < scenario->step_count && told < FILM_STEPS_MAX; i++) {
    const struct scenario_step *step = &scenario->steps[i];
    for (size_t k = 0; k < step->set_count; k++) {
      if (strcmp(condition_rows[step->sets[k].condition].field.key, "film_um") != 0) continue;
      const double film_um = step->sets[k].value / UNITS_M_PER_UM;
      if (fabs(film_um - before_um) < EXPLAIN_FILM_UM) continue;
      say_film_step(a, before_um, film_um, step->at_s, step->at_s + fmax(step->ramp_s, 0.0));
      before_um = film_um;
      told++;
    }
  }
}

static void say_there(struct explain_account *a) {
  struct claim_draft *d = &a->draft;
  claim_begin(d, CLAIM_film_there, CLAIM_PART_MORE, 1, 0.0);
  claim_window(d, 0.0, explain_account_end_s(a));
  claim_max(d, "film", CHANNEL_film_um, 0);
  claim_say(d, "The film on the bore is {film} um at its thickest (film_um).");
}

void explain_film_tell(struct explain_account *a, const struct explain_film *film) {
  if (a->story->largest_film_um < EXPLAIN_FILM_UM) return;
  say_there(a);
  const struct story_moment *clean = &film->clean, *hidden = &film->hidden, *low = &film->low;
  const bool droops = low->happened && short_of(low) > EXPLAIN_TARGET_RPM;
  const struct story_moment *filmed = droops ? low : hidden->happened ? hidden : &film->sag;
  say_film_steps(a);
  say_headline(a, film);
  if (clean->happened) say_gap(a, clean);
  if (clean->happened && hidden->happened) say_compensated(a, clean, hidden);
  say_cold(a, film);
  say_sag(a, film);
  say_limit(a, film);
  if (clean->happened && droops) say_starved(a, clean, low);
  if (filmed->happened) say_area(a, filmed);
  if (clean->happened) say_choked(a, clean);
  if (clean->happened && hidden->happened) say_learned(a, clean, hidden);
  if (clean->happened && low->happened) say_torch(a, clean, low);
  if (filmed->happened) say_held(a, filmed);
  if (clean->happened && filmed->happened) explain_mixture_film(a, clean, filmed);
}
