#include "io/report/run_report_claims.h"

#include "io/format/json.h"

#include <math.h>

enum { VALUE_DECIMALS = 6, TIME_DECIMALS = 6 };

static void put_channels(const struct claim *claim, struct json *json) {
  bool used[CHANNEL_COUNT] = {false};
  for (size_t i = 0; i < claim->value_count; i++) {
    if (claim->values[i].channel != CLAIM_NONE) used[claim->values[i].channel] = true;
    if (claim->values[i].other != CLAIM_NONE) used[claim->values[i].other] = true;
  }
  for (size_t i = 0; i < claim->hold_count; i++)
    if (claim->holds[i].channel != CLAIM_NONE) used[claim->holds[i].channel] = true;
  json_open_array(json, "channels");
  for (int i = 0; i < CHANNEL_COUNT; i++)
    if (used[i]) json_put_text(json, NULL, channel_rows[i].name);
  json_close(json);
}

static void put_names(const struct claim *claim, const int of[2], struct json *json) {
  if (of[0] == CLAIM_NONE) return;
  json_open_array(json, "of");
  for (int i = 0; i < 2; i++)
    if (of[i] != CLAIM_NONE) json_put_text(json, NULL, claim->values[of[i]].name);
  json_close(json);
}

static void put_times(double from_s, double to_s, struct json *json) {
  if (isnan(from_s)) return;
  json_put_real(json, "from_s", from_s, TIME_DECIMALS);
  json_put_real(json, "to_s", to_s, TIME_DECIMALS);
}

static void put_value(const struct claim *claim, const struct claim_value *value, struct json *json) {
  const bool event = value->is == CLAIM_STATISTIC_event || value->is == CLAIM_STATISTIC_count;
  json_open_object(json, NULL);
  json_put_text(json, "name", value->name);
  if (value->printed[0]) json_put_text(json, "printed", value->printed);
  json_put_real(json, "value", value->value, VALUE_DECIMALS);
  json_put_text(json, "unit", value->unit);
  json_put_text(json, "is", claim_statistic_rows[value->is].name);
  if (value->channel != CLAIM_NONE) json_put_text(json, "channel", channel_rows[value->channel].name);
  if (value->other != CLAIM_NONE) {
    json_put_text(json, "other", channel_rows[value->other].name);
    json_put_text(json, "how", claim_pairing_rows[value->how].name);
  }
  put_times(value->from_s, value->to_s, json);
  if (value->is == CLAIM_STATISTIC_first || value->is == CLAIM_STATISTIC_pair_longest)
    json_put_real(json, "level", value->level, VALUE_DECIMALS);
  if (value->is == CLAIM_STATISTIC_first) json_put_text(json, "direction", value->falling ? "falling" : "rising");
  put_names(claim, value->of, json);
  if (value->source[0]) json_put_text(json, event ? "event" : "source", value->source);
  json_close(json);
}

/* In the order in which the text prints them; those that only predicates need come last. */
static void put_values(const struct claim *claim, struct json *json) {
  json_open_array(json, "values");
  for (int nth = 1; nth <= CLAIM_VALUE_MAX; nth++)
    for (size_t i = 0; i < claim->value_count; i++)
      if (claim->values[i].nth == nth) put_value(claim, &claim->values[i], json);
  for (size_t i = 0; i < claim->value_count; i++)
    if (claim->values[i].nth == 0) put_value(claim, &claim->values[i], json);
  json_close(json);
}

static void put_hold(const struct claim *claim, const struct claim_hold *hold, struct json *json) {
  const bool scenario = hold->is == CLAIM_PREDICATE_alone || hold->is == CLAIM_PREDICATE_alike;
  const bool event = hold->is == CLAIM_PREDICATE_event || hold->is == CLAIM_PREDICATE_no_event;
  json_open_object(json, NULL);
  json_put_text(json, "is", claim_predicate_rows[hold->is].name);
  put_names(claim, hold->of, json);
  if (hold->channel != CLAIM_NONE) json_put_text(json, "channel", channel_rows[hold->channel].name);
  put_times(hold->from_s, hold->to_s, json);
  if (hold->name[0]) json_put_text(json, scenario ? "except" : event ? "event" : "reasons", hold->name);
  if (!scenario && !event && hold->is != CLAIM_PREDICATE_before) json_put_real(json, "by", hold->by, VALUE_DECIMALS);
  json_close(json);
}

void run_report_claims_put(const struct explanation *explanation, struct json *json) {
  json_open_array(json, "why");
  for (size_t k = 0; k < explanation->count; k++) {
    const struct claim *claim = &explanation->claims[k];
    json_open_object(json, NULL);
    json_put_text(json, "kind", claim_kind_rows[claim->kind].name);
    json_put_text(json, "part", claim_part_names[claim->part]);
    if (claim->code != CLAIM_NONE) {
      json_put_text(json, "code", monitor_rows[claim->code].code);
      json_put_text(json, "name", monitor_rows[claim->code].text);
    }
    json_put_text(json, "text", claim->text);
    json_put_real(json, "from_s", claim->from_s, TIME_DECIMALS);
    json_put_real(json, "to_s", claim->to_s, TIME_DECIMALS);
    put_channels(claim, json);
    put_values(claim, json);
    json_open_array(json, "holds");
    for (size_t i = 0; i < claim->hold_count; i++) put_hold(claim, &claim->holds[i], json);
    json_close(json);
    json_close(json);
  }
  json_close(json);
}
