#include "analysis/lesson/lesson_lookup.h"

#include "base/near_miss.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

enum status lesson_lookup_result(const struct lesson_results *results, const char *name, const struct lesson_result **result,
                                 struct error *error) {
  *result = NULL;
  const char *names[LESSON_RESULT_MAX];
  for (size_t i = 0; i < results->count; i++) {
    names[i] = results->items[i]->name;
    if (strcmp(names[i], name) == 0) *result = results->items[i];
  }
  if (*result) return STATUS_OK;
  const char *near = near_miss_best(name, names, results->count);
  return error_set(error, STATUS_BAD_CONFIG, "nothing above has the name '%.60s'%s%s%s", name, near ? "; did you mean '" : "",
                   near ? near : "", near ? "'?" : "; results are named in run, settle, sweep and estimate blocks");
}

enum status lesson_lookup_channel(const char *name, enum channel *channel, struct error *error) {
  const int found = channel_find(name);
  if (found >= 0) {
    *channel = (enum channel)found;
    return STATUS_OK;
  }
  const char *names[CHANNEL_COUNT];
  for (int i = 0; i < CHANNEL_COUNT; i++) names[i] = channel_rows[i].name;
  const char *near = near_miss_best(name, names, CHANNEL_COUNT);
  return error_set(error, STATUS_BAD_CONFIG, "there is no channel '%.60s'%s%s%s", name, near ? "; did you mean '" : "",
                   near ? near : "", near ? "'?" : " (bladegap list channels shows all)");
}

/* DECIMALS by the unit that a channel's name ends in. */
static const struct {
  const char *unit;
  int decimals;
} unit_decimals[] = {{"_rpm", 0}, {"_kpa", 1}, {"_gps", 2}, {"_deg", 2}, {"_mm2", 1}, {"_um", 0},
                     {"_pct", 1}, {"_c", 0},   {"_nm", 1},  {"_v", 2},   {"_a", 2},   {"_s", 0}};

int lesson_lookup_decimals(enum channel channel) {
  const char *unit = strrchr(channel_rows[channel].name, '_');
  for (size_t i = 0; unit && i < ARRAY_COUNT(unit_decimals); i++)
    if (strcmp(unit, unit_decimals[i].unit) == 0) return unit_decimals[i].decimals;
  return channel_rows[channel].decimals < 2 ? channel_rows[channel].decimals : 2;
}

/* How many rows or points, and where row i stands. */
static size_t row_count(const struct lesson_result *result) {
  return result->kind == LESSON_RESULT_RUN ? result->recording.row_count : result->count;
}

static double place(const struct lesson_result *result, size_t row) {
  if (result->kind == LESSON_RESULT_RUN) return recording_value(&result->recording, row, CHANNEL_time_s);
  return result->inputs ? result->inputs[row] : 0.0;
}

static double value_at(const struct lesson_result *result, size_t row, enum channel channel) {
  return result->kind == LESSON_RESULT_RUN ? recording_value(&result->recording, row, channel)
                                           : result->points[row].values[channel];
}

static enum status not_there(const struct lesson_result *result, enum channel channel, struct error *error) {
  double at_s;
  return error_set(error, STATUS_BAD_CONFIG, "%s.%s has no value%s", result->name, channel_rows[channel].name,
                   lesson_result_stalls(result, &at_s) ? ": the engine stalls" : ": this engine does not have it");
}

/* The last row that is not after a time; for a sweep the row at that input. */
static enum status find_row(const struct lesson_result *result, double at, size_t *row, struct error *error) {
  const size_t count = row_count(result);
  *row = count - 1;
  if (isnan(at)) {
    if (result->kind != LESSON_RESULT_SWEEP) return STATUS_OK;
    return error_set(error, STATUS_BAD_CONFIG, "%s is a sweep: say where, as in %s.speed_rpm@%.10g", result->name, result->name,
                     result->inputs[0]);
  }
  if (result->kind == LESSON_RESULT_POINT)
    return error_set(error, STATUS_BAD_CONFIG, "%s is a settled point and has no time: leave out @%.10g", result->name, at);
  const double first = place(result, 0), last = place(result, count - 1);
  if (at < first || at > last + 1e-6)
    return error_set(error, STATUS_BAD_CONFIG, "%s has nothing at %.10g; it goes from %.10g to %.10g", result->name, at, first,
                     last);
  while (*row > 0 && place(result, *row) > at + 1e-6) (*row)--;
  if (result->kind == LESSON_RESULT_SWEEP && fabs(place(result, *row) - at) > 1e-6)
    return error_set(error, STATUS_BAD_CONFIG, "%s has no point at %.10g; the nearest below is %.10g", result->name, at,
                     place(result, *row));
  return STATUS_OK;
}

enum status lesson_lookup_value(const struct lesson_result *result, enum channel channel, double at, double *value,
                                struct error *error) {
  size_t row;
  if (row_count(result) == 0) return error_set(error, STATUS_BAD_CONFIG, "%s has no channels", result->name);
  const enum status status = find_row(result, at, &row, error);
  if (status != STATUS_OK) return status;
  *value = value_at(result, row, channel);
  return isfinite(*value) ? STATUS_OK : not_there(result, channel, error);
}

/* ---- codes ---- */

/* When a code was first stored, or confirmed; NaN if never. Of a point 0 if it would be. */
static double code_time(const struct lesson_result *result, int code, bool confirmed) {
  if (result->kind == LESSON_RESULT_POINT) return result->points[0].codes & monitors_bit((enum monitor_code)code) ? 0.0 : NAN;
  for (size_t i = 0; i < result->recording.event_count; i++) {
    const struct recording_event *event = &result->recording.events[i];
    if (event->kind != RECORDING_CODE || event->code != code) continue;
    if (event->value == CODE_CONFIRMED || (!confirmed && event->value == CODE_PENDING)) return event->time_s;
  }
  return NAN;
}

void lesson_lookup_codes(const struct lesson_result *result, size_t size, char *codes) {
  size_t used = 0;
  *codes = '\0';
  for (int code = 0; code < MONITOR_CODE_COUNT; code++) {
    if (isnan(code_time(result, code, false)) || used + 10 > size) continue;
    used += (size_t)snprintf(codes + used, size - used, "%s%s", used ? ", " : "", monitor_rows[code].code);
  }
  if (used == 0) snprintf(codes, size, "none");
}

static int find_code(const char *word) {
  for (int code = 0; code < MONITOR_CODE_COUNT; code++)
    if (strcmp(monitor_rows[code].code, word) == 0) return code;
  return -1;
}

static enum status find_in_code(const struct lesson_result *result, const struct lesson_lookup *lookup, int code,
                                struct lesson_value *value, struct error *error) {
  if (result->kind != LESSON_RESULT_RUN && result->kind != LESSON_RESULT_POINT)
    return error_set(error, STATUS_BAD_CONFIG, "%s is neither a run nor a settled point: it has no codes", result->name);
  const bool confirmed = lookup->how == LESSON_LOOKUP_CONFIRMED;
  if (confirmed && result->kind == LESSON_RESULT_POINT)
    return error_set(error, STATUS_BAD_CONFIG, "confirmed() is for runs: in a settled point no driving cycles pass; use set()");
  const double time_s = code_time(result, code, confirmed);
  value->decimals = 0;
  if (lookup->how != LESSON_LOOKUP_VALUE) {
    value->number = isnan(time_s) ? 0.0 : 1.0;
    return STATUS_OK;
  }
  if (isnan(time_s) || result->kind == LESSON_RESULT_POINT)
    return error_set(error, STATUS_BAD_CONFIG, "%s.%s has no time: %s", result->name, lookup->what,
                     isnan(time_s) ? "the code never set" : "a settled point has none");
  value->number = time_s;
  return STATUS_OK;
}

/* ---- estimates ---- */

static enum status find_in_estimate(const struct lesson_result *result, const char *what, struct lesson_value *value,
                                    struct error *error) {
  const struct estimate *estimate = result->estimate;
  const double films[] = {estimate->film_best_um, estimate->film_low_um, estimate->film_high_um};
  static const char *const names[] = {"film_best", "film_low", "film_high"};
  value->decimals = 0;
  for (size_t i = 0; i < ARRAY_COUNT(names); i++)
    if (strcmp(what, names[i]) == 0) {
      value->number = films[i];
      return STATUS_OK;
    }
  const bool nothing = strcmp(what, "p_nothing") == 0, unlisted = strcmp(what, "p_unlisted") == 0;
  const int cause = strncmp(what, "p_", 2) == 0 ? cause_find(what + 2) : -1;
  if (!nothing && !unlisted && cause < 0)
    return error_set(
        error, STATUS_BAD_CONFIG,
        "%s is an estimate and has no '%s': film_best, film_low, film_high, p_nothing, p_unlisted, p_CAUSE (bladegap "
        "list causes)",
        result->name, what);
  value->number = 0.0;
  for (size_t i = 0; i < estimate->count; i++) {
    const struct estimate_hypothesis *one = &estimate->hypotheses[i];
    const bool is_unlisted = estimate_hypothesis_is_unlisted(one), is_nothing = !is_unlisted && one->fault.count == 0;
    const bool counts = nothing ? is_nothing : unlisted ? is_unlisted : estimate_hypothesis_place(one, (enum cause)cause) >= 0;
    if (counts) value->number += 100.0 * one->probability;
  }
  return STATUS_OK;
}

/* ---- channels ---- */

static enum status find_range(const struct lesson_result *result, const struct lesson_lookup *lookup, enum channel channel,
                              struct lesson_value *value, struct error *error) {
  double sum = 0.0, low = INFINITY, high = -INFINITY;
  size_t count = 0;
  const bool all = isnan(lookup->from);
  for (size_t row = 0; row < row_count(result); row++) {
    const double at = place(result, row), one = value_at(result, row, channel);
    if (!isfinite(one) || (!all && (at < lookup->from - 1e-6 || at > lookup->to + 1e-6))) continue;
    sum += one;
    count++;
    low = fmin(low, one);
    high = fmax(high, one);
  }
  if (count == 0) return error_set(error, STATUS_BAD_CONFIG, "%s.%s has no value there", result->name, lookup->what);
  value->number = lookup->how == LESSON_LOOKUP_MEAN ? sum / (double)count : lookup->how == LESSON_LOOKUP_MIN ? low : high;
  return STATUS_OK;
}

static enum status find_when(const struct lesson_result *result, const struct lesson_lookup *lookup, enum channel channel,
                             struct lesson_value *value, struct error *error) {
  for (size_t row = 0; row < row_count(result); row++) {
    const double at = place(result, row), one = value_at(result, row, channel);
    if (!isnan(lookup->from) && at < lookup->from) continue;
    if (!isfinite(one) || !(lookup->falling ? one < lookup->level : one > lookup->level)) continue;
    value->number = at;
    value->decimals = result->kind == LESSON_RESULT_RUN ? 0 : 1;
    return STATUS_OK;
  }
  return error_set(error, STATUS_BAD_CONFIG, "%s.%s is never %s %.10g%s", result->name, lookup->what,
                   lookup->falling ? "below" : "above", lookup->level, isnan(lookup->from) ? "" : " from there on");
}

static enum status find_words(const struct lesson_result *result, const char *what, struct lesson_value *value,
                              struct error *error) {
  value->is_words = true;
  if (strcmp(what, "codes") == 0 && (result->kind == LESSON_RESULT_RUN || result->kind == LESSON_RESULT_POINT)) {
    lesson_lookup_codes(result, sizeof value->words, value->words);
    return STATUS_OK;
  }
  if (strcmp(what, "outcome") == 0 && result->kind == LESSON_RESULT_POINT) {
    snprintf(value->words, sizeof value->words, "%s", settle_outcome_names[result->points[0].outcome]);
    return STATUS_OK;
  }
  if (strcmp(what, "headline") == 0 && result->kind == LESSON_RESULT_RUN) {
    for (size_t i = 0; i < result->explanation.count; i++) {
      if (result->explanation.claims[i].part != CLAIM_PART_HEADLINE) continue;
      snprintf(value->words, sizeof value->words, "%s", result->explanation.claims[i].text);
      return STATUS_OK;
    }
    return error_set(error, STATUS_BAD_CONFIG, "%s.headline: the summary of this run has none", result->name);
  }
  value->is_words = false;
  return STATUS_NO;
}

/* A value of the engine's file by its key; false if it is none. */
static bool find_in_engine(const struct lesson_result *result, const struct lesson_lookup *lookup, struct lesson_value *value) {
  struct setting setting;
  struct error ignored;
  error_clear(&ignored);
  if (channel_find(lookup->what) >= 0 || lookup->how != LESSON_LOOKUP_VALUE) return false;
  if (setting_find(lookup->what, &setting, &ignored) != STATUS_OK || !setting.of_engine) return false;
  value->number = setting_value(&setting, &result->engine, &result->query.conditions);
  return isfinite(value->number);
}

enum status lesson_lookup_find(const struct lesson_results *results, const struct lesson_lookup *lookup,
                               struct lesson_value *value, struct error *error) {
  const struct lesson_result *result;
  *value = (struct lesson_value){.decimals = 1};
  enum status status = lesson_lookup_result(results, lookup->name, &result, error);
  if (status != STATUS_OK) return status;
  if (result->kind == LESSON_RESULT_ESTIMATE) return find_in_estimate(result, lookup->what, value, error);
  const int code = find_code(lookup->what);
  if (code >= 0) return find_in_code(result, lookup, code, value, error);
  if (lookup->how == LESSON_LOOKUP_SET || lookup->how == LESSON_LOOKUP_CONFIRMED)
    return error_set(error, STATUS_BAD_CONFIG, "'%s' is not a fault code of this program (bladegap list codes)", lookup->what);
  status = find_words(result, lookup->what, value, error);
  if (status != STATUS_NO) return status;
  if (find_in_engine(result, lookup, value)) return STATUS_OK;
  enum channel channel = CHANNEL_time_s;
  status = lesson_lookup_channel(lookup->what, &channel, error);
  if (status != STATUS_OK) return status;
  value->decimals = lesson_lookup_decimals(channel);
  if (lookup->how == LESSON_LOOKUP_VALUE) {
    if (lookup->to > lookup->from)
      return error_set(error, STATUS_BAD_CONFIG, "%s.%s@%.10g..%.10g: say mean(), min() or max() of it", result->name,
                       lookup->what, lookup->from, lookup->to);
    return lesson_lookup_value(result, channel, lookup->from, &value->number, error);
  }
  if (result->kind == LESSON_RESULT_POINT)
    return error_set(error, STATUS_BAD_CONFIG, "%s is a settled point: it has one value of %s and no range", result->name,
                     lookup->what);
  if (lookup->how == LESSON_LOOKUP_WHEN) return find_when(result, lookup, channel, value, error);
  return find_range(result, lookup, channel, value, error);
}
