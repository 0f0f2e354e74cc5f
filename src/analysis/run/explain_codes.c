/* Which codes were set, when; and why those that a class expects were not: a reason that was true while the limit was passed, found in the rows
 * of the run itself. */
#include "analysis/run/claim_pair.h"
#include "analysis/run/explain_account.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#define PEDAL_PCT 1.0 // pressed, for whoever looks at the channel
#define HAIR_PCT  0.05

/* Codes whose silence is worth a word: those a class expects when the idle is not right; circuit codes are not. What a row must show for
 * them: a pair of channels, in the user's unit of the code. */
struct watched {
  int code; // enum monitor_code
  enum claim_pairing how;
  enum channel channel, other;
  const char *words; // "{most} ..."
};
static const struct watched watched[] = {
    {MONITOR_P0171, CLAIM_PAIRING_plus, CHANNEL_stft_pct, CHANNEL_ltft_pct, "% of fuel trim"},
    {MONITOR_P0172, CLAIM_PAIRING_minus_both, CHANNEL_stft_pct, CHANNEL_ltft_pct, "% of fuel taken away by the trims"},
    {MONITOR_P0174, CLAIM_PAIRING_plus, CHANNEL_stft2_pct, CHANNEL_ltft2_pct, "% of fuel trim on the second bank"},
    {MONITOR_P0505, CLAIM_PAIRING_apart, CHANNEL_speed_rpm, CHANNEL_target_rpm, "rpm off target"},
    {MONITOR_P0506, CLAIM_PAIRING_short_of, CHANNEL_speed_rpm, CHANNEL_target_rpm, "rpm too slow"},
    {MONITOR_P0507, CLAIM_PAIRING_less, CHANNEL_speed_rpm, CHANNEL_target_rpm, "rpm too fast"},
};

/* Why a monitor does not look, as bits; REASON(name, in words). */
// clang-format off
#define REASON_LIST(REASON) \
  REASON(pedal, "with the pedal pressed") \
  REASON(recent, "within {delay} s of a start or a change of load") \
  REASON(cold, "while the engine was below {warm} C") \
  REASON(limp, "in limp-home") \
  REASON(left, "while the computer could still add or take away air") \
  REASON(loop, "while the oxygen sensor was not in use yet") \
  REASON(standing, "while the engine was started or stopped")
// clang-format on

enum reason {
#define REASON(name, text) REASON_##name,
  REASON_LIST(REASON)
#undef REASON
      REASON_COUNT
};
static const struct {
  const char *name, *text;
} reasons[REASON_COUNT] = {
#define REASON(name, text) {#name, text},
    REASON_LIST(REASON)
#undef REASON
};

/* What is true at the rows, one after the other. */
struct look {
  const struct explain_account *a;
  size_t event, load;
  bool running, limp;
  double disturbed_s, started_s;
};

static void look_init(struct look *look, const struct explain_account *a) {
  const bool running = a->sim->scenario->running;
  *look = (struct look){.a = a, .running = running, .disturbed_s = -INFINITY, .started_s = running ? -INFINITY : INFINITY};
}

static void look_to(struct look *look, size_t row) {
  const struct recording *r = look->a->recording;
  const double now = recording_value(r, row, CHANNEL_time_s);
  for (; look->event < r->event_count && r->events[look->event].time_s <= now; look->event++) {
    const struct recording_event *event = &r->events[look->event];
    if (event->kind == RECORDING_ENGINE && event->value == RECORDING_VALUE_STARTED) {
      look->running = true;
      look->limp = false;
      look->disturbed_s = look->started_s = event->time_s;
    } else if (event->kind == RECORDING_ENGINE &&
               (event->value == RECORDING_VALUE_STALL || event->value == RECORDING_VALUE_KEY + KEY_OFF)) {
      look->running = false;
    } else if (event->kind == RECORDING_CONTROLLER && event->value == RECORDING_VALUE_LIMP) {
      look->limp = true;
    }
  }
  for (; look->load < look->a->story->load_count && look->a->story->loads[look->load].time_s <= now; look->load++)
    look->disturbed_s = look->a->story->loads[look->load].time_s;
  if (recording_value(r, row, CHANNEL_pedal_pct) > PEDAL_PCT) look->disturbed_s = now;
}

static unsigned reasons_at(const struct look *look, const struct watched *w, size_t row) {
  const struct recording *r = look->a->recording;
  const struct computer_params *computer = &look->a->sim->vehicle.engine->computer;
  const struct idle_air_params *air = &computer->air;
  const double now = claim_pair_cell(r, row, CHANNEL_time_s), coolant = claim_pair_cell(r, row, CHANNEL_coolant_c);
  const double learned = claim_pair_cell(r, row, CHANNEL_learned_pct), effort = claim_pair_cell(r, row, CHANNEL_effort_pct);
  const unsigned needs = monitor_rows[w->code].enable;
  unsigned found = 0;
  if ((needs & MONITOR_ENABLE_running) && !look->running) found |= 1u << REASON_standing;
  if ((needs & MONITOR_ENABLE_idling) && claim_pair_cell(r, row, CHANNEL_pedal_pct) > PEDAL_PCT) found |= 1u << REASON_pedal;
  if ((needs & MONITOR_ENABLE_warm) && coolant < computer->supervision.warm_k - UNITS_KELVIN_AT_ZERO_C)
    found |= 1u << REASON_cold;
  if ((needs & MONITOR_ENABLE_settled) && now < look->disturbed_s + computer->supervision.monitor_delay_s)
    found |= 1u << REASON_recent;
  if ((needs & MONITOR_ENABLE_idling) && look->limp) found |= 1u << REASON_limp;
  const bool most = effort >= 100.0 * air->effort_most_ratio - HAIR_PCT && learned >= 100.0 * air->learned_most_ratio - HAIR_PCT;
  const bool least =
      effort <= 100.0 * air->effort_least_ratio + HAIR_PCT && learned <= 100.0 * air->learned_least_ratio + HAIR_PCT;
  if ((needs & MONITOR_ENABLE_at_limit) && !most && !least) found |= 1u << REASON_left;
  if ((needs & MONITOR_ENABLE_closed_loop) && (coolant < computer->fuel.closed_loop_k - UNITS_KELVIN_AT_ZERO_C ||
                                               now < look->started_s + computer->fuel.closed_loop_delay_s))
    found |= 1u << REASON_loop;
  return found;
}

/* The longest time beyond a limit at rows at which none of the reasons holds. */
static double longest_s(const struct explain_account *a, const struct watched *w, double limit, unsigned but) {
  struct look look;
  double longest = 0.0, from_s = NAN;
  look_init(&look, a);
  for (size_t row = 0; row < a->recording->row_count; row++) {
    look_to(&look, row);
    const double now = recording_value(a->recording, row, CHANNEL_time_s);
    const double value =
        claim_pair_value(w->how, claim_pair_cell(a->recording, row, w->channel), claim_pair_cell(a->recording, row, w->other));
    if (!(value > limit) || (reasons_at(&look, w, row) & but))
      from_s = NAN;
    else if (isnan(from_s))
      from_s = now;
    else
      longest = fmax(longest, now - from_s);
  }
  return longest;
}

/* The fewest reasons that leave less than the debounce time; 0 if there are none. Of equals those that come first. */
static unsigned find_reasons(const struct explain_account *a, const struct watched *w, double limit, double debounce_s) {
  for (int one = 0; one < REASON_COUNT; one++)
    if (longest_s(a, w, limit, 1u << one) < debounce_s) return 1u << one;
  for (int one = 0; one < REASON_COUNT; one++)
    for (int two = one + 1; two < REASON_COUNT; two++)
      if (longest_s(a, w, limit, 1u << one | 1u << two) < debounce_s) return 1u << one | 1u << two;
  return 0;
}

/* ---- Not set ---- */

static double debounce_of(const struct explain_account *a, int code) {
  return monitor_rows[code].debounce_ratio * a->sim->vehicle.engine->computer.supervision.debounce_s;
}

static void begin_quiet(struct explain_account *a, enum claim_kind kind, int weight, int code) {
  struct claim_draft *d = &a->draft;
  char pending[CLAIM_SOURCE_SIZE];
  claim_begin(d, kind, CLAIM_PART_CODE, weight, 0.0);
  d->claim->code = code;
  claim_window(d, 0.0, explain_account_end_s(a));
  snprintf(pending, sizeof pending, "%s pending", monitor_rows[code].code);
  claim_no_event(d, pending);
  snprintf(pending, sizeof pending, "%s confirmed", monitor_rows[code].code);
  claim_no_event(d, pending);
}

static double limit_of(int code) { return monitor_rows[code].threshold * monitor_rows[code].user_factor; }

static void say_only_while(struct explain_account *a, const struct watched *w) {
  struct claim_draft *d = &a->draft;
  const struct computer_params *computer = &a->sim->vehicle.engine->computer;
  const double limit = limit_of(w->code), debounce = debounce_of(a, w->code);
  const unsigned found = find_reasons(a, w, limit, debounce);
  char names[CLAIM_SOURCE_SIZE] = "", text[CLAIM_TEXT_SIZE];
  size_t used = (size_t)snprintf(text, sizeof text, "Not set: over {limit} {what} for {debounce} s on end, but only"), named = 0;
  for (int i = 0; i < REASON_COUNT; i++) {
    if (!(found & (1u << i))) continue;
    used += (size_t)snprintf(text + used, sizeof text - used, "%s %s", named ? " or" : "", reasons[i].text);
    named += (size_t)snprintf(names + named, sizeof names - named, "%s%s", named ? " " : "", reasons[i].name);
  }
  snprintf(text + used, sizeof text - used, ".");
  if (!found) return;
  begin_quiet(a, CLAIM_code_only_while, found == 1u << REASON_standing ? 2 : 6, w->code);
  claim_constant(d, "limit", limit, 0, monitor_rows[w->code].user_unit, "rule: limit of the code");
  claim_constant(d, "debounce", debounce, 0, "s", "rule: how long it must last");
  claim_words(d, "what", w->words, "rule: what the code watches");
  claim_pair_longest(d, "longest", w->how, w->channel, w->other, limit, 1);
  if (found & (1u << REASON_recent))
    claim_constant(d, "delay", computer->supervision.monitor_delay_s, 0, "s", "engine: supervision.monitor_delay_s");
  if (found & (1u << REASON_cold))
    claim_constant(d, "warm", computer->supervision.warm_k - UNITS_KELVIN_AT_ZERO_C, 0, "C", "engine: supervision.warm_c");
  claim_only_while(d, "longest", debounce, names);
  claim_say(d, text);
}

static void say_quiet(struct explain_account *a, const struct watched *w) {
  struct claim_draft *d = &a->draft;
  const double limit = limit_of(w->code), debounce = debounce_of(a, w->code);
  begin_quiet(a, CLAIM_code_below_limit, 2, w->code);
  claim_constant(d, "limit", limit, 0, monitor_rows[w->code].user_unit, "rule: limit of the code");
  claim_pair_max(d, "most", w->how, w->channel, w->other, 0);
  claim_words(d, "what", w->words, "rule: what the code watches");
  claim_below(d, "most", "limit", 0.0);
  if (claim_say(d, "Not set: {most} {what} at most; the limit is {limit}.")) return;
  begin_quiet(a, CLAIM_code_too_short, 7, w->code);
  claim_constant(d, "limit", limit, 0, monitor_rows[w->code].user_unit, "rule: limit of the code");
  claim_constant(d, "debounce", debounce, 0, "s", "rule: how long it must last");
  claim_pair_longest(d, "longest", w->how, w->channel, w->other, limit, 1);
  claim_words(d, "what", w->words, "rule: what the code watches");
  claim_below(d, "longest", "debounce", 0.0);
  if (claim_say(d, "Not set: over {limit} {what} for {longest} s at most; it takes {debounce}.")) return;
  say_only_while(a, w);
}

/* Those whose measure no channel shows: what it would take. How near it came is in no file of the run, so it is not told. */
struct unseen {
  int code; // enum monitor_code
  const char *words;
  bool key_on; // looked at with the engine standing too, and told only if it was beyond its limit for a while
};
static const struct unseen unseen[] = {{MONITOR_P0101, "% off what the blade should give", false},
                                       {MONITOR_P0300, "% of the firings missed", false},
                                       {MONITOR_P2135, "% between the tracks", true}};

static void say_takes(struct explain_account *a, const struct unseen *row) {
  struct claim_draft *d = &a->draft;
  const int code = row->code;
  const double debounce = debounce_of(a, code);
  const struct monitor_state *state = &a->sim->vehicle.computer.memory.monitors.code[code];
  if (!state->watched || (row->key_on && state->largest_measure <= monitor_rows[code].threshold)) return;
  const int weight = row->key_on ? 7 : 2;
  begin_quiet(a, CLAIM_code_takes, weight, code);
  claim_constant(d, "limit", limit_of(code), 0, monitor_rows[code].user_unit, "rule: limit of the code");
  claim_constant(d, "debounce", debounce, debounce < 1.0, "s", "rule: how long it must last");
  claim_words(d, "what", row->words, "rule: what the code watches");
  claim_say(d, "Not set: it takes over {limit} {what} for {debounce} s on end.");
}

/* ---- Set ---- */

static const struct recording_event *code_event(const struct explain_account *a, int code, int value) {
  for (size_t i = 0; i < a->recording->event_count; i++) {
    const struct recording_event *event = &a->recording->events[i];
    if (event->kind == RECORDING_CODE && event->code == code && event->value == value) return event;
  }
  return NULL;
}

/* One row for a code, whatever became of it. */
static void say_set(struct explain_account *a, int code) {
  const struct recording_event *pending = code_event(a, code, CODE_PENDING), *confirmed = code_event(a, code, CODE_CONFIRMED);
  const struct recording_event *erased = code_event(a, code, CODE_NONE);
  struct claim_draft *d = &a->draft;
  char text[CLAIM_TEXT_SIZE];
  size_t used = 0;
  if (!pending && !confirmed) return;
  claim_begin(d, CLAIM_code_set, CLAIM_PART_CODE, 9, pending ? pending->time_s : confirmed->time_s);
  d->claim->code = code;
  if (pending) {
    claim_event(d, "pending", pending, 0);
    used += (size_t)snprintf(text + used, sizeof text - used, "Pending at {pending} s");
  }
  if (confirmed) {
    claim_event(d, "confirmed", confirmed, 0);
    used += (size_t)snprintf(text + used, sizeof text - used, "%s at {confirmed} s, lamp on", used ? ", confirmed" : "Confirmed");
  }
  if (erased) {
    claim_event(d, "erased", erased, 0);
    used += (size_t)snprintf(text + used, sizeof text - used, ", erased at {erased} s");
  }
  snprintf(text + used, sizeof text - used, ".");
  if (!claim_say(d, text)) return;
  claim_begin(d, CLAIM_code_sets_when, CLAIM_PART_MORE, 1, pending ? pending->time_s : confirmed->time_s);
  claim_words(d, "code", monitor_rows[code].code, "rule: code");
  claim_words(d, "condition", monitor_rows[code].condition, "rule: what the code watches");
  claim_constant(d, "debounce", debounce_of(a, code), 1, "s", "rule: how long it must last");
  claim_say(d, "What sets {code}: {condition}, for {debounce} s.");
}

void explain_codes_tell(struct explain_account *a) {
  const unsigned possible = monitors_possible(engine_features(a->sim->vehicle.engine));
  const bool ran = a->sim->scenario->running || explain_account_event(a, RECORDING_ENGINE, RECORDING_VALUE_STARTED, 0.0);
  bool set[MONITOR_CODE_COUNT] = {false}, looked[MONITOR_CODE_COUNT] = {false};
  for (size_t i = 0; i < a->recording->event_count; i++) { // in the order in which they came
    const struct recording_event *event = &a->recording->events[i];
    if (event->kind != RECORDING_CODE || set[event->code]) continue;
    set[event->code] = true;
    say_set(a, event->code);
  }
  for (size_t i = 0; i < ARRAY_COUNT(watched); i++) looked[watched[i].code] = ran && !set[watched[i].code];
  for (size_t i = 0; i < ARRAY_COUNT(unseen); i++) looked[unseen[i].code] = (ran || unseen[i].key_on) && !set[unseen[i].code];
  for (int code = 0; code < MONITOR_CODE_COUNT; code++) { // the others in the order of their numbers
    if (!looked[code] || (monitor_rows[code].enable & ~possible)) continue;
    for (size_t i = 0; i < ARRAY_COUNT(watched); i++)
      if (watched[i].code == code) say_quiet(a, &watched[i]);
    for (size_t i = 0; i < ARRAY_COUNT(unseen); i++)
      if (unseen[i].code == code) say_takes(a, &unseen[i]);
  }
}
