#include "io/config/record_file.h"

#include "io/config/config_text.h"
#include "io/format/output_file.h"
#include "sim/record.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { HEAD_SIZE = 64 };

bool record_file_is(const char *path) {
  char head[HEAD_SIZE];
  FILE *stream = fopen(path, "r");
  if (!stream) return false;
  const size_t size = fread(head, 1, sizeof head, stream);
  fclose(stream);
  return record_is(head, size);
}

bool record_file_engine_is_name(const char *engine) {
  const size_t size = strlen(engine);
  return !strchr(engine, '/') && !(size > 4 && strcmp(engine + size - 4, ".cfg") == 0);
}

/* "walk" of "folder/walk.txt". */
static void copy_stem(const char *path, char stem[SCENARIO_TEXT_SIZE]) {
  const char *slash = strrchr(path, '/'), *name = slash ? slash + 1 : path, *dot = strrchr(name, '.');
  const size_t size = dot && dot > name ? (size_t)(dot - name) : strlen(name);
  snprintf(stem, SCENARIO_TEXT_SIZE, "%.*s", (int)size, name);
}

static enum status resolve_engine(const char *path, struct scenario *scenario, struct error *error) {
  const char *slash = strrchr(path, '/');
  if (record_file_engine_is_name(scenario->engine_path) || scenario->engine_path[0] == '/' || !slash) return STATUS_OK;
  char resolved[2 * SCENARIO_PATH_SIZE];
  const int size = snprintf(resolved, sizeof resolved, "%.*s/%s", (int)(slash - path), path, scenario->engine_path);
  if (size < 0 || size >= SCENARIO_PATH_SIZE)
    return error_set(error, STATUS_BAD_CONFIG, "%s:1: the engine makes a path longer than %d bytes", path,
                     SCENARIO_PATH_SIZE - 1);
  memcpy(scenario->engine_path, resolved, (size_t)size + 1);
  return STATUS_OK;
}

enum status record_file_read(const char *path, struct scenario *scenario, struct error *error) {
  scenario_init(scenario);
  char *text;
  enum status status = config_text_read(path, &text, error);
  if (status != STATUS_OK) return status;
  status = record_read(text, strlen(text), path, scenario, error);
  free(text);
  copy_stem(path, scenario->name);
  if (!scenario->title[0]) memcpy(scenario->title, scenario->name, sizeof scenario->title);
  return status == STATUS_OK ? resolve_engine(path, scenario, error) : status;
}

enum status record_file_write(const char *path, const struct scenario *scenario, const char *engine, struct error *error) {
  const size_t size = record_write(scenario, engine, NULL, 0);
  char *text = malloc(size + 1);
  if (!text) return error_set(error, STATUS_NO_MEMORY, "out of memory for a record of %zu bytes", size);
  record_write(scenario, engine, text, size + 1);
  struct output_file *file = calloc(1, sizeof *file);
  enum status status = file ? STATUS_OK : error_set(error, STATUS_NO_MEMORY, "out of memory for %s", path);
  if (file) {
    status = output_file_open(file, path, error);
    if (status == STATUS_OK) {
      fwrite(text, 1, size, file->stream);
      status = output_file_commit(file, error);
    }
  }
  free(file);
  free(text);
  return status;
}
