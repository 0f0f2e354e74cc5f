#include "io/log/readings_file.h"

#include "io/config/find_file.h"
#include "io/format/csv_read.h"
#include "io/log/log_file.h"

#include <stdlib.h>

static enum status add_log(struct estimate_readings_input *input, const char *path, struct readings_file_log *log,
                           struct error *error) {
  struct log_text file = {0};
  struct error reading;
  error_clear(&reading);
  enum status status = log_file_read(path, &log->setting, &file, &reading);
  if (status == STATUS_OK) status = log_phases_find(&file.recording, &log->by_hand, &log->phases, &reading);
  if (status != STATUS_OK) {
    log_text_destroy(&file);
    return error_append(error, status, "%s", reading.text);
  }
  log->is_log = true;
  log->file_notes = file.notes;
  file.notes = NULL;
  log->log.recording = &file.recording;
  log->log.phases = &log->phases;
  log->log.name = path;
  status = estimate_log_add(input, &log->log, error);
  log->log.recording = NULL;
  log_text_destroy(&file);
  return status;
}

static enum status add_list(struct estimate_readings_input *input, const char *path, struct error *error) {
  struct csv_table table;
  struct error reading;
  error_clear(&reading);
  enum status status = find_file_exists(path, &reading);
  if (status == STATUS_OK) status = csv_read_words(path, &table, &reading);
  if (status != STATUS_OK) return error_append(error, status, "%s", reading.text);
  status = estimate_readings_add_table(input, path, &table, error);
  csv_table_destroy(&table);
  return status;
}

enum status readings_file_add_any(struct estimate_readings_input *input, const char *path, struct readings_file_log *log,
                                  struct error *error) {
  return log_file_is(path, &log->setting) ? add_log(input, path, log, error) : add_list(input, path, error);
}

enum status readings_file_add(struct estimate_readings_input *input, const char *path, struct error *error) {
  struct readings_file_log *log = calloc(1, sizeof *log);
  if (!log) return error_append(error, STATUS_NO_MEMORY, "out of memory for %s", path);
  const enum status status = readings_file_add_any(input, path, log, error);
  free(log->file_notes);
  free(log);
  return status;
}
