/* analysis/run/claim: what a claim measures, promises and prints, on a recording made by hand. Truth: hand values. And the claims of every
 * shipped scenario: that each keeps to the form. */
#include "analysis/run/claim.h"

#include "analysis/run/claim_number.h"
#include "analysis/run/explain.h"
#include "support/check.h"
#include "support/scene.h"

#include <ctype.h>
#include <dirent.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* ---- by hand ---- */

enum { PLACES = 4 };

struct hand {
  struct recording recording;
  struct claim claims[PLACES];
  struct claim_draft draft;
};

/* Eleven rows from 0 to 10 s: speed 800 + 10 t, target 850, film 0 to 4 s and then 20; a stall at 7.25 s. */
static void make(struct hand *hand) {
  struct error error;
  error_clear(&error);
  recording_init(&hand->recording);
  for (int t = 0; t <= 10; t++) {
    double values[CHANNEL_COUNT] = {0.0};
    values[CHANNEL_time_s] = t;
    values[CHANNEL_speed_rpm] = 800.0 + 10.0 * t;
    values[CHANNEL_target_rpm] = 850.0;
    values[CHANNEL_film_um] = t > 4 ? 20.0 : 0.0;
    values[CHANNEL_lambda] = NAN;
    assert_int_equal(recording_append(&hand->recording, values, &error), STATUS_OK);
  }
  const struct recording_event stall = {7.25, RECORDING_ENGINE, -1, RECORDING_VALUE_STALL, "engine stalled"};
  assert_int_equal(recording_add_event(&hand->recording, &stall, &error), STATUS_OK);
  claim_draft_init(&hand->draft, &hand->recording, hand->claims, PLACES);
}

static double value(const struct hand *hand, const char *name) {
  const struct claim_value *found = claim_value_of(hand->draft.claim, name);
  assert_non_null(found);
  return found->value;
}

static void measures(void **state) {
  (void)state;
  struct hand hand;
  make(&hand);
  struct claim_draft *d = &hand.draft;
  claim_begin(d, CLAIM_idle_first, CLAIM_PART_MORE, 1, 2.0);
  claim_window(d, 1.6, 6.4); // rows 2 to 6
  claim_mean(d, "mean", CHANNEL_speed_rpm, 1);
  claim_min(d, "min", CHANNEL_speed_rpm, 1);
  claim_max(d, "max", CHANNEL_speed_rpm, 1);
  claim_range(d, "range", CHANNEL_speed_rpm, 1);
  claim_at(d, "at", CHANNEL_speed_rpm, 1);
  claim_first(d, "rising", CHANNEL_film_um, 10.0, false, 0);
  claim_first(d, "falling", CHANNEL_film_um, 10.0, true, 0);
  claim_pair_max(d, "less", CLAIM_PAIRING_less, CHANNEL_speed_rpm, CHANNEL_target_rpm, 0);
  claim_pair_max(d, "short", CLAIM_PAIRING_short_of, CHANNEL_speed_rpm, CHANNEL_target_rpm, 0);
  claim_pair_max(d, "apart", CLAIM_PAIRING_apart, CHANNEL_speed_rpm, CHANNEL_target_rpm, 0);
  claim_pair_longest(d, "longest", CLAIM_PAIRING_short_of, CHANNEL_speed_rpm, CHANNEL_target_rpm, 5.0, 1);
  claim_derive(d, "difference", CLAIM_STATISTIC_difference, "max", "min", 0, "rpm");
  claim_derive(d, "quotient", CLAIM_STATISTIC_quotient, "max", "min", 3, "");
  claim_derive(d, "change", CLAIM_STATISTIC_percent_change, "max", "min", 1, "%");
  claim_derive(d, "percent_less", CLAIM_STATISTIC_percent_less, "max", "min", 1, "%");
  claim_count(d, "stalls", "stall");
  assert_false(d->broken);
  check_close(value(&hand, "mean"), 840.0, 1e-12);
  check_close(claim_value_of(d->claim, "mean")->from_s, 2.0, 1e-12); // its rows, not what was asked for
  check_close(claim_value_of(d->claim, "mean")->to_s, 6.0, 1e-12);
  check_close(value(&hand, "min"), 820.0, 1e-12);
  check_close(value(&hand, "max"), 860.0, 1e-12);
  check_close(value(&hand, "range"), 40.0, 1e-12);
  check_close(value(&hand, "at"), 820.0, 1e-12);
  check_close(value(&hand, "rising"), 5.0, 1e-12);
  check_close(value(&hand, "falling"), 2.0, 1e-12);
  check_close(value(&hand, "less"), 10.0, 1e-12);
  check_close(value(&hand, "short"), 30.0, 1e-12);
  check_close(value(&hand, "apart"), 30.0, 1e-12);
  check_close(value(&hand, "longest"), 2.0, 1e-12); // short by 30, 20, 10 at 2, 3, 4 s
  check_close(value(&hand, "difference"), 40.0, 1e-12);
  check_close(value(&hand, "quotient"), 860.0 / 820.0, 1e-12);
  check_close(value(&hand, "change"), -100.0 * 40.0 / 860.0, 1e-12);
  check_close(value(&hand, "percent_less"), 100.0 * 40.0 / 860.0, 1e-12);
  check_close(value(&hand, "stalls"), 0.0, 0.0); // 7.25 s lies outside
  assert_true(claim_say(d, "From {min} to {max} rpm."));
  assert_string_equal(hand.claims[0].text, "From 820.0 to 860.0 rpm.");
  check_close(hand.claims[0].from_s, 2.0, 1e-12);
  check_close(hand.claims[0].to_s, 6.0, 1e-12);
  assert_int_equal(claim_value_of(&hand.claims[0], "mean")->printed[0], '\0'); // not in the text
  recording_destroy(&hand.recording);
}

/* One predicate at a time, on rows 2 to 6; whether the claim is said. */
enum predicate { BELOW, ABOVE, EQUAL, BEFORE, STEADY, ZERO, NONZERO, NO_EVENT, PROMISE };

static bool said(enum predicate predicate, double by, double to_s) {
  struct hand hand;
  make(&hand);
  struct claim_draft *d = &hand.draft;
  claim_begin(d, CLAIM_idle_first, CLAIM_PART_MORE, 1, 2.0);
  claim_window(d, 2.0, to_s);
  claim_mean(d, "speed", CHANNEL_speed_rpm, 1);
  claim_mean(d, "target", CHANNEL_target_rpm, 1);
  switch (predicate) {
  case BELOW:
    claim_below(d, "speed", "target", by);
    break;
  case ABOVE:
    claim_above(d, "speed", "target", by);
    break;
  case EQUAL:
    claim_equal(d, "speed", "target", by);
    break;
  case BEFORE:
    claim_before(d, "speed", "target");
    break;
  case STEADY:
    claim_steady(d, CHANNEL_speed_rpm, by);
    break;
  case ZERO:
    claim_zero(d, CHANNEL_film_um, by);
    break;
  case NONZERO:
    claim_nonzero(d, CHANNEL_film_um, by);
    break;
  case NO_EVENT:
    claim_no_event(d, "stall");
    break;
  case PROMISE:
    claim_promise(d, CLAIM_PREDICATE_alone, "film_um", by > 0.0);
    break;
  }
  const bool kept = claim_say(d, "The idle is at {speed} rpm.");
  assert_int_equal(d->count, kept);
  recording_destroy(&hand.recording);
  return kept;
}

static void what_does_not_hold_is_not_said(void **state) {
  (void)state;
  assert_true(said(BELOW, 5.0, 6.0)); // 840 against 850
  assert_false(said(BELOW, 15.0, 6.0));
  assert_false(said(ABOVE, 0.0, 6.0));
  assert_true(said(ABOVE, 0.0, 10.0)); // 860
  assert_true(said(EQUAL, 10.0, 6.0));
  assert_false(said(EQUAL, 9.0, 6.0));
  assert_true(said(BEFORE, 0.0, 6.0));
  assert_false(said(BEFORE, 0.0, 10.0));
  assert_true(said(STEADY, 26.0, 6.0)); // 830 (rows 2 to 4) against 855
  assert_false(said(STEADY, 24.0, 6.0));
  assert_true(said(ZERO, 0.0, 4.0));
  assert_false(said(ZERO, 0.0, 5.0));
  assert_false(said(NONZERO, 0.0, 6.0));
  assert_true(said(NO_EVENT, 0.0, 7.0));
  assert_false(said(NO_EVENT, 0.0, 8.0));
  assert_true(said(PROMISE, 1.0, 6.0));
  assert_false(said(PROMISE, 0.0, 6.0));
  assert_false(said(EQUAL, 1e9, 1.9)); // no row in the window
}

static void empty_and_not_a_number(void **state) {
  (void)state;
  struct hand hand;
  make(&hand);
  struct claim_draft *d = &hand.draft;
  claim_begin(d, CLAIM_idle_first, CLAIM_PART_MORE, 1, 2.0);
  claim_window(d, 2.2, 2.8);
  claim_mean(d, "speed", CHANNEL_speed_rpm, 0);
  assert_false(claim_say(d, "At {speed} rpm."));
  claim_begin(d, CLAIM_idle_first, CLAIM_PART_MORE, 1, 2.0);
  claim_window(d, 2.0, 3.0);
  claim_mean(d, "lambda", CHANNEL_lambda, 2);
  assert_false(claim_say(d, "Lambda {lambda}."));
  claim_begin(d, CLAIM_idle_first, CLAIM_PART_MORE, 1, NAN);
  assert_false(claim_say(d, "Nothing at no time."));
  assert_int_equal(d->count, 0);
  for (int i = 0; i < PLACES + 2; i++) { // a place fewer than there are: the last is the one in hand
    claim_begin(d, CLAIM_idle_first, CLAIM_PART_MORE, 1, 2.0);
    assert_int_equal(claim_say(d, "Said."), i < PLACES - 1);
  }
  recording_destroy(&hand.recording);
}

static void numbers_and_words(void **state) {
  (void)state;
  struct hand hand;
  make(&hand);
  struct claim_draft *d = &hand.draft;
  claim_begin(d, CLAIM_idle_first, CLAIM_PART_MORE, 1, 2.0);
  claim_window(d, 0.0, 4.0);
  claim_mean(d, "film", CHANNEL_film_um, 1);
  claim_constant(d, "small", -0.04, 1, "", "rule: rounds to zero");
  claim_words(d, "what", "track 1 reads -0.06 V more (tps1_offset_v, mm2, P0505)", "test");
  assert_true(claim_say(d, "{what}: {film} and {small}."));
  assert_string_equal(hand.claims[0].text, "track 1 reads -0.06 V more (tps1_offset_v, mm2, P0505): 0.0 and 0.0.");
  assert_string_equal(claim_value_of(&hand.claims[0], "what_a")->printed, "1");
  assert_string_equal(claim_value_of(&hand.claims[0], "what_b")->printed, "-0.06");
  assert_null(claim_value_of(&hand.claims[0], "what_c"));
  char text[16];
  claim_number_print(text, sizeof text, -0.5, 0); // a half rounds to even
  assert_string_equal(text, "0");
  claim_number_print(text, sizeof text, -0.5, 1);
  assert_string_equal(text, "-0.5");
  assert_true(claim_number_bare("about 10 rpm"));
  assert_true(claim_number_bare("about -10 rpm"));
  assert_false(claim_number_bare("{a_10} mm2 of P0505, tps1_v"));
  assert_string_equal(claim_number_unit("airflow_gps"), "g/s");
  assert_string_equal(claim_number_unit("lambda"), "");
  recording_destroy(&hand.recording);
}

/* ---- the shipped scenarios ---- */

static bool banned(const char *text) {
  static const char *const words[] = {"heeded",  "kept quiet", "make it good", "seen by nobody",
                                      " sound ", "nan",        "-0.0 ",        " inf"};
  for (size_t i = 0; i < ARRAY_COUNT(words); i++)
    if (strstr(text, words[i]) && !strstr(text, "speed of sound")) return true;
  return false;
}

static bool opens_with_a_channel(const char *text) {
  const size_t length = strcspn(text, " .,:");
  for (int i = 0; i < CHANNEL_COUNT; i++)
    if (strlen(channel_rows[i].name) == length && strncmp(text, channel_rows[i].name, length) == 0 &&
        strchr(text, '_') < text + length)
      return true;
  return false;
}

/* Every number of the text is the printed form of one of the values. */
static void numbers_are_values(const struct claim *claim) {
  const char *end = claim->text;
  for (const char *at = claim_number_next(claim->text, claim->text, &end); at; at = claim_number_next(end, claim->text, &end)) {
    bool found = false;
    for (size_t i = 0; i < claim->value_count; i++)
      found |= strlen(claim->values[i].printed) == (size_t)(end - at) &&
               strncmp(claim->values[i].printed, at, (size_t)(end - at)) == 0;
    if (!found) fail_msg("%s: '%.*s' is no value", claim->text, (int)(end - at), at);
  }
}

static void carries_its_predicates(const struct claim *claim) {
  char needs[120];
  snprintf(needs, sizeof needs, "%s", claim_kind_rows[claim->kind].needs);
  for (const char *word = strtok(needs, " "); word; word = strtok(NULL, " ")) {
    bool found = false;
    for (size_t i = 0; i < claim->hold_count; i++) found |= strcmp(claim_predicate_rows[claim->holds[i].is].name, word) == 0;
    if (!found) fail_msg("%s: no '%s' was checked", claim->text, word);
  }
}

static void walk_claim(const struct claim *claim, double end_s) {
  if (banned(claim->text)) fail_msg("odd words: %s", claim->text);
  if (opens_with_a_channel(claim->text)) fail_msg("opens with a channel: %s", claim->text);
  if (!(claim->from_s <= claim->to_s && claim->from_s >= 0.0 && claim->to_s <= end_s + 0.01))
    fail_msg("%s: window %g to %g s of %g", claim->text, claim->from_s, claim->to_s, end_s);
  for (size_t i = 0; i < claim->value_count; i++) assert_true(isfinite(claim->values[i].value));
  numbers_are_values(claim);
  carries_its_predicates(claim);
}

static void walk(const struct scene *scene, const struct explanation *explanation, const char *path) {
  int of_part[CLAIM_PART_COUNT] = {0};
  double last_s = -INFINITY;
  for (size_t i = 0; i < explanation->count; i++) {
    const struct claim *claim = &explanation->claims[i];
    walk_claim(claim, scene->scenario.duration_s);
    of_part[claim->part]++;
    if (claim->part != CLAIM_PART_CHAIN) continue;
    size_t numbers = 0;
    for (size_t k = 0; k < claim->value_count; k++) numbers += claim->values[k].printed[0] != '\0';
    if (numbers > 3) fail_msg("%s: %zu numbers in a link: %s", path, numbers, claim->text);
    if (claim->at_s < last_s) fail_msg("%s: not in order of time: %s", path, claim->text);
    last_s = claim->at_s;
  }
  if (of_part[CLAIM_PART_HEADLINE] < 1 || of_part[CLAIM_PART_HEADLINE] > 2)
    fail_msg("%s: %d headlines", path, of_part[CLAIM_PART_HEADLINE]);
  assert_true(of_part[CLAIM_PART_CHAIN] <= 5);
  assert_true(of_part[CLAIM_PART_SURPRISE] <= 3);
}

static void every_shipped_scenario(void **state) {
  (void)state;
  DIR *folder = opendir("scenarios");
  assert_non_null(folder);
  int count = 0;
  struct story story;
  struct explanation *explanation = malloc(sizeof *explanation);
  assert_non_null(explanation);
  for (struct dirent *entry = readdir(folder); entry; entry = readdir(folder)) {
    const char *ending = strrchr(entry->d_name, '.');
    if (!ending || strcmp(ending, ".cfg") != 0) continue;
    char path[300];
    snprintf(path, sizeof path, "scenarios/%s", entry->d_name);
    struct scene scene;
    scene_read(&scene, path);
    scene.solver = &solver_fast;
    scene_run(&scene);
    story_find(&scene.recording, &story);
    story.load_count = load_steps_find(&scene.recording, &scene.scenario, story.loads, STORY_LOAD_MAX);
    explain_run(scene.sim, &scene.recording, &story, explanation);
    walk(&scene, explanation, path);
    scene_end(&scene);
    count++;
  }
  closedir(folder);
  free(explanation);
  assert_true(count >= 26);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(measures),
      cmocka_unit_test(what_does_not_hold_is_not_said),
      cmocka_unit_test(empty_and_not_a_number),
      cmocka_unit_test(numbers_and_words),
      cmocka_unit_test(every_shipped_scenario),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
