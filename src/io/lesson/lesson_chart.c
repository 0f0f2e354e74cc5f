#include "io/lesson/lesson_chart.h"

#include "io/format/html.h"
#include "io/picture/picture_range.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { WIDTH = 360, LEFT = 52, RIGHT = 10, PANEL = 130, PANEL_TOP = 26, LEGEND = 20, AXIS = 36, BUCKETS = 180, NAME_SIZE = 120 };

static const char *const colours[LESSON_TEXT_OF_MAX] = {"#0072B2", "#B34E00", "#007A59", "#A3517E", "#000000", "#8A5F00"};
static const char *const dashes[LESSON_TEXT_OF_MAX] = {"", "7 3", "2 3", "9 3 2 3", "12 4", "4 2"};

/* One panel: where values and times stand. */
struct panel {
  double top;
  double x_low, x_high, y_low, y_high;
};

static double to_x(const struct panel *panel, double at) {
  return LEFT + (at - panel->x_low) / (panel->x_high - panel->x_low) * (WIDTH - LEFT - RIGHT);
}
static double to_y(const struct panel *panel, double value) {
  return panel->top + PANEL - (value - panel->y_low) / (panel->y_high - panel->y_low) * PANEL;
}

static size_t row_count(const struct lesson_result *result) {
  return result->kind == LESSON_RESULT_RUN ? result->recording.row_count : result->count;
}
static double place(const struct lesson_result *result, size_t row) {
  return result->kind == LESSON_RESULT_RUN ? recording_value(&result->recording, row, CHANNEL_time_s) : result->inputs[row];
}
static double value_at(const struct lesson_result *result, size_t row, enum channel channel) {
  return result->kind == LESSON_RESULT_RUN ? recording_value(&result->recording, row, channel)
                                           : result->points[row].values[channel];
}

/* A round step that makes some three to six of a span. */
static double round_step(double span) {
  const double raw = span / 4.0, power = pow(10.0, floor(log10(raw))), share = raw / power;
  return (share < 1.5 ? 1.0 : share < 3.5 ? 2.0 : share < 7.5 ? 5.0 : 10.0) * power;
}

static int step_decimals(double step) { return step >= 1.0 ? 0 : step >= 0.1 ? 1 : step >= 0.01 ? 2 : 3; }

static void put_ticks(FILE *to, const struct panel *panel, bool with_x, const char *x_name) {
  char words[LESSON_TEXT_NUMBER_SIZE];
  const double y_step = round_step(panel->y_high - panel->y_low), x_step = round_step(panel->x_high - panel->x_low);
  // the end has room for rounding. NOLINTNEXTLINE(cert-flp30-c)
  for (double y = ceil(panel->y_low / y_step) * y_step; y <= panel->y_high + 1e-9 * y_step; y += y_step) {
    lesson_text_number_words(y, step_decimals(y_step), words);
    fprintf(to, "<path d=\"M%d %.1fH%d\" class=\"g\"/><text x=\"%d\" y=\"%.1f\" class=\"e\">%s</text>\n", LEFT, to_y(panel, y),
            WIDTH - RIGHT, LEFT - 4, to_y(panel, y) + 4.5, words);
  }
  // the end has room for rounding. NOLINTNEXTLINE(cert-flp30-c)
  for (double x = ceil(panel->x_low / x_step) * x_step; x <= panel->x_high + 1e-9 * x_step; x += x_step) {
    fprintf(to, "<path d=\"M%.1f %.1fV%.1f\" class=\"g\"/>", to_x(panel, x), panel->top, panel->top + PANEL);
    if (!with_x) continue;
    lesson_text_number_words(x, step_decimals(x_step), words);
    fprintf(to, "<text x=\"%.1f\" y=\"%.1f\" class=\"m\">%s</text>", to_x(panel, x), panel->top + PANEL + 15, words);
  }
  if (with_x) fprintf(to, "<text x=\"%d\" y=\"", (LEFT + WIDTH - RIGHT) / 2);
  if (with_x) {
    fprintf(to, "%.1f\" class=\"m\">", panel->top + PANEL + 31);
    html_put_in(to, "", x_name, "</text>\n");
  }
  fprintf(to, "<path d=\"M%d %.1fV%.1fH%d\" class=\"a\"/>\n", LEFT, panel->top, panel->top + PANEL, WIDTH - RIGHT);
}

/* What falls into one bucket of the time axis: its ends in the order in which they came. */
struct bucket {
  long number;
  size_t first, last, low, high;
};

static void put_point(FILE *to, const struct panel *panel, const struct lesson_result *result, size_t row, enum channel channel,
                      bool *open) {
  fprintf(to, "%s%.1f %.1f", *open ? " " : "M", to_x(panel, place(result, row)), to_y(panel, value_at(result, row, channel)));
  *open = true;
}

static void put_bucket(FILE *to, const struct panel *panel, const struct lesson_result *result, enum channel channel,
                       const struct bucket *bucket, bool *open) {
  size_t rows[] = {bucket->first, bucket->low < bucket->high ? bucket->low : bucket->high,
                   bucket->low < bucket->high ? bucket->high : bucket->low, bucket->last};
  for (size_t i = 0; i < 4; i++)
    if (i == 0 || rows[i] != rows[i - 1]) put_point(to, panel, result, rows[i], channel, open);
}

static void put_line(FILE *to, const struct panel *panel, const struct lesson_result *result, enum channel channel, size_t nth) {
  struct bucket bucket = {.number = -1};
  bool open = false;
  fprintf(to, "<path class=\"l\" stroke=\"%s\" stroke-dasharray=\"%s\" d=\"", colours[nth], dashes[nth]);
  for (size_t row = 0; row < row_count(result); row++) {
    const double at = place(result, row), value = value_at(result, row, channel);
    const long number = (long)((at - panel->x_low) / (panel->x_high - panel->x_low) * BUCKETS);
    const bool in_view = isfinite(value) && at >= panel->x_low && at <= panel->x_high;
    if (bucket.number >= 0 && (!in_view || number != bucket.number)) {
      put_bucket(to, panel, result, channel, &bucket, &open);
      bucket.number = -1;
    }
    if (!in_view) {
      open = false;
      continue;
    }
    if (bucket.number < 0) bucket = (struct bucket){number, row, row, row, row};
    bucket.last = row;
    if (value < value_at(result, bucket.low, channel)) bucket.low = row;
    if (value > value_at(result, bucket.high, channel)) bucket.high = row;
  }
  if (bucket.number >= 0) put_bucket(to, panel, result, channel, &bucket, &open);
  fputs("\"/>\n", to);
}

/* ---- in words ---- */

static void say_line(FILE *to, const struct lesson_result *result, enum channel channel, double from, double to_at) {
  char name[NAME_SIZE], words[4][LESSON_TEXT_NUMBER_SIZE];
  size_t first = 0, last = 0, low = 0, high = 0;
  bool any = false;
  for (size_t row = 0; row < row_count(result); row++) {
    const double at = place(result, row), value = value_at(result, row, channel);
    if (!isfinite(value) || at < from || at > to_at) continue;
    if (!any) first = low = high = row;
    any = true;
    last = row;
    if (value < value_at(result, low, channel)) low = row;
    if (value > value_at(result, high, channel)) high = row;
  }
  lesson_text_channel(channel, sizeof name, name);
  html_put_in(to, "", result->label, ", ");
  html_put_in(to, "", name, any ? ": " : ": no value. ");
  if (!any) return;
  const size_t rows[] = {first, last, low, high};
  const char *unit = result->kind == LESSON_RESULT_RUN ? " s" : "";
  const int decimals = lesson_lookup_decimals(channel);
  for (size_t i = 0; i < 4; i++) lesson_text_number_words(value_at(result, rows[i], channel), decimals, words[i]);
  fprintf(to, "%s at %.4g%s, %s at %.4g%s; lowest %s at %.4g%s, highest %s at %.4g%s, in %s. ", words[0], place(result, first),
          unit, words[1], place(result, last), unit, words[2], place(result, low), unit, words[3], place(result, high), unit,
          lesson_text_unit(channel));
}

static void begin_svg(FILE *to, double height) {
  fprintf(to, "<svg viewBox=\"0 0 %d %.0f\" role=\"img\" aria-label=\"", WIDTH, height);
}

static void put_legend(FILE *to, const struct lesson_text_shown *shown) {
  for (size_t i = 0; i < shown->count; i++) {
    const double y = 14.0 + LEGEND * (double)i;
    fprintf(to, "<path class=\"l\" stroke=\"%s\" stroke-dasharray=\"%s\" d=\"M8 %.0fH44\"/><text x=\"%d\" y=\"%.0f\">",
            colours[i], dashes[i], y - 4, LEFT, y);
    html_put_in(to, "", shown->results[i]->label, "</text>\n");
  }
}

static void put_stall_marks(FILE *to, const struct panel *panel, const struct lesson_text_shown *shown) {
  for (size_t i = 0; i < shown->count; i++) {
    double at_s;
    if (!lesson_result_stalls(shown->results[i], &at_s) || !(at_s >= panel->x_low && at_s <= panel->x_high)) continue;
    fprintf(to, "<path class=\"l\" stroke=\"%s\" d=\"M%.1f %.1fV%.1f\"/><text x=\"%.1f\" y=\"%.1f\" class=\"e\">stalls</text>\n",
            colours[i], to_x(panel, at_s), panel->top, panel->top + PANEL, to_x(panel, at_s) - 3, panel->top + 14);
  }
}

static void find_ends(const struct lesson_text_shown *shown, double *from, double *to) {
  double low = INFINITY, high = -INFINITY;
  for (size_t i = 0; i < shown->count; i++) {
    low = fmin(low, place(shown->results[i], 0));
    high = fmax(high, place(shown->results[i], row_count(shown->results[i]) - 1));
  }
  if (isnan(*from)) *from = low;
  if (isnan(*to)) *to = high;
  if (!(*to > *from)) *to = *from + 1.0;
}

static struct panel make_panel(const struct lesson_text_shown *shown, enum channel channel, double top, double from, double to) {
  struct picture_range range = picture_range_empty();
  for (size_t i = 0; i < shown->count; i++)
    for (size_t row = 0; row < row_count(shown->results[i]); row++) {
      const double at = place(shown->results[i], row);
      if (at >= from && at <= to) picture_range_add(&range, value_at(shown->results[i], row, channel));
    }
  const struct picture_range axis = picture_range_axis(range, picture_range_least_span(channel_rows[channel].name), false);
  return (struct panel){top, from, to, axis.low, axis.high};
}

/* What is varied: as the channel of that name is called, if there is one. */
static void name_input(const char *axis, char name[NAME_SIZE]) {
  const int channel = channel_find(axis);
  snprintf(name, NAME_SIZE, "%s", axis);
  if (channel < 0) return;
  lesson_text_channel((enum channel)channel, NAME_SIZE - 16, name);
  snprintf(name + strlen(name), 16, ", %s", lesson_text_unit((enum channel)channel));
}

void lesson_chart_lines(const struct lesson_text *text, const struct lesson_text_shown *shown, double from, double to) {
  FILE *stream = text->stream;
  char name[NAME_SIZE], x_name[NAME_SIZE] = "time in seconds";
  find_ends(shown, &from, &to);
  if (shown->results[0]->kind == LESSON_RESULT_SWEEP) name_input(shown->results[0]->axis, x_name);
  const double legend = LEGEND * (double)shown->count + 4.0;
  begin_svg(stream, legend + (PANEL + PANEL_TOP) * (double)shown->channel_count + AXIS);
  for (size_t k = 0; k < shown->channel_count; k++)
    for (size_t i = 0; i < shown->count; i++) say_line(stream, shown->results[i], shown->channels[k], from, to);
  fputs("\">\n", stream);
  put_legend(stream, shown);
  for (size_t k = 0; k < shown->channel_count; k++) {
    const enum channel channel = shown->channels[k];
    const double top = legend + (PANEL + PANEL_TOP) * (double)k + PANEL_TOP;
    const struct panel panel = make_panel(shown, channel, top, from, to);
    lesson_text_channel(channel, sizeof name, name);
    fprintf(stream, "<text x=\"4\" y=\"%.1f\" class=\"h\">", top - 8);
    html_put_in(stream, "", name, ", ");
    html_put_in(stream, "", lesson_text_unit(channel), "</text>\n");
    put_ticks(stream, &panel, k + 1 == shown->channel_count, x_name);
    for (size_t i = 0; i < shown->count; i++) put_line(stream, &panel, shown->results[i], channel, i);
    put_stall_marks(stream, &panel, shown);
  }
  fputs("</svg>\n", stream);
}

/* ---- bars ---- */

enum { BAR = 34, BAR_TITLE = 30 };

static void say_bars(const struct lesson_text *text, const struct lesson_text_shown *shown) {
  char name[NAME_SIZE], words[LESSON_TEXT_NUMBER_SIZE];
  for (size_t k = 0; k < shown->channel_count; k++) {
    const enum channel channel = shown->channels[k];
    lesson_text_channel(channel, sizeof name, name);
    html_put_in(text->stream, "", name, ": ");
    for (size_t i = 0; i < shown->count; i++) {
      const double value = shown->results[i]->points[0].values[channel];
      lesson_text_number_words(value, lesson_lookup_decimals(channel), words);
      html_put_in(text->stream, i ? ", " : "", shown->results[i]->label, " ");
      fprintf(text->stream, "%s %s", isfinite(value) ? words : "no value", isfinite(value) ? lesson_text_unit(channel) : "");
    }
    fputs(". ", text->stream);
  }
}

static void put_bar(FILE *stream, const struct lesson_result *result, enum channel channel, double y, double low, double high,
                    size_t nth) {
  char words[LESSON_TEXT_NUMBER_SIZE];
  const double value = result->points[0].values[channel], room = WIDTH - 90.0;
  fprintf(stream, "<text x=\"4\" y=\"%.0f\">", y + 12);
  html_put_in(stream, "", result->label, "</text>");
  if (!isfinite(value)) {
    fprintf(stream, "<text x=\"8\" y=\"%.0f\">no value</text>\n", y + 28);
    return;
  }
  const double zero = 4.0 + (0.0 - low) / (high - low) * room, end = 4.0 + (value - low) / (high - low) * room;
  lesson_text_number_words(value, lesson_lookup_decimals(channel), words);
  fprintf(stream, "<rect x=\"%.1f\" y=\"%.0f\" width=\"%.1f\" height=\"11\" fill=\"%s\"/>", fmin(zero, end), y + 17,
          fmax(fabs(end - zero), 1.0), colours[nth]);
  fprintf(stream, "<text x=\"%.1f\" y=\"%.0f\">%s %s</text>\n", fmax(zero, end) + 5, y + 27, words, lesson_text_unit(channel));
}

void lesson_chart_bars(const struct lesson_text *text, const struct lesson_text_shown *shown) {
  FILE *stream = text->stream;
  char name[NAME_SIZE];
  const double group = BAR_TITLE + BAR * (double)shown->count;
  begin_svg(stream, group * (double)shown->channel_count + 4);
  say_bars(text, shown);
  fputs("\">\n", stream);
  for (size_t k = 0; k < shown->channel_count; k++) {
    const enum channel channel = shown->channels[k];
    double low = 0.0, high = 0.0;
    for (size_t i = 0; i < shown->count; i++) {
      const double value = shown->results[i]->points[0].values[channel];
      if (isfinite(value)) low = fmin(low, value);
      if (isfinite(value)) high = fmax(high, value);
    }
    if (!(high > low)) high = low + 1.0;
    lesson_text_channel(channel, sizeof name, name);
    fprintf(stream, "<text x=\"4\" y=\"%.0f\" class=\"h\">", group * (double)k + 20);
    html_put_in(stream, "", name, "</text>\n");
    for (size_t i = 0; i < shown->count; i++)
      put_bar(stream, shown->results[i], channel, group * (double)k + BAR_TITLE + BAR * (double)i, low, high, i);
  }
  fputs("</svg>\n", stream);
}
