#include "io/picture/picture_series.h"

#include "io/picture/thin.h"

#include <math.h>
#include <stdlib.h>

#define RUNNING_RATIO  0.6   // of the target; slower is cranking or standing
#define TRIM_RATIO     0.003 // of the rows, at either end: a second or two of flare in some minutes
#define PRESSED_PCT    1.0
#define FALL_RATIO     0.025 // the same where the engine comes down from where it was held: some seconds in some minutes
#define PEAK_RATIO     0.004 // of the rows at either end: single peaks, which are no movement worth a panel
#define ENRICHED_RATIO 0.03  // the same of lambda: nor is what a start is given
#define SQUEEZE_RATIO  1.8   // the whole must be this much larger

struct picture_series_time picture_series_time_of(const struct recording *recording) {
  struct picture_series_time axis = {recording_value(recording, 0, CHANNEL_time_s),
                                     recording_value(recording, recording->row_count - 1, CHANNEL_time_s), 1.0, "s"};
  const double length_s = axis.end_s - axis.start_s;
  if (!(length_s > 0.0)) { // one row: a second about it
    axis.start_s -= 0.5;
    axis.end_s += 0.5;
  }
  if (length_s > 3.0 * 3600.0) {
    axis.unit_s = 3600.0;
    axis.unit = "h";
  } else if (length_s > 300.0) {
    axis.unit_s = 60.0;
    axis.unit = "min";
  }
  return axis;
}

enum status picture_series_check(const struct recording *recording, struct error *error) {
  if (recording->row_count == 0) return error_set(error, STATUS_BAD_DATA, "the run has no rows; a picture needs at least one");
  const size_t last = recording->row_count - 1;
  if (last > 0 && !(recording_value(recording, last, CHANNEL_time_s) > recording_value(recording, 0, CHANNEL_time_s)))
    return error_set(error, STATUS_BAD_DATA, "the run's time does not advance from its first row to its last");
  return STATUS_OK;
}

bool picture_series_has(const struct recording *recording, enum channel channel) {
  for (size_t row = 0; row < recording->row_count; row++)
    if (isfinite(recording_value(recording, row, channel))) return true;
  return false;
}

/* ---- Axes ---- */

struct span {
  double low, high;
};

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

/* All values of one channel; with the engine running (idling) only, or at all times. Returns how many. Where there is no
 * target the engine counts as running whenever it turns. */
static size_t gather(const struct recording *recording, enum channel channel, bool running_only, bool idle_only, double *values) {
  size_t count = 0;
  for (size_t row = 0; row < recording->row_count; row++) {
    const double value = recording_value(recording, row, channel);
    const double speed = recording_value(recording, row, CHANNEL_speed_rpm);
    const double target = recording_value(recording, row, CHANNEL_target_rpm);
    const bool pressed = idle_only && recording_value(recording, row, CHANNEL_pedal_pct) > PRESSED_PCT;
    const bool running = pressed ? false : isnan(target) ? !(speed <= 0.0) : speed >= RUNNING_RATIO * target && target > 0.0;
    if (isfinite(value) && (running || !running_only)) values[count++] = value;
  }
  return count;
}

struct picture_range picture_series_reach(const struct recording *recording, enum channel channel, bool running_only) {
  double *values = calloc(recording->row_count + 1, sizeof *values);
  struct picture_range range = picture_range_empty();
  if (!values) return range; // the picture has one panel less; what needs more memory will tell
  const size_t count = gather(recording, channel, running_only, false, values);
  const double trim_ratio = !running_only ? 0.0 : channel == CHANNEL_lambda ? ENRICHED_RATIO : PEAK_RATIO;
  if (count > 0) {
    const struct span span = span_between(values, count, trim_ratio);
    picture_range_add(&range, span.low);
    picture_range_add(&range, span.high);
  }
  free(values);
  return range;
}

static struct picture_range widened(struct span span, const struct picture_series_axis *axis) {
  return picture_range_axis((struct picture_range){span.low, span.high}, axis->least_span, axis->from_zero);
}

/* As it will be printed, and zero without a sign. */
static double rounded(double value, int decimals) {
  const double scale = decimals ? 10.0 : 1.0, whole = round(value * scale);
  return whole == 0.0 ? 0.0 : whole / scale;
}

static void send_range(struct picture_script *script, const struct picture_series_axis *axis, struct span whole,
                       struct span running) {
  const struct picture_range whole_axis = widened(whole, axis), running_axis = widened(running, axis);
  const bool cut =
      running.high > running.low && whole_axis.high - whole_axis.low > SQUEEZE_RATIO * (running_axis.high - running_axis.low);
  const struct picture_range span = cut ? running_axis : whole_axis;
  fprintf(script->stream, "%s_low = %.7g\n%s_high = %.7g\n", axis->name, span.low, axis->name, span.high);
  const int decimals = whole.high - whole.low < 5.0 ? 1 : 0;
  if (cut)
    fprintf(script->stream, "%s_cut = 'goes from %.*f to %.*f'\n", axis->name, decimals, rounded(whole.low, decimals), decimals,
            rounded(whole.high, decimals));
  else
    fprintf(script->stream, "%s_cut = ''\n", axis->name);
}

enum status picture_series_send_axis(struct picture_script *script, const struct picture_series_axis *axis,
                                     const struct recording *const *recordings, size_t recording_count,
                                     const enum channel *channels, size_t channel_count, struct error *error) {
  size_t rows = 1;
  for (size_t i = 0; i < recording_count; i++) rows += recordings[i]->row_count;
  double *values = calloc(rows * (channel_count + 1), sizeof *values);
  if (!values) return error_set(error, STATUS_NO_MEMORY, "out of memory for an axis of a picture");
  struct span spans[2];
  for (int running_only = 0; running_only < 2; running_only++) {
    size_t count = 0;
    for (size_t i = 0; i < recording_count; i++)
      for (size_t k = 0; k < channel_count; k++)
        count += gather(recordings[i], channels[k], running_only == 1, axis->idle_only, values + count);
    spans[running_only] = span_between(values, count, !running_only ? 0.0 : axis->idle_only ? FALL_RATIO : TRIM_RATIO);
  }
  free(values);
  send_range(script, axis, spans[0], spans[1]);
  return STATUS_OK;
}

/* ---- Lines ---- */

enum { JOINED_LEAST = 4 }; // fewer points make no line
#define GAP_RATIO 4.5      // times the usual time between two values: asked for in turn they come unevenly
#define DASH_PX   4.0      // half the length of a value that stands alone

/* A line without any point would be a complaint of gnuplot's; this one lies far outside the axes. */
#define NOWHERE "-1e9 0 0\n"

void picture_series_send_nothing(struct picture_script *script, const char *name) {
  picture_block_begin(script, name);
  fputs(NOWHERE, script->stream);
  picture_block_end(script);
}

/* The numbers of a channel, with NaN between those too far apart to be joined. */
struct points {
  size_t count;
  double *x, *y;
  size_t *row;
};

/* The time between neighbours, of which half are shorter. */
static double usual_spacing_s(const struct recording *recording, const size_t *rows, size_t count, double *spacings) {
  for (size_t i = 1; i < count; i++)
    spacings[i - 1] =
        recording_value(recording, rows[i], CHANNEL_time_s) - recording_value(recording, rows[i - 1], CHANNEL_time_s);
  qsort(spacings, count - 1, sizeof *spacings, compare_doubles);
  return spacings[(count - 1) / 2];
}

static void add_point(struct points *points, double x, double y, size_t row) {
  points->x[points->count] = x;
  points->y[points->count] = y;
  points->row[points->count++] = row;
}

/* points: room for twice the rows; rows: room for each. */
static void collect(const struct recording *recording, enum channel channel, size_t *rows, struct points *points) {
  size_t count = 0;
  for (size_t row = 0; row < recording->row_count; row++)
    if (isfinite(recording_value(recording, row, channel))) rows[count++] = row;
  const double apart_s = count < JOINED_LEAST ? 0.0 : GAP_RATIO * usual_spacing_s(recording, rows, count, points->x);
  for (size_t i = 0; i < count; i++) {
    const double now_s = recording_value(recording, rows[i], CHANNEL_time_s);
    if (points->count > 0 && now_s - points->x[points->count - 1] > apart_s) add_point(points, now_s, NAN, rows[i]);
    add_point(points, now_s, recording_value(recording, rows[i], channel), rows[i]);
  }
}

static void send_points(struct picture_script *script, const struct recording *recording, const struct picture_series_time *time,
                        const struct points *points, const size_t *kept, size_t count, enum channel second) {
  const double dash_s = DASH_PX * (time->end_s - time->start_s) / script->width;
  for (size_t i = 0; i < count; i++) {
    const bool alone = (i == 0 || isnan(points->y[kept[i - 1]])) && (i + 1 == count || isnan(points->y[kept[i + 1]]));
    const bool dash = alone && !isnan(points->y[kept[i]]);
    for (int end = dash ? -1 : 0; end <= (dash ? 1 : 0); end += 2) {
      picture_value(script, (points->x[kept[i]] + end * dash_s) / time->unit_s);
      picture_value(script, points->y[kept[i]]);
      picture_value(script, recording_value(recording, points->row[kept[i]], second));
      fputc('\n', script->stream);
    }
  }
}

enum status picture_series_send_line(struct picture_script *script, const struct recording *recording,
                                     const struct picture_series_time *time, const char *name, enum channel channel,
                                     enum channel second, int columns, struct error *error) {
  const size_t room = 2 * recording->row_count + 2;
  struct points points = {.x = calloc(room, sizeof *points.x), .y = calloc(room, sizeof *points.y)};
  points.row = calloc(room, sizeof *points.row);
  size_t *kept = calloc(room, sizeof *kept);
  enum status status = STATUS_OK;
  if (!points.x || !points.y || !points.row || !kept) {
    status = error_set(error, STATUS_NO_MEMORY, "out of memory for a line of a picture");
    goto cleanup;
  }
  collect(recording, channel, kept, &points);
  const struct thin_series series = {points.x, points.y, 1, points.count};
  const size_t count = thin_points(&series, time->start_s, time->end_s, (size_t)columns, kept);
  picture_block_begin(script, name);
  send_points(script, recording, time, &points, kept, count, second);
  if (count == 0) fputs(NOWHERE, script->stream);
  picture_block_end(script);
cleanup:
  free(points.x);
  free(points.y);
  free(points.row);
  free(kept);
  return status;
}
