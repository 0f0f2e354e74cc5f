/* `bladegap phases LOG`: what a car did in a log, and when. */
#include "base/attributes.h"
#include "commands/command.h"
#include "commands/log_options.h"
#include "commands/stretch_option.h"
#include "io/config/find_file.h"
#include "io/report/phases_report.h"

#include <stdlib.h>

static const struct option_row phases_options[] = {
    OPTION_ROW_TEXTS("at", "NAME=FROM:TO",
                     "gives the seconds of a phase, instead of those found of its kind: idle=30:60; may be repeated"),
    LOG_OPTIONS_ROWS,
};

static enum status print(const struct command_line *line, const struct log_text *log, const struct log_phases *phases,
                         struct error *error) {
  if (line->quiet) return STATUS_OK;
  if (!line->json) return phases_report_text(&log->recording, phases, stdout, error);
  struct json *json = json_create();
  json_put_text(json, "file", line->operands[0]);
  phases_report_json(&log->recording, phases, json);
  const enum status status = json_print(json, stdout, error);
  json_destroy(json);
  return status;
}

static enum status run(const struct command_line *line, struct error *error) {
  const char *path = line->operands[0];
  struct log_text log = {0};
  struct log_phase by_hand[STRETCH_OPTION_MAX];
  struct log_phases_setting setting = {.by_hand = by_hand};
  struct log_phases *phases = calloc(1, sizeof *phases);
  if (!phases) return error_set(error, STATUS_NO_MEMORY, "out of memory for the phases of a log");
  enum status status = stretch_option_phases(line, "at", by_hand, &setting.by_hand_count, error);
  if (status == STATUS_OK) status = find_file_exists(path, error);
  if (status == STATUS_OK) status = log_options_read(line, path, &log, error);
  if (status == STATUS_OK) status = log_phases_find(&log.recording, &setting, phases, error);
  if (status == STATUS_OK) status = print(line, &log, phases, error);
  log_text_destroy(&log);
  free(phases);
  return status;
}

const struct command command_phases = {
    .name = "phases",
    .text = "finds what a car did in a log: idle, in gear, load steps; with means",
    .operands = "LOG",
    .operand_least = 1,
    .operand_most = 1,
    .options = phases_options,
    .option_count = ARRAY_COUNT(phases_options),
    .run = run,
    .details =
        "Phases: key_on, cranking, cold_idle (coolant below 60 C), warming_idle, idle, idle_ac, idle_loaded (something unknown "
        "is switched on), drive (in gear, standing), hold_2500, load_step, slow_opening, drive_away. They are found from the "
        "columns of the log; what these cannot show is said below the table.\n\nEach mean is followed by its standard error, "
        "which allows for neighbouring rows being similar and for the rounding of the instrument. Means begin when the idle "
        "control has settled.\n\n  bladegap phases scenarios/logs/opening-film.csv\n  bladegap phases "
        "scenarios/logs/opening-film.csv --at idle=0:20 --json\n\nbladegap estimate and fit take such a log as --readings.",
};
