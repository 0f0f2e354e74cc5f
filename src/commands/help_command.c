#include "base/attributes.h"
#include "commands/command.h"
#include "commands/help.h"
#include "io/format/json.h"

static const struct option_row option_rows[] = {
    OPTION_ROW_FLAG("man", "print the manual page, as roff"),
    OPTION_ROW_CHOICE("completion", "SHELL", help_shells, "print completion for a shell"),
};

static void put_options(struct json *json, const struct option_row *rows, size_t count) {
  for (size_t i = 0; i < count; i++) {
    json_open_object(json, NULL);
    json_put_text(json, "name", rows[i].name);
    if (rows[i].argument) json_put_text(json, "argument", rows[i].argument);
    json_put_text(json, "text", rows[i].text);
    if (rows[i].kind == OPTION_REAL || rows[i].kind == OPTION_COUNT) {
      json_put_real(json, "min", rows[i].min, 9);
      json_put_real(json, "max", rows[i].max, 9);
    }
    if (rows[i].kind == OPTION_CHOICE) {
      json_open_array(json, "choices");
      for (size_t k = 0; rows[i].choices[k]; k++) json_put_text(json, NULL, rows[i].choices[k]);
      json_close(json);
    }
    json_put_flag(json, "repeats", rows[i].repeats);
    json_close(json);
  }
}

/* The named command, or all. */
static enum status print_json(const struct command *only, struct error *error) {
  struct json *json = json_create();
  json_open_array(json, "commands");
  for (size_t i = 0; i < command_count; i++) {
    const struct command *command = command_rows[i];
    if (only && command != only) continue;
    json_open_object(json, NULL);
    json_put_text(json, "name", command->name);
    json_put_text(json, "operands", command->operands);
    json_put_text(json, "text", command->text);
    json_open_array(json, "options");
    put_options(json, command->options, command->option_count);
    put_options(json, options_common_rows, options_common_count);
    json_close(json);
    json_close(json);
  }
  const enum status status = json_print(json, stdout, error);
  json_destroy(json);
  return status;
}

static enum status run(const struct command_line *line, struct error *error) {
  const struct command *command = NULL;
  if (line->operand_count > 0) {
    command = command_find(line->operands[0]);
    if (!command) return command_unknown(line->operands[0], error);
  }
  const bool man = options_given(line, "man"), completion = options_given(line, "completion");
  if (man + completion + line->json > 1)
    return error_set(error, STATUS_USAGE, "help: only one of --man, --completion and --json at a time");
  if (line->json) return print_json(command, error);
  if (line->quiet) return STATUS_OK;
  if (man) {
    help_man(stdout);
  } else if (completion) {
    help_completion(stdout, (size_t)options_choice(line, "completion", 0));
  } else if (command) {
    help_command(stdout, command);
  } else {
    help_overview(stdout);
  }
  return STATUS_OK;
}

const struct command command_help = {
    .name = "help",
    .text = "explains the commands; makes the manual page and the shell completion",
    .operands = "[COMMAND]",
    .operand_least = 0,
    .operand_most = 1,
    .options = option_rows,
    .option_count = ARRAY_COUNT(option_rows),
    .run = run,
    .details = "  bladegap help run\n"
               "  bladegap help --man > bladegap.1\n"
               "  . <(bladegap help --completion bash)\n"
               "  bladegap help --completion zsh > _bladegap",
};
