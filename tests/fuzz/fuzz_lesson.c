/* Lessons before any bytes: read, and where that goes well, each of the three editions written. Runs and points of the lesson itself are not
 * computed, as that takes long; there are a point, a sweep and a run called a, b and c. What must hold: a refusal has its sentence,
 * and the file that it is about. */
#include "commands/lesson_compute.h"
#include "io/lesson/lesson_page.h"

#include <stdlib.h>
#include <string.h>

#include "one_file.h"

static const char computed[] =
    "# Computed\n\n```lesson\nminutes = 5\naim = x\nagainst = y\n```\n\n```settle a\nengine = four-16\nset = film_um=20\n```\n\n"
    "```sweep b\nengine = four-16\nvary = film_um=0:30:10\n```\n\n"
    "```run c\nscenario = film-droop\n```\n";

static const struct lesson_results *results_once(void) {
  static struct lesson_results results;
  if (results.count > 0) return &results;
  char path[HELD_FILE_PATH_SIZE];
  struct error error;
  struct lesson_file file = {0};
  error_clear(&error);
  const int held = held_file_open((const uint8_t *)computed, strlen(computed), path);
  const bool good = lesson_file_read(path, &file, &error) == STATUS_OK && lesson_compute(&file, &results, &error) == STATUS_OK;
  if (!good) fprintf(stderr, "%s\n", error.text);
  assert(good && results.count == 3);
  lesson_file_destroy(&file);
  close(held);
  return &results;
}

/* Before the first input, whose time it is not. */
int LLVMFuzzerInitialize(int *argc, char ***argv);

int LLVMFuzzerInitialize(int *argc, char ***argv) {
  (void)argc, (void)argv;
  (void)results_once();
  return 0;
}

static void put_nothing(const struct lesson_text *text, const struct lesson_item *item, void *user) {
  (void)text, (void)item, (void)user;
}

static void end_nothing(FILE *stream, void *user) { (void)stream, (void)user; }

static enum status put(const struct lesson_file *file, enum lesson_page_edition edition, struct error *error) {
  char *page = NULL;
  size_t size = 0;
  FILE *stream = open_memstream(&page, &size);
  assert(stream);
  const struct lesson_text text = {file, results_once(), stream, error};
  const struct lesson_page_live live = {"", put_nothing, end_nothing, NULL};
  error_clear(error);
  const enum status status = lesson_page_put(&text, edition, &live);
  fclose(stream);
  assert(status != STATUS_OK || size > 0);
  free(page);
  return status;
}

static enum status one_file(const char *path, size_t size, struct error *error) {
  struct lesson_file file = {0};
  enum status status = lesson_file_read(path, &file, error);
  if (status == STATUS_OK) status = put(&file, (enum lesson_page_edition)(size % 3), error);
  assert(status == STATUS_OK || strstr(error->text, path));
  lesson_file_destroy(&file);
  return status;
}
