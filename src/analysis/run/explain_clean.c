/* What the clean changed: the learned share outlives the film. And the idle as such, where nothing else happened. */
#include "analysis/run/explain_account.h"

#include "analysis/run/window.h"

#include <math.h>
#include <stdio.h>

#define RACE_RPM    20.0
#define PATIENCE_S  30.0 // from a clean to the start after it
#define MINUTE_S    60.0
#define HUNTS_RPM   25.0 // standard deviation; a sound idle has 3, an uneven one 10
#define SOON_S      40.0 // a start has died away, and ten seconds have been looked at
#define AT_REST_PCT 2.0  // effort that no longer moves the learned share to speak of
#define LEARNED_PCT 2.0

static double reading(const struct story_moment *moment, enum channel channel) { return moment->mean[channel]; }

/* The idle after the clean: fastest while it still unlearns, the first on target, the last. */
struct after {
  struct story_moment fastest, back, last;
  const struct recording_event *started, *reset; // NULL if none
  double from_s;                                 // the engine runs again
};

static void find_after(const struct explain_account *a, double cleaned_s, struct after *after) {
  const struct recording *r = a->recording;
  const double end = explain_account_end_s(a);
  *after = (struct after){.from_s = cleaned_s};
  after->started = explain_account_event(a, RECORDING_ENGINE, RECORDING_VALUE_STARTED, cleaned_s);
  after->reset = explain_account_event(a, RECORDING_CONTROLLER, RECORDING_VALUE_RESET, cleaned_s - 1.0);
  if (after->started && after->started->time_s < cleaned_s + PATIENCE_S)
    after->from_s = after->started->time_s;
  else
    after->started = NULL;
  struct story_moment now;
  // one stretch more or less by a last bit changes nothing. NOLINTNEXTLINE(cert-flp30-c)
  for (double from = ceil(after->from_s); from + STORY_STRETCH_S <= end; from += STORY_STEP_S) {
    if (!explain_account_alone(a, from, from + STORY_STRETCH_S) || !story_idle_stretch(r, from, &now)) continue;
    if (reading(&now, CHANNEL_film_um) > EXPLAIN_FILM_UM) break; // a film again
    after->last = now;
    const double over = reading(&now, CHANNEL_speed_rpm) - reading(&now, CHANNEL_target_rpm);
    if (!after->fastest.happened || reading(&now, CHANNEL_speed_rpm) > reading(&after->fastest, CHANNEL_speed_rpm)) {
      after->fastest = now;
    }
    if (over > RACE_RPM) after->back.happened = false;
    if (!after->back.happened && fabs(over) < EXPLAIN_TARGET_RPM) after->back = now;
  }
}

/* {speed} and {over} of the fastest idle after the clean. */
static void fast_idle(struct explain_account *a, const struct after *after) {
  struct claim_draft *d = &a->draft;
  explain_account_window(a, &after->fastest);
  claim_mean(d, "speed", CHANNEL_speed_rpm, 0);
  claim_mean(d, "target", CHANNEL_target_rpm, 0);
  claim_difference(d, "over", "speed", "target", 0);
  claim_above(d, "speed", "target", RACE_RPM);
  claim_zero(d, CHANNEL_film_um, EXPLAIN_FILM_UM);
}

/* Back on target, {took} minutes after {from}. */
static void back_on_target(struct explain_account *a, const struct after *after) {
  struct claim_draft *d = &a->draft;
  explain_account_window(a, &after->back);
  claim_mean(d, "back", CHANNEL_speed_rpm, 0);
  claim_mean(d, "back_target", CHANNEL_target_rpm, 0);
  claim_equal(d, "back", "back_target", EXPLAIN_TARGET_RPM);
  claim_at(d, "back_s", CHANNEL_time_s, 0);
  if (after->started)
    claim_event(d, "from_s", after->started, 0);
  else
    claim_constant(d, "from_s", after->from_s, 0, "s", "scenario: bore cleaned");
  claim_difference(d, "took_s", "back_s", "from_s", 0);
  claim_before(d, "from_s", "back_s");
}

static void say_headline(struct explain_account *a, const struct after *after, double cleaned_s) {
  struct claim_draft *d = &a->draft;
  if (after->back.happened) {
    claim_begin(d, CLAIM_clean_raced_and_back, CLAIM_PART_HEADLINE, 8, cleaned_s);
    fast_idle(a, after);
    back_on_target(a, after);
    claim_constant(d, "minute_s", MINUTE_S, 0, "s", "rule: a minute");
    claim_derive(d, "took", CLAIM_STATISTIC_quotient, "took_s", "minute_s", 1, "min");
    if (claim_say(d, "Cleaned, it races at {speed} rpm; it takes {took} minutes back to target.")) return;
    claim_begin(d, CLAIM_clean_back, CLAIM_PART_HEADLINE, 8, cleaned_s);
    back_on_target(a, after);
    explain_account_window(a, &after->fastest);
    claim_mean(d, "speed", CHANNEL_speed_rpm, 0);
    claim_mean(d, "target", CHANNEL_target_rpm, 0);
    claim_equal(d, "speed", "target", RACE_RPM);
    if (after->reset) {
      claim_event(d, "reset_s", after->reset, 0);
      claim_constant(d, "soon", SOON_S, 0, "s", "rule: at once");
      claim_before(d, "reset_s", "back_s");
      claim_below(d, "took_s", "soon", 0.0);
    }
    claim_say(d, after->reset
                     ? "After the clean, with the learned share set back by the scan tool, it idles at {back} rpm immediately."
                     : "After the clean it idles at {back} rpm, without racing.");
    return;
  }
  if (!after->fastest.happened) return;
  claim_begin(d, CLAIM_clean_raced, CLAIM_PART_HEADLINE, 8, cleaned_s);
  fast_idle(a, after);
  claim_say(d, "After the clean it races at {speed} rpm, {over} above its target, and is not back when the run ends.");
}

static void say_raced(struct explain_account *a, const struct after *after, double cleaned_s) {
  struct claim_draft *d = &a->draft;
  claim_begin(d, CLAIM_clean_still_learned, CLAIM_PART_CHAIN, 9, cleaned_s);
  claim_window(d, cleaned_s, after->fastest.happened ? after->fastest.time_s : cleaned_s);
  claim_at(d, "learned", CHANNEL_learned_pct, 0);
  fast_idle(a, after);
  claim_mean(d, "learned_then", CHANNEL_learned_pct, 0);
  claim_constant(d, "least", LEARNED_PCT, 0, "%", "rule: less is nothing learned");
  claim_above(d, "learned_then", "least", 0.0);
  claim_say(d, "After the clean the computer still adds the learned {learned} % (learned_pct): {over} rpm too fast.");
}

static void say_limit(struct explain_account *a, const struct after *after) {
  struct claim_draft *d = &a->draft;
  const double least_pct = 100.0 * a->sim->vehicle.engine->computer.air.effort_least_ratio;
  claim_begin(d, CLAIM_clean_lower_limit, CLAIM_PART_CHAIN, 5, after->fastest.time_s + 1.0);
  fast_idle(a, after);
  claim_mean(d, "effort", CHANNEL_effort_pct, 0);
  claim_constant(d, "effort_least", least_pct, 0, "%", "engine: idle_air.effort_least_pct");
  claim_equal(d, "effort", "effort_least", 0.3);
  claim_say(d,
            "It may take away only so much at once (effort_pct {effort}), so that it never starves an engine; the rest must be "
            "unlearned.");
}

static void say_unlearned(struct explain_account *a, const struct after *after) {
  struct claim_draft *d = &a->draft;
  claim_begin(d, CLAIM_clean_unlearned, CLAIM_PART_CHAIN, 6, after->back.happened ? after->back.time_s : NAN);
  explain_account_window(a, &after->fastest);
  claim_mean(d, "learned_then", CHANNEL_learned_pct, 0);
  claim_mean(d, "speed_then", CHANNEL_speed_rpm, 0);
  back_on_target(a, after);
  claim_mean(d, "learned", CHANNEL_learned_pct, 0);
  claim_below(d, "learned", "learned_then", 1.0);
  claim_above(d, "speed_then", "back", RACE_RPM);
  claim_say(
      d, "It unlearns by itself, from {learned_then} to {learned} % (learned_pct): {took_s} s after the start the idle is back.");
}

void explain_clean_tell(struct explain_account *a, const struct explain_film *film) {
  if (!isfinite(film->cleaned_s)) return;
  struct after after;
  find_after(a, film->cleaned_s, &after);
  if (!after.fastest.happened) return;
  say_headline(a, &after, film->cleaned_s);
  say_raced(a, &after, film->cleaned_s);
  say_limit(a, &after);
  say_unlearned(a, &after);
}

/* ---- The idle as such ---- */

static bool has_part(const struct explain_account *a, enum claim_part part) {
  for (size_t i = 0; i < a->draft.count; i++)
    if (a->draft.claims[i].part == part) return true;
  return false;
}

/* All the run in idle, on target from start to end. */
static void say_quiet(struct explain_account *a) {
  struct claim_draft *d = &a->draft;
  const double end = explain_account_end_s(a);
  claim_begin(d, CLAIM_idle_all_through, CLAIM_PART_HEADLINE, 3, 0.0);
  claim_window(d, 0.0, end);
  claim_mean(d, "speed", CHANNEL_speed_rpm, 0);
  claim_mean(d, "target", CHANNEL_target_rpm, 0);
  claim_min(d, "least", CHANNEL_speed_rpm, 0);
  claim_max(d, "most", CHANNEL_speed_rpm, 0);
  claim_equal(d, "speed", "target", EXPLAIN_TARGET_RPM);
  claim_zero(d, CHANNEL_pedal_pct, 1.0);
  claim_nonzero(d, CHANNEL_target_rpm, 1.0);
  claim_nonzero(d, CHANNEL_speed_rpm, 1.0);
  claim_say(d, "The engine idles all through at {speed} rpm, between {least} and {most}.");
}

/* Where nothing else fits: what the speed did. */
static void say_range(struct explain_account *a) {
  struct claim_draft *d = &a->draft;
  claim_begin(d, CLAIM_speed_range, CLAIM_PART_HEADLINE, 1, 0.0);
  claim_window(d, 0.0, explain_account_end_s(a));
  claim_min(d, "least", CHANNEL_speed_rpm, 0);
  claim_max(d, "most", CHANNEL_speed_rpm, 0);
  if (claim_value_of(d->claim, "most")->value > 0.0)
    claim_say(d, "The engine's speed lies between {least} and {most} rpm.");
  else
    claim_say(d, "The engine stands all through.");
}

static void say_first(struct explain_account *a, enum claim_part part) {
  struct claim_draft *d = &a->draft;
  const struct story_moment *first = &a->story->first;
  claim_begin(d, CLAIM_idle_first, part, 2, first->time_s);
  explain_account_window(a, first);
  claim_mean(d, "speed", CHANNEL_speed_rpm, 0);
  claim_mean(d, "target", CHANNEL_target_rpm, 0);
  claim_mean(d, "air", CHANNEL_airflow_gps, 2);
  claim_at(d, "time", CHANNEL_time_s, 0);
  claim_steady(d, CHANNEL_speed_rpm, EXPLAIN_REST_RPM);
  claim_max(d, "sd", CHANNEL_speed_sd_rpm, 0);
  claim_constant(d, "hunts", HUNTS_RPM, 0, "rpm", "rule: a speed that hunts is not steady");
  claim_below(d, "sd", "hunts", 0.1);
  claim_say(d, "The first steady idle, from {time} s on: {speed} rpm (target_rpm {target}) on {air} g/s of air (airflow_gps).");
}

void explain_quiet_tell(struct explain_account *a) {
  struct claim_draft *d = &a->draft;
  const struct story_moment *first = &a->story->first;
  const bool told = has_part(a, CLAIM_PART_HEADLINE);
  if (!told) say_quiet(a);
  if (first->happened) say_first(a, has_part(a, CLAIM_PART_HEADLINE) ? CLAIM_PART_MORE : CLAIM_PART_HEADLINE);
  if (!has_part(a, CLAIM_PART_HEADLINE)) say_range(a);
  if (!first->happened) return;
  if (has_part(a, CLAIM_PART_CHAIN)) return;
  claim_begin(d, CLAIM_idle_blade, CLAIM_PART_CHAIN, 3, first->time_s);
  explain_account_window(a, first);
  claim_mean(d, "air", CHANNEL_airflow_gps, 2);
  claim_mean(d, "area", CHANNEL_area_mm2, 1);
  if (explain_account_is_cable(a)) {
    claim_mean(d, "steps", CHANNEL_bypass_steps, 0);
    claim_say(d, "At first the idle takes {air} g/s of air (airflow_gps), past the resting blade and the idle valve, {steps} "
                 "steps open (bypass_steps).");
  } else {
    claim_mean(d, "blade", CHANNEL_blade_deg, 1);
    claim_say(d, "At first the idle takes {air} g/s of air (airflow_gps), with the blade {blade} degrees open (blade_deg), a gap "
                 "of {area} mm2.");
  }
}
