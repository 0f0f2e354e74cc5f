#include "io/picture/picture_run.h"

#include "io/picture/picture_marks.h"

#include <math.h>
#include <string.h>

#define USUAL_SHARES 6.6 // of a run with a film: the height in PICTURE_LIST is for these
#define SHARE_PX     188.0
#define LEAST_SHARES 2.7 // fewer panels are drawn larger
enum {
  SLIDE_LANES = 2,      // codes that fit above a panel of a slide; more have a slide of their own
  SLIDE_NOTE_LINES = 3, // notes that fit below it; more stand in the summary only
};

static void choose(const struct picture_run *run, struct picture_panels *panels) {
  if (run->other)
    picture_panels_choose_over(run->recording, run->other, panels);
  else
    picture_panels_choose(run->recording, run->is_log, panels);
}

static bool codes_apart(const struct picture_run *run) {
  return !run->other && picture_marks_lanes(run->recording) > SLIDE_LANES;
}

size_t picture_run_part_count(const struct picture_run *run) {
  struct picture_panels panels;
  choose(run, &panels);
  return panels.panel_count + codes_apart(run);
}

void picture_run_part_name(const struct picture_run *run, size_t part, char name[PICTURE_PANELS_TEXT_SIZE]) {
  struct picture_panels panels;
  choose(run, &panels);
  snprintf(name, PICTURE_PANELS_TEXT_SIZE, "%s", part < panels.panel_count ? panels.panels[part].name : "codes");
}

/* ---- Sending ---- */

static void send_text(struct picture_script *script, const char *array, size_t index, const char *text) {
  fprintf(script->stream, "%s[%zu] = ", array, index);
  picture_quote(script, text);
  fputc('\n', script->stream);
}

/* One axis of a panel, over all runs. */
static enum status send_axis(struct picture_script *script, const struct picture_run *run, const struct picture_panels *panels,
                             size_t index, bool right, struct error *error) {
  const struct picture_panels_panel *panel = &panels->panels[index];
  const struct picture_panels_axis *row = right ? &panel->right : &panel->left;
  const struct recording *recordings[PICTURE_PANELS_RUN_MAX] = {run->recording, run->other};
  enum channel channels[PICTURE_PANELS_CURVE_MAX];
  size_t count = 0;
  char name[48];
  for (size_t i = 0; i < panel->count; i++)
    if (panels->curves[panel->first + i].right == right) channels[count++] = panels->curves[panel->first + i].channel;
  snprintf(name, sizeof name, "panel_%zu_%s", index + 1, right ? "right" : "left");
  const struct picture_series_axis axis = {name, row->least_span, row->from_zero, false};
  send_text(script, right ? "panel_right" : "panel_left", index + 1, row->text);
  return picture_series_send_axis(script, &axis, recordings, run->other ? 2 : 1, channels, count, error);
}

static enum status send_curve(struct picture_script *script, const struct picture_run *run,
                              const struct picture_series_time *time, const struct picture_panels_curve *curve, size_t index,
                              struct error *error) {
  // Nobody counts pixels in lines, but everybody pays for their size.
  const bool pixels = script->target->format == PICTURE_png || script->target->format == PICTURE_dumb;
  char name[32];
  snprintf(name, sizeof name, "curve_%zu", index + 1);
  send_text(script, "curve_title", index + 1, curve->title);
  fprintf(script->stream, "curve_right[%zu] = %d\ncurve_style[%zu] = %d\n", index + 1, curve->right, index + 1,
          (int)curve->style + 1);
  return picture_series_send_line(script, curve->run ? run->other : run->recording, time, name, curve->channel,
                                  CHANNEL_clean_area_mm2, pixels ? script->width : script->width / 2, error);
}

static enum status send_panels(struct picture_script *script, const struct picture_run *run,
                               const struct picture_series_time *time, const struct picture_panels *panels, struct error *error) {
  static const char *const arrays[] = {"panel_name", "panel_left", "panel_right", "panel_share", "panel_first", "panel_last"};
  static const char *const curve_arrays[] = {"curve_title", "curve_right", "curve_style"};
  FILE *stream = script->stream;
  enum status status = STATUS_OK;
  for (size_t i = 0; i < ARRAY_COUNT(arrays); i++) fprintf(stream, "array %s[%d]\n", arrays[i], PICTURE_PANELS_MAX);
  for (size_t i = 0; i < ARRAY_COUNT(curve_arrays); i++)
    fprintf(stream, "array %s[%d]\n", curve_arrays[i], PICTURE_PANELS_CURVE_MAX);
  fprintf(stream, "panel_count = %zu\nshare_sum = %.7g\n", panels->panel_count, panels->share_sum);
  for (size_t p = 0; p < panels->panel_count; p++) {
    const struct picture_panels_panel *panel = &panels->panels[p];
    fprintf(stream, "panel_name[%zu] = '%s'\npanel_share[%zu] = %.7g\npanel_first[%zu] = %zu\npanel_last[%zu] = %zu\n", p + 1,
            panel->name, p + 1, panel->share, p + 1, panel->first + 1, p + 1, panel->first + panel->count);
    for (int right = 0; right < 2 && status == STATUS_OK; right++) status = send_axis(script, run, panels, p, right == 1, error);
    for (size_t i = panel->first; i < panel->first + panel->count && status == STATUS_OK; i++)
      status = send_curve(script, run, time, &panels->curves[i], i, error);
  }
  return status;
}

/* The panel that a terminal shows beside the first one: what lets the air in. */
static size_t second_panel(const struct picture_panels *panels) {
  static const char *const wanted[] = {"area", "steps", "opening", "air"};
  for (size_t i = 0; i < ARRAY_COUNT(wanted); i++)
    for (size_t p = 1; p < panels->panel_count; p++)
      if (strcmp(panels->panels[p].name, wanted[i]) == 0) return p + 1;
  return panels->panel_count > 1 ? 2 : 0;
}

/* ---- The whole ---- */

/* One panel alone, or none for the slide of the codes. */
static void keep_part(struct picture_panels *panels, size_t part) {
  if (part >= panels->panel_count) {
    panels->panel_count = 0;
    panels->share_sum = 1.0;
    return;
  }
  panels->panels[0] = panels->panels[part];
  panels->panel_count = 1;
  panels->share_sum = panels->panels[0].share;
}

/* The longer run has the axis. */
static struct picture_series_time time_of(const struct picture_run *run) {
  struct picture_series_time time = picture_series_time_of(run->recording);
  if (!run->other) return time;
  const struct picture_series_time other = picture_series_time_of(run->other);
  const double start_s = fmin(time.start_s, other.start_s);
  if (other.end_s > time.end_s) time = other;
  time.start_s = start_s;
  return time;
}

static struct picture_marks_wanted marks_wanted(const struct picture_run *run, int part, const struct picture_panels *panels,
                                                const struct picture_target *target) {
  struct picture_marks_wanted wanted = {picture_marks_letters(target->form), true, true, true};
  if (run->other) return (struct picture_marks_wanted){.letters = wanted.letters};
  if (part == PICTURE_RUN_WHOLE) return wanted;
  const bool codes_slide = (size_t)part >= panels->panel_count, speed = part == 0;
  wanted.codes = codes_slide || (speed && !codes_apart(run));
  wanted.notes = picture_marks_note_lines(run->recording, wanted.letters) <= SLIDE_NOTE_LINES;
  return wanted;
}

enum status picture_run_draw(const struct picture_run *run, int part, const struct picture_target *target, struct error *error) {
  struct picture_panels panels;
  enum status status = picture_series_check(run->recording, error);
  if (status == STATUS_OK && run->other) status = picture_series_check(run->other, error);
  if (status != STATUS_OK) return status;
  choose(run, &panels);
  if (panels.panel_count == 0)
    return error_set(error, STATUS_BAD_DATA, "there is no column with numbers to draw besides the time");
  const struct picture_series_time time = time_of(run);
  const struct picture_marks_wanted wanted = marks_wanted(run, part, &panels, target);
  const int lanes = wanted.codes ? picture_marks_lanes(run->recording) : 0;
  const int note_lines = wanted.notes ? picture_marks_note_lines(run->recording, wanted.letters) : 0;
  if (part != PICTURE_RUN_WHOLE) keep_part(&panels, (size_t)part);
  const double shares = fmax(panels.share_sum, LEAST_SHARES);
  const int more_height =
      (int)((shares - USUAL_SHARES) * SHARE_PX) + lanes * PICTURE_MARKS_LANE_HEIGHT + note_lines * PICTURE_MARKS_NOTE_HEIGHT;
  struct picture_script script;
  status = picture_begin(&script, PICTURE_OF_run, target, more_height, error);
  if (status != STATUS_OK) return status;
  picture_text(&script, "title_text", run->title);
  picture_text(&script, "engine_text", run->engine_title);
  picture_text(&script, "other_text", run->other ? run->other_title : "");
  picture_number(&script, "is_over", run->other != NULL);
  picture_text(&script, "time_unit", time.unit);
  picture_number(&script, "time_low", time.start_s / time.unit_s);
  picture_number(&script, "time_high", time.end_s / time.unit_s);
  picture_number(&script, "below_rpm", monitor_rows[MONITOR_P0506].threshold / UNITS_RAD_S_PER_RPM);
  picture_number(&script, "above_rpm", monitor_rows[MONITOR_P0507].threshold / UNITS_RAD_S_PER_RPM);
  picture_number(&script, "second_panel", (double)second_panel(&panels));
  picture_marks_send(&script, run->recording, &wanted, &time);
  status = send_panels(&script, run, &time, &panels, error);
  if (status == STATUS_OK) return picture_finish(&script, error);
  picture_abandon(&script);
  return status;
}
