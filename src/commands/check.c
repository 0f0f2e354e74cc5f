#include "base/attributes.h"
#include "commands/command.h"
#include "commands/lesson_check.h"
#include "commands/log_options.h"
#include "commands/scenario_any.h"
#include "io/config/file_kind.h"
#include "io/config/find_file.h"
#include "io/config/record_file.h"
#include "io/format/json.h"
#include "io/report/events_file.h"

#include <string.h>
#include <unistd.h>

static void append_faults(const char *path, const struct log_faults *faults, const char *what, struct error *error) {
  for (size_t i = 0; i < faults->shown; i++)
    error_append(error, STATUS_BAD_DATA, "%s:%zu: %s", path, faults->items[i].line, faults->items[i].text);
  if (faults->count > faults->shown)
    error_append(error, STATUS_BAD_DATA, "%s: and %zu more bad %s", path, faults->count - faults->shown, what);
}

/* Every row that would be left out is a line of the error. */
static enum status check_log(const struct log_options *options, const char *path, struct error *error) {
  struct log_text log;
  if (log_file_read(path, &options->setting, &log, error) == STATUS_OK) {
    append_faults(path, &log.rows, "rows", error);
    append_faults(path, &log.values, "values", error);
  }
  log_text_destroy(&log);
  return error->status;
}

static enum status check_events(const char *path, struct error *error) {
  struct recording recording;
  recording_init(&recording);
  const enum status status = events_file_read(path, &recording, error);
  recording_destroy(&recording);
  return status;
}

static bool ends_with(const char *text, const char *ending) {
  const size_t size = strlen(text), end = strlen(ending);
  return size >= end && strcmp(text + size - end, ending) == 0;
}

/* Checks one file; *name says what kind it is. */
static enum status check_file(const struct log_options *options, const char *path, const char **name, struct error *error) {
  *name = "unknown";
  if (find_file_exists(path, error) != STATUS_OK) return error->status;
  if (events_file_is(path)) {
    *name = "events";
    return check_events(path, error);
  }
  if (ends_with(path, ".csv") || ends_with(path, ".pcap")) {
    *name = "log";
    return check_log(options, path, error);
  }
  if (ends_with(path, ".md")) {
    *name = "lesson";
    return lesson_check_file(path, error);
  }
  if (record_file_is(path)) {
    *name = file_kind_name(FILE_KIND_RECORD);
    struct scenario scenario;
    char found_path[SCENARIO_PATH_SIZE];
    scenario_init(&scenario);
    const enum status found = scenario_any_read(path, found_path, &scenario, error); // and looks for the engine
    scenario_destroy(&scenario);
    return found;
  }
  if (!ends_with(path, ".cfg") && access(path, F_OK) == 0)
    return error_append(
        error, STATUS_USAGE,
        "%s: its name does not end in .cfg (engine, scenario), .csv or .pcap (log) or .md (lesson), and it is not a record",
        path);
  enum file_kind kind;
  const enum status status = file_kind_check(path, &kind, error);
  if (kind != FILE_KIND_COUNT) *name = file_kind_name(kind);
  return status;
}

/* Adds all lines of one file's error to the sum. */
static void collect(struct error *sum, const struct error *one, struct json *json) {
  size_t shown = 0;
  for (const char *at = one->text; *at; shown++) {
    const size_t size = strcspn(at, "\n");
    char line[1024];
    snprintf(line, sizeof line, "%.*s", (int)size, at);
    error_append(sum, one->status, "%s", line);
    json_put_text(json, NULL, line);
    at += size + (at[size] == '\n');
  }
  if (one->line_count > shown) sum->line_count += one->line_count - shown;
}

static const struct option_row check_options[] = {LOG_OPTIONS_MAP_ROW, LOG_OPTIONS_RATE_ROW};

static enum status run(const struct command_line *line, struct error *error) {
  struct log_options options;
  const enum status taken = log_options_take(line, &options, error);
  if (taken != STATUS_OK) {
    log_options_end(&options);
    return taken;
  }
  struct json *json = line->json ? json_create() : NULL;
  json_open_array(json, "files");
  for (size_t i = 0; i < line->operand_count; i++) {
    const char *path = line->operands[i];
    struct error faults;
    error_clear(&faults);
    const char *name;
    const bool good = check_file(&options, path, &name, &faults) == STATUS_OK;
    if (good && !line->json && !line->quiet) printf("%s: good (%s)\n", path, name);
    json_open_object(json, NULL);
    json_put_text(json, "file", path);
    json_put_text(json, "kind", name);
    json_put_flag(json, "good", good);
    json_open_array(json, "faults");
    collect(error, &faults, json);
    json_close(json);
    json_close(json);
  }
  struct error printing;
  error_clear(&printing);
  if (line->json && json_print(json, stdout, &printing) != STATUS_OK) *error = printing;
  json_destroy(json);
  log_options_end(&options);
  return error->status;
}

const struct command command_check = {
    .name = "check",
    .text = "reports every mistake in engine, scenario, record, lesson and log files",
    .operands = "FILE ...",
    .operand_least = 1,
    .operand_most = COMMAND_OPERANDS_ANY,
    .options = check_options,
    .option_count = ARRAY_COUNT(check_options),
    .run = run,
    .details = "A .cfg is an engine or a scenario, depending on its keys; a .csv is a log, or the events of a run; a .pcap is a "
               "log too, a capture of the diagnostic bus; a record is recognised by its first line; a .md is a lesson, which is "
               "run to check it. Each mistake is reported with its line, the allowed range and what to do. The exit code is that "
               "of the first mistake: 66 cannot be read, 78 engine, scenario or lesson, 65 log.\n\n  bladegap check models/*.cfg "
               "scenarios/*.cfg docs/lessons/*.md",
};
