#include "commands/readings_option.h"

#include "commands/log_notes.h"
#include "commands/log_options.h"

#include <stdlib.h>

static void tell(const struct readings_option *option, const struct readings_file_log *log) {
  struct estimate_findings_wish *wish = option->wish;
  if (!log->is_log) return;
  if (!option->silent) log_notes_readings(option->line, log);
  for (int i = 0; wish && i < ESTIMATE_QUANTITY_COUNT; i++) wish->shown[i] |= log->log.shown[i];
  if (wish) wish->limited = true;
}

enum status readings_option_add(const struct readings_option *option, const char *path, struct estimate_readings_input *input,
                                struct error *error) {
  struct log_phase phases[STRETCH_OPTION_MAX];
  size_t count = 0;
  if (option->moments) {
    struct error slip;
    error_clear(&slip);
    if (stretch_option_phases_of(option->line, "at", option->moments, option->moment, phases, &count, &slip) != STATUS_OK)
      return error_append(error, slip.status, "%s", slip.text);
  }
  struct readings_file_log *log = calloc(1, sizeof *log);
  if (!log) return error_append(error, STATUS_NO_MEMORY, "out of memory for %s", path);
  log->by_hand = (struct log_phases_setting){count, phases};
  struct log_options options = {0};
  enum status status = log_options_take(option->line, &options, error);
  log->setting = options.setting;
  if (status == STATUS_OK) status = readings_file_add_any(input, path, log, error);
  log_options_end(&options);
  tell(option, log);
  free(log->file_notes);
  free(log);
  return status;
}
