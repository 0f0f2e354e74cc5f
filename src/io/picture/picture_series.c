#include "io/picture/picture_series.h"

#include "io/picture/thin.h"

#include <math.h>
#include <stdlib.h>

#define RUNNING_RATIO 0.6   // of the target; slower is cranking or standing
#define TRIM_RATIO    0.003 // of the rows, at either end: a second or two of flare in some minutes
#define PRESSED_PCT   1.0
#define FALL_RATIO    0.025 // the same where the engine comes down from where it was held: some seconds in some minutes
#define SQUEEZE_RATIO 1.8   // the whole must be this much larger

struct picture_series_time picture_series_time_of(const struct recording *recording) {
  struct picture_series_time axis = {recording_value(recording, 0, CHANNEL_time_s),
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

enum status picture_series_check(const struct recording *recording, struct error *error) {
  if (recording->row_count < 2)
    return error_set(error, STATUS_BAD_DATA, "the run has %zu rows; a picture needs at least two", recording->row_count);
  const struct picture_series_time time = picture_series_time_of(recording);
  if (!(time.end_s > time.start_s))
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

static struct span widened(struct span span, const struct picture_series_axis *axis) {
  if (axis->from_zero) span = (struct span){fmin(span.low, 0.0), fmax(span.high, 0.0)};
  const double missing = fmax(axis->least_span - (span.high - span.low), 0.0);
  const bool stands_on_zero = axis->from_zero && span.low >= 0.0;
  if (!stands_on_zero) span.low -= 0.5 * missing;
  span.high += stands_on_zero ? missing : 0.5 * missing;
  const double margin = 0.06 * (span.high - span.low);
  return (struct span){stands_on_zero ? 0.0 : span.low - margin, span.high + margin};
}

static void send_range(struct picture_script *script, const struct picture_series_axis *axis, struct span whole,
                       struct span running) {
  const struct span whole_axis = widened(whole, axis), running_axis = widened(running, axis);
  const bool cut =
      running.high > running.low && whole_axis.high - whole_axis.low > SQUEEZE_RATIO * (running_axis.high - running_axis.low);
  const struct span span = cut ? running_axis : whole_axis;
  fprintf(script->stream, "%s_low = %.7g\n%s_high = %.7g\n", axis->name, span.low, axis->name, span.high);
  const int decimals = whole.high - whole.low < 5.0 ? 1 : 0;
  if (cut)
    fprintf(script->stream, "%s_cut = 'not all in view: %.*f to %.*f'\n", axis->name, decimals, whole.low, decimals, whole.high);
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

/* A line without any point would be a complaint of gnuplot's; this one lies far outside the axes. */
#define NOWHERE "-1e9 0 0\n"

void picture_series_send_nothing(struct picture_script *script, const char *name) {
  picture_block_begin(script, name);
  fputs(NOWHERE, script->stream);
  picture_block_end(script);
}

enum status picture_series_send_line(struct picture_script *script, const struct recording *recording,
                                     const struct picture_series_time *time, const char *name, enum channel channel,
                                     enum channel second, int columns, struct error *error) {
  size_t *kept = calloc(recording->row_count + 1, sizeof *kept);
  if (!kept) return error_set(error, STATUS_NO_MEMORY, "out of memory for a line of a picture");
  const struct thin_series series = {recording->values + CHANNEL_time_s, recording->values + channel, CHANNEL_COUNT,
                                     recording->row_count};
  const size_t count = thin_points(&series, time->start_s, time->end_s, (size_t)columns, kept);
  picture_block_begin(script, name);
  for (size_t i = 0; i < count; i++) {
    picture_value(script, recording_value(recording, kept[i], CHANNEL_time_s) / time->unit_s);
    picture_value(script, recording_value(recording, kept[i], channel));
    picture_value(script, recording_value(recording, kept[i], second));
    fputc('\n', script->stream);
  }
  if (count == 0 || (count == 1 && isnan(recording_value(recording, kept[0], channel)))) fputs(NOWHERE, script->stream);
  picture_block_end(script);
  free(kept);
  return STATUS_OK;
}
