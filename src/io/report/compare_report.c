#include "io/report/compare_report.h"

#include "base/attributes.h"
#include "car/caution.h"
#include "io/format/json.h"
#include "io/format/text.h"

#include <math.h>
#include <stdarg.h>
#include <string.h>

enum { ROW_MOST = 12 }; // effects on one sheet; JSON has all

int compare_report_decimals(enum estimate_quantity quantity) {
  const double resolution = estimate_quantities[quantity].resolution;
  if (quantity == ESTIMATE_QUANTITY_speed_rpm || quantity == ESTIMATE_QUANTITY_target_rpm) return 0;
  return resolution <= 0.02 || quantity == ESTIMATE_QUANTITY_tp_pct || quantity == ESTIMATE_QUANTITY_blade_pct ? 2 : 1;
}

void compare_report_change(const struct compare_effect *e, char text[COMPARE_REPORT_SIZE]) {
  const int d = compare_report_decimals(e->quantity);
  snprintf(text, COMPARE_REPORT_SIZE, "%+.*f (%+.*f to %+.*f)", d, estimate_reading_plain(e->change, d), d,
           estimate_reading_plain(e->low, d), d, estimate_reading_plain(e->high, d));
}

unsigned compare_report_cautions(const struct compare_report *report) {
  unsigned steps = CAUTION_STEP_run;
  switch (report->result->verdict) {
  case COMPARE_VERDICT_improved_relearn_open:
    steps |= CAUTION_STEP_relearn;
    break;
  case COMPARE_VERDICT_improved:
    steps |= CAUTION_STEP_clean_bore | CAUTION_STEP_blade;
    break;
  case COMPARE_VERDICT_worse:
    steps |= CAUTION_STEP_blade | CAUTION_STEP_unplug;
    break;
  default:
    break;
  }
  return caution_for(steps, report->features);
}

void compare_report_outlook(const struct compare_report *report, char text[COMPARE_REPORT_SIZE]) {
  const struct compare_result *r = report->result;
  const struct compare_model *m = report->model;
  text[0] = '\0';
  if (!m->known) return;
  char sure[32];
  const double percent = 100.0 * m->film_probability;
  snprintf(sure, sizeof sure, "%s%.0f %%", percent > 99.0 ? "more than " : "", fmin(percent, 99.0));
  if (!m->explained) {
    snprintf(text, COMPARE_REPORT_SIZE,
             "No cause explains the readings before on this engine, so there is no prediction for those after.");
    return;
  }
  if (!r->expects) {
    snprintf(text, COMPARE_REPORT_SIZE,
             "The probability of a film before was only %s: there is no prediction to compare with the readings after.", sure);
    return;
  }
  size_t met = 0;
  for (size_t i = 0; i < r->expected_count; i++) met += r->expected[i].met;
  int at = snprintf(
      text, COMPARE_REPORT_SIZE,
      "Before, a film (%s) took %.0f to %.0f %% of the idle's air area. After, %zu of %zu readings are as expected of a clean "
      "car, %s",
      sure, 100.0 * fmax(m->lost_low_ratio, 0.0), 100.0 * m->lost_high_ratio, met, r->expected_count,
      r->expects_stale ? "not relearned" : "relearned");
  for (size_t i = 0; i < r->expected_count && at < COMPARE_REPORT_SIZE - 60; i++) {
    const struct compare_expected *x = &r->expected[i];
    const int d = compare_report_decimals(x->quantity);
    if (!x->met)
      at += snprintf(text + at, (size_t)(COMPARE_REPORT_SIZE - at), "; %s is %.*f, not %.*f to %.*f",
                     estimate_quantities[x->quantity].name, d, x->after, d, x->low, d, x->high);
  }
  if (at < COMPARE_REPORT_SIZE - 1) snprintf(text + at, (size_t)(COMPARE_REPORT_SIZE - at), ".");
}

/* ---- Text ---- */

static void PRINTF_LIKE(3, 4) say(FILE *stream, size_t column, const char *format, ...) {
  char words[COMPARE_REPORT_SIZE * 2];
  va_list values;
  va_start(values, format);
  vsnprintf(words, sizeof words, format, values);
  va_end(values);
  fprintf(stream, "%*s", (int)column, "");
  text_wrap(stream, column, words);
}

static void list(const char *heading, const struct compare_words *words, FILE *stream) {
  if (words->count == 0) return;
  fprintf(stream, "\n%s\n", heading);
  for (size_t i = 0; i < words->count; i++) {
    fputs("  - ", stream);
    text_wrap(stream, 4, words->text[i]);
  }
}

static void print_effects(const struct compare_report *report, FILE *stream) {
  static const char *const headings[] = {"reading", "when", "before", "after", "change (90 % interval)", ""};
  const struct compare_result *r = report->result;
  struct text_table table;
  text_table_init(&table, 6, headings);
  for (size_t i = 0; i < r->effect_count && i < ROW_MOST; i++) {
    const struct compare_effect *e = &r->effects[i];
    const int d = compare_report_decimals(e->quantity);
    char change[COMPARE_REPORT_SIZE];
    compare_report_change(e, change);
    text_table_add(&table, "%s", estimate_quantities[e->quantity].name);
    text_table_add(&table, "%s", estimate_conditions[e->condition].name);
    text_table_add(&table, "%.*f", d, e->before);
    text_table_add(&table, "%.*f", d, e->after);
    text_table_add(&table, "%s", change);
    text_table_add(&table, "%s", e->low > 0.0 ? "up" : e->high < 0.0 ? "down" : "");
  }
  if (text_table_print(&table, stream, 2) != 0) fputs("  (out of memory for the table)\n", stream);
  text_table_destroy(&table);
  if (r->effect_count > ROW_MOST) fprintf(stream, "  and %zu more with --json\n", r->effect_count - ROW_MOST);
}

void compare_report_print(const struct compare_report *report, FILE *stream) {
  const struct compare_result *r = report->result;
  char outlook[COMPARE_REPORT_SIZE];
  say(stream, 0, "%s.", compare_verdict_rows[r->verdict].text);
  list("Why", &r->why, stream);
  compare_report_outlook(report, outlook);
  if (outlook[0]) {
    fputc('\n', stream);
    say(stream, 0, "%s", outlook);
    if (r->won_known)
      say(stream, 0, "Of that, %.0f %% came back (%.0f to %.0f).", 100.0 * r->won_ratio, 100.0 * r->won_low_ratio,
          100.0 * r->won_high_ratio);
  }
  fprintf(stream, "\nBefore %s, after %s\n", report->before, report->after);
  print_effects(report, stream);
  list("Not equal in both", &r->unequal, stream);
  fputs("\nCaution\n", stream);
  const unsigned cautions = compare_report_cautions(report);
  for (int i = 0; i < CAUTION_COUNT; i++)
    if ((cautions >> i) & 1u) say(stream, 2, "%s", caution_rows[i].brief);
  list("Next", &r->next, stream);
}

/* ---- JSON ---- */

static void put_words(struct json *json, const char *key, const struct compare_words *words) {
  json_open_array(json, key);
  for (size_t i = 0; i < words->count; i++) json_put_text(json, NULL, words->text[i]);
  json_close(json);
}

static void put_effects(struct json *json, const struct compare_result *r) {
  json_open_array(json, "effects");
  for (size_t i = 0; i < r->effect_count; i++) {
    const struct compare_effect *e = &r->effects[i];
    json_open_object(json, NULL);
    json_put_text(json, "name", estimate_quantities[e->quantity].name);
    json_put_text(json, "condition", estimate_conditions[e->condition].name);
    json_put_real(json, "before", e->before, 4);
    json_put_real(json, "after", e->after, 4);
    json_put_real(json, "change", e->change, 4);
    json_put_real(json, "low", e->low, 4);
    json_put_real(json, "high", e->high, 4);
    json_put_real(json, "corrected", e->corrected, 4);
    json_close(json);
  }
  json_close(json);
}

static void put_expected(struct json *json, const struct compare_report *report) {
  const struct compare_result *r = report->result;
  const struct compare_model *m = report->model;
  if (!r->expects) {
    json_put_null(json, "expected");
    return;
  }
  json_open_object(json, "expected");
  json_put_real(json, "film_probability", m->film_probability, 4);
  json_put_flag(json, "relearned", !r->expects_stale);
  json_open_array(json, "readings");
  for (size_t i = 0; i < r->expected_count; i++) {
    json_open_object(json, NULL);
    json_put_text(json, "name", estimate_quantities[r->expected[i].quantity].name);
    json_put_real(json, "after", r->expected[i].after, 4);
    json_put_real(json, "low", r->expected[i].low, 4);
    json_put_real(json, "high", r->expected[i].high, 4);
    json_put_flag(json, "met", r->expected[i].met);
    json_close(json);
  }
  json_close(json);
  json_open_object(json, "won_back_pct");
  json_put_real(json, "best", r->won_known ? 100.0 * r->won_ratio : NAN, 1);
  json_put_real(json, "low", r->won_known ? 100.0 * r->won_low_ratio : NAN, 1);
  json_put_real(json, "high", r->won_known ? 100.0 * r->won_high_ratio : NAN, 1);
  json_close(json);
  json_close(json);
}

enum status compare_report_json(const struct compare_report *report, FILE *stream, struct error *error) {
  const struct compare_result *r = report->result;
  struct json *json = json_create();
  json_put_text(json, "verdict", compare_verdict_rows[r->verdict].name);
  json_put_text(json, "text", compare_verdict_rows[r->verdict].text);
  json_put_flag(json, "other_car", r->other_car);
  put_effects(json, r);
  put_expected(json, report);
  put_words(json, "why", &r->why);
  put_words(json, "unequal", &r->unequal);
  put_words(json, "next", &r->next);
  const enum status status = json_print(json, stream, error);
  json_destroy(json);
  return status;
}
