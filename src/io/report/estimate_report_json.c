#include "analysis/estimate/estimate_brief.h"
#include "base/attributes.h"
#include "io/format/json.h"
#include "io/report/estimate_report.h"

#include <math.h>

static void put_interval(struct json *json, double best, double low, double high, int decimals) {
  json_put_real(json, "best", best, decimals);
  json_put_real(json, "low", fmin(low, high), decimals);
  json_put_real(json, "high", fmax(low, high), decimals);
}

static void put_readings(struct json *json, const struct estimate_findings *findings) {
  const struct estimate *e = findings->estimate;
  json_open_array(json, "readings");
  for (size_t i = 0; i < e->problem.readings->count; i++) {
    const struct estimate_reading *r = &e->problem.readings->readings[i];
    const int decimals = estimate_findings_decimals(r->quantity) + 1;
    json_open_object(json, NULL);
    json_put_text(json, "name", estimate_quantities[r->quantity].name);
    json_put_text(json, "condition", estimate_conditions[r->condition].name);
    json_put_real(json, "value", r->value, decimals);
    json_put_real(json, "sd", r->sd, 4);
    json_open_array(json, "expected");
    for (size_t k = 0; k < findings->leading_count; k++) {
      char name[ESTIMATE_NAME_SIZE];
      estimate_hypothesis_name(&e->hypotheses[findings->leading[k]], name);
      json_open_object(json, NULL);
      json_put_text(json, "cause", name);
      json_put_real(json, "value", findings->comparisons[k][i].expected, decimals);
      json_put_real(json, "spread", findings->comparisons[k][i].spread, 4);
      json_put_real(json, "off", findings->comparisons[k][i].off, 2);
      json_close(json);
    }
    json_close(json);
    json_close(json);
  }
  json_close(json);
}

static void put_severity(struct json *json, const char *key, const struct estimate_hypothesis *h, size_t place) {
  json_open_object(json, key);
  json_put_text(json, "name", cause_rows[h->fault.cause[place]].condition);
  put_interval(json, h->mean[place], h->low[place], h->high[place], 3);
  json_close(json);
}

/* What mends it, and what that costs; null where only a search does. */
static void put_remedy(struct json *json, const struct estimate_findings *findings, size_t hypothesis) {
  const struct estimate_state *state = &findings->decide.state[hypothesis];
  double cost = 0.0;
  if (!state->known) {
    json_put_null(json, "remedies");
    return;
  }
  json_open_array(json, "remedies");
  for (size_t i = 0; i < REMEDY_COUNT; i++) {
    if (!((state->remedies >> i) & 1u)) continue;
    cost += remedy_cost(&findings->decide.costs, i);
    json_put_text(json, NULL, remedy_rows[i].name);
  }
  json_close(json);
  json_put_real(json, "remedy_cost", cost, 2);
}

static void put_causes(struct json *json, const struct estimate_findings *findings) {
  const struct estimate *e = findings->estimate;
  json_open_array(json, "causes");
  for (size_t i = 0; i < e->count; i++) {
    const struct estimate_hypothesis *h = &e->hypotheses[e->order[i]];
    char name[ESTIMATE_NAME_SIZE];
    estimate_hypothesis_name(h, name);
    json_open_object(json, NULL);
    json_put_text(json, "name", name);
    json_put_real(json, "probability", h->probability, 5);
    json_put_real(json, "prior", h->prior, 5);
    if (h->fault.count > 0)
      put_severity(json, "severity", h, 0);
    else
      json_put_null(json, "severity");
    if (h->fault.count > 1) put_severity(json, "second_severity", h, 1);
    json_put_real(json, "fit_p", h->p_value, 6);
    put_remedy(json, findings, e->order[i]);
    json_close(json);
  }
  json_close(json);
}

static void put_next(struct json *json, const struct estimate_next *next) {
  json_put_real(json, "open_bits", next->entropy_bits, 4);
  json_open_array(json, "next");
  for (size_t i = 0; i < next->count; i++) {
    json_open_object(json, NULL);
    json_put_text(json, "measure", next->tests[i].name);
    json_open_array(json, "cautions"); // before what is done
    for (int k = 0; k < CAUTION_COUNT; k++)
      if ((next->tests[i].cautions >> k) & 1u) json_put_text(json, NULL, caution_rows[k].name);
    json_close(json);
    json_put_text(json, "text", next->tests[i].text);
    json_put_real(json, "gain_bits", next->tests[i].gain_bits, 4);
    json_put_real(json, "minutes", next->tests[i].minutes, 1);
    json_put_real(json, "expected_cost", next->tests[i].cost, 2);
    json_close(json);
  }
  json_close(json);
}

static void put_range(struct json *json, const char *key, const struct estimate_range *range, int decimals) {
  json_open_object(json, key);
  put_interval(json, range->middle, range->low, range->high, decimals);
  json_close(json);
}

static void put_after(struct json *json, const struct estimate_after *after) {
  if (!after->applies) {
    json_put_null(json, "after_clean");
    return;
  }
  json_open_object(json, "after_clean");
  json_put_real(json, "relearn_s", after->relearn_s, 0);
  json_put_real(json, "learned_now_pct", after->learned_now_pct, 1);
  json_put_real(json, "cure_probability", after->cure_probability, 4);
  json_open_array(json, "readings");
  for (size_t i = 0; i < after->count; i++) {
    const int decimals = estimate_findings_decimals(after->readings[i].quantity) + 1;
    json_open_object(json, NULL);
    json_put_text(json, "name", estimate_quantities[after->readings[i].quantity].name);
    json_put_text(json, "condition", estimate_conditions[after->readings[i].condition].name);
    put_range(json, "now", &after->readings[i].now, decimals);
    put_range(json, "cleaned", &after->readings[i].stale, decimals);
    put_range(json, "relearned", &after->readings[i].relearned, decimals);
    json_close(json);
  }
  json_close(json);
  json_close(json);
}

static void put_film(struct json *json, const struct estimate_findings *findings) {
  const struct estimate *e = findings->estimate;
  json_open_object(json, "film_um");
  put_interval(json, e->film_best_um, e->film_low_um, e->film_high_um, 2);
  json_put_real(json, "probability", e->film_probability, 5);
  json_close(json);
  json_open_object(json, "area_loss_pct");
  put_interval(json, findings->area_loss_best_pct, findings->area_loss_low_pct, findings->area_loss_high_pct, 2);
  json_close(json);
}

/* What an opening curve brought; null where none was given. */
static void put_curve(struct json *json, const struct estimate_curve *curve) {
  if (!curve) {
    json_put_null(json, "curve");
    return;
  }
  json_open_object(json, "curve");
  json_put_text(json, "log", curve->log);
  if (curve->clean)
    json_put_text(json, "baseline", curve->clean);
  else
    json_put_null(json, "baseline");
  json_put_text(json, "verdict", opening_curve_verdict_names[curve->verdict]);
  json_put_flag(json, "taken", curve->taken);
  json_open_object(json, "idle_lost_pct");
  json_put_real(json, "mean", 100.0 * curve->lost.mean_ratio, 3);
  json_put_real(json, "sd", 100.0 * curve->lost.sd_ratio, 3);
  json_put_real(json, "low", 100.0 * curve->lost.low_ratio, 3);
  json_put_real(json, "high", 100.0 * curve->lost.high_ratio, 3);
  json_close(json);
  json_put_text(json, "text", curve->text);
  json_close(json);
}

/* A sentence and the values in it, each with where it stands in this report. */
static void put_claim(struct json *json, const char *part, const struct estimate_claim *claim) {
  static const char *const hows[] = {"rounded", "over", "below"};
  json_open_object(json, NULL);
  json_put_text(json, "part", part);
  json_put_text(json, "text", claim->text);
  json_open_array(json, "values");
  for (size_t i = 0; i < claim->count; i++) {
    json_open_object(json, NULL);
    json_put_text(json, "printed", claim->values[i].printed);
    json_put_text(json, "how", hows[claim->values[i].how]);
    json_put_real(json, "value", claim->values[i].value, 6);
    json_put_text(json, "source", claim->values[i].source);
    json_close(json);
  }
  json_close(json);
  json_close(json);
}

static void put_claims(struct json *json, const struct estimate_findings *findings) {
  struct estimate_brief brief;
  estimate_brief(findings, &brief);
  json_open_array(json, "claims");
  put_claim(json, "what", &brief.what);
  put_claim(json, "how_sure", &brief.sure);
  put_claim(json, "next", &brief.next);
  put_claim(json, "after", &brief.after);
  for (size_t i = 0; i < findings->why.count; i++) put_claim(json, "why", &findings->why.claims[i]);
  json_close(json);
  json_open_array(json, "at_odds");
  for (size_t i = 0; i < findings->odd_count; i++) {
    const struct estimate_reading *r = &findings->estimate->problem.readings->readings[findings->odds[i].reading];
    json_open_object(json, NULL);
    json_put_text(json, "name", estimate_quantities[r->quantity].name);
    json_put_text(json, "condition", estimate_conditions[r->condition].name);
    json_put_real(json, "value", r->value, 3);
    json_put_real(json, "expected", findings->odds[i].expected, 3);
    json_put_real(json, "off", findings->odds[i].off, 2);
    json_close(json);
  }
  json_close(json);
}

/* What each step comes to; null where nothing explains the readings, and no step has a cost. */
static void put_decision(struct json *json, const struct estimate_findings *findings) {
  static const char *const kinds[] = {"hand_back", "search", "mend", "look"};
  const struct estimate_steps *steps = &findings->steps;
  const struct remedy_costs *costs = &findings->decide.costs;
  if (findings->estimate->p_value < ESTIMATE_P_VALUE_LEAST) {
    json_put_null(json, "decision");
    return;
  }
  json_open_object(json, "decision");
  json_put_text(json, "next", steps->chosen.name);
  json_put_flag(json, "confirms", steps->confirms);
  json_open_object(json, "chosen");
  json_put_text(json, "kind", kinds[steps->chosen.kind]);
  json_put_text(json, "text", steps->chosen.text);
  json_put_real(json, "minutes", steps->chosen.minutes, 1);
  json_put_real(json, "expected_cost", steps->chosen.cost, 2);
  json_close(json);
  json_open_object(json, "costs");
  json_put_real(json, "minute", costs->minute, 4);
  json_put_real(json, "comeback", costs->comeback, 2);
  json_put_real(json, "search", costs->search, 2);
  json_close(json);
  json_open_array(json, "steps");
  for (size_t i = 0; i < steps->count; i++) {
    json_open_object(json, NULL);
    json_put_text(json, "step", steps->steps[i].name);
    json_put_text(json, "kind", kinds[steps->steps[i].kind]);
    json_put_real(json, "expected_cost", steps->steps[i].cost, 2);
    json_put_real(json, "own_cost", steps->steps[i].own, 2);
    json_put_text(json, "text", steps->steps[i].text);
    json_close(json);
  }
  json_close(json);
  json_close(json);
}

/* The four statements, and every caution that what follows asks for. */
static void put_brief(struct json *json, const struct estimate_findings *findings) {
  struct estimate_brief brief;
  estimate_brief(findings, &brief);
  json_open_object(json, "brief");
  json_put_text(json, "what", brief.what.text);
  json_put_text(json, "how_sure", brief.sure.text);
  json_open_array(json, "cautions");
  for (int k = 0; k < CAUTION_COUNT; k++)
    if ((brief.cautions >> k) & 1u) json_put_text(json, NULL, caution_rows[k].name);
  json_close(json);
  json_put_text(json, "next", brief.next.text);
  json_put_text(json, "after", brief.after.text);
  json_close(json);
  const unsigned cautions = estimate_findings_cautions(findings, findings->next.count) | brief.cautions;
  json_open_object(json, "cautions");
  for (int i = 0; i < CAUTION_COUNT; i++)
    if ((cautions >> i) & 1u) json_put_text(json, caution_rows[i].name, caution_rows[i].text);
  json_close(json);
}

static void put_words(struct json *json, const struct estimate_findings *findings) {
  json_open_array(json, "why");
  for (size_t i = 0; i < findings->why.count; i++) json_put_text(json, NULL, findings->why.claims[i].text);
  json_close(json);
  const char *limits[ESTIMATE_FINDINGS_LIMIT_MAX];
  const size_t count = estimate_findings_limits(findings->estimate, limits);
  json_open_array(json, "limits");
  for (size_t i = 0; i < count; i++) json_put_text(json, NULL, limits[i]);
  json_close(json);
  json_put_text(json, "disclaimer", caution_disclaimer);
}

enum status estimate_report_json(const struct estimate_findings *findings, size_t file_count, const char *const *files,
                                 FILE *stream, struct error *error) {
  const struct estimate *e = findings->estimate;
  struct json *json = json_create();
  json_put_text(json, "engine", e->problem.engine->name);
  put_brief(json, findings);
  put_film(json, findings);
  put_causes(json, findings);
  json_open_object(json, "fit");
  json_put_real(json, "p_value", e->p_value, 6);
  json_put_flag(json, "explained", e->p_value >= ESTIMATE_P_VALUE_LEAST);
  json_put_real(json, "baseline_p_value", e->baseline_p_value, 6);
  json_close(json);
  put_readings(json, findings);
  estimate_report_symptoms(json, e);
  put_curve(json, findings->curve);
  put_next(json, &findings->next);
  put_after(json, &findings->after);
  put_decision(json, findings);
  put_words(json, findings);
  put_claims(json, findings);
  json_open_array(json, "files");
  for (size_t i = 0; i < file_count; i++) json_put_text(json, NULL, files[i]);
  json_close(json);
  const enum status status = json_print(json, stream, error);
  json_destroy(json);
  return status;
}
