#include "commands/curve_logs.h"

#include "commands/log_options.h"
#include "commands/stretch_option.h"
#include "io/config/find_file.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* Of the log (opening) or of the baseline (clean). */
static enum status read_stretch(const char *option, const char *text, struct stretch_option *stretch, struct error *error) {
  const enum status status = stretch_option_read(option, text, "opening=30:150", stretch, error);
  if (status == STATUS_OK && strcmp(stretch->name, "opening") != 0 && strcmp(stretch->name, "clean") != 0)
    return error_set(error, STATUS_USAGE, "--%s %s: '%s' is neither opening (of the log) nor clean (of the baseline)", option,
                     text, stretch->name);
  return status;
}

static bool within(const struct stretch_option *stretches, size_t count, double now_s) {
  for (size_t i = 0; i < count; i++)
    if (now_s >= stretches[i].from_s && now_s <= stretches[i].to_s) return true;
  return count == 0;
}

static enum status keep_within(const struct stretch_option *stretches, size_t count, const char *option, const char *which,
                               const char *path, struct recording *r, struct error *error) {
  size_t kept = 0;
  for (size_t row = 0; row < r->row_count; row++) {
    if (!within(stretches, count, recording_value(r, row, CHANNEL_time_s))) continue;
    if (kept != row)
      memmove(r->values + kept * CHANNEL_COUNT, r->values + row * CHANNEL_COUNT, CHANNEL_COUNT * sizeof *r->values);
    kept++;
  }
  if (kept == 0)
    return error_set(error, STATUS_BAD_DATA, "%s has no row in what --%s %s= asks for; it reaches from %g to %g s", path, option,
                     which, recording_value(r, 0, CHANNEL_time_s), recording_value(r, r->row_count - 1, CHANNEL_time_s));
  r->row_count = kept;
  return STATUS_OK;
}

/* Only the rows of the stretches of this name stay, all if there is none. */
static enum status cut(const struct command_line *line, const char *option, const char *which, const char *path,
                       struct log_text *log, struct error *error) {
  const size_t given = options_given(line, option);
  struct stretch_option *stretches = calloc(given + 1, sizeof *stretches);
  if (!stretches) return error_set(error, STATUS_NO_MEMORY, "out of memory for --%s", option);
  enum status status = STATUS_OK;
  size_t count = 0;
  for (size_t i = 0; i < given && status == STATUS_OK; i++) {
    status = read_stretch(option, options_text_at(line, option, i), &stretches[count], error);
    if (status == STATUS_OK && strcmp(stretches[count].name, which) == 0) count++;
  }
  if (status == STATUS_OK) status = keep_within(stretches, count, option, which, path, &log->recording, error);
  free(stretches);
  return status;
}

static enum status read_log(const struct command_line *line, const char *option, const char *which, const char *path,
                            struct log_text *log, struct error *error) {
  enum status status = find_file_exists(path, error);
  if (status == STATUS_OK) status = log_options_read(line, path, log, error);
  return status == STATUS_OK ? cut(line, option, which, path, log, error) : status;
}

enum status curve_logs_read(const struct command_line *line, struct curve_logs *logs, struct error *error) {
  enum status status = read_log(line, logs->at, "opening", logs->path, &logs->log, error);
  if (status == STATUS_OK && logs->clean_path) status = read_log(line, logs->at, "clean", logs->clean_path, &logs->clean, error);
  return status;
}

void curve_logs_destroy(struct curve_logs *logs) {
  log_text_destroy(&logs->log);
  log_text_destroy(&logs->clean);
}

enum status curve_logs_find(const struct curve_logs *logs, const struct opening_setting *setting, bool with_fit,
                            struct opening_curve *curve, struct error *error) {
  struct opening_setting of_clean = *setting;
  of_clean.name = logs->clean_path;
  const struct recording *clean = logs->clean_path ? &logs->clean.recording : NULL;
  return with_fit ? opening_curve_find(&logs->log.recording, setting, clean, &of_clean, curve, error)
                  : opening_curve_compare(&logs->log.recording, setting, clean, &of_clean, curve, error);
}
