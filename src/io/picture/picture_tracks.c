#include "io/picture/picture_tracks.h"

#include "io/picture/picture_range.h"

#include <math.h>

enum { STRETCH_MAX = 6, SWEPT_ROWS = 20, SHAKE_ROWS = 2 };
#define LEAST_SPAN_A 0.5  // a sound drive draws about 1 A while it moves
#define TRAVEL_DEG   10.0 // a blade that moved less has not been swept
#define STEP_DEG     5.0  // and one that moves further from row to row has jumped

#define SHAKE_DEG 0.3 // a blade that turns back by more from row to row shakes faster than the rows tell

/* Rows between two notes, or all where there are none. */
struct stretch {
  double from_s, to_s;
  const char *label;
};

static bool standing(const struct recording *r, size_t row) {
  return recording_value(r, row, CHANNEL_speed_rpm) <= 0.0 && recording_value(r, row, CHANNEL_motor_supply_v) > 1.0;
}

/* The blade was swept between these times, the engine standing: it went through more than TRAVEL_DEG, and not in a few jumps. */
static bool swept(const struct recording *r, double from_s, double to_s) {
  double least = INFINITY, most = -INFINITY, last = NAN;
  int rows = 0;
  for (size_t row = 0; row < r->row_count; row++) {
    const double now = recording_value(r, row, CHANNEL_time_s), blade_deg = recording_value(r, row, CHANNEL_blade_deg);
    if (now < from_s || now >= to_s || !standing(r, row)) continue;
    rows += fabs(blade_deg - last) > 0.0 && fabs(blade_deg - last) < STEP_DEG;
    least = fmin(least, blade_deg);
    most = fmax(most, blade_deg);
    last = blade_deg;
  }
  return most - least > TRAVEL_DEG && rows >= SWEPT_ROWS;
}

static int find_stretches(const struct recording *r, struct stretch *stretches) {
  int count = 0, notes = 0;
  for (size_t i = 0; i < r->event_count && count < STRETCH_MAX; i++) {
    if (r->events[i].kind != RECORDING_NOTE) continue;
    notes++;
    double to_s = INFINITY;
    for (size_t k = i + 1; k < r->event_count && !isfinite(to_s); k++)
      if (r->events[k].kind == RECORDING_NOTE && r->events[k].time_s > r->events[i].time_s) to_s = r->events[k].time_s;
    if (swept(r, r->events[i].time_s, to_s)) stretches[count++] = (struct stretch){r->events[i].time_s, to_s, r->events[i].text};
  }
  if (notes == 0 && swept(r, 0.0, INFINITY)) stretches[count++] = (struct stretch){0.0, INFINITY, "sweep"};
  return count;
}

bool picture_tracks_drawable(const struct recording *recording) {
  struct stretch stretches[STRETCH_MAX];
  return find_stretches(recording, stretches) > 0;
}

/* Whether the blade turns back within SHAKE_ROWS of this row by so much that nothing is known of the way between the rows. */
static bool shakes(const struct recording *r, size_t row) {
  const size_t first = row > SHAKE_ROWS ? row - SHAKE_ROWS : 1;
  for (size_t i = first; i <= row + SHAKE_ROWS && i + 1 < r->row_count; i++) {
    const double now_deg = recording_value(r, i, CHANNEL_blade_deg);
    const double before_deg = now_deg - recording_value(r, i - 1, CHANNEL_blade_deg);
    const double after_deg = recording_value(r, i + 1, CHANNEL_blade_deg) - now_deg;
    if (before_deg * after_deg < 0.0 && fmin(fabs(before_deg), fabs(after_deg)) > SHAKE_DEG) return true;
  }
  return false;
}

static bool any_shakes(const struct recording *r) {
  for (size_t row = 0; row < r->row_count; row++)
    if (standing(r, row) && shakes(r, row)) return true;
  return false;
}

/* Columns: opening, track 1, track 2, their sum, current, whether it shakes; stretches parted by two empty lines. */
static void send_rows(struct picture_script *script, const struct recording *r, const struct stretch *stretches, int count) {
  picture_block_begin(script, "sweep");
  for (int i = 0; i < count; i++) {
    for (size_t row = 0; row < r->row_count; row++) {
      const double now = recording_value(r, row, CHANNEL_time_s);
      if (now < stretches[i].from_s || now >= stretches[i].to_s || !standing(r, row)) continue;
      const double one = recording_value(r, row, CHANNEL_tps1_v), two = recording_value(r, row, CHANNEL_tps2_v);
      const double values[] = {recording_value(r, row, CHANNEL_blade_deg), one,           two, one + two,
                               recording_value(r, row, CHANNEL_motor_a),   shakes(r, row)};
      for (size_t k = 0; k < ARRAY_COUNT(values); k++) picture_value(script, values[k]);
      fputc('\n', script->stream);
    }
    fputs("\n\n", script->stream);
  }
  picture_block_end(script);
}

/* The axis of the motor's current; a drive without current, as with its supply dead, is a line at zero. */
static struct picture_range amps(const struct recording *r) {
  struct picture_range range = picture_range_empty();
  for (size_t row = 0; row < r->row_count; row++)
    if (standing(r, row)) picture_range_add(&range, recording_value(r, row, CHANNEL_motor_a));
  return picture_range_axis(range, LEAST_SPAN_A, true);
}

enum status picture_tracks_draw(const struct picture_tracks *tracks, const struct picture_target *target, struct error *error) {
  if (!picture_tracks_drawable(tracks->recording))
    return error_set(error, STATUS_BAD_DATA, "there is no sweep of the blade with the engine standing to draw");
  struct stretch stretches[STRETCH_MAX];
  const int count = find_stretches(tracks->recording, stretches);
  struct picture_script script;
  const enum status status = picture_begin(&script, PICTURE_OF_tracks, target, 0, error);
  if (status != STATUS_OK) return status;
  picture_text(&script, "title_text", tracks->title);
  picture_text(&script, "engine_text", tracks->engine_title);
  picture_number(&script, "stretch_count", count);
  picture_number(&script, "any_shakes", any_shakes(tracks->recording));
  const struct picture_range current = amps(tracks->recording);
  picture_number(&script, "amps_low", current.low);
  picture_number(&script, "amps_high", current.high);
  fprintf(script.stream, "array stretch_name[%d]\n", STRETCH_MAX);
  for (int i = 0; i < count; i++) {
    fprintf(script.stream, "stretch_name[%d] = ", i + 1);
    picture_quote(&script, stretches[i].label);
    fputc('\n', script.stream);
  }
  send_rows(&script, tracks->recording, stretches, count);
  return picture_finish(&script, error);
}
