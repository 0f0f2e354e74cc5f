#include "io/report/fit_report.h"

#include "analysis/estimate/estimate_findings.h"
#include "analysis/fit/fit_predict.h"
#include "base/attributes.h"
#include "io/format/document.h"
#include "io/format/json.h"

#include <math.h>
#include <string.h>

static const char film_caution[] = "If a car given as clean has a film, closed angle and clearance absorb it: the dirt of that "
                                   "day is taken for the car's own shape.";

static double in_unit(const struct fit *fit, enum scatter scatter, double road_widths) {
  return road_widths * fit->nominal.scatter.sd[scatter] / scatter_rows[scatter].factor;
}

/* What a clean idle hardly shows, and an estimate takes as wide as it is on the road. */
static bool of_film_or_computer(enum scatter scatter) {
  return scatter == SCATTER_band_pct || scatter == SCATTER_learned_limit_pct || scatter == SCATTER_effort_limit_pct ||
         scatter == SCATTER_feed_pct || scatter == SCATTER_trim_limit_pct || scatter == SCATTER_vapour_pct ||
         scatter == SCATTER_exhaust_valve_pct;
}

static const char *source_of(const struct fit *fit, enum scatter scatter) {
  if (fit_determined(fit, scatter)) return fit_said(fit, scatter) ? "card and readings" : "readings";
  return fit_said(fit, scatter) ? "card" : "not determined";
}

static void unit_of(enum scatter scatter, const char **unit) {
  const char *key = scatter_rows[scatter].key, *last = strrchr(key, '_');
  *unit = strcmp(last, "_pct") == 0 ? "%" : last + 1;
}

/* ---- For people ---- */

static void print_readings(struct document *d, const struct fit_report *report, size_t car) {
  static const char *const headings[] = {"reading", "condition", "read", "met", "off", "its sd"};
  const struct fit_car *c = &report->fit->cars[car];
  document_heading(d, "Readings and fit");
  document_paragraph(
      d, "%s: of 100 good cars of this card %.3g would fit worse by chance.%s", report->files[car], 100.0 * c->p_value,
      c->p_value < FIT_P_VALUE_POOR ? " That is poor: the engine may be of another kind than the shipped one, or something was "
                                      "misread. Check the readings that are furthest off, and the card."
                                    : "");
  document_table_begin(d, ARRAY_COUNT(headings), headings);
  for (size_t i = 0; i < c->readings.count; i++) {
    const struct estimate_reading *r = &c->readings.readings[i];
    const int decimals = estimate_findings_decimals(r->quantity);
    document_cell(d, "%s", estimate_quantities[r->quantity].name);
    document_cell(d, "%s", estimate_conditions[r->condition].name);
    document_cell(d, "%.*f", decimals, r->value);
    document_cell(d, "%.*f", decimals, estimate_reading_plain(c->expected[i], decimals));
    document_cell(d, "%+.1f sd", (r->value - c->expected[i]) / r->sd);
    document_cell(d, "%.2g", r->sd);
  }
  document_table_end(d);
}

static void print_found(struct document *d, const struct fit *fit) {
  static const char *const headings[] = {"what", "against the card's engine", "give or take", "of the width on the road", "from"};
  document_heading(d, fit->question->this_car ? "This car" : "The model");
  document_table_begin(d, ARRAY_COUNT(headings), headings);
  for (size_t i = 0; i < fit->count; i++) {
    const enum scatter s = fit->scatter[i];
    if (scatter_rows[s].kind != SCATTER_UNIT || !(fit_determined(fit, s) || fit_said(fit, s))) continue;
    const char *unit;
    unit_of(s, &unit);
    document_cell(d, "%s", scatter_rows[s].text);
    document_cell(d, "%+.2g %s", in_unit(fit, s, fit->mean[s]), unit);
    document_cell(d, "%.2g", in_unit(fit, s, fit->left[s]));
    document_cell(d, "%.0f %%", 100.0 * fit->sd[s]);
    document_cell(d, "%s", source_of(fit, s));
  }
  document_table_end(d);
}

static void print_open(struct document *d, const struct fit *fit) {
  document_heading(d, "Not determined by these readings");
  document_paragraph(d, "These stay as uncertain as among cars of this kind on the road, alone or together with others; an "
                        "estimate allows for that.");
  for (size_t i = 0; i < fit->count; i++) {
    const enum scatter s = fit->scatter[i];
    if (scatter_rows[s].kind != SCATTER_UNIT || fit_determined(fit, s) || fit_said(fit, s) || of_film_or_computer(s)) continue;
    const char *unit;
    unit_of(s, &unit);
    document_item(d, "%s, plus or minus %.2g %s", scatter_rows[s].text, in_unit(fit, s, fit->left[s]), unit);
  }
}

static void print_meanings(struct document *d, const struct fit *fit) {
  document_heading(d, "What the scan tool's numbers mean");
  for (int i = 0; i < ESTIMATE_SCAN_COUNT; i++) {
    const struct fit_definition *m = &fit->definitions[i];
    const char *name = estimate_scan_rows[i].name, *meaning = fit_meaning_name(fit, (enum estimate_scan_item)i);
    if (m->how == FIT_MEANING_SAID)
      document_item(d, "%s: %s, as the card says.", name, meaning);
    else if (m->how == FIT_MEANING_INFERRED)
      document_item(d, "%s: %s; the readings are %.3g times likelier with this meaning than with any other.", name, meaning,
                    m->against);
    else if (m->how == FIT_MEANING_OPEN)
      document_item(d, "%s: not told by these readings: %s fits best, %.2g times better than the next; %zu of them left out.",
                    name, meaning, m->against, m->reading_count);
    else
      document_item(
          d, "%s: not known, and not read: such readings will be left out. Give it on the card, or read it on a good car.", name);
  }
  if (fit->computer_count > 0)
    document_item(d,
                  "Learned and momentary idle air (%zu of the readings) belong to the computer and say nothing about the metal: "
                  "they set what it expects.",
                  fit->computer_count);
}

static void print_use(struct document *d, const struct fit *fit) {
  char at[300] = "", beside[300] = "";
  const unsigned read = fit_conditions(fit);
  for (int c = 0; c < ESTIMATE_CONDITION_COUNT; c++) {
    if (!estimate_forward_has(&fit->engine, (enum estimate_condition)c)) continue;
    char *list = read & (1u << c) ? at : beside;
    const size_t used = strlen(list);
    snprintf(list + used, 300 - used, "%s%s", used ? ", " : "", estimate_conditions[c].name);
  }
  document_heading(d, "Where it may be used");
  if (read == 0)
    document_paragraph(d, "Nothing was read: this stands for any car of this card's kind and size, and an estimate with it can "
                          "say little. Readings of a good car, warm at idle and at 2500 rpm, two minutes each, would help most.");
  else
    document_paragraph(d,
                       "At the conditions that were read: %s. It may also be used elsewhere (%s), but there it is as uncertain "
                       "as cars on the road differ, and says so.",
                       at, beside[0] ? beside : "there is nothing else");
  document_paragraph(d, "%s", film_caution);
}

/* ---- What it lets expect ---- */

static const enum estimate_quantity shown[] = {ESTIMATE_QUANTITY_maf_gps,   ESTIMATE_QUANTITY_map_kpa,
                                               ESTIMATE_QUANTITY_tp_pct,    ESTIMATE_QUANTITY_bypass_steps,
                                               ESTIMATE_QUANTITY_spark_deg, ESTIMATE_QUANTITY_manifold_kpa};
static const enum estimate_condition shown_at[] = {ESTIMATE_CONDITION_idle, ESTIMATE_CONDITION_hold_2500,
                                                   ESTIMATE_CONDITION_idle_ac, ESTIMATE_CONDITION_drive};

/* The readings that tell most, with what a good car would read; those that this engine has not are left out. False if it cannot be said. */
static bool expect(const struct fit *fit, struct estimate_readings *readings) {
  struct estimate_setting setting;
  struct error ignored;
  error_clear(&ignored);
  estimate_setting_init(&setting);
  card_engine_day(fit->question->card, &setting.conditions);
  readings->count = 0;
  for (size_t c = 0; c < ARRAY_COUNT(shown_at); c++)
    for (size_t q = 0; q < ARRAY_COUNT(shown) && estimate_forward_has(&fit->engine, shown_at[c]); q++) {
      const unsigned features = engine_features(&fit->engine);
      const bool has = shown[q] == ESTIMATE_QUANTITY_maf_gps        ? (features & FEATURE_air_flow) != 0
                       : shown[q] == ESTIMATE_QUANTITY_map_kpa      ? (features & FEATURE_pressure) != 0
                       : shown[q] == ESTIMATE_QUANTITY_manifold_kpa ? (features & FEATURE_pressure) == 0
                       : shown[q] == ESTIMATE_QUANTITY_bypass_steps ? (features & FEATURE_cable) != 0
                                                                    : true;
      const bool there = has && (estimate_quantities[shown[q]].conditions & (1u << shown_at[c])) != 0;
      if (there) readings->readings[readings->count++] = (struct estimate_reading){shown[q], shown_at[c], 0.0, 0.0};
    }
  return fit_predict(&fit->engine, &setting, true, readings, &ignored) == STATUS_OK;
}

#define NINETY_PCT 1.645 // of a normal distribution within so many standard deviations

static void print_expected(struct document *d, const struct fit *fit) {
  static const char *const headings[] = {"condition", "reading", "a good car reads", "9 of 10 of them"};
  struct estimate_readings readings = {0};
  if (!expect(fit, &readings)) return;
  document_heading(d, fit->question->this_car ? "What this car should read when it is good"
                                              : "What a good car of this card should read");
  document_table_begin(d, ARRAY_COUNT(headings), headings);
  for (size_t i = 0; i < readings.count; i++) {
    const struct estimate_reading *r = &readings.readings[i];
    const int decimals = estimate_findings_decimals(r->quantity);
    document_cell(d, "%s", estimate_conditions[r->condition].name);
    document_cell(d, "%s", estimate_quantities[r->quantity].name);
    document_cell(d, "%.*f", decimals, r->value);
    const double least = r->value - NINETY_PCT * r->sd;
    const bool signed_one = r->quantity == ESTIMATE_QUANTITY_spark_deg;
    document_cell(d, "%.*f to %.*f", decimals, signed_one ? least : fmax(least, 0.0), decimals, r->value + NINETY_PCT * r->sd);
  }
  document_table_end(d);
}

/* ---- A few lines for an estimate ---- */

static void list_open(const struct card *card, size_t size, char *text) {
  static const enum card_item worth[] = {CARD_idle_rpm,    CARD_stop_pct, CARD_key_on_means, CARD_spark_idle_deg,
                                         CARD_idle_ac_rpm, CARD_intake_c, CARD_bore_mm};
  text[0] = '\0';
  for (size_t i = 0; i < ARRAY_COUNT(worth); i++) {
    const size_t used = strlen(text);
    if (!card_has(card, worth[i])) snprintf(text + used, size - used, "%s%s", used ? ", " : "", card_rows[worth[i]].key);
  }
}

void fit_report_print_car(const struct fit_report *report, FILE *stream) {
  const struct fit *fit = report->fit;
  struct document d = {.form = DOCUMENT_TEXT, .stream = stream};
  struct estimate_readings readings = {0};
  char open[200];
  size_t said = 0;
  for (int i = 0; i < CARD_COUNT; i++) said += card_has(fit->question->card, (enum card_item)i);
  list_open(fit->question->card, sizeof open, open);
  document_heading(&d, "What is known about the car");
  document_paragraph(&d,
                     "%s: %zu of %d entries, and %zu good car%s. %s is the nearest shipped engine; it was scaled to this size, "
                     "and is as uncertain as cars of this kind differ.",
                     report->card, said, CARD_COUNT, fit->question->car_count, fit->question->car_count == 1 ? "" : "s",
                     fit->question->start->name);
  if (expect(fit, &readings) && readings.count > 1) {
    const struct estimate_reading *air = &readings.readings[0], *position = &readings.readings[1];
    document_paragraph(&d, "By this, a good car idling warm may read %s from %.3g to %.3g and %s from %.3g to %.3g (9 of 10).",
                       estimate_quantities[air->quantity].name, fmax(air->value - NINETY_PCT * air->sd, 0.0),
                       air->value + NINETY_PCT * air->sd, estimate_quantities[position->quantity].name,
                       fmax(position->value - NINETY_PCT * position->sd, 0.0), position->value + NINETY_PCT * position->sd);
  }
  if (report->left_out > 0)
    document_paragraph(
        &d,
        "%zu of the readings were left out: what this scan tool means by load_pct, blade_pct or the position with the key "
        "on is not known (load_means, relative_means, key_on_means on the card).",
        report->left_out);
  if (open[0]) document_paragraph(&d, "Two minutes with the scan tool and a ruler would help; still open on the card: %s.", open);
  if (fit->question->car_count == 0)
    document_paragraph(&d, "What would help most: readings of a good car of its model, warm at idle and at 2500 rpm, two minutes "
                           "each (--clean), or of this car from when it was good (--baseline).");
  if (fit->question->car_count > 0) document_paragraph(&d, "%s", film_caution);
}

enum status fit_report_print(const struct fit_report *report, FILE *stream, struct error *error) {
  const struct fit *fit = report->fit;
  struct document d;
  char subject[400];
  const size_t cars = fit->question->car_count;
  snprintf(subject, sizeof subject, "%.150s: like %s, %.3g l; %zu good car%s read%s", report->card, fit->question->start->name,
           fit->engine.plant.charge.displacement_m3 / UNITS_M3_PER_L, cars, cars == 1 ? "" : "s",
           cars == 0                  ? ""
           : !fit->question->this_car ? ", for another car of the model"
           : cars == 1                ? ", and it is this car"
                                      : ", the first of them this car");
  document_begin(&d, DOCUMENT_TEXT, stream, "Fit", subject);
  for (size_t i = 0; i < cars; i++) print_readings(&d, report, i);
  if (cars > 0) print_found(&d, fit);
  print_expected(&d, fit);
  print_open(&d, fit);
  print_meanings(&d, fit);
  print_use(&d, fit);
  if (report->out) document_paragraph(&d, "Engine file: %s", report->out);
  return document_finish(&d, error);
}

/* ---- JSON ---- */

static void put_car(struct json *json, const struct fit_report *report, size_t car) {
  const struct fit_car *c = &report->fit->cars[car];
  json_open_object(json, NULL);
  json_put_text(json, "file", report->files[car]);
  json_put_real(json, "p_value", c->p_value, 6);
  json_open_array(json, "readings");
  for (size_t i = 0; i < c->readings.count; i++) {
    const struct estimate_reading *r = &c->readings.readings[i];
    const int decimals = estimate_findings_decimals(r->quantity) + 1;
    json_open_object(json, NULL);
    json_put_text(json, "name", estimate_quantities[r->quantity].name);
    json_put_text(json, "condition", estimate_conditions[r->condition].name);
    json_put_real(json, "read", r->value, decimals);
    json_put_real(json, "met", c->expected[i], decimals);
    json_put_real(json, "sd", r->sd, 4);
    json_close(json);
  }
  json_close(json);
  json_close(json);
}

static void put_deviations(struct json *json, const struct fit *fit) {
  json_open_array(json, "deviations");
  for (size_t i = 0; i < fit->count; i++) {
    const enum scatter s = fit->scatter[i];
    if (scatter_rows[s].kind != SCATTER_UNIT) continue;
    json_open_object(json, NULL);
    json_put_text(json, "name", scatter_rows[s].key);
    json_put_real(json, "mean", in_unit(fit, s, fit->mean[s]), 4);
    json_put_real(json, "sd", in_unit(fit, s, fit->left[s]), 4);
    json_put_real(json, "share_left", fit->sd[s], 4);
    json_put_text(json, "from", source_of(fit, s));
    json_close(json);
  }
  json_close(json);
}

static void put_meanings(struct json *json, const struct fit *fit) {
  static const char *const how[] = {"not_read", "card", "inferred", "open"};
  json_open_array(json, "meanings");
  for (int i = 0; i < ESTIMATE_SCAN_COUNT; i++) {
    const struct fit_definition *m = &fit->definitions[i];
    json_open_object(json, NULL);
    json_put_text(json, "name", estimate_scan_rows[i].name);
    json_put_text(json, "from", how[m->how]);
    if (m->how == FIT_MEANING_SAID || m->how == FIT_MEANING_INFERRED)
      json_put_text(json, "meaning", fit_meaning_name(fit, (enum estimate_scan_item)i));
    else
      json_put_null(json, "meaning");
    json_put_count(json, "left_out", m->how == FIT_MEANING_OPEN ? (long long)m->reading_count : 0);
    json_close(json);
  }
  json_close(json);
}

enum status fit_report_json(const struct fit_report *report, FILE *stream, struct error *error) {
  const struct fit *fit = report->fit;
  struct json *json = json_create();
  json_put_text(json, "card", report->card);
  json_put_text(json, "like", fit->question->start->name);
  json_put_flag(json, "this_car", fit->question->this_car);
  json_put_real(json, "p_value", fit->p_value, 6);
  json_open_array(json, "cars");
  for (size_t i = 0; i < fit->question->car_count; i++) put_car(json, report, i);
  json_close(json);
  put_deviations(json, fit);
  put_meanings(json, fit);
  json_open_array(json, "read_at");
  for (int c = 0; c < ESTIMATE_CONDITION_COUNT; c++)
    if (fit_conditions(fit) & (1u << c)) json_put_text(json, NULL, estimate_conditions[c].name);
  json_close(json);
  json_put_text(json, "caution", film_caution);
  if (report->out)
    json_put_text(json, "engine_file", report->out);
  else
    json_put_null(json, "engine_file");
  const enum status status = json_print(json, stream, error);
  json_destroy(json);
  return status;
}
