#include "analysis/run/explain.h"

#include "analysis/run/claim_number.h"
#include "analysis/run/explain_account.h"
#include "analysis/run/window.h"

#include <ctype.h>
#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* Idle settles by the learned share too: from here on it hardly moves any more. */
#define REST_UM         0.5
#define WINDOW_EDGE_S   0.1 // what comes at the very end of a reading comes after it
#define REST_EFFORT_PCT 2.0 // an effort that no longer moves the learned share to speak of
#define REST_LIMIT_PCT  0.5

enum { PLAIN_LENGTH = 45 }; // a condition's own sentence up to here is told as a whole

/* ---- The table of readings ---- */

static void keep(struct explain_account *account, const struct story_moment *moment, bool held, const char *format,
                 va_list values) {
  struct explanation *out = account->out;
  if (!moment->happened || out->moment_count >= EXPLAIN_MOMENT_MAX) return;
  for (size_t i = 0; i < out->moment_count; i++)
    if (fabs(out->moments[i].moment.time_s - moment->time_s) < 1e-9) return;
  struct explain_moment *kept = &out->moments[out->moment_count++];
  kept->moment = *moment;
  if (held) kept->moment.mean[CHANNEL_speed_sd_rpm] = NAN;
  vsnprintf(kept->label, sizeof kept->label, format, values);
}

void explain_account_keep(struct explain_account *account, const struct story_moment *moment, const char *format, ...) {
  va_list values;
  va_start(values, format);
  keep(account, moment, false, format, values);
  va_end(values);
}

void explain_account_keep_held(struct explain_account *account, const struct story_moment *moment, const char *format, ...) {
  va_list values;
  va_start(values, format);
  keep(account, moment, true, format, values);
  va_end(values);
}

/* ---- Moments ---- */

void explain_account_window(struct explain_account *account, const struct story_moment *moment) {
  if (moment->happened)
    claim_window(&account->draft, moment->time_s, moment->time_s + moment->length_s);
  else
    claim_window(&account->draft, NAN, NAN);
}

/* Where the learned share of an idle at rest may stand: it takes over what the controller adds, until it is at a limit. */
static double learned_limit_pct(const struct explain_account *account, double effort_pct) {
  const struct idle_air_params *air = &account->sim->vehicle.engine->computer.air;
  return 100.0 * (effort_pct > 0.0 ? air->learned_most_ratio : air->learned_least_ratio);
}

void explain_account_at_rest(struct explain_account *account) {
  struct claim_draft *draft = &account->draft;
  claim_mean(draft, "rest_effort", CHANNEL_effort_pct, 1);
  const double effort = claim_value_of(draft->claim, "rest_effort")->value;
  if (fabs(effort) <= REST_EFFORT_PCT) {
    claim_constant(draft, "rest_none", 0.0, 0, "%", "rule: nothing left to learn");
    claim_equal(draft, "rest_effort", "rest_none", REST_EFFORT_PCT);
  } else {
    claim_mean(draft, "rest_learned", CHANNEL_learned_pct, 1);
    claim_constant(draft, "rest_limit", learned_limit_pct(account, effort), 0, "%", "engine: limit of the learned share");
    claim_equal(draft, "rest_learned", "rest_limit", REST_LIMIT_PCT);
  }
  claim_steady(&account->draft, CHANNEL_speed_rpm, EXPLAIN_REST_RPM);
  claim_steady(&account->draft, CHANNEL_learned_pct, EXPLAIN_REST_PCT);
  claim_steady(&account->draft, CHANNEL_film_um, REST_UM);
}

static bool rests(const struct explain_account *account, const struct story_moment *moment, enum channel channel, double most) {
  const double middle = moment->time_s + 0.5 * moment->length_s;
  const struct window early = window_between(account->recording, moment->time_s, middle);
  const struct window late = window_between(account->recording, middle, moment->time_s + moment->length_s);
  return fabs(window_mean(account->recording, late, channel) - window_mean(account->recording, early, channel)) <= most;
}

/* Within nine tenths of what at_rest() promises: the halves here share a row. */
bool explain_account_rests(const struct explain_account *account, const struct story_moment *moment) {
  const double effort = moment->mean[CHANNEL_effort_pct];
  const double from_limit = fabs(moment->mean[CHANNEL_learned_pct] - learned_limit_pct(account, effort));
  if (fabs(effort) > REST_EFFORT_PCT && from_limit > REST_LIMIT_PCT) return false;
  return rests(account, moment, CHANNEL_speed_rpm, 0.9 * EXPLAIN_REST_RPM) &&
         rests(account, moment, CHANNEL_learned_pct, 0.9 * EXPLAIN_REST_PCT) &&
         rests(account, moment, CHANNEL_film_um, 0.9 * REST_UM);
}

/* ---- What the scenario says ---- */

bool explain_account_alone(const struct explain_account *account, double from_s, double to_s) {
  for (size_t i = 0; i < account->phase_count; i++) {
    const struct phase *phase = &account->phases[i];
    if (phase->from_s > to_s || phase->to_s < from_s) continue;
    if (phase->fault_count > 0 || (i > 0 && phase->rest_s > from_s)) return false;
  }
  return true;
}

/* What of the world makes an idle another: warmth has its own channels, the driver's foot too. */
static bool counts(const struct condition_row *row) {
  if (row->kind == CONDITION_LOAD || row->kind == CONDITION_TEACHING) return true;
  static const char *const world[] = {"intake_c",       "altitude_m",      "ambient_kpa",
                                      "leak_bank1_pct", "tps_worn_at_deg", "app_worn_at_pct"};
  for (size_t i = 0; i < ARRAY_COUNT(world); i++)
    if (strcmp(row->field.key, world[i]) == 0) return true;
  return false;
}

/* The value at a time; NAN while it ramps. */
static double condition_at(const struct scenario *scenario, const struct condition_row *row, double time_s) {
  double value = conditions_value(&scenario->initial, &row->field);
  for (size_t i = 0; i < scenario->step_count; i++) {
    const struct scenario_step *step = &scenario->steps[i];
    if (step->at_s > time_s) break;
    for (size_t k = 0; k < step->set_count; k++) {
      if (&condition_rows[step->sets[k].condition] != row) continue;
      value = step->at_s + fmax(step->ramp_s, 0.0) > time_s ? NAN : step->sets[k].value;
    }
  }
  return value;
}

bool explain_account_alike(const struct explain_account *account, double one_s, double other_s) {
  for (size_t i = 0; i < condition_count; i++) {
    if (!counts(&condition_rows[i])) continue;
    const double one = condition_at(account->sim->scenario, &condition_rows[i], one_s);
    const double other = condition_at(account->sim->scenario, &condition_rows[i], other_s);
    if (!(fabs(one - other) <= 1e-9 * fmax(1.0, fabs(one)))) return false;
  }
  return true;
}

/* The film on the wall is the same at two times, and does not move there. */
static bool film_alike(const struct explain_account *account, double one_s, double other_s) {
  for (size_t i = 0; i < condition_count; i++) {
    if (strcmp(condition_rows[i].field.key, "film_um") != 0) continue;
    const double one = condition_at(account->sim->scenario, &condition_rows[i], one_s);
    const double other = condition_at(account->sim->scenario, &condition_rows[i], other_s);
    return fabs(one - other) <= 1e-9 * fabs(one);
  }
  return false;
}

/* The driver's foot by the scenario: the same at both ends, just before what comes next. */
static bool foot_alike(const struct explain_account *account, double early_s, double late_s) {
  static const char *const keys[] = {"hold_rpm", "pedal_pct"};
  for (size_t i = 0; i < ARRAY_COUNT(keys); i++) {
    const struct condition_row *row = condition_find(keys[i]);
    const double early = condition_at(account->sim->scenario, row, early_s);
    if (!(fabs(early - condition_at(account->sim->scenario, row, late_s - 0.1)) <= 1e-9)) return false;
  }
  return true;
}

/* What says how a fault acts is the same too, unless that fault is one of `but`. */
static bool shares_alike(const struct explain_account *account, double one_s, double other_s, const char *but) {
  static const struct {
    const char *key, *of;
  } shares[] = {{"leak_bank1_pct", "leak_mm2"}, {"tps_worn_at_deg", "_worn_v"}, {"app_worn_at_pct", "_worn_v"}};
  for (size_t i = 0; i < condition_count; i++)
    for (size_t k = 0; k < ARRAY_COUNT(shares); k++) {
      if (strcmp(condition_rows[i].field.key, shares[k].key) != 0 || strstr(but, shares[k].of)) continue;
      const double one = condition_at(account->sim->scenario, &condition_rows[i], one_s);
      const double other = condition_at(account->sim->scenario, &condition_rows[i], other_s);
      if (!(fabs(one - other) <= 1e-9 * fabs(one))) return false;
    }
  return true;
}

void explain_account_promise_alike(struct explain_account *account, const struct story_moment *one,
                                   const struct story_moment *other, const char *but) {
  const double one_end_s = one->time_s + one->length_s, other_end_s = other->time_s + other->length_s;
  const double early = fmin(one->time_s, other->time_s), late = fmax(one_end_s, other_end_s);
  bool same = explain_account_alike(account, early, late) && foot_alike(account, early, late) &&
              explain_account_alike(account, one->time_s, one_end_s - WINDOW_EDGE_S) && // nothing comes within a reading
              explain_account_alike(account, other->time_s, other_end_s - WINDOW_EDGE_S);
  if (strcmp(but, "film_um") == 0)
    same = same && explain_account_alone(account, one->time_s, one_end_s) &&
           explain_account_alone(account, other->time_s, other_end_s);
  else
    same = same && film_alike(account, early, late) && shares_alike(account, early, late, but);
  claim_window(&account->draft, early, late);
  claim_promise(&account->draft, CLAIM_PREDICATE_alike, but, same);
}

double explain_account_end_s(const struct explain_account *account) {
  return recording_value(account->recording, account->recording->row_count - 1, CHANNEL_time_s);
}

/* ---- The engine ---- */

bool explain_account_is_cable(const struct explain_account *account) {
  return account->sim->vehicle.engine->plant.throttle.kind == THROTTLE_CABLE;
}

bool explain_account_by_air_flow(const struct explain_account *account) {
  return account->sim->vehicle.engine->computer.fuel.metering == METERING_AIR_FLOW;
}

double explain_account_trim_pct(const struct story_moment *moment, int bank) {
  const double sum = bank == 0 ? moment->mean[CHANNEL_stft_pct] + moment->mean[CHANNEL_ltft_pct]
                               : moment->mean[CHANNEL_stft2_pct] + moment->mean[CHANNEL_ltft2_pct];
  return fabs(sum) < 0.05 ? 0.0 : sum; // nothing is written -0.0
}

/* A condition's own sentence, as much of it as is told; may hold a mark where its size belongs. */
static void plain_of(const struct condition_row *row, char text[CLAIM_WORDS_SIZE]) {
  if (strcmp(row->field.key, "fuel_delivery_ratio") == 0) { // its sentence is that of a ratio
    snprintf(text, CLAIM_WORDS_SIZE, "fuel supply");
    return;
  }
  snprintf(text, CLAIM_WORDS_SIZE, "%s", row->field.text);
  text[strcspn(text, ";,(")] = '\0';
  if (strlen(text) > PLAIN_LENGTH) text[strcspn(text, ":")] = '\0'; // what follows explains
  for (size_t length = strlen(text); length && text[length - 1] == ' '; length--) text[length - 1] = '\0';
}

/* A sentence with a place for the size, as "reads so much more", gets it there. */
static bool fill_size(const char *plain, const char *mark, const char *number, const char *behind, char *text, size_t size) {
  const char *at = strstr(plain, mark);
  if (!at) return false;
  snprintf(text, size, "%.*s%s%s", (int)(at - plain), plain, number, behind);
  return true;
}

void explain_account_plain(const struct condition_row *row, char text[CLAIM_WORDS_SIZE]) {
  char whole[CLAIM_WORDS_SIZE];
  plain_of(row, text);
  if (fill_size(text, "this times the truth", "wrong", "", whole, sizeof whole) ||
      fill_size(text, "so much more", "wrong", "", whole, sizeof whole) ||
      fill_size(text, " by this", "", "", whole, sizeof whole))
    snprintf(text, CLAIM_WORDS_SIZE, "%s", whole);
}

/* How much of it: " 3 mm2", "60 times the usual"; nothing for a switch. */
static void size_of(const struct phase_fault *fault, char *text, size_t size) {
  const char *key = fault->row->field.key, *unit = claim_number_unit(key), *ending = strrchr(key, '_');
  if (fault->row->field.kind == FIELD_SWITCH)
    text[0] = '\0';
  else if (ending && strcmp(ending, "_ratio") == 0)
    snprintf(text, size, ", %.4g times the usual", fault->value);
  else
    snprintf(text, size, ", %.4g%s%s", fault->value, *unit ? " " : "", unit);
}

size_t explain_account_faults(struct explain_account *account, const struct phase *phase, const struct phase *base,
                              const char *name, bool capital) {
  char all[CLAIM_WORDS_SIZE] = "", source[CLAIM_SOURCE_SIZE];
  size_t used = 0, count = 0;
  for (size_t i = 0; i < phase->fault_count; i++) {
    const struct phase_fault *fault = &phase->faults[i];
    char plain[CLAIM_WORDS_SIZE], size[60], one[CLAIM_WORDS_SIZE + 120];
    if (base && phases_have_at(base, fault)) continue;
    plain_of(fault->row, plain);
    size_of(fault, size, sizeof size);
    char whole[CLAIM_WORDS_SIZE + 80], number[40];
    snprintf(number, sizeof number, "%.4g", fault->value);
    if (fill_size(plain, "this times the truth", number, " times the truth", whole, sizeof whole) ||
        fill_size(plain, "by this", "by ", *size ? size + 2 : number, whole, sizeof whole))
      ;
    else if (!fill_size(plain, "so much more", *size ? size + 2 + (fault->value < 0.0) : number,
                        fault->value < 0.0 ? " less" : " more", whole, sizeof whole))
      snprintf(whole, sizeof whole, "%s%s", plain, size);
    snprintf(one, sizeof one, "%s%s (%s)", used ? " and " : "", whole, fault->row->field.key);
    if (used + strlen(one) + 1 > sizeof all) { // a cause that there is no room for is not left out: nothing is said
      account->draft.broken = true;
      break;
    }
    used += (size_t)snprintf(all + used, sizeof all - used, "%s", one);
    count++;
  }
  if (capital) all[0] = (char)toupper((unsigned char)all[0]);
  snprintf(source, sizeof source, "scenario: what is wrong from %.6g s on", phase->from_s);
  claim_words(&account->draft, name, all, source);
  return count;
}

const struct recording_event *explain_account_event(const struct explain_account *account, enum recording_event_kind kind,
                                                    int value, double after_s) {
  for (size_t i = 0; i < account->recording->event_count; i++) {
    const struct recording_event *event = &account->recording->events[i];
    if (event->kind == kind && event->value == value && event->time_s >= after_s - 1e-9) return event;
  }
  return NULL;
}

/* ---- Putting them in order ---- */

static size_t printed(const struct claim *claim) {
  size_t count = 0;
  for (size_t i = 0; i < claim->value_count; i++) count += claim->values[i].printed[0] != '\0';
  return count;
}

/* Of those that want a place in a part only the heaviest keep it. */
static void thin_out(struct explanation *out, enum claim_part part, size_t most) {
  for (;;) {
    struct claim *lightest = NULL;
    size_t count = 0;
    for (size_t i = 0; i < out->count; i++) {
      struct claim *claim = &out->claims[i];
      if (claim->part != part) continue;
      count++;
      if (!lightest || claim->weight <= lightest->weight) lightest = claim;
    }
    if (!lightest || count <= most) return;
    lightest->part = CLAIM_PART_MORE;
  }
}

static int compare_claims(const void *a, const void *b) {
  const struct claim *one = a, *other = b;
  if (one->part != other->part) return one->part < other->part ? -1 : 1;
  if (one->part == CLAIM_PART_CODE) return 0;
  return (one->at_s > other->at_s) - (one->at_s < other->at_s);
}

/* Insertion: it keeps the order of equals, and there are not many. */
static void sort(struct explanation *out) {
  struct claim *spare = &out->claims[EXPLAIN_CLAIM_MAX - 1];
  for (size_t i = 1; i < out->count; i++)
    for (size_t k = i; k > 0 && compare_claims(&out->claims[k - 1], &out->claims[k]) > 0; k--) {
      *spare = out->claims[k];
      out->claims[k] = out->claims[k - 1];
      out->claims[k - 1] = *spare;
    }
}

/* A run that answers no question still has a headline: the heaviest of what there is. */
static void lift_one(struct explanation *out) {
  struct claim *heaviest = NULL;
  for (size_t i = 0; i < out->count; i++) {
    struct claim *claim = &out->claims[i];
    if (claim->part == CLAIM_PART_HEADLINE) return;
    if (claim->part == CLAIM_PART_CODE) continue;
    if (!heaviest || claim->weight > heaviest->weight) heaviest = claim;
  }
  if (heaviest) heaviest->part = CLAIM_PART_HEADLINE;
}

/* Whether a headline names the fault that came, with the time: "Vacuum leak, 3 mm2 (leak_mm2), from 60 s: ..." beside "From 60 to
 * 70 s: vacuum leak, 3 mm2 (leak_mm2)." */
static bool in_headline(const struct explanation *out, const struct claim *came) {
  const char *what = strstr(came->text, ": ");
  char tail[CLAIM_TEXT_SIZE + 8];
  if (!what || strlen(what) < 5) return false;
  snprintf(tail, sizeof tail, "%.*s, from ", (int)strlen(what + 3) - 1,
           what + 3); // without its first letter, which may be a capital
  for (size_t i = 0; i < out->count; i++)
    if (out->claims[i].part == CLAIM_PART_HEADLINE && strstr(out->claims[i].text, tail)) return true;
  return false;
}

static void arrange(struct explanation *out) {
  lift_one(out);
  for (size_t i = 0; i < out->count; i++)
    if (out->claims[i].part == CLAIM_PART_CHAIN && printed(&out->claims[i]) > EXPLAIN_LINK_NUMBERS)
      out->claims[i].part = CLAIM_PART_MORE;
  thin_out(out, CLAIM_PART_HEADLINE, EXPLAIN_HEADLINE_MAX);
  for (size_t i = 0; i < out->count; i++)
    if (out->claims[i].kind == CLAIM_fault_came && out->claims[i].part == CLAIM_PART_CHAIN && in_headline(out, &out->claims[i]))
      out->claims[i].part = CLAIM_PART_MORE;
  thin_out(out, CLAIM_PART_CHAIN, EXPLAIN_CHAIN_MAX);
  thin_out(out, CLAIM_PART_SURPRISE, EXPLAIN_SURPRISE_MAX);
  sort(out);
}

void explain_run(const struct simulation *sim, const struct recording *recording, const struct story *story,
                 struct explanation *explanation) {
  *explanation = (struct explanation){0};
  struct explain_account account = {.sim = sim, .recording = recording, .story = story, .out = explanation};
  if (recording->row_count == 0) return;
  claim_draft_init(&account.draft, recording, explanation->claims, EXPLAIN_CLAIM_MAX);
  account.phase_count = phases_find(sim->scenario, account.phases);
  struct explain_film film;
  explain_film_find(&account, &film);
  explain_start_tell(&account);
  explain_film_tell(&account, &film);
  explain_clean_tell(&account, &film);
  explain_faults_tell(&account);
  explain_repair_tell(&account);
  explain_loads_tell(&account);
  explain_stall_tell(&account);
  explain_quiet_tell(&account);
  explanation->count = account.draft.count;
  explain_codes_tell(&account);
  explanation->count = account.draft.count;
  arrange(explanation);
}
