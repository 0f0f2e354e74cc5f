/* What a repair does: a fault that goes, and the idle before and after; what the computer had learned for it outlives it. And limp-home. */
#include "analysis/run/explain_account.h"

#include "analysis/run/window.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#define CHANGE_RPM   10.0
#define FALL_RPM     30.0 // below target, worth a word
#define FALL_S       15.0
#define SAME_FILM_UM 0.05
#define LEARNED_PCT  2.0

enum { REPAIRS_TOLD_MAX = 8 };

/* What the first phase has and the second has not: in words, and by its keys, a blank between two. */
static void gone(const struct phase *before, const struct phase *after, char text[CLAIM_WORDS_SIZE],
                 char keys[CLAIM_EXCEPT_SIZE]) {
  size_t used = 0, keys_used = 0;
  text[0] = keys[0] = '\0';
  for (size_t i = 0; i < before->fault_count; i++) {
    char plain[CLAIM_WORDS_SIZE], one[CLAIM_WORDS_SIZE + 80];
    if (phases_have(after, before->faults[i].row->field.key)) continue;
    explain_account_plain(before->faults[i].row, plain);
    snprintf(one, sizeof one, "%s%s (%s)", used ? " and " : "", plain, before->faults[i].row->field.key);
    const char *key = before->faults[i].row->field.key;
    if (used + strlen(one) + 1 > CLAIM_WORDS_SIZE || keys_used + strlen(key) + 2 > CLAIM_EXCEPT_SIZE) return;
    keys_used += (size_t)snprintf(keys + keys_used, CLAIM_EXCEPT_SIZE - keys_used, "%s%s", keys_used ? " " : "", key);
    used += (size_t)snprintf(text + used, CLAIM_WORDS_SIZE - used, "%s", one);
  }
}

/* That it was put right, and no more. */
static void say_gone(struct explain_account *a, const struct phase *after, const char *what) {
  struct claim_draft *d = &a->draft;
  claim_begin(d, CLAIM_repair_only, CLAIM_PART_CHAIN, 5, after->full_s);
  claim_words(d, "what", what, "scenario: what goes");
  claim_constant(d, "time", after->full_s, 0, "s", "scenario: step");
  claim_say(d, "At {time} s this is repaired: {what}.");
}

/* How long the film on the wall stays what it was at a time. */
static double film_stays_s(const struct explain_account *a, double from_s, double to_s) {
  const struct recording *r = a->recording;
  const struct window rows = window_between(r, from_s, to_s);
  for (size_t row = rows.first; row < rows.last; row++)
    if (fabs(recording_value(r, row, CHANNEL_film_um) - recording_value(r, rows.first, CHANNEL_film_um)) > SAME_FILM_UM)
      return recording_value(r, row - 1, CHANNEL_time_s);
  return to_s;
}

/* Whether it was told with the idle before and after, all else alike. */
static bool say_mended(struct explain_account *a, const struct phase *before, const struct phase *after, const char *what,
                       const char *keys) {
  struct claim_draft *d = &a->draft;
  struct story_moment was, is;
  if (!story_idle_between(a->recording, before->rest_s, before->to_s, STORY_ANY_FILM, &was)) return false;
  const double until_s = film_stays_s(a, was.time_s, after->to_s);
  if (!story_idle_between(a->recording, after->rest_s, until_s, was.mean[CHANNEL_film_um], &is)) return false;
  const double change = is.mean[CHANNEL_speed_rpm] - was.mean[CHANNEL_speed_rpm];
  claim_begin(d, CLAIM_repair, CLAIM_PART_CHAIN, 8, after->full_s);
  claim_words(d, "what", what, "scenario: what goes");
  claim_constant(d, "time", after->full_s, 0, "s", "scenario: step");
  explain_account_window(a, &was);
  claim_mean(d, "before", CHANNEL_speed_rpm, 0);
  claim_at(d, "before_s", CHANNEL_time_s, 0);
  explain_account_window(a, &is);
  claim_mean(d, "after", CHANNEL_speed_rpm, 0);
  claim_at(d, "after_s", CHANNEL_time_s, 0);
  claim_before(d, "before_s", "time");
  claim_before(d, "time", "after_s");
  explain_account_promise_alike(a, &was, &is, keys);
  if (fabs(change) <= CHANGE_RPM)
    claim_equal(d, "after", "before", CHANGE_RPM);
  else if (change > 0.0)
    claim_above(d, "after", "before", CHANGE_RPM);
  else
    claim_below(d, "after", "before", CHANGE_RPM);
  return claim_say(
      d, fabs(change) <= CHANGE_RPM
             ? "At {time} s this is repaired: {what}. The idle stays where it is, {before} rpm before and {after} after."
             : "At {time} s this is repaired: {what}. The idle goes from {before} to {after} rpm.");
}

/* Right after it: the air that the computer had learned to take away is missing now. */
static void say_fall(struct explain_account *a, const struct phase *after) {
  struct claim_draft *d = &a->draft;
  const double to = fmin(after->full_s + FALL_S, after->to_s);
  claim_begin(d, CLAIM_repair_fall, CLAIM_PART_SURPRISE, 9, after->full_s);
  claim_window(d, after->full_s, to);
  claim_min(d, "least", CHANNEL_speed_rpm, 0);
  claim_min(d, "target", CHANNEL_target_rpm, 0);
  claim_at(d, "learned", CHANNEL_learned_pct, 0);
  claim_constant(d, "none", 0.0, 0, "%", "rule: nothing learned");
  claim_difference(d, "short", "target", "least", 0);
  claim_zero(d, CHANNEL_pedal_pct, 1.0);
  claim_nonzero(d, CHANNEL_speed_rpm, 1.0);
  claim_below(d, "least", "target", FALL_RPM);
  claim_below(d, "learned", "none", LEARNED_PCT);
  claim_say(
      d,
      "Right after the repair the idle falls to {least} rpm, {short} below its target: the computer had learned to take air away "
      "(learned_pct {learned}), and still does.");
}

static void say_limp(struct explain_account *a) {
  struct claim_draft *d = &a->draft;
  const struct recording_event *event = explain_account_event(a, RECORDING_CONTROLLER, RECORDING_VALUE_LIMP, 0.0);
  if (!event || explain_account_is_cable(a)) return; // a cable has no drive to take power from
  const char *which = strchr(event->text, ':');
  claim_begin(d, CLAIM_limp_home, CLAIM_PART_CHAIN, 9, event->time_s);
  claim_event(d, "time", event, 0);
  claim_window(d, event->time_s - 1.0, event->time_s + 1.0);
  claim_words(d, "which", which ? which + 2 : "a smaller pedal", "event: limp-home");
  claim_say(d, "At {time} s the computer goes into limp-home: {which}.");
}

void explain_repair_tell(struct explain_account *a) {
  int told = 0;
  say_limp(a);
  for (size_t i = 1; i < a->phase_count && told < REPAIRS_TOLD_MAX; i++) {
    if (!phases_within(&a->phases[i], &a->phases[i - 1])) continue;
    told++;
    char what[CLAIM_WORDS_SIZE], keys[CLAIM_EXCEPT_SIZE];
    gone(&a->phases[i - 1], &a->phases[i], what, keys);
    if (!*what) continue;
    if (!say_mended(a, &a->phases[i - 1], &a->phases[i], what, keys)) say_gone(a, &a->phases[i], what);
    say_fall(a, &a->phases[i]);
  }
}
