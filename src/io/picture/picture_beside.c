#include "io/picture/picture_beside.h"

#include "io/picture/picture_series.h"

#include <assert.h>
#include <math.h>

enum { PX_A_LETTER = 12, TITLE_LETTERS = 56 }; // of a column's title that fit above it when there are two

/* Channels of the panels: each becomes a block $NAME_RUN. */
static const enum channel lines[] = {
    CHANNEL_speed_rpm, CHANNEL_target_rpm,    CHANNEL_blade_pct,   CHANNEL_bypass_steps, CHANNEL_airflow_gps,
    CHANNEL_maf_gps,   CHANNEL_unmetered_gps, CHANNEL_learned_pct, CHANNEL_effort_pct,   CHANNEL_stft_pct,
    CHANNEL_ltft_pct,  CHANNEL_film_um,       CHANNEL_leak_mm2,
};

/* Axes: the channels that share one, over all runs. */
static const struct {
  struct picture_series_axis axis;
  enum channel channels[3];
  size_t count;
} axis_rows[] = {
    {{"speed", 400.0, false, true}, {CHANNEL_speed_rpm, CHANNEL_target_rpm}, 2},
    {{"blade", 2.0, true, true}, {CHANNEL_blade_pct}, 1},
    {{"steps", 10.0, true, true}, {CHANNEL_bypass_steps}, 1},
    {{"added", 5.0, true, true}, {CHANNEL_learned_pct, CHANNEL_effort_pct}, 2},
    {{"air", 1.0, true, true}, {CHANNEL_airflow_gps, CHANNEL_maf_gps, CHANNEL_unmetered_gps}, 3},
    {{"trim", 10.0, true, false}, {CHANNEL_stft_pct, CHANNEL_ltft_pct}, 2},
};

const char *const picture_beside_parts[PICTURE_BESIDE_PARTS] = {"speed", "opening", "added", "air", "trim"};

bool picture_beside_has(const struct picture_beside *beside, int part) {
  static const enum channel channels[PICTURE_BESIDE_PARTS][2] = {{CHANNEL_speed_rpm, CHANNEL_target_rpm},
                                                                 {CHANNEL_blade_pct, CHANNEL_bypass_steps},
                                                                 {CHANNEL_learned_pct, CHANNEL_effort_pct},
                                                                 {CHANNEL_airflow_gps, CHANNEL_maf_gps},
                                                                 {CHANNEL_stft_pct, CHANNEL_ltft_pct}};
  for (size_t i = 0; i < beside->count; i++)
    for (size_t k = 0; k < 2; k++)
      if (picture_series_has(beside->runs[i].recording, channels[part - 1][k])) return true;
  return false;
}

/* A title in two lines, broken at the last blank that the first has room for. */
static void send_title(struct picture_script *script, const char *title, int number, int letters) {
  size_t end = 0, blank = 0;
  int count = 0;
  for (; title[end]; end++) {
    if (((unsigned char)title[end] & 0xC0) != 0x80 && count++ >= letters) break;
    if (title[end] == ' ') blank = end;
  }
  const size_t first = title[end] && blank > 0 ? blank : end;
  char line[512];
  snprintf(line, sizeof line, "%.*s", (int)first, title);
  fprintf(script->stream, "column_title[%d] = ", number);
  picture_quote(script, line);
  fprintf(script->stream, "\ncolumn_more[%d] = fitted(", number);
  picture_quote(script, title + first + (title[first] == ' '));
  fprintf(script->stream, ", 16, %d)\n", letters * PX_A_LETTER);
}

static enum status send_run(struct picture_script *script, const struct picture_beside_run *run, int number,
                            const struct picture_series_time *time, int letters, struct error *error) {
  for (size_t i = 0; i < ARRAY_COUNT(lines); i++) {
    char name[64];
    snprintf(name, sizeof name, "%s_%d", channel_rows[lines[i]].name, number);
    const int columns = script->target->format == PICTURE_svg ? script->width / 4 : script->width / 2;
    const enum status status =
        picture_series_send_line(script, run->recording, time, name, lines[i], CHANNEL_film_um, columns, error);
    if (status != STATUS_OK) return status;
    fprintf(script->stream, "has_%s = %d\n", name, picture_series_has(run->recording, lines[i]));
  }
  send_title(script, run->title, number, letters);
  fprintf(script->stream, "column_engine[%d] = ", number);
  picture_quote(script, run->engine_title);
  fputc('\n', script->stream);
  return STATUS_OK;
}

enum status picture_beside_draw(const struct picture_beside *beside, const struct picture_target *target, struct error *error) {
  assert(beside->count >= 2 && beside->count <= PICTURE_BESIDE_MAX);
  const struct recording *recordings[PICTURE_BESIDE_MAX];
  struct picture_series_time time = {0};
  for (size_t i = 0; i < beside->count; i++) {
    recordings[i] = beside->runs[i].recording;
    const enum status status = picture_series_check(recordings[i], error);
    if (status != STATUS_OK) return status;
    const struct picture_series_time one = picture_series_time_of(recordings[i]);
    if (i == 0 || one.end_s > time.end_s) time = one; // the longest run has the axis
  }
  struct picture_script script;
  enum status status = picture_begin(&script, PICTURE_OF_beside, target, 0, error);
  if (status != STATUS_OK) return status;
  fprintf(script.stream, "array column_title[%d]\narray column_more[%d]\narray column_engine[%d]\n", PICTURE_BESIDE_MAX,
          PICTURE_BESIDE_MAX, PICTURE_BESIDE_MAX);
  picture_number(&script, "column_count", (double)beside->count);
  picture_number(&script, "only_part", beside->part);
  const int letters =
      (int)((script.width - 140) / (PX_A_LETTER * picture_form_rows[target->form].letters) / (double)beside->count) - 3;
  // whole letters. NOLINTNEXTLINE(bugprone-integer-division)
  picture_number(&script, "title_letters", TITLE_LETTERS * 2 / (int)beside->count);
  picture_text(&script, "time_unit", time.unit);
  picture_number(&script, "time_low", time.start_s / time.unit_s);
  picture_number(&script, "time_high", time.end_s / time.unit_s);
  for (size_t i = 0; status == STATUS_OK && i < beside->count; i++)
    status = send_run(&script, &beside->runs[i], (int)i + 1, &time, letters, error);
  for (size_t i = 0; status == STATUS_OK && i < ARRAY_COUNT(axis_rows); i++)
    status = picture_series_send_axis(&script, &axis_rows[i].axis, recordings, beside->count, axis_rows[i].channels,
                                      axis_rows[i].count, error);
  if (status == STATUS_OK) return picture_finish(&script, error);
  picture_abandon(&script);
  return status;
}
