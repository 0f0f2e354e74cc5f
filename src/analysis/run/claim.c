#include "analysis/run/claim.h"

#include "analysis/run/claim_number.h"
#include "analysis/run/window.h"
#include "base/attributes.h"

#include <assert.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

const struct claim_kind_row claim_kind_rows[CLAIM_KIND_COUNT] = {
#define KIND(name, needs, text) {#name, needs, text},
    CLAIM_KIND_LIST(KIND)
#undef KIND
};

const char *const claim_part_names[CLAIM_PART_COUNT] = {"headline", "chain", "surprise", "code", "more"};

const struct claim_word_row claim_statistic_rows[CLAIM_STATISTIC_COUNT] = {
#define STATISTIC(name, text) {#name, text},
    CLAIM_STATISTIC_LIST(STATISTIC)
#undef STATISTIC
};
const struct claim_word_row claim_predicate_rows[CLAIM_PREDICATE_COUNT] = {
#define PREDICATE(name, text) {#name, text},
    CLAIM_PREDICATE_LIST(PREDICATE)
#undef PREDICATE
};

const struct claim_word_row claim_pairing_rows[CLAIM_PAIRING_COUNT] = {
#define PAIRING(name, text) {#name, text},
    CLAIM_PAIRING_LIST(PAIRING)
#undef PAIRING
};

void claim_event_name(const struct recording_event *event, char name[CLAIM_SOURCE_SIZE]) {
  if (event->kind == RECORDING_NOTE)
    snprintf(name, CLAIM_SOURCE_SIZE, "note");
  else if (event->kind != RECORDING_CODE)
    snprintf(name, CLAIM_SOURCE_SIZE, "%s", recording_value_names[event->value]);
  else
    snprintf(name, CLAIM_SOURCE_SIZE, "%s %s", monitor_rows[event->code].code,
             monitors_code_state_name((enum code_state)event->value));
}

void claim_draft_init(struct claim_draft *draft, const struct recording *recording, struct claim *claims, size_t places) {
  *draft = (struct claim_draft){.recording = recording, .claims = claims, .most = places - 1, .claim = claims, .broken = true};
}

void claim_begin(struct claim_draft *draft, enum claim_kind kind, enum claim_part part, int weight, double at_s) {
  draft->claim = &draft->claims[draft->count];
  *draft->claim = (struct claim){
      .kind = kind, .part = part, .code = CLAIM_NONE, .weight = weight, .at_s = at_s, .from_s = INFINITY, .to_s = -INFINITY};
  draft->broken = !isfinite(at_s);
  draft->words_count = 0;
  draft->from_s = draft->to_s = at_s;
}

/* ---- Values ---- */

static struct window rows_of(struct claim_draft *draft) {
  const struct window window = window_between(draft->recording, draft->from_s, draft->to_s);
  if (window_rows(window) == 0) draft->broken = true;
  return window;
}

static double time_of(const struct claim_draft *draft, size_t row) {
  return recording_value(draft->recording, row, CHANNEL_time_s);
}

static void widen(struct claim_draft *draft, double from_s, double to_s) {
  draft->claim->from_s = fmin(draft->claim->from_s, from_s);
  draft->claim->to_s = fmax(draft->claim->to_s, to_s);
}

void claim_window(struct claim_draft *draft, double from_s, double to_s) {
  draft->from_s = from_s;
  draft->to_s = to_s;
  if (!isfinite(from_s) || !isfinite(to_s)) {
    draft->broken = true;
    return;
  }
  const struct window window = rows_of(draft);
  if (window_rows(window)) widen(draft, time_of(draft, window.first), time_of(draft, window.last - 1));
}

/* The next place, or a place that is thrown away with the claim. */
static struct claim_value *add_value(struct claim_draft *draft, const char *name, enum claim_statistic is, int decimals) {
  struct claim *claim = draft->claim;
  assert(strlen(name) < CLAIM_NAME_SIZE && !claim_value_of(claim, name));
  if (claim->value_count == CLAIM_VALUE_MAX) {
    draft->broken = true;
    claim->value_count--;
  }
  struct claim_value *value = &claim->values[claim->value_count++];
  *value = (struct claim_value){.is = is,
                                .unit = "",
                                .decimals = decimals,
                                .channel = CLAIM_NONE,
                                .other = CLAIM_NONE,
                                .of = {CLAIM_NONE, CLAIM_NONE},
                                .value = NAN,
                                .from_s = NAN,
                                .to_s = NAN};
  snprintf(value->name, sizeof value->name, "%s", name);
  return value;
}

static void finish(struct claim_draft *draft, struct claim_value *value) {
  if (!isfinite(value->value)) draft->broken = true;
}

/* A value of a channel in the window; row by row where that is needed. */
static struct claim_value *measure(struct claim_draft *draft, const char *name, enum claim_statistic is, enum channel channel,
                                   int decimals) {
  struct claim_value *value = add_value(draft, name, is, decimals);
  const struct window window = rows_of(draft);
  value->channel = (int)channel;
  value->unit = claim_number_unit(channel_rows[channel].name);
  if (window_rows(window) == 0) return value;
  value->from_s = time_of(draft, window.first);
  value->to_s = time_of(draft, window.last - 1);
  return value;
}

void claim_mean(struct claim_draft *draft, const char *name, enum channel channel, int decimals) {
  struct claim_value *value = measure(draft, name, CLAIM_STATISTIC_mean, channel, decimals);
  value->value = window_mean(draft->recording, rows_of(draft), channel);
  finish(draft, value);
}

void claim_min(struct claim_draft *draft, const char *name, enum channel channel, int decimals) {
  struct claim_value *value = measure(draft, name, CLAIM_STATISTIC_min, channel, decimals);
  value->value = window_least(draft->recording, rows_of(draft), channel);
  finish(draft, value);
}

void claim_max(struct claim_draft *draft, const char *name, enum channel channel, int decimals) {
  struct claim_value *value = measure(draft, name, CLAIM_STATISTIC_max, channel, decimals);
  value->value = window_most(draft->recording, rows_of(draft), channel);
  finish(draft, value);
}

void claim_range(struct claim_draft *draft, const char *name, enum channel channel, int decimals) {
  struct claim_value *value = measure(draft, name, CLAIM_STATISTIC_range, channel, decimals);
  const struct window window = rows_of(draft);
  value->value = window_most(draft->recording, window, channel) - window_least(draft->recording, window, channel);
  finish(draft, value);
}

void claim_at(struct claim_draft *draft, const char *name, enum channel channel, int decimals) {
  struct claim_value *value = measure(draft, name, CLAIM_STATISTIC_at, channel, decimals);
  const struct window window = rows_of(draft);
  if (window_rows(window)) value->value = recording_value(draft->recording, window.first, channel);
  value->to_s = value->from_s;
  finish(draft, value);
}

static double pair_at(const struct claim_draft *draft, const struct claim_value *value, size_t row) {
  return claim_pair_value(value->how, claim_pair_cell(draft->recording, row, (enum channel)value->channel),
                          claim_pair_cell(draft->recording, row, (enum channel)value->other));
}

void claim_pair_max(struct claim_draft *draft, const char *name, enum claim_pairing how, enum channel channel, enum channel other,
                    int decimals) {
  struct claim_value *value = measure(draft, name, CLAIM_STATISTIC_pair_max, channel, decimals);
  const struct window window = rows_of(draft);
  value->other = (int)other;
  value->how = how;
  for (size_t row = window.first; row < window.last; row++) value->value = fmax(value->value, pair_at(draft, value, row));
  finish(draft, value);
}

void claim_pair_longest(struct claim_draft *draft, const char *name, enum claim_pairing how, enum channel channel,
                        enum channel other, double level, int decimals) {
  struct claim_value *value = measure(draft, name, CLAIM_STATISTIC_pair_longest, channel, decimals);
  const struct window window = rows_of(draft);
  double from_s = NAN;
  value->other = (int)other;
  value->how = how;
  value->level = level;
  value->unit = "s";
  value->value = window_rows(window) ? 0.0 : NAN;
  for (size_t row = window.first; row < window.last; row++) {
    const double now_s = time_of(draft, row);
    if (!(pair_at(draft, value, row) > level))
      from_s = NAN;
    else if (isnan(from_s))
      from_s = now_s;
    else
      value->value = fmax(value->value, now_s - from_s);
  }
  finish(draft, value);
}

void claim_first(struct claim_draft *draft, const char *name, enum channel channel, double level, bool falling, int decimals) {
  struct claim_value *value = measure(draft, name, CLAIM_STATISTIC_first, channel, decimals);
  const struct window window = rows_of(draft);
  value->level = level;
  value->falling = falling;
  value->unit = "s";
  for (size_t row = window.first; row < window.last && isnan(value->value); row++) {
    const double now = claim_pair_cell(draft->recording, row, channel);
    if (falling ? now <= level : now >= level) value->value = time_of(draft, row);
  }
  finish(draft, value);
}

static int place_of(const struct claim_draft *draft, const char *name) {
  for (size_t i = 0; i < draft->claim->value_count; i++)
    if (strcmp(draft->claim->values[i].name, name) == 0) return (int)i;
  assert(draft->broken); // a name that nobody has given
  return 0;
}

static double value_at(const struct claim_draft *draft, const char *name) {
  return draft->claim->values[place_of(draft, name)].value;
}

void claim_derive(struct claim_draft *draft, const char *name, enum claim_statistic is, const char *first, const char *second,
                  int decimals, const char *unit) {
  const int a = place_of(draft, first), b = place_of(draft, second);
  const double x = draft->claim->values[a].value, y = draft->claim->values[b].value;
  struct claim_value *value = add_value(draft, name, is, decimals);
  value->of[0] = a;
  value->of[1] = b;
  value->unit = unit;
  switch (is) {
  case CLAIM_STATISTIC_difference:
    value->value = x - y;
    break;
  case CLAIM_STATISTIC_sum:
    value->value = x + y;
    break;
  case CLAIM_STATISTIC_product:
    value->value = x * y;
    break;
  case CLAIM_STATISTIC_quotient:
    value->value = x / y;
    break;
  case CLAIM_STATISTIC_percent_change:
    value->value = 100.0 * (y - x) / x;
    break;
  case CLAIM_STATISTIC_percent_less:
    value->value = 100.0 * (x - y) / x;
    break;
  default:
    assert(false);
  }
  finish(draft, value);
}

void claim_difference(struct claim_draft *draft, const char *name, const char *first, const char *second, int decimals) {
  claim_derive(draft, name, CLAIM_STATISTIC_difference, first, second, decimals,
               draft->claim->values[place_of(draft, first)].unit);
}

void claim_constant(struct claim_draft *draft, const char *name, double number, int decimals, const char *unit,
                    const char *source) {
  struct claim_value *value = add_value(draft, name, CLAIM_STATISTIC_constant, decimals);
  value->value = number;
  value->unit = unit;
  snprintf(value->source, sizeof value->source, "%s", source);
  finish(draft, value);
}

void claim_event(struct claim_draft *draft, const char *name, const struct recording_event *event, int decimals) {
  struct claim_value *value = add_value(draft, name, CLAIM_STATISTIC_event, decimals);
  value->value = event ? event->time_s : NAN;
  value->unit = "s";
  if (event) claim_event_name(event, value->source);
  if (event) widen(draft, event->time_s, event->time_s);
  finish(draft, value);
}

static size_t count_events(const struct claim_draft *draft, const char *wanted) {
  char name[CLAIM_SOURCE_SIZE];
  size_t count = 0;
  for (size_t i = 0; i < draft->recording->event_count; i++) {
    const struct recording_event *event = &draft->recording->events[i];
    if (event->time_s < draft->from_s - 1e-6 || event->time_s > draft->to_s + 1e-6) continue;
    claim_event_name(event, name);
    count += strcmp(name, wanted) == 0;
  }
  return count;
}

void claim_count(struct claim_draft *draft, const char *name, const char *event) {
  struct claim_value *value = add_value(draft, name, CLAIM_STATISTIC_count, 0);
  value->from_s = draft->from_s;
  value->to_s = draft->to_s;
  value->value = (double)count_events(draft, event);
  snprintf(value->source, sizeof value->source, "%s", event);
}

/* ---- Predicates ---- */

static struct claim_hold *add_hold(struct claim_draft *draft, enum claim_predicate is, double by, bool holds) {
  struct claim *claim = draft->claim;
  if (!holds) draft->broken = true;
  if (claim->hold_count == CLAIM_HOLD_MAX) {
    draft->broken = true;
    claim->hold_count--;
  }
  struct claim_hold *hold = &claim->holds[claim->hold_count++];
  *hold =
      (struct claim_hold){.is = is, .by = by, .channel = CLAIM_NONE, .of = {CLAIM_NONE, CLAIM_NONE}, .from_s = NAN, .to_s = NAN};
  return hold;
}

static void compare(struct claim_draft *draft, enum claim_predicate is, const char *first, const char *second, double by,
                    bool holds) {
  struct claim_hold *hold = add_hold(draft, is, by, holds);
  hold->of[0] = place_of(draft, first);
  hold->of[1] = place_of(draft, second);
}

void claim_below(struct claim_draft *draft, const char *first, const char *second, double by) {
  compare(draft, CLAIM_PREDICATE_below, first, second, by, value_at(draft, first) < value_at(draft, second) - by);
}

void claim_above(struct claim_draft *draft, const char *first, const char *second, double by) {
  compare(draft, CLAIM_PREDICATE_above, first, second, by, value_at(draft, first) > value_at(draft, second) + by);
}

void claim_equal(struct claim_draft *draft, const char *first, const char *second, double within) {
  compare(draft, CLAIM_PREDICATE_equal, first, second, within, fabs(value_at(draft, first) - value_at(draft, second)) <= within);
}

void claim_before(struct claim_draft *draft, const char *first, const char *second) {
  compare(draft, CLAIM_PREDICATE_before, first, second, 0.0, value_at(draft, first) <= value_at(draft, second));
}

/* A predicate on the window. */
static struct claim_hold *over_window(struct claim_draft *draft, enum claim_predicate is, double by, bool holds) {
  const struct window window = window_between(draft->recording, draft->from_s, draft->to_s);
  struct claim_hold *hold = add_hold(draft, is, by, holds && window_rows(window) > 0);
  if (window_rows(window) == 0) return hold;
  hold->from_s = time_of(draft, window.first);
  hold->to_s = time_of(draft, window.last - 1);
  return hold;
}

/* The first half takes the row in the middle. */
void claim_steady(struct claim_draft *draft, enum channel channel, double most) {
  const struct window window = rows_of(draft);
  const size_t middle = window.first + (window_rows(window) + 1) / 2;
  const struct window early = {window.first, middle}, late = {middle, window.last};
  const double drift = window_mean(draft->recording, late, channel) - window_mean(draft->recording, early, channel);
  over_window(draft, CLAIM_PREDICATE_steady, most, fabs(drift) <= most)->channel = (int)channel;
}

void claim_zero(struct claim_draft *draft, enum channel channel, double most) {
  const struct window window = rows_of(draft);
  const double low = window_least(draft->recording, window, channel), high = window_most(draft->recording, window, channel);
  over_window(draft, CLAIM_PREDICATE_zero, most, low >= -most && high <= most)->channel = (int)channel;
}

void claim_nonzero(struct claim_draft *draft, enum channel channel, double least) {
  const struct window window = rows_of(draft);
  bool holds = window_rows(window) > 0;
  for (size_t row = window.first; row < window.last; row++)
    holds &= fabs(recording_value(draft->recording, row, channel)) > least;
  over_window(draft, CLAIM_PREDICATE_nonzero, least, holds)->channel = (int)channel;
}

void claim_no_event(struct claim_draft *draft, const char *event) {
  struct claim_hold *hold = over_window(draft, CLAIM_PREDICATE_no_event, 0.0, count_events(draft, event) == 0);
  hold->from_s = draft->from_s;
  hold->to_s = draft->to_s;
  snprintf(hold->name, sizeof hold->name, "%s", event);
}

void claim_promise(struct claim_draft *draft, enum claim_predicate is, const char *except, bool holds) {
  struct claim_hold *hold = over_window(draft, is, 0.0, holds);
  hold->from_s = draft->from_s;
  hold->to_s = draft->to_s;
  snprintf(hold->name, sizeof hold->name, "%s", except);
}

void claim_only_while(struct claim_draft *draft, const char *value, double seconds, const char *reasons) {
  struct claim_hold *hold = over_window(draft, CLAIM_PREDICATE_only_while, seconds, true);
  hold->of[0] = place_of(draft, value);
  snprintf(hold->name, sizeof hold->name, "%s", reasons);
}

/* ---- Text ---- */

void claim_words(struct claim_draft *draft, const char *name, const char *text, const char *source) {
  assert(draft->words_count < CLAIM_WORDS_MAX && strlen(text) < CLAIM_WORDS_SIZE);
  snprintf(draft->words[draft->words_count].name, CLAIM_NAME_SIZE, "%s", name);
  snprintf(draft->words[draft->words_count++].text, CLAIM_WORDS_SIZE, "%s", text);
  const char *end = text;
  int count = 0;
  for (const char *at = claim_number_next(text, text, &end); at; at = claim_number_next(end, text, &end)) {
    char own[CLAIM_NAME_SIZE];
    double value = NAN;
    snprintf(own, sizeof own, "%.*s_%c", CLAIM_WORDS_NAME_MOST, name, 'a' + count++ % 26);
    if (sscanf(at, "%lf", &value) != 1) continue;
    const char *point = memchr(at, '.', (size_t)(end - at));
    claim_constant(draft, own, value, point ? (int)(end - point) - 1 : 0, "", source);
    snprintf(draft->claim->values[draft->claim->value_count - 1].printed, CLAIM_PRINTED_SIZE, "%.*s", (int)(end - at), at);
  }
}

/* The value is the next number of the text, unless it has been printed before. */
static void number(struct claim *claim, struct claim_value *value) {
  int last = 0;
  for (size_t i = 0; i < claim->value_count; i++)
    if (claim->values[i].nth > last) last = claim->values[i].nth;
  if (value->nth == 0) value->nth = last + 1;
}

/* The numbers of words that are put in: values called as the words, with a letter after. */
static void number_words(struct claim *claim, const char *name) {
  const size_t length = strnlen(name, CLAIM_WORDS_NAME_MOST);
  for (size_t i = 0; i < claim->value_count; i++) {
    struct claim_value *value = &claim->values[i];
    if (strncmp(value->name, name, length) != 0 || value->name[length] != '_' || strlen(value->name) != length + 2) continue;
    if (value->printed[0]) number(claim, value);
  }
}

/* What stands for {name}: words, or a value as it is printed. */
static const char *filling(struct claim_draft *draft, const char *name, size_t length) {
  for (size_t i = 0; i < draft->words_count; i++) {
    if (strlen(draft->words[i].name) != length || strncmp(draft->words[i].name, name, length) != 0) continue;
    number_words(draft->claim, draft->words[i].name);
    return draft->words[i].text;
  }
  for (size_t i = 0; i < draft->claim->value_count; i++) {
    struct claim_value *value = &draft->claim->values[i];
    if (strlen(value->name) != length || strncmp(value->name, name, length) != 0) continue;
    claim_number_print(value->printed, sizeof value->printed, value->value, value->decimals);
    number(draft->claim, value);
    return value->printed;
  }
  assert(draft->broken); // a name that nobody has given
  return "";
}

static void fill(struct claim_draft *draft, const char *text) {
  char *out = draft->claim->text;
  size_t used = 0;
  for (const char *at = text; *at && used + 1 < CLAIM_TEXT_SIZE; at++) {
    if (*at != '{') {
      out[used++] = *at;
      continue;
    }
    const char *end = strchr(at, '}');
    assert(end);
    const int length = snprintf(out + used, CLAIM_TEXT_SIZE - used, "%s", filling(draft, at + 1, (size_t)(end - at - 1)));
    used += (size_t)length;
    at = end;
  }
  assert(used < CLAIM_TEXT_SIZE - 1);
  out[used < CLAIM_TEXT_SIZE ? used : CLAIM_TEXT_SIZE - 1] = '\0';
}

static bool carries_what_it_needs(const struct claim *claim) {
  char needs[120];
  snprintf(needs, sizeof needs, "%s", claim_kind_rows[claim->kind].needs);
  char *rest = NULL;
  for (const char *word = strtok_r(needs, " ", &rest); word; word = strtok_r(NULL, " ", &rest)) {
    bool found = false;
    for (size_t i = 0; i < claim->hold_count; i++) found |= strcmp(claim_predicate_rows[claim->holds[i].is].name, word) == 0;
    if (!found) return false;
  }
  return true;
}

bool claim_say(struct claim_draft *draft, const char *text) {
  assert(!claim_number_bare(text));
  if (draft->broken || draft->count == draft->most) return false;
  fill(draft, text);
  assert(carries_what_it_needs(draft->claim));
  if (!(draft->claim->from_s <= draft->claim->to_s)) widen(draft, draft->claim->at_s, draft->claim->at_s);
  draft->count++;
  draft->broken = true;
  return true;
}

const struct claim_value *claim_value_of(const struct claim *claim, const char *name) {
  for (size_t i = 0; i < claim->value_count; i++)
    if (strcmp(claim->values[i].name, name) == 0) return &claim->values[i];
  return NULL;
}
