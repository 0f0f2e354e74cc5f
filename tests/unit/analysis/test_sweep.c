/* analysis/sweep, commands/threads and io/sweep_file. Truth: ranges by hand; points against settle_solve() and a run of their
 * own; the same bytes whatever the number of threads and wherever the work was broken off. */
#include "analysis/sweep/sweep.h"
#include "analysis/sweep/sweep_order.h"
#include "commands/threads.h"
#include "io/report/sweep_file.h"

#include "support/check.h"
#include "support/scene.h"

#include <stdlib.h>
#include <string.h>
#include <unistd.h>

static void read_axis(struct sweep *sweep, const char *text) {
  struct error error;
  error_clear(&error);
  assert_int_equal(sweep_axis_read(text, &sweep->axes[sweep->axis_count++], &error), STATUS_OK);
}

static void end_sweep(struct sweep *sweep) {
  for (size_t i = 0; i < sweep->axis_count; i++) sweep_axis_destroy(&sweep->axes[i]);
}

static void start_sweep(struct sweep *sweep, struct scene *scene, const char *first, const char *second) {
  memset(sweep, 0, sizeof *sweep);
  scene_init(scene, "four-16", 20.0);
  sweep->engine = scene->engine;
  settle_query_init(&sweep->query);
  read_axis(sweep, first);
  if (second) read_axis(sweep, second);
  sweep_columns_make(sweep);
}

/* ---- Ranges ---- */

static void ranges_have_the_values_written(void **state) {
  (void)state;
  struct sweep sweep = {0};
  read_axis(&sweep, "film_um=0:1:0.1");
  assert_int_equal(sweep.axes[0].count, 11);
  assert_int_equal(sweep.axes[0].decimals, 1);
  check_close(sweep.axes[0].values[3], 0.3, 1e-15);
  check_close(sweep.axes[0].values[10], 1.0, 1e-15);
  end_sweep(&sweep);
  sweep.axis_count = 0;
  read_axis(&sweep, "film_um=0:10:4"); // 12 is beyond
  assert_int_equal(sweep.axes[0].count, 3);
  check_close(sweep.axes[0].values[2], 8.0, 0.0);
  end_sweep(&sweep);
  sweep.axis_count = 0;
  read_axis(&sweep, "leak_mm2=1:16:x5");
  assert_int_equal(sweep.axes[0].count, 5);
  for (int i = 0; i < 5; i++) check_relative_at(i, sweep.axes[0].values[i], (double)(1 << i), 1e-14);
  assert_true(sweep.axes[0].geometric);
  end_sweep(&sweep);
  sweep.axis_count = 0;
  read_axis(&sweep, "air_conditioning=0,1");
  assert_int_equal(sweep.axes[0].count, 2);
  end_sweep(&sweep);
}

static void bad_ranges_are_refused(void **state) {
  (void)state;
  static const struct {
    const char *text, *message;
  } cases[] = {
      {"film_um", "NAME=VALUES"},
      {"film_um=", "empty"},
      {"film_um=0:10", "FROM:TO:STEP"},
      {"film_um=10:0:1", "empty"},
      {"film_um=0:10:0", "empty"},
      {"film_um=0:10:-1", "empty"},
      {"film_um=0:10:x5", "above 0"},
      {"film_um=1:10:x1", "2 or more"},
      {"film_um=1:10:x2.5", "whole"},
      {"film_um=1,3,2", "increase"},
      {"film_um=1,,2", "commas"},
      {"film_um=1,2,", "commas"},
      {"film_um=0:1e6:1", "out of range"},
      {"film_un=0:1:1", "did you mean 'film_um'"},
      {"film_um=0:nan:1", "FROM:TO:STEP"},
      {"film_um=0:100:1e-9", "coarser"},
      {"air_conditioning=0:1:0.5", "switch"},
  };
  for (size_t i = 0; i < ARRAY_COUNT(cases); i++) {
    struct sweep_axis axis;
    struct error error;
    error_clear(&error);
    const enum status status = sweep_axis_read(cases[i].text, &axis, &error);
    sweep_axis_destroy(&axis);
    if (status != STATUS_USAGE || !strstr(error.text, cases[i].message))
      fail_msg("%s: status %d, '%s' should say '%s'", cases[i].text, status, error.text, cases[i].message);
  }
}

/* ---- Points ---- */

static double *compute(const struct sweep *sweep, const struct for_each *for_each) {
  struct error error;
  error_clear(&error);
  struct sweep_workers *workers;
  const size_t count = sweep_point_count(sweep);
  double *values = calloc(count * sweep->column_count, sizeof *values);
  assert_non_null(values);
  assert_int_equal(sweep_workers_create(sweep, for_each->worker_count, &workers, &error), STATUS_OK);
  assert_int_equal(sweep_points(workers, for_each, 0, count, values, &error), STATUS_OK);
  sweep_workers_destroy(workers);
  return values;
}

static void points_are_those_of_settle(void **state) {
  (void)state;
  struct sweep sweep;
  struct scene scene;
  struct error error;
  start_sweep(&sweep, &scene, "film_um=0:100:20", "throttle.bore_radius_mm=24,26,30");
  double *values = compute(&sweep, &for_each_serial);
  for (size_t point = 0; point < sweep_point_count(&sweep); point++) {
    struct engine engine = scene.engine;
    struct settle_query query = sweep.query;
    for (size_t i = 0; i < 2; i++)
      setting_apply(&sweep.axes[i].setting, sweep_axis_value(&sweep, i, point), &engine, &query.conditions);
    struct settle *settle;
    struct settle_point answer;
    assert_int_equal(settle_create(&engine, &settle, &error), STATUS_OK);
    settle_solve(settle, &query, &answer);
    settle_destroy(settle);
    const double *row = values + point * sweep.column_count;
    for (size_t i = 2; i < sweep.column_count; i++) {
      const struct sweep_column *column = &sweep.columns[i];
      if (column->source == SWEEP_OUTCOME) assert_int_equal((int)row[i], answer.outcome);
      if (column->source == SWEEP_CODE) assert_int_equal((int)row[i], (answer.codes >> column->index) & 1u);
      if (column->source != SWEEP_CHANNEL) continue;
      if (isnan(answer.values[column->index]))
        assert_true(isnan(row[i]));
      else
        check_close_at((double)point, row[i], answer.values[column->index], 0.0); // not a bit of difference
    }
    unsigned told = 0; // no code of a settled point is left out of the columns
    for (size_t i = 0; i < sweep_settled_code_count; i++) told |= 1u << sweep_settled_codes[i];
    assert_int_equal(answer.codes & ~told, 0);
  }
  free(values);
  end_sweep(&sweep);
  scene_end(&scene);
}

static void threads_do_not_matter(void **state) {
  (void)state;
  struct sweep sweep;
  struct scene scene;
  start_sweep(&sweep, &scene, "film_um=0:110:5", "altitude_m=0:2500:50");
  const size_t size = sweep_point_count(&sweep) * sweep.column_count * sizeof(double);
  double *serial = compute(&sweep, &for_each_serial);
  for (size_t count = 1; count <= 5; count += 2) {
    const struct for_each threads = threads_for_each(count);
    double *shared = compute(&sweep, &threads);
    assert_memory_equal(serial, shared, size);
    free(shared);
  }
  free(serial);
  end_sweep(&sweep);
  scene_end(&scene);
}

/* The film as the quick axis, by itself or beside other things of the engine: points of a film are computed together, and come out as
 * one at a time. */
static void the_order_does_not_matter(void **state) {
  (void)state;
  static const char *const axes[][2] = {{"altitude_m=0:2500:500", "film_um=0:110:5"},
                                        {"throttle.bore_radius_mm=24:27:1", "film_um=0:110:10"},
                                        {"film_um=0:110:5", "idle_air.learned_most_pct=10:60:10"},
                                        {"film.band_mm=2:5:1", "drag_nm=0:6:1"},
                                        {"edge_film_um=0:30:7", "film_um=0:40:7"}};
  for (size_t i = 0; i < ARRAY_COUNT(axes); i++) {
    struct sweep sweep;
    struct scene scene;
    struct error error;
    error_clear(&error);
    start_sweep(&sweep, &scene, axes[i][0], axes[i][1]);
    const struct for_each threads = threads_for_each(2);
    double *together = compute(&sweep, &threads), *row = calloc(sweep.column_count, sizeof *row);
    for (size_t point = 0; point < sweep_point_count(&sweep); point += 3) {
      struct sweep_workers *alone;
      assert_int_equal(sweep_workers_create(&sweep, 1, &alone, &error), STATUS_OK);
      assert_int_equal(sweep_points(alone, &for_each_serial, point, 1, row, &error), STATUS_OK);
      assert_memory_equal(row, together + point * sweep.column_count, sweep.column_count * sizeof *row);
      sweep_workers_destroy(alone);
    }
    free(row);
    free(together);
    end_sweep(&sweep);
    scene_end(&scene);
  }
}

/* Runs: the same numbers from three threads as from one, and those of a run by hand; a load that cuts in lowers the speed. */
static void runs_are_those_of_a_run(void **state) {
  (void)state;
  struct sweep sweep;
  struct scene scene;
  start_sweep(&sweep, &scene, "film_um=0,60", NULL);
  scene_set(&scene, 8.0, "air_conditioning", 1.0);
  sweep.scenario = &scene.scenario;
  sweep.query.conditions = scene.scenario.initial;
  sweep_columns_make(&sweep);
  const struct for_each threads = threads_for_each(3);
  double *serial = compute(&sweep, &for_each_serial), *shared = compute(&sweep, &threads);
  assert_memory_equal(serial, shared, 2 * sweep.column_count * sizeof(double));
  scene_initial(&scene, "film_um", 60.0);
  scene.solver = &solver_fast;
  scene_run(&scene);
  const double *row = serial + sweep.column_count + 1; // 60 um; behind the axis
  check_close(row[SWEEP_METRIC_ran], 1.0, 0.0);
  check_close(row[SWEEP_METRIC_end_speed_rpm], scene_mean(&scene, 15.0, 20.0, CHANNEL_speed_rpm), 1e-9);
  check_close(row[SWEEP_METRIC_lowest_rpm], scene_least(&scene, 8.0, 11.0, CHANNEL_speed_rpm), 15.0); // its own window
  check_below(row[SWEEP_METRIC_lowest_rpm], scene_mean(&scene, 4.0, 8.0, CHANNEL_speed_rpm));
  free(serial);
  free(shared);
  end_sweep(&sweep);
  scene_end(&scene);
}

/* Every point once, whichever rows are asked for and whatever the number of workers; those of a film next to each other. */
static void every_point_has_its_place(void **state) {
  (void)state;
  struct sweep sweep;
  struct scene scene;
  struct error error;
  start_sweep(&sweep, &scene, "altitude_m=0:2500:50", "film_um=0:60:5"); // 51 times 13
  for (size_t first = 0; first < 663; first += 31)
    for (size_t workers = 1; workers < 9; workers += 3) {
      struct sweep_order order;
      const size_t count = first % 2 ? 1 : 663 - first;
      bool seen[663] = {false};
      assert_int_equal(sweep_order_make(&sweep, first, count, workers, &order, &error), STATUS_OK);
      assert_int_equal(order.point_count, count);
      assert_int_equal(order.begins[0], 0);
      assert_int_equal(order.begins[order.block_count], count);
      size_t changes = 0;
      for (size_t i = 0; i < count; i++) {
        assert_true(order.points[i] >= first && order.points[i] < first + count && !seen[order.points[i]]);
        seen[order.points[i]] = true;
        changes += i > 0 && order.points[i] % 13 != order.points[i - 1] % 13;
      }
      assert_true(changes < 13);
      for (size_t i = 0; i < order.block_count; i++) assert_true(order.begins[i] < order.begins[i + 1]);
      sweep_order_forget(&order);
    }
  end_sweep(&sweep);
  scene_end(&scene);
}

/* ---- The file ---- */

static char *contents(const char *path, size_t *size) {
  FILE *stream = fopen(path, "r");
  assert_non_null(stream);
  char *bytes = malloc(1 << 20);
  assert_non_null(bytes);
  *size = fread(bytes, 1, 1 << 20, stream);
  fclose(stream);
  return bytes;
}

/* Writes all rows from where the file stands; returns how many were there. */
static size_t write_rest(const struct sweep *sweep, const struct sweep_file_head *head, const char *path, const double *values,
                         size_t stop_at) {
  struct sweep_file file;
  struct error error;
  bool agrees = true;
  error_clear(&error);
  assert_int_equal(sweep_file_open(&file, path, sweep, head, &error), STATUS_OK);
  const size_t before = file.row_count;
  if (before > 0) {
    assert_int_equal(sweep_file_agrees(&file, values + (before - 1) * sweep->column_count, &agrees, &error), STATUS_OK);
    assert_true(agrees);
  }
  while (file.row_count < stop_at)
    assert_int_equal(sweep_file_append(&file, &for_each_serial, values + file.row_count * sweep->column_count, 1, &error),
                     STATUS_OK);
  if (stop_at == head->end) assert_int_equal(sweep_file_finish(&file, &error), STATUS_OK);
  sweep_file_close(&file);
  return before;
}

static void a_broken_file_is_taken_up(void **state) {
  (void)state;
  struct sweep sweep;
  struct scene scene;
  char folder[] = "/tmp/test_sweep_XXXXXX", path[64], partial[80], whole[64];
  assert_non_null(mkdtemp(folder));
  snprintf(path, sizeof path, "%s/sweep.csv", folder);
  snprintf(whole, sizeof whole, "%s/whole.csv", folder);
  snprintf(partial, sizeof partial, "%s.partial", path);
  start_sweep(&sweep, &scene, "film_um=0:40:4", NULL);
  double *values = compute(&sweep, &for_each_serial);
  const struct sweep_file_head head = {12345, 0, 11, 11};
  write_rest(&sweep, &head, whole, values, 11);
  size_t whole_size, size;
  char *whole_bytes = contents(whole, &whole_size);
  // every place it could be cut off at, in and between rows
  for (size_t cut = 0; cut < whole_size; cut += 37) {
    FILE *stream = fopen(partial, "w");
    assert_non_null(stream);
    assert_int_equal(fwrite(whole_bytes, 1, cut, stream), cut);
    fclose(stream);
    write_rest(&sweep, &head, path, values, 11);
    char *bytes = contents(path, &size);
    assert_int_equal(size, whole_size);
    assert_memory_equal(bytes, whole_bytes, size);
    free(bytes);
    unlink(path);
  }
  assert_int_equal(write_rest(&sweep, &head, path, values, 5), 0);
  assert_int_equal(write_rest(&sweep, &head, path, values, 11), 5);
  assert_int_equal(write_rest(&sweep, &head, path, values, 11), 11); // finished: nothing to do
  // another question: the unfinished one is not written over
  write_rest(&sweep, &(struct sweep_file_head){1, 0, 11, 11}, path, values, 5);
  struct sweep_file file;
  struct error error;
  error_clear(&error);
  const struct sweep_file_head other = {2, 0, 11, 11};
  assert_int_equal(sweep_file_open(&file, path, &sweep, &other, &error), STATUS_CANNOT_CREATE);
  assert_non_null(strstr(error.text, "other settings"));
  free(whole_bytes);
  free(values);
  unlink(path);
  unlink(partial);
  unlink(whole);
  assert_int_equal(rmdir(folder), 0);
  end_sweep(&sweep);
  scene_end(&scene);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(ranges_have_the_values_written), cmocka_unit_test(bad_ranges_are_refused),
      cmocka_unit_test(points_are_those_of_settle),     cmocka_unit_test(threads_do_not_matter),
      cmocka_unit_test(the_order_does_not_matter),      cmocka_unit_test(every_point_has_its_place),
      cmocka_unit_test(runs_are_those_of_a_run),        cmocka_unit_test(a_broken_file_is_taken_up),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
