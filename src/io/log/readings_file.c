#include "io/log/readings_file.h"

#include "io/config/find_file.h"
#include "io/format/csv_read.h"
#include "io/log/log_file.h"
#include "sim/log_columns.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { HEAD_SIZE = 4096 };

/* Whether a column of the first line that is no comment tells time. A list of readings has none. */
static bool is_log(const char *path) {
  char head[HEAD_SIZE];
  bool found = false;
  FILE *stream = fopen(path, "rb");
  while (stream && fgets(head, sizeof head, stream)) {
    char *at = head;
    if (strncmp(at, "\xef\xbb\xbf", 3) == 0) at += 3;
    if (*at == '#' || at[strspn(at, " \t\r\n")] == '\0') continue;
    char *rest = NULL;
    for (char *cell = strtok_r(at, ",;\t\r\n", &rest); cell && !found; cell = strtok_r(NULL, ",;\t\r\n", &rest)) {
      struct log_columns_meaning meaning;
      char name[128];
      while (*cell == '"' || *cell == ' ') cell++;
      snprintf(name, sizeof name, "%.*s", (int)strcspn(cell, "\""), cell);
      found = log_columns_find(name, &meaning) != LOG_COLUMNS_UNKNOWN && meaning.channel == CHANNEL_time_s;
    }
    break;
  }
  if (stream) fclose(stream);
  return found;
}

static enum status add_log(struct estimate_readings_input *input, const char *path, struct readings_file_log *log,
                           struct error *error) {
  struct log_file file = {0};
  struct error reading;
  error_clear(&reading);
  enum status status = log_file_read(path, &file, &reading);
  if (status == STATUS_OK) status = log_phases_find(&file.recording, &log->by_hand, &log->phases, &reading);
  if (status != STATUS_OK) {
    log_file_destroy(&file);
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
  log_file_destroy(&file);
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
  return is_log(path) ? add_log(input, path, log, error) : add_list(input, path, error);
}

enum status readings_file_add(struct estimate_readings_input *input, const char *path, struct error *error) {
  struct readings_file_log *log = calloc(1, sizeof *log);
  if (!log) return error_append(error, STATUS_NO_MEMORY, "out of memory for %s", path);
  const enum status status = readings_file_add_any(input, path, log, error);
  free(log->file_notes);
  free(log);
  return status;
}
