#include "commands/log_options.h"

#include "commands/command_row.h"
#include "commands/log_notes.h"

#include <string.h>
#include <unistd.h>

/* Whether the command has this option; --rate is another one in some. */
static bool is_offered(const struct command_line *line, const char *name, enum option_kind kind) {
  for (size_t i = 0; i < line->command->option_count; i++)
    if (strcmp(line->command->options[i].name, name) == 0) return line->command->options[i].kind == kind;
  return false;
}

/* A file, if there is one of that name; else HEADER=name. */
static enum status take_map(const char *text, struct log_map *map, struct error *error) {
  return access(text, F_OK) == 0 ? log_file_read_map(text, map, error) : log_map_add(map, text, error);
}

enum status log_options_take(const struct command_line *line, struct log_options *options, struct error *error) {
  enum status status = STATUS_OK;
  *options = (struct log_options){0};
  const char *rate = is_offered(line, "rate", OPTION_REAL) ? "rate" : "log-rate";
  const size_t maps = is_offered(line, "map", OPTION_TEXT) ? options_given(line, "map") : 0;
  for (size_t i = 0; i < maps && status == STATUS_OK; i++)
    status = take_map(options_text_at(line, "map", i), &options->map, error);
  options->setting = (struct log_text_setting){
      .map = &options->map, .rate_hz = is_offered(line, rate, OPTION_REAL) ? options_real(line, rate, 0.0) : 0.0};
  return status;
}

void log_options_end(struct log_options *options) { log_map_destroy(&options->map); }

enum status log_options_is_log(const struct command_line *line, const char *path, bool *is_log, struct error *error) {
  struct log_options options;
  const enum status status = log_options_take(line, &options, error);
  *is_log = status == STATUS_OK && log_file_is(path, &options.setting);
  log_options_end(&options);
  return status;
}

enum status log_options_read(const struct command_line *line, const char *path, struct log_text *log, struct error *error) {
  struct log_options options;
  *log = (struct log_text){0};
  enum status status = log_options_take(line, &options, error);
  if (status == STATUS_OK) status = log_file_read(path, &options.setting, log, error);
  if (status == STATUS_OK) log_notes_print(line, log);
  const bool first = path == line->operands[0] && is_offered(line, "save-map", OPTION_TEXT);
  const char *saved = status == STATUS_OK && first ? options_text(line, "save-map", NULL) : NULL;
  if (saved) status = log_file_write_map(saved, log, &options.map, error);
  log_options_end(&options);
  return status;
}
