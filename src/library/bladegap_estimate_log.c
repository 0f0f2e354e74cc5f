/* Readings out of a log, as `bladegap estimate --readings LOG` takes them. */
#include "analysis/estimate/estimate_log.h"
#include "analysis/log/log_text.h"
#include "library/bladegap_estimate.h"

#include <stdlib.h>
#include <string.h>

int bladegap_is_log(const char *text, size_t size) { return text && log_text_is_log(text, size, NULL); }

/* What reading and averaging had to say, a line each; the caller frees it. */
static char *notes_of(const char *reading, const char *means) {
  const size_t first = reading ? strlen(reading) : 0, second = strlen(means);
  char *notes = malloc(first + second + 1);
  if (!notes) return NULL;
  memcpy(notes, reading ? reading : "", first);
  memcpy(notes + first, means, second + 1);
  return notes;
}

struct taken {
  struct log_text text;
  struct log_phases phases;
  struct estimate_log log;
};

static enum status add(bladegap_estimate *e, const char *source, const char *text, size_t size, struct taken *taken,
                       struct error *error) {
  enum status status = log_text_read(source, text, size, NULL, &taken->text, error);
  if (status == STATUS_OK) status = log_phases_find(&taken->text.recording, NULL, &taken->phases, error);
  if (status != STATUS_OK) return status;
  taken->log = (struct estimate_log){.recording = &taken->text.recording, .phases = &taken->phases, .name = source};
  status = estimate_log_add(&e->input, &taken->log, error);
  if (status != STATUS_OK) return status;
  e->log_notes = notes_of(taken->text.notes, taken->log.notes);
  return e->log_notes ? STATUS_OK : error_set(error, STATUS_NO_MEMORY, "out of memory for the notes of %s", source);
}

int bladegap_estimate_add_log(bladegap_estimate *e, const char *source, const char *text, size_t size, char *error,
                              size_t error_size) {
  const struct edge edge = edge_begin(error, error_size);
  if (!e) return edge_fail(edge, STATUS_USAGE, "the estimate is NULL");
  if (e->findings) return edge_fail(edge, STATUS_USAGE, "the estimate has been computed: begin another to change what is asked");
  if (!source || !text) return edge_fail(edge, STATUS_USAGE, "the log or the name of its source are NULL");
  if (e->log_notes) return edge_fail(edge, STATUS_USAGE, "%s: a log is in already", source);
  struct taken *taken = calloc(1, sizeof *taken);
  if (!taken) return edge_fail(edge, STATUS_NO_MEMORY, "out of memory for %s", source);
  struct error what;
  error_clear(&what);
  const enum status status = add(e, source, text, size, taken, &what);
  log_text_destroy(&taken->text);
  free(taken);
  return status == STATUS_OK ? BLADEGAP_OK : edge_tell(edge, &what);
}

const char *bladegap_estimate_log_notes(const bladegap_estimate *e) { return e && e->log_notes ? e->log_notes : ""; }
