#include "analysis/estimate/estimate_log_text.h"

#include "analysis/estimate/estimate_log.h"
#include "analysis/log/log_text.h"

#include <stdlib.h>
#include <string.h>

/* All that stands in memory while a log is read. Large: on the heap. */
struct reading {
  struct log_text text;
  struct log_phases phases;
  struct estimate_log log;
};

static char *joined(const char *one, const char *other) {
  const size_t length = one ? strlen(one) : 0, more = strlen(other);
  char *both = malloc(length + more + 1);
  if (!both) return NULL;
  // the second part brings the null. NOLINTNEXTLINE(bugprone-not-null-terminated-result)
  if (length) memcpy(both, one, length);
  memcpy(both + length, other, more + 1);
  return both;
}

static enum status add_log(struct estimate_readings_input *input, const char *name, const char *text, size_t size,
                           struct reading *reading, char **notes, struct error *error) {
  struct error one;
  error_clear(&one);
  enum status status = log_text_read(name, text, size, NULL, &reading->text, &one);
  if (status == STATUS_OK) status = log_phases_find(&reading->text.recording, NULL, &reading->phases, &one);
  if (status != STATUS_OK) return error_append(error, status, "%s", one.text);
  reading->log.recording = &reading->text.recording;
  reading->log.phases = &reading->phases;
  reading->log.name = name;
  status = estimate_log_add(input, &reading->log, error);
  *notes = joined(reading->text.notes, reading->log.notes);
  if (!*notes && status == STATUS_OK) status = error_append(error, STATUS_NO_MEMORY, "out of memory for %s", name);
  return status;
}

enum status estimate_log_text_add(struct estimate_readings_input *input, const char *name, const char *text, size_t size,
                                  char **notes, struct error *error) {
  *notes = NULL;
  if (!log_text_is_log(text, size, NULL)) return estimate_readings_add_csv(input, name, text, size, error);
  struct reading *reading = calloc(1, sizeof *reading);
  if (!reading) return error_append(error, STATUS_NO_MEMORY, "out of memory for %s", name);
  const enum status status = add_log(input, name, text, size, reading, notes, error);
  log_text_destroy(&reading->text);
  free(reading);
  return status;
}
