#include "commands/lesson_check.h"

#include "commands/lesson_compute.h"
#include "io/lesson/lesson_page.h"

#include <stdlib.h>

/* The scenario of a live bench, which is all of it that a lesson can have wrong. */
static void try_live(const struct lesson_text *text, const struct lesson_item *item, void *user) {
  struct scenario scenario;
  struct error what;
  struct engine *engine = calloc(1, sizeof *engine);
  error_clear(&what);
  scenario_init(&scenario);
  if (engine && lesson_compute_scenario(item, &scenario, engine, &what) != STATUS_OK)
    lesson_text_fault(text, item->line, what.text);
  scenario_destroy(&scenario);
  free(engine);
  (void)user;
}

static void no_end(FILE *stream, void *user) {
  (void)stream;
  (void)user;
}

static enum status try_page(const struct lesson_file *file, const struct lesson_results *results, struct error *error) {
  FILE *nowhere = fopen("/dev/null", "w");
  if (!nowhere) return error_set(error, STATUS_IO, "/dev/null cannot be written");
  const struct lesson_text text = {file, results, nowhere, error};
  const struct lesson_page_live live = {"", try_live, no_end, NULL};
  const enum status status = lesson_page_put(&text, LESSON_PAGE_KEY, &live);
  fclose(nowhere);
  return status;
}

enum status lesson_check_file(const char *path, struct error *error) {
  struct lesson_file file;
  struct lesson_results results = {0};
  enum status status = lesson_file_read(path, &file, error);
  if (status == STATUS_OK) status = lesson_compute(&file, &results, error);
  if (status == STATUS_OK) status = try_page(&file, &results, error);
  lesson_result_destroy_all(&results);
  lesson_file_destroy(&file);
  return status;
}
