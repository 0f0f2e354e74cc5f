/* gnuplot on pipes, and the pictures through it. Truth: file signatures (PNG specification, section 5.2),
 * and what a helper of our own making on PATH does. */
#include "io/picture/gnuplot.h"
#include "io/picture/picture_area.h"
#include "io/picture/picture_beside.h"
#include "io/picture/picture_estimate.h"
#include "io/picture/picture_gap.h"
#include "io/picture/picture_loads.h"
#include "io/picture/picture_opening.h"
#include "io/picture/picture_practice.h"
#include "io/picture/picture_run.h"
#include "io/picture/picture_sweep.h"
#include "io/picture/picture_tracks.h"
#include "support/check.h"

#include "base/units.h"

#include <signal.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <time.h>
#include <unistd.h>

struct drawn {
  char *bytes;
  size_t size;
  enum status status;
  struct error error;
  char note[GNUPLOT_NOTE_SIZE];
};

static struct drawn *draw_within(const char *script, double timeout_s) {
  struct drawn *drawn = calloc(1, sizeof *drawn);
  assert_non_null(drawn);
  FILE *stream = open_memstream(&drawn->bytes, &drawn->size);
  assert_non_null(stream);
  error_clear(&drawn->error);
  drawn->status = gnuplot_draw(script, strlen(script), stream, "run.csv", timeout_s, drawn->note, &drawn->error);
  assert_int_equal(fclose(stream), 0);
  return drawn;
}

static struct drawn *draw(const char *script) { return draw_within(script, GNUPLOT_TIMEOUT_S); }

static void release(struct drawn *drawn) {
  free(drawn->bytes);
  free(drawn);
}

static bool is_png(const char *bytes, size_t size) {
  return size > 8 && memcmp(bytes, "\x89PNG\r\n\x1A\n", 8) == 0 && memmem(bytes, size, "IEND", 4) != NULL;
}

static void a_script_becomes_a_picture(void **state) {
  (void)state;
  struct drawn *drawn = draw("set terminal pngcairo size 200,100\nplot [0:1] x\n");
  assert_int_equal(drawn->status, STATUS_OK);
  assert_true(is_png(drawn->bytes, drawn->size));
  release(drawn);
}

/* More data in both directions than pipes hold at a time (64 kB, pipe(7)). */
static void long_scripts_and_long_pictures_do_not_block(void **state) {
  (void)state;
  char *script = NULL;
  size_t size;
  FILE *stream = open_memstream(&script, &size);
  assert_non_null(stream);
  fputs("set terminal svg\n$data << E\n", stream);
  for (int i = 0; i < 60000; i++) fprintf(stream, "%d %d\n", i, i * 7919 % 1000);
  fputs("E\nplot $data with lines\n", stream);
  assert_int_equal(fclose(stream), 0);
  struct drawn *drawn = draw(script);
  assert_int_equal(drawn->status, STATUS_OK);
  assert_true(drawn->size > 300000);
  release(drawn);
  free(script);
}

static void faults_are_passed_on(void **state) {
  (void)state;
  static const struct {
    const char *script, *says;
  } rows[] = {
      {"set terminal dumb\nplot [0:1] x withh lines\n", "gnuplot failed: "},
      {"set terminal nonesuch\n", "gnuplot failed: "},
      {"set terminal dumb\n$d << E\n1 2\nE\nplot $d using 1:7\n", "gnuplot failed: "}, // status 0, stderr speaks
      {"set terminal dumb\nexit status 3\n", "gnuplot ended with status 3"},
      {"x = 1\n", "gnuplot drew nothing"},
      {"", "gnuplot drew nothing"},
  };
  for (size_t i = 0; i < ARRAY_COUNT(rows); i++) {
    struct drawn *drawn = draw(rows[i].script);
    assert_int_equal(drawn->status, STATUS_INTERNAL);
    assert_memory_equal(drawn->error.text, rows[i].says, strlen(rows[i].says));
    assert_non_null(strstr(drawn->error.text, "; the data is in run.csv"));
    release(drawn);
  }
}

/* Runs f with this PATH. */
static void with_path(const char *path, void (*f)(void)) {
  char *before = strdup(getenv("PATH"));
  assert_non_null(before);
  assert_int_equal(setenv("PATH", path, 1), 0);
  f();
  assert_int_equal(setenv("PATH", before, 1), 0);
  free(before);
}

static void draw_without_helper(void) {
  struct drawn *drawn = draw("plot x\n");
  assert_int_equal(drawn->status, STATUS_NO_HELPER);
  assert_string_equal(drawn->error.text, "gnuplot is not installed; apt-get install gnuplot-nox; the data is in run.csv");
  release(drawn);
}

/* An example of each ending: what a broken pipe or a full disk of the helper's leaves is not whole. */
static void a_picture_is_whole_or_not(void **state) {
  (void)state;
  static const struct {
    const char *head, *tail;
    bool whole;
  } rows[] = {
      {"\x89PNG", "IEND\xAE\x42\x60\x82", true},
      {"\x89PNG", "IDAT", false},
      {"<?xml version", "</svg>\n\n", true},
      {"<?xml version", "<path", false},
      {"%PDF-1.5", "%%EOF\n", true},
      {"%PDF-1.5", "endobj", false},
      {"letters", "letters", true},
      {"", "", false},
  };
  for (size_t i = 0; i < ARRAY_COUNT(rows); i++)
    assert_int_equal(gnuplot_picture_is_whole(rows[i].head, strlen(rows[i].head), rows[i].tail, strlen(rows[i].tail)),
                     rows[i].whole);
}

static void words_beside_a_whole_picture_are_a_note(void **state) {
  (void)state;
  struct drawn *drawn = draw("set terminal pngcairo size 200,100\nplot 1\n"); // an empty y range, which gnuplot widens
  assert_int_equal(drawn->status, STATUS_OK);
  assert_non_null(strstr(drawn->note, "empty y range"));
  release(drawn);
}

static void a_missing_helper_is_named(void **state) {
  (void)state;
  with_path("/nonexistent", draw_without_helper);
}

/* A program called gnuplot in a folder of its own. */
static void with_helper(const char *shell_script, void (*f)(void)) {
  char folder[] = "/tmp/test_gnuplot_XXXXXX", program[64], path[4200];
  assert_non_null(mkdtemp(folder));
  snprintf(program, sizeof program, "%s/gnuplot", folder);
  snprintf(path, sizeof path, "%s:%.4000s", folder, getenv("PATH"));
  FILE *file = fopen(program, "w");
  assert_non_null(file);
  fprintf(file, "#!/bin/sh\n%s\n", shell_script);
  assert_int_equal(fclose(file), 0);
  assert_int_equal(chmod(program, 0700), 0);
  with_path(path, f);
  unlink(program);
  rmdir(folder);
}

static void draw_with_a_helper_that_hangs(void) {
  struct timespec begin, end;
  clock_gettime(CLOCK_MONOTONIC, &begin);
  struct drawn *drawn = draw_within("plot x\n", 0.3);
  clock_gettime(CLOCK_MONOTONIC, &end);
  assert_int_equal(drawn->status, STATUS_INTERNAL);
  assert_non_null(strstr(drawn->error.text, "did not finish within"));
  check_below((double)(end.tv_sec - begin.tv_sec), 10.0);
  release(drawn);
}

/* Our side is still writing when the helper leaves: no SIGPIPE, its words are kept, nothing stays pending. */
static void draw_with_a_helper_that_leaves(void) {
  char *script = malloc(1 << 20);
  sigset_t pending;
  assert_non_null(script);
  memset(script, '\n', (1 << 20) - 1);
  script[(1 << 20) - 1] = '\0';
  struct drawn *drawn = draw(script);
  assert_int_equal(drawn->status, STATUS_INTERNAL);
  assert_string_equal(drawn->error.text, "gnuplot failed: no fonts today; the data is in run.csv");
  assert_int_equal(sigpending(&pending), 0);
  assert_int_equal(sigismember(&pending, SIGPIPE), 0);
  release(drawn);
  free(script);
}

static void draw_with_a_helper_that_floods(void) {
  struct drawn *drawn = draw("plot x\n");
  assert_int_equal(drawn->status, STATUS_INTERNAL);
  assert_string_equal(drawn->error.text, "gnuplot wrote more than 64 MB; the data is in run.csv");
  assert_true(drawn->size < 70 << 20);
  release(drawn);
}

static void draw_with_a_helper_that_tells_its_surroundings(void) {
  struct drawn *drawn = draw("plot x\n");
  assert_int_equal(drawn->status, STATUS_OK);
  assert_string_equal(drawn->bytes, "-d none C.UTF-8\n");
  release(drawn);
}

static void other_helpers_on_the_path(void **state) {
  (void)state;
  with_helper("exec sleep 60", draw_with_a_helper_that_hangs);
  with_helper("echo 'no fonts today' >&2", draw_with_a_helper_that_leaves);
  with_helper("exec cat /dev/zero", draw_with_a_helper_that_floods);
  with_helper("exec cat /dev/zero >&2", draw_with_a_helper_that_floods);
  assert_int_equal(setenv("GNUTERM", "x11", 1), 0);
  with_helper("cat > /dev/null; echo \"$*\" \"${GNUTERM:-none}\" \"$LC_ALL\"", draw_with_a_helper_that_tells_its_surroundings);
  assert_int_equal(unsetenv("GNUTERM"), 0);
}

/* ---- Pictures ---- */

static const struct bore_geometry bore = {0.026, 7.0 * UNITS_RAD_PER_DEG, 0.008, 22e-6, 1.5e-3, 0.0, 0.0};
static const struct bore_film_shape shape = {4e-3, 0.2, 0.3, 0.5 * UNITS_PI, 0.0};

/* Names and texts that would do harm if gnuplot or its shell looked into them. */
#define HOSTILE "it's `touch /tmp/bg_hostile` @x $(y) {a}_b^c \\ \"q\" %s\n\xC3\x28 end"

static void add_event(struct recording *recording, double time_s, enum recording_event_kind kind, int code, int value,
                      const char *text) {
  struct recording_event event = {time_s, kind, code, value, ""};
  struct error error;
  snprintf(event.text, sizeof event.text, "%s", text);
  assert_int_equal(recording_add_event(recording, &event, &error), STATUS_OK);
}

/* A run with a gap of NaN, channels that never change, one that is never known, every kind of event. */
static void make_run(struct recording *recording, size_t rows) {
  struct error error;
  recording_init(recording);
  for (size_t row = 0; row < rows; row++) {
    double values[CHANNEL_COUNT] = {0.0};
    values[CHANNEL_time_s] = 0.1 * (double)row;
    values[CHANNEL_speed_rpm] = row > 100 && row < 200 ? NAN : 850.0 + 20.0 * sin((double)row);
    values[CHANNEL_target_rpm] = 850.0;
    values[CHANNEL_manifold_kpa] = NAN;
    assert_int_equal(recording_append(recording, values, &error), STATUS_OK);
  }
  add_event(recording, 0.0, RECORDING_NOTE, -1, 0, HOSTILE);
  add_event(recording, 0.1, RECORDING_NOTE, -1, 0, "a second note at almost the same time");
  add_event(recording, 20.0, RECORDING_CONTROLLER, -1, RECORDING_VALUE_AT_LIMIT, "limit");
  add_event(recording, 30.0, RECORDING_CODE, MONITOR_P0506, CODE_PENDING, "");
  add_event(recording, 40.0, RECORDING_CODE, MONITOR_P0506, CODE_CONFIRMED, "");
  add_event(recording, 50.0, RECORDING_ENGINE, -1, RECORDING_VALUE_STALL, "speed fell below what keeps the engine running");
}

/* Eight points, or eight by eight, with every kind of outcome and one code. */
static enum status draw_sweep(bool map, const struct picture_target *target, struct error *error) {
  static struct sweep sweep;
  struct sweep_table table = {0};
  sweep = (struct sweep){.axis_count = map ? 2 : 1};
  assert_int_equal(sweep_axis_read("film_um=0:7:1", &sweep.axes[0], error), STATUS_OK);
  if (map) assert_int_equal(sweep_axis_read("altitude_m=0:700:100", &sweep.axes[1], error), STATUS_OK);
  sweep_columns_make(&sweep);
  table.column_count = sweep.column_count;
  table.row_count = sweep_point_count(&sweep);
  table.values = calloc(table.row_count * table.column_count, sizeof *table.values);
  assert_non_null(table.values);
  for (size_t i = 0; i < table.row_count; i++)
    for (size_t k = 0; k < sweep.column_count; k++) {
      const int outcome = (int)sweep_axis_value(&sweep, 0, i);
      double *value = &table.values[i * table.column_count + k];
      *value = 850.0 - 10.0 * (double)i;
      if (sweep.columns[k].source == SWEEP_OUTCOME) *value = outcome % SETTLE_OUTCOME_COUNT;
      if (sweep.columns[k].source == SWEEP_CODE) *value = sweep.columns[k].index == MONITOR_P0506 && outcome > 3;
    }
  const struct picture_sweep picture = {.sweep = &sweep, .table = &table, .title = HOSTILE, .engine_title = HOSTILE};
  const enum status status = picture_sweep_draw(&picture, target, error);
  for (size_t i = 0; i < sweep.axis_count; i++) sweep_axis_destroy(&sweep.axes[i]);
  sweep_file_read_forget(&table);
  return status;
}

/* Three causes, and readings that lie off the scale on both sides or that a cause does not let happen. */
static enum status draw_estimate(const struct picture_target *target, struct error *error) {
  static const double off[] = {-40.0, -1.5, 0.0, 2.0, 1000.0, NAN};
  struct estimate *e = calloc(1, sizeof *e + 3 * sizeof e->hypotheses[0]);
  struct estimate_findings *findings = calloc(1, sizeof *findings);
  struct engine *engine = calloc(1, sizeof *engine);
  assert_true(e && findings && engine);
  snprintf(engine->title, sizeof engine->title, "%s", HOSTILE);
  struct estimate_readings readings = {.count = ARRAY_COUNT(off)};
  e->problem = (struct estimate_problem){.engine = engine, .readings = &readings};
  e->count = 3;
  e->p_value = e->film_probability = 0.5;
  findings->estimate = e;
  findings->reading_count = readings.count;
  findings->leading_count = e->count;
  for (size_t i = 0; i < e->count; i++) {
    struct estimate_hypothesis *h = &e->hypotheses[i];
    h->fault = (struct estimate_fault){.count = i > 0, .cause = {i == 1 ? CAUSE_film : CAUSE_drag}};
    h->probability = i == 0 ? 0.9 : 0.05;
    h->node_count = 4;
    h->low[0] = 30.0;
    h->high[0] = 50.0;
    for (size_t k = 0; k < h->node_count; k++) // in no order, and one that cannot be
      h->nodes[k] = (struct estimate_node){.share = {k == 0   ? 0.5
                                                     : k == 1 ? 0.0
                                                     : k == 2 ? 0.3
                                                              : 1.0},
                                           .fit = {.possible = k != 3, .log_likelihood = -1000.0 - (double)k}};
    e->order[i] = findings->leading[i] = i;
    for (size_t k = 0; k < readings.count; k++) findings->comparisons[i][k].off = off[k];
  }
  for (size_t k = 0; k < readings.count; k++) findings->order[k] = readings.count - 1 - k;
  const enum status status = picture_estimate_draw(findings, target, error);
  free(engine);
  free(findings);
  free(e);
  return status;
}

/* A straight curve against a steeper one. */
static enum status draw_opening(const struct picture_target *target, struct error *error) {
  struct opening_curve *curve = calloc(1, sizeof *curve);
  struct opening_points now = {0}, clean = {0};
  assert_non_null(curve);
  for (size_t i = 0; i < 12; i++) {
    struct opening_point *p = &now.points[now.count++];
    *p = (struct opening_point){
        .position_ratio = 0.13 + 0.004 * (double)i, .cda_m2 = (8.0 + 2.0 * (double)i) * 1e-6, .sd_m2 = 1e-7};
    clean.points[clean.count] = *p;
    clean.points[clean.count++].cda_m2 += 4e-6;
  }
  now.has_idle = true;
  now.idle = now.points[1];
  const struct opening_setting setting = {"log", 1.6e-3, 101325.0, 1000.0, NAN, NAN};
  opening_curve_judge(&now, &clean, &setting, curve);
  assert_int_equal(curve->verdict, OPENING_VERDICT_lost);
  const enum status status = picture_opening_draw(curve, HOSTILE, target, error);
  free(curve);
  return status;
}

static enum status draw_one(enum picture picture, const struct picture_target *target, size_t rows, struct error *error) {
  static const struct picture_area_point point = {0.04, 17e-6, 0.0, HOSTILE};
  const struct bore_film film = {60e-6, 10e-6};
  struct recording recording;
  enum status status = STATUS_NO;
  error_clear(error);
  make_run(&recording, rows);
  if (picture == PICTURE_OF_run)
    status = picture_run_draw(&(struct picture_run){.recording = &recording, .title = HOSTILE, .engine_title = HOSTILE},
                              PICTURE_RUN_WHOLE, target, error);
  if (picture == PICTURE_OF_area)
    status = picture_area_draw(&(struct picture_area){&bore, &shape, 63e-6, &point, 1, HOSTILE, HOSTILE, false}, target, error);
  if (picture == PICTURE_OF_gap)
    status = picture_gap_draw(&(struct picture_gap){&bore, &shape, &film, 0.16, HOSTILE, HOSTILE}, target, error);
  if (picture == PICTURE_OF_loads) {
    struct story story = {.load_count = 3};
    story.loads[0] = (struct load_step){.on = true, .film_um = 0.0, .lowest_rpm = 780.0};
    story.loads[1] = (struct load_step){.on = true, .film_um = 60.0, .lowest_rpm = 640.0};
    story.loads[2] = (struct load_step){.on = true, .film_um = 90.0, .stalled = true};
    status = picture_loads_draw(&(struct picture_loads){&story, NULL, HOSTILE, HOSTILE}, target, error);
  }
  if (picture == PICTURE_OF_tracks) { // key on, the engine stands, the blade goes up and down
    for (size_t row = 0; row < recording.row_count; row++) {
      double *values = recording.values + row * CHANNEL_COUNT;
      values[CHANNEL_speed_rpm] = 0.0;
      values[CHANNEL_blade_deg] = 83.0 * sin(UNITS_PI * (double)row / (double)recording.row_count);
      values[CHANNEL_tps1_v] = 0.5 + 4.0 * values[CHANNEL_blade_deg] / 83.0;
      values[CHANNEL_tps2_v] = 5.0 - values[CHANNEL_tps1_v];
      values[CHANNEL_motor_a] = 0.5 + values[CHANNEL_blade_deg] / 83.0;
      values[CHANNEL_motor_supply_v] = 12.6;
    }
    status = picture_tracks_draw(&(struct picture_tracks){&recording, HOSTILE, HOSTILE}, target, error);
  }
  if (picture == PICTURE_OF_beside) {
    const struct picture_beside_run runs[] = {{&recording, HOSTILE, HOSTILE}, {&recording, "b", ""}};
    status = picture_beside_draw(&(struct picture_beside){runs, 2, 0}, target, error);
  }
  if (picture == PICTURE_OF_practice) {
    const struct picture_practice class_of = {HOSTILE, 2, 2, {{"data_stream@idle", 12.0}, {"smoke_test", 20.0}}};
    status = picture_practice_draw(&class_of, target, error);
  }
  if (picture == PICTURE_OF_opening) status = draw_opening(target, error);
  if (picture == PICTURE_OF_estimate) status = draw_estimate(target, error);
  if (picture == PICTURE_OF_sweep || picture == PICTURE_OF_sweepmap)
    status = draw_sweep(picture == PICTURE_OF_sweepmap, target, error);
  recording_destroy(&recording);
  return status;
}

static char *contents_of(const char *path, size_t *size) {
  FILE *file = fopen(path, "r");
  assert_non_null(file);
  char *bytes = malloc(8 << 20);
  assert_non_null(bytes);
  *size = fread(bytes, 1, (8 << 20) - 1, file);
  bytes[*size] = '\0';
  fclose(file);
  return bytes;
}

static void every_picture_in_every_format(void **state) {
  (void)state;
  char folder[] = "/tmp/test_picture_XXXXXX", path[64];
  assert_non_null(mkdtemp(folder));
  snprintf(path, sizeof path, "%s/picture", folder);
  unlink("/tmp/bg_hostile");
  for (int picture = 0; picture < PICTURE_COUNT; picture++) {
    for (int format = 0; format < PICTURE_FORMAT_COUNT; format++) {
      const struct picture_target target = {.format = (enum picture_format)format, .path = path, .columns = 100};
      struct error error;
      const enum status status = draw_one((enum picture)picture, &target, 700, &error);
      assert_string_equal(error.text, "");
      assert_int_equal(status, STATUS_OK);
      size_t size;
      char *bytes = contents_of(path, &size);
      if (format == PICTURE_png) assert_true(is_png(bytes, size));
      if (format == PICTURE_svg) assert_non_null(strstr(bytes, "</svg>"));
      // The text came through as it was, its broken byte replaced (C3 28 is no UTF-8).
      const bool halved = picture == PICTURE_OF_beside; // its titles stand in two lines
      const char *text = halved ? "`touch /tmp/bg_hostile`" : "`touch /tmp/bg_hostile` @x $(y) {a}_b^c \\";
      if (format == PICTURE_svg && !strstr(bytes, text)) fail_msg("%s lacks its title", picture_rows[picture].name);
      if (format == PICTURE_dumb) assert_non_null(strstr(bytes, "`touch /tmp/"));
      free(bytes);
      unlink(path);
    }
  }
  assert_int_not_equal(access("/tmp/bg_hostile", F_OK), 0);
  assert_int_equal(rmdir(folder), 0); // no part left either
}

static void a_picture_that_fails_leaves_no_file(void **state) {
  (void)state;
  char folder[] = "/tmp/test_picture_XXXXXX", path[64];
  struct error error;
  assert_non_null(mkdtemp(folder));
  snprintf(path, sizeof path, "%s/picture.png", folder);
  const struct picture_target target = {.format = PICTURE_png, .path = path};
  assert_int_equal(draw_one(PICTURE_OF_run, &target, 0, &error), STATUS_BAD_DATA);
  char *before = strdup(getenv("PATH"));
  assert_non_null(before);
  assert_int_equal(setenv("PATH", "/nonexistent", 1), 0);
  assert_int_equal(draw_one(PICTURE_OF_gap, &target, 700, &error), STATUS_NO_HELPER);
  assert_int_equal(setenv("PATH", before, 1), 0);
  free(before);
  assert_int_equal(rmdir(folder), 0);
  const struct picture_target full = {.format = PICTURE_png, .path = "/dev/full"};
  assert_int_equal(draw_one(PICTURE_OF_gap, &full, 700, &error), STATUS_IO);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(a_script_becomes_a_picture),
      cmocka_unit_test(long_scripts_and_long_pictures_do_not_block),
      cmocka_unit_test(faults_are_passed_on),
      cmocka_unit_test(a_picture_is_whole_or_not),
      cmocka_unit_test(words_beside_a_whole_picture_are_a_note),
      cmocka_unit_test(a_missing_helper_is_named),
      cmocka_unit_test(other_helpers_on_the_path),
      cmocka_unit_test(every_picture_in_every_format),
      cmocka_unit_test(a_picture_that_fails_leaves_no_file),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
