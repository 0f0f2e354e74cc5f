#include "analysis/run/story.h"

#include "analysis/run/window.h"
#include "base/bounds.h"

#include <math.h>

#define STRETCH_S      STORY_STRETCH_S // long beside the idle loop, short beside a film
#define STEP_S         STORY_STEP_S
#define SETTLE_S       12.0 // a start or a load change dies away in two, and the reading of unsteadiness looks back ten
#define ON_TARGET_RPM  10.0 // as near as a needle shows; a mean over ten seconds scatters by some 3 rpm
#define FILM_UM        0.5  // less is no deposit worth speaking of
#define CLEANED_UM     5.0  // a fall by this much between two rows is a cleaning, not wear
#define AT_REST_PCT    2.0  // effort that no longer moves the learned offset to speak of
#define SAME_FILM_UM   3.0  // two moments with the same film: what a slow ramp makes in a stretch
#define HELD_STRETCH_S 4.0
#define HELD_PEDAL_PCT 2.0
#define HELD_BAND_RPM  120.0 // a foot on the pedal, and the scatter of the engine
#define SAME_SPEED_RPM 60.0

/* What disturbs an idle: rows are steady only if none of these changed within the settling time before. */
static const struct {
  enum channel channel;
  double by; // and more
} disturbing[] = {{CHANNEL_air_conditioning, 0.5}, {CHANNEL_drive, 0.5}, {CHANNEL_pedal_pct, 0.5}, {CHANNEL_film_um, CLEANED_UM}};

static bool row_idles(const struct recording *r, size_t row) {
  return recording_value(r, row, CHANNEL_speed_rpm) > 0.0 && recording_value(r, row, CHANNEL_target_rpm) > 0.0 &&
         recording_value(r, row, CHANNEL_pedal_pct) < 1.0;
}

/* Idling all through, nothing switched since the settling time before it, not within settling of a start. */
static bool steady(const struct recording *r, double from_s, double to_s) {
  const struct window window = window_between(r, from_s - SETTLE_S, to_s);
  if (window_rows(window) < 3) return false;
  double least[ARRAY_COUNT(disturbing)], most[ARRAY_COUNT(disturbing)];
  for (size_t i = 0; i < ARRAY_COUNT(disturbing); i++) {
    least[i] = INFINITY;
    most[i] = -INFINITY;
  }
  for (size_t row = window.first; row < window.last; row++) {
    if (!row_idles(r, row)) return false;
    for (size_t i = 0; i < ARRAY_COUNT(disturbing); i++) {
      const double value = recording_value(r, row, disturbing[i].channel);
      least[i] = bounds_smaller(value, least[i]);
      most[i] = bounds_larger(value, most[i]);
    }
  }
  for (size_t i = 0; i < ARRAY_COUNT(disturbing); i++)
    if (most[i] - least[i] >= disturbing[i].by) return false;
  return true;
}

static bool unloaded(const struct recording *r, double from_s, double to_s) {
  const struct window window = window_between(r, from_s, to_s);
  return window_most(r, window, CHANNEL_air_conditioning) < 0.5 && window_most(r, window, CHANNEL_drive) < 0.5;
}

static void set_moment(const struct recording *r, double from_s, double to_s, struct story_moment *moment) {
  const struct window window = window_between(r, from_s, to_s);
  moment->happened = window_rows(window) > 0;
  moment->time_s = from_s;
  moment->length_s = to_s - from_s;
  for (int i = 0; i < CHANNEL_COUNT; i++) moment->mean[i] = window_mean(r, window, (enum channel)i);
}

/* What one pass over the steady stretches has seen so far. */
struct search {
  const struct recording *recording;
  struct story *story;
  double cleaned_s; // INFINITY if never
  double lowest_rpm, fastest_rpm;
};

static void judge(struct search *search, double from_s) {
  const struct recording *r = search->recording;
  struct story *story = search->story;
  struct story_moment now = {0};
  set_moment(r, from_s, from_s + STRETCH_S, &now);
  const double speed = now.mean[CHANNEL_speed_rpm], target = now.mean[CHANNEL_target_rpm];
  const double off = speed - target;
  const bool on_target = fabs(off)<ON_TARGET_RPM, filmed = now.mean[CHANNEL_film_um]> FILM_UM;
  if (!story->first.happened) story->first = now;
  story->last = now;
  if (from_s < search->cleaned_s) {
    if (filmed && on_target) story->hidden = now;
    if (filmed && (!story->lowest.happened || speed < search->lowest_rpm)) {
      story->lowest = now;
      search->lowest_rpm = speed;
    }
    return;
  }
  if (!story->fastest.happened || speed > search->fastest_rpm) {
    story->fastest = now;
    search->fastest_rpm = speed;
    story->relearned.happened = false;
  }
  if (!story->relearned.happened && on_target && fabs(now.mean[CHANNEL_effort_pct]) < AT_REST_PCT) story->relearned = now;
}

/* Time of the first row whose film is thinner than the row before by a cleaning; INFINITY if none. */
static double find_cleaning(const struct recording *r, struct story *story) {
  story->largest_film_um = 0.0;
  double cleaned_s = INFINITY;
  for (size_t row = 0; row < r->row_count; row++) {
    const double film = recording_value(r, row, CHANNEL_film_um);
    story->largest_film_um = fmax(story->largest_film_um, film);
    if (row == 0 || isfinite(cleaned_s)) continue;
    if (recording_value(r, row - 1, CHANNEL_film_um) - film > CLEANED_UM) cleaned_s = recording_value(r, row, CHANNEL_time_s);
  }
  if (isfinite(cleaned_s)) {
    const struct window before = window_between(r, cleaned_s - STEP_S, cleaned_s);
    story->clean.happened = true;
    story->clean.time_s = cleaned_s;
    for (int i = 0; i < CHANNEL_COUNT; i++) story->clean.mean[i] = recording_value(r, before.first, (enum channel)i);
  }
  return cleaned_s;
}

static double film_at(const struct recording *r, double time_s) {
  const struct window window = window_between(r, time_s - STEP_S, time_s + STEP_S);
  return window_rows(window) ? recording_value(r, window.first, CHANNEL_film_um) : NAN;
}

static void find_events(const struct recording *r, struct story *story) {
  for (size_t i = 0; i < r->event_count; i++) {
    const struct recording_event *event = &r->events[i];
    const double film = film_at(r, event->time_s);
    if (event->kind == RECORDING_CONTROLLER && event->value == RECORDING_VALUE_LEARNED_LIMIT && !story->learned_limit) {
      story->learned_limit = true;
      story->learned_limit_s = event->time_s;
      story->learned_limit_film_um = film;
    } else if (event->kind == RECORDING_CONTROLLER && event->value == RECORDING_VALUE_AT_LIMIT && !story->at_limit) {
      story->at_limit = true;
      story->at_limit_s = event->time_s;
      story->at_limit_film_um = film;
    } else if (event->kind == RECORDING_ENGINE && event->value == RECORDING_VALUE_STALL && !story->stalled) {
      story->stalled = true;
      story->stalled_s = event->time_s;
      story->stalled_film_um = film;
      const struct window before = window_between(r, event->time_s - 5.0, event->time_s);
      story->stalled_speed_rpm = window_mean(r, before, CHANNEL_speed_rpm);
    }
  }
}

bool story_idle_stretch(const struct recording *r, double from_s, struct story_moment *moment) {
  *moment = (struct story_moment){0};
  if (!steady(r, from_s, from_s + STRETCH_S) || !unloaded(r, from_s, from_s + STRETCH_S)) return false;
  set_moment(r, from_s, from_s + STRETCH_S, moment);
  return moment->happened;
}

static bool film_fits(const struct story_moment *moment, double film_um) {
  return film_um < 0.0 || fabs(moment->mean[CHANNEL_film_um] - film_um) < SAME_FILM_UM;
}

bool story_idle_between(const struct recording *r, double from_s, double to_s, double film_um, struct story_moment *moment) {
  // one stretch more or less by a last bit changes nothing. NOLINTNEXTLINE(cert-flp30-c)
  for (double at = to_s - STRETCH_S; at >= from_s; at -= STEP_S) {
    if (!steady(r, at, at + STRETCH_S) || !unloaded(r, at, at + STRETCH_S)) continue;
    set_moment(r, at, at + STRETCH_S, moment);
    if (film_fits(moment, film_um)) return true;
  }
  *moment = (struct story_moment){0};
  return false;
}

/* Pedal pressed and speed as good as constant. */
static bool held(const struct recording *r, double from_s, double to_s) {
  const struct window window = window_between(r, from_s, to_s);
  if (window_rows(window) < 3 || window_least(r, window, CHANNEL_pedal_pct) < HELD_PEDAL_PCT) return false;
  const double least = window_least(r, window, CHANNEL_speed_rpm), most = window_most(r, window, CHANNEL_speed_rpm);
  return least > 0.0 && most - least < HELD_BAND_RPM;
}

bool story_held_between(const struct recording *r, double from_s, double to_s, double film_um, double near_rpm,
                        struct story_moment *moment) {
  // one stretch more or less by a last bit changes nothing. NOLINTNEXTLINE(cert-flp30-c)
  for (double at = to_s - HELD_STRETCH_S; at >= from_s; at -= STEP_S) {
    if (!held(r, at, at + HELD_STRETCH_S)) continue;
    set_moment(r, at, at + HELD_STRETCH_S, moment);
    const double speed = moment->mean[CHANNEL_speed_rpm];
    if (film_fits(moment, film_um) && (near_rpm <= 0.0 || fabs(speed - near_rpm) < SAME_SPEED_RPM)) return true;
  }
  *moment = (struct story_moment){0};
  return false;
}

void story_find(const struct recording *recording, struct story *story) {
  *story = (struct story){0};
  if (recording->row_count == 0) return;
  struct search search = {.recording = recording, .story = story};
  search.cleaned_s = find_cleaning(recording, story);
  find_events(recording, story);
  story->load_count = load_steps_find(recording, NULL, story->loads, STORY_LOAD_MAX);
  const double end = recording_value(recording, recording->row_count - 1, CHANNEL_time_s);
  for (long i = 0; (double)i * STEP_S + STRETCH_S <= end; i++) {
    const double from = (double)i * STEP_S;
    if (steady(recording, from, from + STRETCH_S) && unloaded(recording, from, from + STRETCH_S)) judge(&search, from);
  }
}
