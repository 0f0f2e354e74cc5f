/* The page: black on white, one line dashed and one solid so that a grey print still reads. */
#include "io/report/compare_report.h"

#include "car/caution.h"
#include "io/format/html.h"

#include <math.h>
#include <string.h>

enum { WIDTH = 360, HEIGHT = 140, LEFT = 46, RIGHT = 8, TOP = 24, BOTTOM = 24, COLUMN_COUNT = 300, ROW_MOST = 8 };

static const char style[] =
    "@page { size: auto; margin: 10mm 12mm; }\n"
    "* { box-sizing: border-box; }\n"
    "body { font: 9pt/1.3 sans-serif; color: #000; background: #fff; margin: 0 auto; padding: 2mm; max-width: 186mm; "
    "overflow-wrap: anywhere; }\n"
    "h1 { font-size: 14pt; margin: 0 0 1mm 0; }\n"
    "h2 { font-size: 10pt; margin: 2.5mm 0 0.5mm 0; }\n"
    "p, ul { margin: 0.8mm 0; } ul { padding-left: 5mm; }\n"
    ".verdict { border: 0.8mm solid #000; padding: 2mm 3mm; font-size: 15pt; font-weight: bold; }\n"
    ".who { display: flex; flex-wrap: wrap; gap: 4mm; margin: 2mm 0; } .who span { flex: 1 1 30mm; border-bottom: 0.3mm solid "
    "#000; "
    "height: 7mm; }\n"
    ".three { display: flex; flex-wrap: wrap; gap: 3mm; margin: 2mm 0; }\n"
    ".three div { flex: 1 1 45mm; border: 0.3mm solid #777; padding: 1.5mm 2mm; } .three b { display: block; font-size: 13pt; }\n"
    "table { width: 100%; border-collapse: collapse; margin: 1mm 0; }\n"
    "th, td { border: 0.2mm solid #777; padding: 0.5mm 1.2mm; text-align: left; overflow-wrap: normal; } th { background: "
    "#e4e4e4; }\n"
    ".pair { display: flex; flex-wrap: wrap; gap: 0 4mm; }\n"
    "figure { flex: 1 1 75mm; margin: 1mm 0; break-inside: avoid; } figure svg { width: 100%; height: auto; } figcaption { "
    "color: #333; }\n"
    "@media (max-width: 500px) { table { font-size: 7.5pt; } }\n"
    ".caution { border: 0.4mm solid #000; padding: 1mm 2mm; margin: 2mm 0; break-inside: avoid; }\n";

/* ---- Traces ---- */

struct frame {
  double span_s, low, high;
};

/* Mean of each column of the picture; NAN where there is nothing. Returns how many have something. */
static size_t column_means(const struct recording *log, enum channel channel, double from_s, double to_s, double span_s,
                           double means[COLUMN_COUNT]) {
  size_t counts[COLUMN_COUNT] = {0}, filled = 0;
  memset(means, 0, COLUMN_COUNT * sizeof *means);
  for (size_t row = 0; log && row < log->row_count; row++) {
    if (recording_value(log, row, CHANNEL_time_s) > to_s) continue;
    const double at = (recording_value(log, row, CHANNEL_time_s) - from_s) / span_s, value = recording_value(log, row, channel);
    if (at < 0.0 || at >= 1.0 || !isfinite(value)) continue;
    const size_t column = (size_t)(at * COLUMN_COUNT);
    counts[column]++;
    means[column] += value;
  }
  for (size_t i = 0; i < COLUMN_COUNT; i++) {
    filled += counts[i] > 0;
    means[i] = counts[i] ? means[i] / (double)counts[i] : NAN;
  }
  return filled;
}

static double y_of(const struct frame *f, double value) {
  return TOP + (HEIGHT - TOP - BOTTOM) * (f->high - value) / (f->high - f->low);
}

static void put_line(FILE *stream, const struct frame *f, const double means[COLUMN_COUNT], const char *look) {
  fprintf(stream, "<polyline fill=\"none\" %s points=\"", look);
  for (int i = 0; i < COLUMN_COUNT; i++)
    if (isfinite(means[i]))
      fprintf(stream, "%.1f,%.1f ", LEFT + (WIDTH - LEFT - RIGHT) * (i + 0.5) / COLUMN_COUNT, y_of(f, means[i]));
  fputs("\"/>\n", stream);
}

static void put_frame(FILE *stream, const struct frame *f, const char *label, int decimals) {
  for (int i = 0; i <= 2; i++) {
    const double value = f->low + 0.5 * i * (f->high - f->low);
    fprintf(stream,
            "<line x1=\"%d\" x2=\"%d\" y1=\"%.1f\" y2=\"%.1f\" stroke=\"#bbb\"/><text x=\"%d\" y=\"%.1f\" "
            "text-anchor=\"end\">%.*f</text>\n",
            LEFT, WIDTH - RIGHT, y_of(f, value), y_of(f, value), LEFT - 5, y_of(f, value) + 4.0, decimals, value);
  }
  for (int i = 0; i <= 4; i++)
    fprintf(stream, "<text x=\"%.1f\" y=\"%d\" text-anchor=\"%s\">%.0f%s</text>\n", LEFT + (WIDTH - LEFT - RIGHT) * 0.25 * i,
            HEIGHT - 10, i == 4 ? "end" : "middle", 0.25 * i * f->span_s, i == 4 ? " s" : "");
  html_put_in(stream, "<text x=\"0\" y=\"11\">", label, "</text>\n");
}

static void put_traces(const struct compare_report *report, enum channel channel, const struct compare_effect *e, FILE *stream) {
  const double span = fmax(fmax(report->to_s[0] - report->from_s[0], report->to_s[1] - report->from_s[1]), 1.0);
  double means[2][COLUMN_COUNT];
  const struct recording *logs[2] = {report->log_before, report->log_after};
  struct frame f = {span, INFINITY, -INFINITY};
  for (int i = 0; i < 2; i++) {
    if (column_means(logs[i], channel, report->from_s[i], report->to_s[i], span, means[i]) == 0) return;
    for (int c = 0; c < COLUMN_COUNT; c++) {
      if (!isfinite(means[i][c])) continue;
      f.low = fmin(f.low, means[i][c]);
      f.high = fmax(f.high, means[i][c]);
    }
  }
  const double room = fmax(0.1 * (f.high - f.low), channel == CHANNEL_speed_rpm ? 5.0 : 0.05);
  f.low -= room;
  f.high += room;
  char text[COMPARE_REPORT_SIZE];
  const int d = compare_report_decimals(e->quantity);
  snprintf(text, sizeof text, "%s at idle: mean %.*f before (dashed), %.*f after (solid).", estimate_quantities[e->quantity].name,
           d, e->before, d, e->after);
  fprintf(stream, "<figure><svg viewBox=\"0 0 %d %d\" role=\"img\" font-size=\"11\" font-family=\"sans-serif\"", WIDTH, HEIGHT);
  html_put_in(stream, " aria-label=\"", text, "\">\n");
  put_frame(stream, &f, estimate_quantities[e->quantity].name, d);
  put_line(stream, &f, means[0], "stroke=\"#D55E00\" stroke-width=\"1.6\" stroke-dasharray=\"5 3\"");
  put_line(stream, &f, means[1], "stroke=\"#0072B2\" stroke-width=\"1.6\"");
  html_put_in(stream, "</svg><figcaption>", text, "</figcaption></figure>\n");
}

/* The opening's reading that was logged in both; NULL for none. */
static const struct compare_effect *opening_of(const struct compare_report *report, enum channel *channel) {
  static const struct {
    enum estimate_quantity quantity;
    enum channel channel;
  } openings[] = {{ESTIMATE_QUANTITY_tp_pct, CHANNEL_tp_pct},
                  {ESTIMATE_QUANTITY_blade_pct, CHANNEL_blade_pct},
                  {ESTIMATE_QUANTITY_bypass_steps, CHANNEL_bypass_steps},
                  {ESTIMATE_QUANTITY_idle_air_pct, CHANNEL_learned_pct}};
  for (size_t i = 0; i < sizeof openings / sizeof openings[0]; i++) {
    const struct compare_effect *e = compare_effect_find(report->result, ESTIMATE_CONDITION_idle, openings[i].quantity);
    *channel = openings[i].channel;
    if (e) return e;
  }
  return NULL;
}

static void put_pictures(const struct compare_report *report, FILE *stream) {
  enum channel channel;
  const struct compare_effect *speed = compare_effect_find(report->result, ESTIMATE_CONDITION_idle, ESTIMATE_QUANTITY_speed_rpm);
  if (!report->log_before || !report->log_after) return;
  fputs("<div class=\"pair\">\n", stream);
  if (speed) put_traces(report, CHANNEL_speed_rpm, speed, stream);
  const struct compare_effect *opening = opening_of(report, &channel);
  if (opening && opening->quantity != ESTIMATE_QUANTITY_idle_air_pct) put_traces(report, channel, opening, stream);
  fputs("</div>\n", stream);
}

/* ---- Three numbers ---- */

static void put_number(const char *name, const struct compare_effect *e, FILE *stream) {
  char text[COMPARE_REPORT_SIZE];
  fputs("<div>", stream);
  html_put(stream, name);
  if (!e) {
    fputs("<b>not read</b></div>\n", stream);
    return;
  }
  const int d = compare_report_decimals(e->quantity);
  fprintf(stream, "<b>%.*f to %.*f</b>", d, e->before, d, e->after);
  compare_report_change(e, text);
  html_put_in(stream, "change ", text, "</div>\n");
}

static void put_three(const struct compare_report *report, FILE *stream) {
  const struct compare_result *r = report->result;
  enum channel channel;
  const struct compare_effect *opening = opening_of(report, &channel);
  char name[COMPARE_REPORT_SIZE];
  fputs("<div class=\"three\">\n", stream);
  put_number("Idle speed, rpm", compare_effect_find(r, ESTIMATE_CONDITION_idle, ESTIMATE_QUANTITY_speed_rpm), stream);
  snprintf(name, sizeof name, "How far the idle had to open (%s)",
           opening ? estimate_quantities[opening->quantity].name : "position");
  put_number(name, opening, stream);
  if (r->won_known) {
    fprintf(stream, "<div>Share that came back<b>%.0f %%</b>%.0f to %.0f %%</div>\n", 100.0 * r->won_ratio,
            100.0 * r->won_low_ratio, 100.0 * r->won_high_ratio);
  } else {
    const struct compare_effect *air = compare_effect_find(r, ESTIMATE_CONDITION_idle, ESTIMATE_QUANTITY_maf_gps);
    if (air)
      put_number("Air at idle, g/s", air, stream);
    else
      put_number("Manifold pressure, kPa", compare_effect_find(r, ESTIMATE_CONDITION_idle, ESTIMATE_QUANTITY_map_kpa), stream);
  }
  fputs("</div>\n", stream);
}

/* ---- The rest ---- */

static void put_words(const char *heading, const struct compare_words *words, FILE *stream) {
  if (words->count == 0) return;
  html_put_in(stream, "<h2>", heading, "</h2>\n<ul>\n");
  for (size_t i = 0; i < words->count; i++) html_put_in(stream, "<li>", words->text[i], "</li>\n");
  fputs("</ul>\n", stream);
}

static void put_table(const struct compare_result *r, FILE *stream) {
  fputs("<table><thead><tr><th>reading</th><th>when</th><th>before</th><th>after</th><th>change (90 % "
        "interval)</th></tr></thead><tbody>\n",
        stream);
  for (size_t i = 0; i < r->effect_count && i < ROW_MOST; i++) {
    const struct compare_effect *e = &r->effects[i];
    const int d = compare_report_decimals(e->quantity);
    char change[COMPARE_REPORT_SIZE];
    compare_report_change(e, change);
    fprintf(stream, "<tr><td>%s</td><td>%s</td><td>%.*f</td><td>%.*f</td><td>%s</td></tr>\n",
            estimate_quantities[e->quantity].name, estimate_conditions[e->condition].name, d, e->before, d, e->after, change);
  }
  fputs("</tbody></table>\n", stream);
}

void compare_report_html(const struct compare_report *report, FILE *stream) {
  const struct compare_result *r = report->result;
  char text[2 * COMPARE_REPORT_SIZE];
  const char *names[2] = {report->before, report->after};
  for (int i = 0; i < 2; i++) { // a path tells nothing to whoever gets the sheet
    const char *slash = strrchr(names[i], '/');
    if (slash) names[i] = slash + 1;
  }
  snprintf(text, sizeof text, "before: %.300s; after: %.300s", names[0], names[1]);
  html_begin(stream, "Before and after", text, style);
  html_put_in(stream, "<p class=\"verdict\">", compare_verdict_rows[r->verdict].text, "</p>\n");
  fputs("<div class=\"who\"><span>Vehicle</span><span>Date</span><span>Done</span><span>By</span></div>\n", stream);
  put_three(report, stream);
  put_pictures(report, stream);
  put_words("Why", &r->why, stream);
  compare_report_outlook(report, text);
  if (text[0]) html_put_in(stream, "<p>", text, "</p>\n");
  put_table(r, stream);
  put_words("Not equal in both", &r->unequal, stream);
  fputs("<div class=\"caution\">", stream);
  const unsigned cautions = compare_report_cautions(report);
  for (int i = 0; i < CAUTION_COUNT; i++)
    if ((cautions >> i) & 1u) html_put_in(stream, "<div>", caution_rows[i].brief, "</div>\n");
  fputs("<div><b>The vehicle maker's service information, local rules and a qualified technician decide.</b></div></div>\n",
        stream);
  put_words("Next", &r->next, stream);
  fputs("</body>\n</html>\n", stream);
}
