/* What a run's files cost beside the run itself. */
#include "parts/measure.h"

#include "analysis/run/story.h"
#include "base/attributes.h"
#include "io/format/csv_write.h"
#include "io/picture/run_pictures.h"

#include <math.h>
#include <stdio.h>

struct output {
  struct measure_run run;
  struct story story;
  char csv[MEASURE_TEXT], picture_path[MEASURE_TEXT];
  enum picture picture;
};

static bool write_csv(void *user) {
  const struct output *output = user;
  FILE *stream = fopen(output->csv, "w");
  if (!stream) return false;
  csv_write_recording(stream, &output->run.recording);
  return fclose(stream) == 0;
}

static bool draw(void *user) {
  const struct output *output = user;
  struct error error;
  error_clear(&error);
  const struct run_pictures pictures = {.engine = &output->run.engine,
                                        .recording = &output->run.recording,
                                        .story = &output->story,
                                        .title = output->run.scenario.title,
                                        .engine_title = output->run.engine.title};
  const struct run_pictures_item item = {.picture = output->picture, .part = -1};
  const struct picture_target target = {.format = PICTURE_png, .path = output->picture_path};
  return run_pictures_draw(&pictures, &item, &target, &error) == STATUS_OK;
}

void measure_output(const char *folder) {
  static struct output output;
  if (!measure_run_read(&output.run, MEASURE_DROOP)) return;
  measure_heading("files of " MEASURE_DROOP);
  snprintf(output.csv, sizeof output.csv, "%s/run.csv", folder);
  const double run_s = measure_median_s(measure_cpu_s, measure_run_once, &output.run);
  const double csv_s = measure_median_s(measure_cpu_s, write_csv, &output);
  const double numbers = (double)output.run.recording.row_count * CHANNEL_COUNT;
  measure_row("run.csv", "%.4f s CPU, %zu rows of %d, %.0f ns a number: **%.1f %%** of a fast run with it", csv_s,
              output.run.recording.row_count, (int)CHANNEL_COUNT, 1e9 * csv_s / numbers, 100.0 * csv_s / (run_s + csv_s));
  (void)remove(output.csv);
  story_find(&output.run.recording, &output.story);
  static const enum picture drawn[] = {PICTURE_OF_run, PICTURE_OF_area, PICTURE_OF_gap, PICTURE_OF_loads};
  for (size_t i = 0; i < ARRAY_COUNT(drawn); i++) {
    char what[MEASURE_TEXT];
    output.picture = drawn[i];
    snprintf(output.picture_path, sizeof output.picture_path, "%s/%s.png", folder, picture_rows[drawn[i]].name);
    snprintf(what, sizeof what, "picture %s.png", picture_rows[drawn[i]].name);
    measure_row(what, "%.3f s wall, gnuplot included", measure_median_s(measure_wall_s, draw, &output));
    (void)remove(output.picture_path);
  }
  measure_run_end(&output.run);
}
