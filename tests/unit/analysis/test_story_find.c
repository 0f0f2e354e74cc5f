/* analysis/story: the moments of a run, found in recordings made by hand so that the answer is known. Truth:
 * hand values; no engine is simulated here. */
#include "analysis/run/story.h"

#include "support/check.h"

#include <math.h>
#include <stdio.h>

/* What a made-up run is at a time. */
struct moment {
  double speed_rpm, film_um, learned_pct, effort_pct, pedal_pct, air_conditioning;
};

#define TARGET_RPM 850.0
#define ROW_S      0.1

static void make(struct recording *recording, double length_s, struct moment (*at)(double time_s)) {
  struct error error;
  recording_init(recording);
  for (long i = 0; (double)i * ROW_S <= length_s + 1e-9; i++) {
    const struct moment now = at((double)i * ROW_S);
    double values[CHANNEL_COUNT] = {0};
    values[CHANNEL_time_s] = (double)i * ROW_S;
    values[CHANNEL_speed_rpm] = now.speed_rpm;
    values[CHANNEL_target_rpm] = TARGET_RPM;
    values[CHANNEL_film_um] = now.film_um;
    values[CHANNEL_learned_pct] = now.learned_pct;
    values[CHANNEL_effort_pct] = now.effort_pct;
    values[CHANNEL_pedal_pct] = now.pedal_pct;
    values[CHANNEL_air_conditioning] = now.air_conditioning;
    assert_int_equal(recording_append(recording, values, &error), STATUS_OK);
  }
}

static void add_event(struct recording *recording, double time_s, enum recording_event_kind kind, int value) {
  struct error error;
  const struct recording_event event = {.time_s = time_s, .kind = kind, .code = -1, .value = value};
  assert_int_equal(recording_add_event(recording, &event, &error), STATUS_OK);
}

static void nothing_recorded(void **state) {
  (void)state;
  struct recording recording;
  struct story story;
  recording_init(&recording);
  story_find(&recording, &story);
  assert_false(story.first.happened || story.hidden.happened || story.lowest.happened || story.clean.happened);
  assert_false(story.fastest.happened || story.relearned.happened || story.last.happened || story.stalled);
  assert_false(story.learned_limit || story.at_limit);
  assert_int_equal(story.load_count, 0);
}

static struct moment clean_idle(double time_s) { return (struct moment){.speed_rpm = time_s < 30.0 ? 851.0 : 849.0}; }

/* A clean engine that idles: a first and a last moment, and no film story at all. */
static void clean_engine(void **state) {
  (void)state;
  struct recording recording;
  struct story story;
  make(&recording, 60.0, clean_idle);
  story_find(&recording, &story);
  assert_true(story.first.happened);
  check_close(story.first.mean[CHANNEL_speed_rpm], 851.0, 1e-9);
  check_close(story.last.mean[CHANNEL_speed_rpm], 849.0, 1e-9);
  assert_false(story.hidden.happened || story.lowest.happened || story.clean.happened || story.fastest.happened);
  check_close(story.largest_film_um, 0.0, 0.0);
  recording_destroy(&recording);
}

/* Film from 50 s, 0.2 um/s. Hidden to 100 s (10 um), then 1 rpm a second down; cleaned at 200 s (30 um, 750
 * rpm); then 1000 rpm, 2 rpm a second down to target at 275 s, learned offset at rest from then. */
static struct moment film_story(double time_s) {
  struct moment now = {.speed_rpm = TARGET_RPM};
  if (time_s < 199.95) {
    now.film_um = fmax(0.2 * (time_s - 50.0), 0.0);
    now.speed_rpm -= fmax(time_s - 100.0, 0.0);
    now.effort_pct = 8.0;
  } else {
    now.speed_rpm = fmax(1000.0 - 2.0 * (time_s - 200.0), TARGET_RPM);
    now.effort_pct = time_s < 274.95 ? -5.0 : 0.0;
    now.learned_pct = 3.0;
  }
  return now;
}

static void whole_story(void **state) {
  (void)state;
  struct recording recording;
  struct story story;
  make(&recording, 330.0, film_story);
  add_event(&recording, 90.0, RECORDING_CONTROLLER, RECORDING_VALUE_LEARNED_LIMIT);
  add_event(&recording, 99.0, RECORDING_CONTROLLER, RECORDING_VALUE_AT_LIMIT);
  add_event(&recording, 150.0, RECORDING_CONTROLLER, RECORDING_VALUE_AT_LIMIT); // a second time: not the
                                                                                // first
  story_find(&recording, &story);
  check_close(story.first.mean[CHANNEL_film_um], 0.0, 0.0);
  // a ten-second mean is 10 rpm low when its middle is 10 s past 100 s: it began at about 105 s
  assert_true(story.hidden.happened);
  check_close(story.hidden.time_s, 105.0, 1.5);
  check_above(story.hidden.mean[CHANNEL_speed_rpm], TARGET_RPM - 10.0);
  // the last steady stretch before the cleaning is the lowest: near 750 rpm and 30 um
  assert_true(story.lowest.happened);
  check_close(story.lowest.mean[CHANNEL_speed_rpm], 755.0, 2.0);
  check_close(story.lowest.mean[CHANNEL_film_um], 29.0, 0.6);
  assert_true(story.clean.happened);
  check_close(story.clean.time_s, 200.0, 0.05);
  check_close(story.clean.mean[CHANNEL_film_um], 29.8, 0.1); // a second before
  check_close(story.largest_film_um, 29.98, 0.01);
  // twelve seconds after the cleaning the first steady stretch begins: 976 to 956 rpm
  assert_true(story.fastest.happened);
  check_close(story.fastest.mean[CHANNEL_speed_rpm], 965.0, 4.0);
  assert_true(story.relearned.happened);
  check_above(story.relearned.time_s, 268.0);
  check_below(story.relearned.time_s, 277.0);
  check_close(story.last.mean[CHANNEL_learned_pct], 3.0, 1e-9);
  assert_true(story.learned_limit && story.at_limit);
  check_close(story.learned_limit_s, 90.0, 0.0);
  check_close(story.learned_limit_film_um, 8.0, 0.3);
  check_close(story.at_limit_s, 99.0, 0.0);
  check_close(story.at_limit_film_um, 9.8, 0.3);
  assert_false(story.stalled);
  recording_destroy(&recording);
}

/* Compressor on from 30 s to 50 s: 100 rpm down for a second, then back. */
static struct moment loaded(double time_s) {
  struct moment now = {.speed_rpm = TARGET_RPM};
  now.air_conditioning = time_s > 29.95 && time_s < 49.95 ? 1.0 : 0.0;
  if (time_s > 29.95 && time_s < 30.95) now.speed_rpm = 750.0;
  return now;
}

static void loads_found(void **state) {
  (void)state;
  struct recording recording;
  struct story story;
  make(&recording, 90.0, loaded);
  story_find(&recording, &story);
  assert_int_equal(story.load_count, 2);
  check_close(story.loads[0].time_s, 30.0, 1e-6);
  assert_true(story.loads[0].on && story.loads[0].kind == LOAD_STEPS_compressor);
  check_close(story.loads[0].lowest_rpm, 750.0, 1e-9);
  check_close(story.loads[1].time_s, 50.0, 1e-6);
  assert_false(story.loads[1].on);
  check_close(story.loads[1].before_rpm, TARGET_RPM, 1e-9);
  check_close(story.loads[1].lowest_rpm, TARGET_RPM, 1e-9);
  recording_destroy(&recording);
}

static struct moment many_loads(double time_s) {
  return (struct moment){.speed_rpm = TARGET_RPM, .air_conditioning = fmod(time_s + 0.05, 2.0) < 1.0 ? 0.0 : 1.0};
}

/* More loads than there is room for: the first ones are kept. A pedal that moves leaves no steady stretch. */
static void bounds(void **state) {
  (void)state;
  struct recording recording;
  struct story story;
  make(&recording, 300.0, many_loads);
  story_find(&recording, &story);
  assert_int_equal(story.load_count, STORY_LOAD_MAX);
  assert_false(story.first.happened); // never twelve seconds in peace
  recording_destroy(&recording);
}

static struct moment pressed(double time_s) {
  return (struct moment){.speed_rpm = TARGET_RPM, .pedal_pct = time_s > 5.0 ? 10.0 : 0.0};
}

static void pedal_is_no_idle(void **state) {
  (void)state;
  struct recording recording;
  struct story story;
  make(&recording, 60.0, pressed);
  story_find(&recording, &story);
  assert_false(story.first.happened);
  recording_destroy(&recording);
}

/* Speed falls from 850 rpm at 40 s to nothing at 50 s; film 60 um all along. */
static struct moment dying(double time_s) {
  return (struct moment){.speed_rpm = fmin(fmax(850.0 - 85.0 * (time_s - 40.0), 0.0), 850.0), .film_um = 60.0};
}

static void stall(void **state) {
  (void)state;
  struct recording recording;
  struct story story;
  make(&recording, 60.0, dying);
  add_event(&recording, 46.5, RECORDING_ENGINE, RECORDING_VALUE_STALL);
  story_find(&recording, &story);
  assert_true(story.stalled);
  check_close(story.stalled_s, 46.5, 0.0);
  check_close(story.stalled_film_um, 60.0, 1e-9);
  check_close(story.stalled_speed_rpm, 850.0 - 85.0 * 4.0, 1.0); // mean of 41.5 to 46.5 s: its middle
  recording_destroy(&recording);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(nothing_recorded),
      cmocka_unit_test(clean_engine),
      cmocka_unit_test(whole_story),
      cmocka_unit_test(loads_found),
      cmocka_unit_test(bounds),
      cmocka_unit_test(pedal_is_no_idle),
      cmocka_unit_test(stall),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
