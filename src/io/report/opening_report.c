#include "io/report/opening_report.h"

#include "base/attributes.h"
#include "base/units.h"
#include "car/caution.h"
#include "io/format/csv_write.h"
#include "io/format/json.h"
#include "io/format/text.h"

#include <math.h>
#include <stdarg.h>
#include <string.h>

enum { WORDS_SIZE = 1600 };
#define STOP_MISS_RATIO 0.004 // a step of an 8-bit reading

static double pct(double ratio) { return 100.0 * ratio; }
static double mm2(double m2) { return m2 / UNITS_M2_PER_MM2; }
static double um(double m) { return m / UNITS_M_PER_UM; }

static void PRINTF_LIKE(2, 3) say(FILE *stream, const char *format, ...) {
  char words[WORDS_SIZE];
  va_list values;
  va_start(values, format);
  vsnprintf(words, sizeof words, format, values);
  va_end(values);
  text_wrap(stream, 0, words);
}

/* The clean curve at a position: measured if there is one, else the fitted blade without film. */
static bool clean_at(const struct opening_curve *curve, double position_ratio, double *clean_m2, double *sd_m2) {
  double slope;
  if (curve->has_baseline)
    return opening_lost_curve_at(&curve->clean, curve->clean.step_m2, position_ratio, clean_m2, sd_m2, &slope);
  return curve->has_fit && curve->fit.fits && opening_fit_clean_at(&curve->fit, position_ratio, clean_m2, sd_m2);
}

/* ---- Text ---- */

static void print_measured(const struct opening_report *report, FILE *stream) {
  const struct opening_lost *lost = &report->curve->lost;
  const double low = fmax(pct(lost->low_ratio), 0.0), high = fmax(pct(lost->high_ratio), 0.0);
  switch (report->curve->verdict) {
  case OPENING_VERDICT_lost:
    say(stream, "Air area lost at idle: %.0f %% (%.0f to %.0f), measured against %s.", pct(lost->mean_ratio), low, high,
        report->baseline);
    break;
  case OPENING_VERDICT_none_lost:
    say(stream, "Air area lost at idle: none worth cleaning for, %.0f %% at most, measured against %s.", high, report->baseline);
    break;
  default:
    say(stream, "Air area lost at idle: not told by this log: between 0 and %.0f %%, measured against %s.", high,
        report->baseline);
    break;
  }
  say(stream, "At %.2f %%, where it idles now, %.1f mm² are open%s; the clean blade had %.1f there.", pct(lost->position_ratio),
      mm2(lost->now_m2), lost->valve_m2 > 0.0 ? " beside the idle valve's" : "", mm2(lost->clean_m2));
}

static void print_trouble(const struct opening_report *report, FILE *stream) {
  const struct opening_lost *lost = &report->curve->lost;
  say(stream, "Air area lost at idle: not told by these logs.");
  switch (lost->trouble) {
  case OPENING_LOST_NO_IDLE:
    say(stream, "%s does not idle anywhere; log half a minute of idle with the foot off.", report->log);
    break;
  case OPENING_LOST_NO_OVERLAP:
    say(stream,
        "It idles at %.2f %% now, and %s reaches from %.2f to %.2f %% only: log the clean car opening through that place as "
        "well.",
        pct(lost->position_ratio), report->baseline, pct(report->curve->clean.points[0].position_ratio),
        pct(report->curve->clean.points[report->curve->clean.count - 1].position_ratio));
    break;
  case OPENING_LOST_OTHER_AIR:
    say(stream, "One log has the air from an air-flow sensor and the other from manifold pressure: their difference is not a "
                "film. Log both the same way.");
    break;
  case OPENING_LOST_OTHER_CAR:
    say(stream,
        "Well above idle, where a film takes little, %s lets in %+.0f %% against %s: another car, another sensor or another "
        "day's settings. "
        "They are not compared.",
        report->log, 100.0 * (lost->upper_ratio - 1.0), report->baseline);
    break;
  case OPENING_LOST_OTHER_GAIN:
    say(stream,
        "Well above idle nearly the same share is missing as at idle: that is a sensor that reads differently than on the clean "
        "day, not a film. Check the %s first.",
        report->curve->points.air == OPENING_AIR_FLOW ? "air-flow sensor" : "manifold pressure sensor");
    break;
  case OPENING_LOST_MEASURED:
    break;
  }
}

static void print_dead(const struct opening_report *report, FILE *stream) {
  say(stream,
      "Up to %.2f %% almost no air passes, although that is well above the given stop. No clean throttle is so tight there: "
      "either a deposit fills the gap, or the stop is elsewhere. Read the position at the closed stop again before you believe "
      "in a deposit.",
      pct(report->curve->dead_to_ratio));
}

static void print_alone(const struct opening_report *report, FILE *stream) {
  const struct opening_fit *fit = &report->curve->fit;
  say(stream, "Air area lost at idle: not told by this log.");
  if (report->curve->verdict == OPENING_VERDICT_dead_band) print_dead(report, stream);
  if (!report->curve->has_fit) {
    say(stream, "There are too few positions for a curve; open slowly from idle to 3000 rpm.");
    return;
  }
  if (!fit->fits) {
    say(stream,
        "No blade in a round bore fits this curve (chi2 %.0f of %zu points, priors counted), so nothing can be concluded from "
        "it: check the position at the stop, the displacement and the columns of the log, and that nothing changed on the way.",
        fit->nodes[fit->best].misfit, report->curve->points.count);
    return;
  }
  say(stream,
      "A bend at the bottom of a curve proves nothing: the curves of good bores bend as well. With what is known of blades in "
      "general, this curve allows a film of %.0f to %.0f µm%s.",
      um(fit->film_low_m) < 4.0 ? 0.0 : um(fit->film_low_m), um(fit->film_high_m),
      um(fit->film_low_m) < 4.0 ? ", or none" : "; but the shape of the bore may be the reason");
  if (isfinite(fit->idle_lost_high_ratio))
    say(stream, "That would take up to %.0f %% of the air area at idle.", pct(fit->idle_lost_high_ratio));
}

/* What to do next, its cautions before it. */
static void print_next(const struct opening_report *report, FILE *stream) {
  const unsigned cautions = caution_for(CAUTION_STEP_run, 0);
  char words[WORDS_SIZE] = "First: out of gear or in park, parking brake on, wheels chocked";
  for (int i = 0; i < CAUTION_COUNT; i++)
    if ((cautions >> i) & 1u) snprintf(words + strlen(words), sizeof words - strlen(words), "; %s", caution_rows[i].brief);
  fputc('\n', stream);
  say(stream, "%s.", words);
  say(stream,
      "Then log the same car when it is clean, the same way: warm, nothing on, half a minute of idle, then the pedal down so "
      "slowly that 3000 rpm takes a minute and a half. With --baseline CLEANLOG the loss in %s is then measured.",
      report->log);
}

static void print_notes(const struct opening_report *report, FILE *stream) {
  const struct opening_points *points = &report->curve->points;
  if (!report->weather_given)
    say(stream, "The air pressure is assumed to be that at sea level, within 3 %%: give --altitude or --baro-kpa.");
  if (points->intake_assumed) say(stream, "The air temperature is assumed to be 25 C, within 12: give --intake-c.");
  if (points->air == OPENING_AIR_PRESSURE)
    say(stream, "The air is computed from manifold pressure by a charge law that is good to 10 or 15 %%. That applies to all "
                "areas together; their differences are known better.");
  if (points->air == OPENING_AIR_PRESSURE && report->baseline)
    say(stream, "Air from a leak or a purge counts as opening, and hides as much of a loss.");
  const double stop_ratio = report->curve->stop_ratio, lowest_ratio = points->points[0].position_ratio;
  if (lowest_ratio < stop_ratio - STOP_MISS_RATIO)
    say(stream,
        "It runs at %.2f %%, below the given stop: so that is not the stop, perhaps the rest position of an unpowered blade.",
        pct(lowest_ratio));
  if (!report->stop_given) say(stream, "The closed stop is not known, so a dead band above it cannot be seen: give --stop-pct.");
  if (!points->has_idle && !report->baseline) say(stream, "The engine does not idle in this log.");
}

static enum status print_table(const struct opening_report *report, FILE *stream, struct error *error) {
  const struct opening_curve *curve = report->curve;
  const char *const headings[] = {"position %", "open mm²", "+-", curve->has_baseline ? "clean mm²" : "clean blade, fitted",
                                  "+-",         "stretches"};
  struct text_table table;
  text_table_init(&table, ARRAY_COUNT(headings), headings);
  for (size_t i = 0; i < curve->points.count; i++) {
    const struct opening_point *p = &curve->points.points[i];
    double clean, sd;
    text_table_add(&table, "%.2f", pct(p->position_ratio));
    text_table_add(&table, "%.2f", mm2(p->cda_m2));
    text_table_add(&table, "%.2f", mm2(opening_points_sd_m2(&curve->points, p)));
    if (clean_at(curve, p->position_ratio, &clean, &sd)) {
      text_table_add(&table, "%.2f", mm2(clean));
      text_table_add(&table, "%.2f", mm2(sd));
    } else {
      text_table_add(&table, "-");
      text_table_add(&table, "-");
    }
    text_table_add(&table, "%zu", p->block_count);
  }
  const int failed = text_table_print(&table, stream, 2);
  text_table_destroy(&table);
  return failed ? error_set(error, STATUS_NO_MEMORY, "out of memory for the table of a curve") : STATUS_OK;
}

enum status opening_report_print(const struct opening_report *report, FILE *stream, struct error *error) {
  const struct opening_curve *curve = report->curve;
  const struct opening_points *points = &curve->points;
  const bool measured = curve->has_baseline && curve->lost.trouble == OPENING_LOST_MEASURED;
  if (measured)
    print_measured(report, stream);
  else if (curve->has_baseline)
    print_trouble(report, stream);
  else
    print_alone(report, stream);
  if (curve->has_baseline && curve->verdict == OPENING_VERDICT_dead_band) print_dead(report, stream);
  if (!measured) print_next(report, stream);
  fputc('\n', stream);
  say(stream,
      "%s: %zu positions from %.2f to %.2f %%, %zu steady stretches of %.0f s; %zu that changed are left out. Open area times "
      "discharge, of everything that lets air in; +- one standard deviation.",
      report->log, points->count, pct(points->points[0].position_ratio), pct(points->points[points->count - 1].position_ratio),
      points->block_count, points->length_s, points->unsteady_count);
  const enum status status = print_table(report, stream, error);
  print_notes(report, stream);
  if (report->file_count > 0) fprintf(stream, "\nFiles\n");
  for (size_t i = 0; i < report->file_count; i++) fprintf(stream, "  %s\n", report->files[i]);
  return status;
}

/* ---- JSON ---- */

static void put_interval(struct json *json, const char *key, double mean, double sd, double low, double high) {
  if (!isfinite(mean)) {
    json_put_null(json, key);
    return;
  }
  json_open_object(json, key);
  json_put_real(json, "mean", mean, 3);
  json_put_real(json, "sd", sd, 3);
  json_put_real(json, "low", low, 3);
  json_put_real(json, "high", high, 3);
  json_close(json);
}

static void put_fit(struct json *json, const struct opening_curve *curve) {
  const struct opening_fit *fit = &curve->fit;
  if (!curve->has_fit) {
    json_put_null(json, "fit");
    return;
  }
  json_open_object(json, "fit");
  json_put_real(json, "chi2", fit->nodes[fit->best].chi2, 3);
  json_put_real(json, "misfit", fit->nodes[fit->best].misfit, 3);
  json_put_flag(json, "fits", fit->fits);
  json_put_count(json, "points", (long long)curve->points.count);
  json_put_real(json, "contour_gain_chi2", fit->contour_gain, 3);
  put_interval(json, "film_um_allowed", um(fit->film_mean_m), um(fit->film_sd_m), um(fit->film_low_m), um(fit->film_high_m));
  put_interval(json, "idle_lost_pct_allowed", pct(fit->idle_lost_mean_ratio), pct(fit->idle_lost_sd_ratio),
               pct(fit->idle_lost_low_ratio), pct(fit->idle_lost_high_ratio));
  json_close(json);
}

static void put_points(struct json *json, const struct opening_curve *curve) {
  static const char *const doubts[OPENING_DOUBT_COUNT] = {
#define DOUBT(name, text) #name "_mm2",
      OPENING_DOUBT_LIST(DOUBT)
#undef DOUBT
  };
  json_open_array(json, "points");
  for (size_t i = 0; i < curve->points.count; i++) {
    const struct opening_point *p = &curve->points.points[i];
    double clean = NAN, sd = NAN;
    if (!clean_at(curve, p->position_ratio, &clean, &sd)) clean = sd = NAN;
    json_open_object(json, NULL);
    json_put_real(json, "position_pct", pct(p->position_ratio), 4);
    json_put_real(json, "open_mm2", mm2(p->cda_m2), 4);
    json_put_real(json, "open_sd_mm2", mm2(opening_points_sd_m2(&curve->points, p)), 4);
    json_put_real(json, "clean_mm2", mm2(clean), 4);
    json_put_real(json, "clean_sd_mm2", mm2(sd), 4);
    json_open_object(json, "common_doubts");
    for (int k = 0; k < OPENING_DOUBT_COUNT; k++) json_put_real(json, doubts[k], mm2(p->per_doubt_m2[k]), 4);
    json_close(json);
    json_put_count(json, "stretches", (long long)p->block_count);
    json_close(json);
  }
  json_close(json);
}

enum status opening_report_json(const struct opening_report *report, FILE *stream, struct error *error) {
  const struct opening_curve *curve = report->curve;
  const bool measured = curve->has_baseline && curve->lost.trouble == OPENING_LOST_MEASURED;
  struct json *json = json_create();
  json_put_text(json, "log", report->log);
  if (report->baseline)
    json_put_text(json, "baseline", report->baseline);
  else
    json_put_null(json, "baseline");
  json_put_text(json, "verdict", opening_curve_verdict_names[curve->verdict]);
  json_put_text(json, "verdict_text", opening_curve_verdict_texts[curve->verdict]);
  put_interval(json, "idle_lost_pct", measured ? pct(curve->lost.mean_ratio) : NAN, pct(curve->lost.sd_ratio),
               pct(curve->lost.low_ratio), pct(curve->lost.high_ratio));
  json_put_real(json, "idle_position_pct", curve->points.has_idle ? pct(curve->points.idle.position_ratio) : NAN, 4);
  json_put_real(json, "idle_open_mm2", curve->points.has_idle ? mm2(curve->points.idle.cda_m2) : NAN, 4);
  json_put_real(json, "idle_clean_mm2", measured ? mm2(curve->lost.clean_m2) : NAN, 4);
  json_put_real(json, "dead_to_pct", pct(curve->dead_to_ratio), 4);
  json_put_text(json, "air_from", curve->points.air == OPENING_AIR_FLOW ? "air_flow" : "pressure");
  put_fit(json, curve);
  put_points(json, curve);
  json_open_array(json, "files");
  for (size_t i = 0; i < report->file_count; i++) json_put_text(json, NULL, report->files[i]);
  json_close(json);
  const enum status status = json_print(json, stream, error);
  json_destroy(json);
  return status;
}

/* ---- CSV ---- */

void opening_report_csv(const struct opening_report *report, FILE *stream) {
  static const char *const names[] = {"position_pct", "open_mm2",  "open_sd_mm2", "clean_mm2",
                                      "clean_sd_mm2", "speed_rpm", "stretches"};
  static const int decimals[] = {4, 4, 4, 4, 4, 1, 0};
  const struct opening_curve *curve = report->curve;
  csv_write_header(stream, names, ARRAY_COUNT(names));
  for (size_t i = 0; i < curve->points.count; i++) {
    const struct opening_point *p = &curve->points.points[i];
    double clean, sd;
    if (!clean_at(curve, p->position_ratio, &clean, &sd)) clean = sd = NAN;
    const double values[] = {pct(p->position_ratio),
                             mm2(p->cda_m2),
                             mm2(opening_points_sd_m2(&curve->points, p)),
                             mm2(clean),
                             mm2(sd),
                             p->speed_rad_s / UNITS_RAD_S_PER_RPM,
                             (double)p->block_count};
    csv_write_row(stream, values, decimals, ARRAY_COUNT(values));
  }
}
