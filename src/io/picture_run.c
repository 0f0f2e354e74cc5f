#include "io/picture_run.h"

#include "io/thin.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* Vertical axes: name in the layout, the least span (so that noise of nothing does not fill a panel), and
 * whether zero is always in view. */
enum axis {
  AXIS_SPEED,
  AXIS_BLADE,
  AXIS_TRIM,
  AXIS_AIR,
  AXIS_MANIFOLD,
  AXIS_AREA,
  AXIS_SPARK,
  AXIS_FILM,
  AXIS_COUNT
};
static const struct {
  const char *name;
  double least_span;
  bool from_zero;
} axis_rows[AXIS_COUNT] = {
    {"speed", 400.0, false},   {"blade", 2.0, true}, {"trim", 5.0, true},  {"air", 1.0, true},
    {"manifold", 30.0, false}, {"area", 5.0, true},  {"spark", 5.0, true}, {"film", 10.0, true},
};

/* Lines: each becomes a data block of the channel's name, thinned by itself. */
static const struct {
  enum channel channel;
  enum axis axis;
} line_rows[] = {
    {CHANNEL_speed_rpm, AXIS_SPEED},       {CHANNEL_target_rpm, AXIS_SPEED},
    {CHANNEL_blade_pct, AXIS_BLADE},       {CHANNEL_effort_pct, AXIS_TRIM},
    {CHANNEL_learned_pct, AXIS_TRIM},      {CHANNEL_airflow_gps, AXIS_AIR},
    {CHANNEL_manifold_kpa, AXIS_MANIFOLD}, {CHANNEL_area_mm2, AXIS_AREA},
    {CHANNEL_clean_area_mm2, AXIS_AREA},   {CHANNEL_spark_reserve_pct, AXIS_SPARK},
    {CHANNEL_film_um, AXIS_FILM},
};

enum {
  NOTE_LINE_HEIGHT = 27,   // px in the list under the panels
  NOTE_LINE_LETTERS = 125, // that fit beside its number
  LANE_HEIGHT = 28,        // px of a code's bar
  FLAG_HEIGHT = 30,        // px of a row of numbered flags
  FLAG_ROWS = 3,           // flags too close together go to the next row
  FLAG_SPACING = 34,       // px
  SIDE_MARGINS = 210,      // px, left and right of the panels together, as in plots/run.gp
  MARK_MAX = 200,          // notes, bands or marks of one kind; more could not be told apart
};

struct span {
  double low, high;
};

/* A standing engine and the flare of a start would squeeze what a run is about into a few pixels. If the
 * idling part takes much less room than the whole, the axis shows that part and a text says how far the
 * rest goes. */
#define RUNNING_RATIO 0.6   // of the target; slower is cranking or standing
#define TRIM_RATIO    0.003 // of the rows, at either end: a second or two of flare in some minutes
#define SQUEEZE_RATIO 1.8   // the whole must be this much larger

static int compare_doubles(const void *a, const void *b) {
  const double left = *(const double *)a, right = *(const double *)b;
  return (left > right) - (left < right);
}

/* From the lowest to the highest of the values, trim of them left out at either end. */
static struct span span_between(double *values, size_t count, double trim_ratio) {
  if (count == 0) return (struct span){0.0, 0.0};
  qsort(values, count, sizeof *values, compare_doubles);
  const size_t trim = (size_t)(trim_ratio * (double)count);
  return (struct span){values[trim], values[count - 1 - trim]};
}

/* All values of an axis's lines; with the engine running only, or at all times. Returns how many. */
static size_t gather(const struct recording *recording, enum axis axis, bool running_only, double *values) {
  size_t count = 0;
  for (size_t i = 0; i < ARRAY_COUNT(line_rows); i++) {
    if (line_rows[i].axis != axis) continue;
    for (size_t row = 0; row < recording->row_count; row++) {
      const double value = recording_value(recording, row, line_rows[i].channel);
      const bool running = recording_value(recording, row, CHANNEL_speed_rpm) >=
                           RUNNING_RATIO * recording_value(recording, row, CHANNEL_target_rpm);
      if (isfinite(value) && (running || !running_only)) values[count++] = value;
    }
  }
  return count;
}

static struct span widened(struct span span, enum axis axis) {
  if (axis_rows[axis].from_zero) span = (struct span){fmin(span.low, 0.0), fmax(span.high, 0.0)};
  const double missing = fmax(axis_rows[axis].least_span - (span.high - span.low), 0.0);
  const bool stands_on_zero = axis_rows[axis].from_zero && span.low >= 0.0;
  if (!stands_on_zero) span.low -= 0.5 * missing;
  span.high += stands_on_zero ? missing : 0.5 * missing;
  const double margin = 0.06 * (span.high - span.low);
  return (struct span){stands_on_zero ? 0.0 : span.low - margin, span.high + margin};
}

/* Sends an axis's range and, if something lies beyond it, the text that says so. */
static void send_axis(struct picture_script *script, const struct recording *recording, enum axis axis,
                      double *values) {
  const char *name = axis_rows[axis].name;
  const struct span whole = span_between(values, gather(recording, axis, false, values), 0.0);
  const struct span idling = span_between(values, gather(recording, axis, true, values), TRIM_RATIO);
  const struct span whole_axis = widened(whole, axis), idling_axis = widened(idling, axis);
  const bool cut = idling.high > idling.low &&
                   whole_axis.high - whole_axis.low > SQUEEZE_RATIO * (idling_axis.high - idling_axis.low);
  const struct span span = cut ? idling_axis : whole_axis;
  fprintf(script->stream, "%s_low = %.7g\n%s_high = %.7g\n", name, span.low, name, span.high);
  if (cut)
    fprintf(script->stream, "%s_cut = 'not all in view: %.0f to %.0f'\n", name, whole.low, whole.high);
  else
    fprintf(script->stream, "%s_cut = ''\n", name);
}

/* ---- Time ---- */

struct time_axis {
  double start_s, end_s, unit_s;
  const char *unit;
};

static struct time_axis time_axis_of(const struct recording *recording) {
  struct time_axis axis = {recording_value(recording, 0, CHANNEL_time_s),
                           recording_value(recording, recording->row_count - 1, CHANNEL_time_s), 1.0, "s"};
  const double length_s = axis.end_s - axis.start_s;
  if (length_s > 3.0 * 3600.0) {
    axis.unit_s = 3600.0;
    axis.unit = "h";
  } else if (length_s > 300.0) {
    axis.unit_s = 60.0;
    axis.unit = "min";
  }
  return axis;
}

/* ---- Lines ---- */

static void send_line(struct picture_script *script, const struct recording *recording,
                      const struct time_axis *time, enum channel channel, size_t *kept) {
  const struct thin_series series = {recording->values + CHANNEL_time_s, recording->values + channel,
                                     CHANNEL_COUNT, recording->row_count};
  // Nobody counts pixels in an SVG, but everybody pays for its size.
  const int columns = script->target->format == PICTURE_svg ? script->width / 2 : script->width;
  const size_t count = thin_points(&series, time->start_s, time->end_s, (size_t)columns, kept);
  picture_block_begin(script, channel_rows[channel].name);
  for (size_t i = 0; i < count; i++) {
    picture_value(script, recording_value(recording, kept[i], CHANNEL_time_s) / time->unit_s);
    picture_value(script, recording_value(recording, kept[i], channel));
    // For the two shaded areas, whose borders need the same times.
    picture_value(script, recording_value(recording, kept[i], CHANNEL_clean_area_mm2));
    fputc('\n', script->stream);
  }
  // A line without any point would be a complaint of gnuplot's; this one lies far outside the axes.
  if (count == 0 || (count == 1 && isnan(recording_value(recording, kept[0], channel))))
    fputs("-1e9 0 0\n", script->stream);
  picture_block_end(script);
}

static enum status send_lines(struct picture_script *script, const struct recording *recording,
                              const struct time_axis *time, struct error *error) {
  size_t *kept = calloc(recording->row_count, sizeof *kept);
  double *values = calloc(recording->row_count, ARRAY_COUNT(line_rows) * sizeof *values);
  enum status status = STATUS_OK;
  if (!kept || !values) {
    status = error_set(error, STATUS_NO_MEMORY, "out of memory for the picture of the run");
    goto cleanup;
  }
  for (size_t i = 0; i < ARRAY_COUNT(line_rows); i++)
    send_line(script, recording, time, line_rows[i].channel, kept);
  for (int i = 0; i < AXIS_COUNT; i++) send_axis(script, recording, (enum axis)i, values);
cleanup:
  free(kept);
  free(values);
  return status;
}

/* ---- Codes ---- */

static void send_bands(struct picture_script *script, const struct recording *recording,
                       const struct time_axis *time, const int lane_of[MONITOR_CODE_COUNT]) {
  enum code_state state[MONITOR_CODE_COUNT] = {CODE_NONE};
  double since_s[MONITOR_CODE_COUNT] = {0.0};
  int count = 0;
  for (size_t i = 0; i < recording->event_count + MONITOR_CODE_COUNT; i++) {
    // After the last event every code's band ends with the run.
    const struct recording_event *event = i < recording->event_count ? &recording->events[i] : NULL;
    if (event && event->kind != RECORDING_CODE) continue;
    const int code = event ? event->code : (int)(i - recording->event_count);
    if (code < 0 || code >= MONITOR_CODE_COUNT) continue;
    const double end_s = event ? event->time_s : time->end_s;
    if (state[code] != CODE_NONE && end_s > since_s[code] && count < MARK_MAX) {
      count++;
      fprintf(script->stream,
              "band_from[%d] = %.7g\nband_to[%d] = %.7g\nband_state[%d] = %d\nband_lane[%d] = %d\n", count,
              since_s[code] / time->unit_s, count, end_s / time->unit_s, count, (int)state[code], count,
              lane_of[code]);
    }
    if (event) {
      state[code] = (enum code_state)event->value;
      since_s[code] = event->time_s;
    }
  }
  picture_number(script, "band_count", count);
}

/* The same for all codes together: the shade behind the panels follows the worst state of any code. */
static void send_shades(struct picture_script *script, const struct recording *recording,
                        const struct time_axis *time) {
  enum code_state state[MONITOR_CODE_COUNT] = {CODE_NONE}, worst = CODE_NONE;
  double since_s = time->start_s;
  int count = 0;
  for (size_t i = 0; i <= recording->event_count && count < MARK_MAX; i++) {
    const struct recording_event *event = i < recording->event_count ? &recording->events[i] : NULL;
    if (event && (event->kind != RECORDING_CODE || event->code < 0 || event->code >= MONITOR_CODE_COUNT))
      continue;
    const double end_s = event ? event->time_s : time->end_s;
    if (event) state[event->code] = (enum code_state)event->value;
    enum code_state now = CODE_NONE;
    for (int code = 0; code < MONITOR_CODE_COUNT; code++) now = state[code] > now ? state[code] : now;
    if (event && now == worst) continue;
    if (worst != CODE_NONE && end_s > since_s) {
      count++;
      fprintf(script->stream, "shade_from[%d] = %.7g\nshade_to[%d] = %.7g\nshade_state[%d] = %d\n", count,
              since_s / time->unit_s, count, end_s / time->unit_s, count, (int)worst);
    }
    worst = now;
    since_s = end_s;
  }
  picture_number(script, "shade_count", count);
}

/* Numbers the codes that occurred from 1; returns how many. */
static int find_lanes(const struct recording *recording, int lane_of[MONITOR_CODE_COUNT]) {
  int count = 0;
  for (int code = 0; code < MONITOR_CODE_COUNT; code++) {
    lane_of[code] = 0;
    for (size_t i = 0; i < recording->event_count && !lane_of[code]; i++) {
      const struct recording_event *event = &recording->events[i];
      if (event->kind == RECORDING_CODE && event->code == code && event->value != CODE_NONE)
        lane_of[code] = ++count;
    }
  }
  return count;
}

/* ---- Notes ---- */

/* Bytes of the text's next line of at most `letters` letters, broken at a blank if there is one. */
static size_t line_bytes(const char *text, int letters) {
  size_t end = 0, blank = 0;
  int count = 0;
  for (; text[end]; end++) {
    const bool starts_letter = ((unsigned char)text[end] & 0xC0) != 0x80;
    if (starts_letter && count++ == letters) return blank ? blank : end;
    if (text[end] == ' ') blank = end;
  }
  return end;
}

/* Sends every note's time, flag row and text, the text in lines; returns the number of lines of all. */
static int send_notes(struct picture_script *script, const struct recording *recording,
                      const struct time_axis *time, int *flag_rows) {
  double last_s[FLAG_ROWS];
  for (int i = 0; i < FLAG_ROWS; i++) last_s[i] = -INFINITY;
  const double spacing_s = (time->end_s - time->start_s) * FLAG_SPACING / (script->width - SIDE_MARGINS);
  int count = 0, lines = 0;
  *flag_rows = 0;
  for (size_t i = 0; i < recording->event_count; i++) {
    const struct recording_event *event = &recording->events[i];
    if (event->kind != RECORDING_NOTE || event->text[0] == '\0' || count == MARK_MAX) continue;
    int row = 0;
    while (row + 1 < FLAG_ROWS && event->time_s - last_s[row] < spacing_s) row++;
    last_s[row] = event->time_s;
    if (row + 1 > *flag_rows) *flag_rows = row + 1;
    count++;
    fprintf(script->stream, "note_at[%d] = %.7g\nnote_row[%d] = %d\n", count, event->time_s / time->unit_s,
            count, row);
    const char *text = event->text;
    for (bool first = true; *text && lines < MARK_MAX; first = false) {
      char line[RECORDING_TEXT_SIZE];
      const size_t size = line_bytes(text, NOTE_LINE_LETTERS);
      snprintf(line, sizeof line, "%.*s", (int)size, text);
      lines++;
      fprintf(script->stream, "line_number[%d] = '%.0d'\nline_text[%d] = ", lines, first ? count : 0, lines);
      picture_quote(script, line);
      fputc('\n', script->stream);
      for (text += size; *text == ' '; text++) {
      }
    }
  }
  picture_number(script, "note_count", count);
  picture_number(script, "line_count", lines);
  return lines;
}

/* ---- Stalls and limits ---- */

static bool is_stall(const struct recording_event *event) {
  return event->kind == RECORDING_ENGINE && event->value == RECORDING_VALUE_STALL;
}

static bool is_limit(const struct recording_event *event) {
  return event->kind == RECORDING_CONTROLLER &&
         (event->value == RECORDING_VALUE_LEARNED_LIMIT || event->value == RECORDING_VALUE_AT_LIMIT ||
          event->value == RECORDING_VALUE_RESET);
}

static void send_marks(struct picture_script *script, const struct recording *recording,
                       const struct time_axis *time, const char *name,
                       bool (*belongs)(const struct recording_event *)) {
  int count = 0;
  for (size_t i = 0; i < recording->event_count && count < MARK_MAX; i++) {
    if (!belongs(&recording->events[i])) continue;
    count++;
    fprintf(script->stream, "%s_at[%d] = %.7g\n", name, count, recording->events[i].time_s / time->unit_s);
  }
  fprintf(script->stream, "%s_count = %d\n", name, count);
}

/* ---- The whole ---- */

static int count_notes_height(const struct recording *recording) {
  int lines = 0;
  for (size_t i = 0; i < recording->event_count; i++) {
    const struct recording_event *event = &recording->events[i];
    if (event->kind != RECORDING_NOTE) continue;
    for (const char *text = event->text; *text && lines < MARK_MAX; lines++)
      for (text += line_bytes(text, NOTE_LINE_LETTERS); *text == ' '; text++) {
      }
  }
  return lines * NOTE_LINE_HEIGHT;
}

enum status picture_run_draw(const struct picture_run *run, const struct picture_target *target,
                             struct error *error) {
  static const char *const arrays[] = {"band_from",   "band_to",   "band_state",  "band_lane", "lane_text",
                                       "shade_from",  "shade_to",  "shade_state", "note_at",   "note_row",
                                       "line_number", "line_text", "stall_at",    "limit_at"};
  const struct recording *recording = run->recording;
  if (recording->row_count < 2)
    return error_set(error, STATUS_BAD_DATA, "the run has %zu rows; a picture needs at least two",
                     recording->row_count);
  const struct time_axis time = time_axis_of(recording);
  if (!(time.end_s > time.start_s))
    return error_set(error, STATUS_BAD_DATA,
                     "the run's time does not advance from its first row to its last");

  int lane_of[MONITOR_CODE_COUNT];
  const int lane_count = find_lanes(recording, lane_of);
  const int more_height = lane_count * LANE_HEIGHT + count_notes_height(recording);
  struct picture_script script;
  enum status status = picture_begin(&script, PICTURE_OF_run, target, more_height, error);
  if (status != STATUS_OK) return status;
  for (size_t i = 0; i < ARRAY_COUNT(arrays); i++)
    fprintf(script.stream, "array %s[%d]\n", arrays[i], MARK_MAX);
  picture_text(&script, "title_text", run->title);
  picture_text(&script, "engine_text", run->engine_title);
  picture_text(&script, "time_unit", time.unit);
  picture_number(&script, "time_low", time.start_s / time.unit_s);
  picture_number(&script, "time_high", time.end_s / time.unit_s);
  picture_number(&script, "below_rpm", monitor_rows[MONITOR_P0506].threshold / UNITS_RAD_S_PER_RPM);
  picture_number(&script, "above_rpm", monitor_rows[MONITOR_P0507].threshold / UNITS_RAD_S_PER_RPM);
  picture_number(&script, "lane_count", lane_count);
  picture_number(&script, "lane_height", LANE_HEIGHT);
  picture_number(&script, "flag_height", FLAG_HEIGHT);
  picture_number(&script, "line_height", NOTE_LINE_HEIGHT);
  int flag_rows;
  send_notes(&script, recording, &time, &flag_rows);
  picture_number(&script, "flag_rows", flag_rows);
  for (int code = 0; code < MONITOR_CODE_COUNT; code++)
    if (lane_of[code])
      fprintf(script.stream, "lane_text[%d] = '%s'\n", lane_of[code], monitor_rows[code].code);
  send_bands(&script, recording, &time, lane_of);
  send_shades(&script, recording, &time);
  send_marks(&script, recording, &time, "stall", is_stall);
  send_marks(&script, recording, &time, "limit", is_limit);
  status = send_lines(&script, recording, &time, error);
  if (status == STATUS_OK) return picture_finish(&script, error);
  picture_abandon(&script);
  return status;
}
