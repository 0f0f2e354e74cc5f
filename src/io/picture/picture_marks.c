/* What a picture of a run marks on its time axis: codes as bars, notes as numbered flags, stalls, limits. */
#include "io/picture/picture_marks.h"

#include <math.h>

enum {
  NOTE_LINE_LETTERS = 125, // that fit beside its number on a picture of 1400 px
  FLAG_ROWS = 3,           // flags too close together go to the next row
  FLAG_SPACING = 34,       // px
  SIDE_MARGINS = 210,      // px, left and right of the panels together, as in plots/run.gp
  MARK_MAX = 200,          // notes, bands or marks of one kind; more could not be told apart
};

/* ---- Codes ---- */

/* The states of a code as words, for terminals. */
static void send_states(struct picture_script *script, const struct recording *recording, const struct picture_series_time *time,
                        int code, int lane) {
  char text[160] = "";
  size_t used = 0;
  for (size_t i = 0; i < recording->event_count; i++) {
    const struct recording_event *event = &recording->events[i];
    if (event->kind != RECORDING_CODE || event->code != code || used + 40 > sizeof text) continue;
    const char *state = event->value == CODE_NONE ? "erased" : monitors_code_state_name((enum code_state)event->value);
    used += (size_t)snprintf(text + used, sizeof text - used, "%s%s %.4g %s", used ? ", " : "", state,
                             event->time_s / time->unit_s, time->unit);
  }
  fprintf(script->stream, "lane_states[%d] = '%s'\n", lane, text);
}

static void send_bands(struct picture_script *script, const struct recording *recording, const struct picture_series_time *time,
                       const int lane_of[MONITOR_CODE_COUNT]) {
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
      fprintf(script->stream, "band_from[%d] = %.7g\nband_to[%d] = %.7g\nband_state[%d] = %d\nband_lane[%d] = %d\n", count,
              since_s[code] / time->unit_s, count, end_s / time->unit_s, count, (int)state[code], count, lane_of[code]);
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
                        const struct picture_series_time *time) {
  enum code_state state[MONITOR_CODE_COUNT] = {CODE_NONE}, worst = CODE_NONE;
  double since_s = time->start_s;
  int count = 0;
  for (size_t i = 0; i <= recording->event_count && count < MARK_MAX; i++) {
    const struct recording_event *event = i < recording->event_count ? &recording->events[i] : NULL;
    if (event && (event->kind != RECORDING_CODE || event->code < 0 || event->code >= MONITOR_CODE_COUNT)) continue;
    const double end_s = event ? event->time_s : time->end_s;
    if (event) state[event->code] = (enum code_state)event->value;
    enum code_state now = CODE_NONE;
    for (int code = 0; code < MONITOR_CODE_COUNT; code++) now = state[code] > now ? state[code] : now;
    if (event && now == worst) continue;
    if (worst != CODE_NONE && end_s > since_s) {
      count++;
      fprintf(script->stream, "shade_from[%d] = %.7g\nshade_to[%d] = %.7g\nshade_state[%d] = %d\n", count, since_s / time->unit_s,
              count, end_s / time->unit_s, count, (int)worst);
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
      if (event->kind == RECORDING_CODE && event->code == code && event->value != CODE_NONE) lane_of[code] = ++count;
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
static int send_notes(struct picture_script *script, const struct recording *recording, const struct picture_series_time *time,
                      const struct picture_marks_wanted *wanted, int *flag_rows) {
  double last_s[FLAG_ROWS];
  for (int i = 0; i < FLAG_ROWS; i++) last_s[i] = -INFINITY;
  const double big = picture_form_rows[script->target->form].letters;
  const double spacing_s = (time->end_s - time->start_s) * FLAG_SPACING * big / (script->width - SIDE_MARGINS * big);
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
    fprintf(script->stream, "note_at[%d] = %.7g\nnote_row[%d] = %d\n", count, event->time_s / time->unit_s, count, row);
    const char *text = event->text;
    for (bool first = true; wanted->notes && *text && lines < MARK_MAX; first = false) {
      char line[RECORDING_TEXT_SIZE];
      const size_t size = line_bytes(text, wanted->letters);
      snprintf(line, sizeof line, "%.*s", (int)size, text);
      lines++;
      fprintf(script->stream, "line_number[%d] = '%.0d'\nline_at[%d] = '%.4g %s'\nline_text[%d] = ", lines, first ? count : 0,
              lines, event->time_s / time->unit_s, time->unit, lines);
      picture_quote(script, line);
      fputc('\n', script->stream);
      for (text += size; *text == ' '; text++) {
      }
    }
  }
  picture_number(script, "note_count", count);
  picture_number(script, "line_count", lines);
  picture_number(script, "has_flags", wanted->notes);
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

static void send_marks(struct picture_script *script, const struct recording *recording, const struct picture_series_time *time,
                       const char *name, bool (*belongs)(const struct recording_event *)) {
  int count = 0;
  for (size_t i = 0; i < recording->event_count && count < MARK_MAX; i++) {
    if (!belongs(&recording->events[i])) continue;
    count++;
    fprintf(script->stream, "%s_at[%d] = %.7g\n", name, count, recording->events[i].time_s / time->unit_s);
  }
  fprintf(script->stream, "%s_count = %d\n", name, count);
}

/* ---- The whole ---- */

int picture_marks_letters(enum picture_form form) {
  const struct picture_form_row *row = &picture_form_rows[form];
  return (int)(NOTE_LINE_LETTERS * (row->width / 1400.0) / row->letters);
}

int picture_marks_note_lines(const struct recording *recording, int letters) {
  int lines = 0;
  for (size_t i = 0; i < recording->event_count; i++) {
    const struct recording_event *event = &recording->events[i];
    if (event->kind != RECORDING_NOTE) continue;
    for (const char *text = event->text; *text && lines < MARK_MAX; lines++)
      for (text += line_bytes(text, letters); *text == ' '; text++) {
      }
  }
  return lines;
}

int picture_marks_lanes(const struct recording *recording) {
  int lane_of[MONITOR_CODE_COUNT];
  return find_lanes(recording, lane_of);
}

static void count_nothing(struct picture_script *script) {
  static const char *const counts[] = {"lane_count", "band_count", "shade_count"};
  for (size_t i = 0; i < ARRAY_COUNT(counts); i++) picture_number(script, counts[i], 0.0);
}

void picture_marks_send(struct picture_script *script, const struct recording *recording,
                        const struct picture_marks_wanted *wanted, const struct picture_series_time *time) {
  static const char *const arrays[] = {"band_from", "band_to",     "band_state", "band_lane",  "lane_text",   "shade_from",
                                       "shade_to",  "shade_state", "note_at",    "note_row",   "line_number", "line_text",
                                       "line_at",   "stall_at",    "limit_at",   "lane_states"};
  for (size_t i = 0; i < ARRAY_COUNT(arrays); i++) fprintf(script->stream, "array %s[%d]\n", arrays[i], MARK_MAX);
  int lane_of[MONITOR_CODE_COUNT], flag_rows;
  picture_number(script, "lane_height", PICTURE_MARKS_LANE_HEIGHT);
  picture_number(script, "flag_height", PICTURE_MARKS_FLAG_HEIGHT);
  picture_number(script, "line_height", PICTURE_MARKS_NOTE_HEIGHT);
  send_notes(script, recording, time, wanted, &flag_rows);
  picture_number(script, "flag_rows", wanted->notes ? flag_rows : 0);
  send_marks(script, recording, time, "stall", is_stall);
  send_marks(script, recording, time, "limit", is_limit);
  if (!wanted->lines) fputs("note_count = 0\nstall_count = 0\nlimit_count = 0\n", script->stream);
  if (!wanted->notes) picture_number(script, "note_count", 0.0); // a line that no word explains
  if (!wanted->codes) {
    count_nothing(script);
    return;
  }
  picture_number(script, "lane_count", find_lanes(recording, lane_of));
  for (int code = 0; code < MONITOR_CODE_COUNT; code++)
    if (lane_of[code]) {
      fprintf(script->stream, "lane_text[%d] = '%s'\n", lane_of[code], monitor_rows[code].code);
      send_states(script, recording, time, code, lane_of[code]);
    }
  send_bands(script, recording, time, lane_of);
  send_shades(script, recording, time);
}
