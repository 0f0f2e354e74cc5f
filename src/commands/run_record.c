#include "commands/run_record.h"

#include "commands/scenario_any.h"
#include "io/config/engine_file_write.h"
#include "io/config/record_file.h"

#include <stdio.h>

static enum status name_file(const struct run_record *record, const char *name, char path[OUTPUT_FILE_PATH_SIZE],
                             struct error *error) {
  const int length = snprintf(path, OUTPUT_FILE_PATH_SIZE, "%s/%s", record->folder, name);
  if (length >= 0 && length < OUTPUT_FILE_PATH_SIZE) return STATUS_OK;
  return error_set(error, STATUS_CANNOT_CREATE, "%s: the path is longer than %d characters", record->folder,
                   OUTPUT_FILE_PATH_SIZE);
}

enum status run_record_write(const struct run_record *record, char files[RUN_RECORD_FILE_MAX][OUTPUT_FILE_PATH_SIZE],
                             size_t *count, struct error *error) {
  char engine[SCENARIO_PATH_SIZE];
  enum status status = STATUS_OK;
  *count = 0;
  scenario_any_engine(record->scenario->engine_path, engine);
  if (engine_digest(record->engine) != engine_digest(record->of_file)) {
    const struct engine_file_form form = {.like = engine, .base = record->of_file};
    status = name_file(record, "engine.cfg", files[*count], error);
    if (status == STATUS_OK) status = engine_file_write(files[*count], &form, record->engine, error);
    if (status != STATUS_OK) return status;
    (*count)++;
    snprintf(engine, sizeof engine, "engine.cfg");
  }
  status = name_file(record, "record.txt", files[*count], error);
  if (status == STATUS_OK) status = record_file_write(files[*count], record->scenario, engine, error);
  if (status == STATUS_OK) (*count)++;
  return status;
}
