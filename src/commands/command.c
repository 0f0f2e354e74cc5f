#include "commands/command.h"

#include "base/near_miss.h"
#include "commands/help.h"

#include <string.h>

const struct command *const command_rows[] = {
#define COMMAND(name) &command_##name,
    COMMAND_LIST(COMMAND)
#undef COMMAND
};
const size_t command_count = ARRAY_COUNT(command_rows);

const struct command *command_find(const char *name) {
  for (size_t i = 0; i < command_count; i++)
    if (strcmp(command_rows[i]->name, name) == 0) return command_rows[i];
  return NULL;
}

enum status command_unknown(const char *word, struct error *error) {
  const char *names[ARRAY_COUNT(command_rows)];
  for (size_t i = 0; i < command_count; i++) names[i] = command_rows[i]->name;
  const char *near = near_miss_best(word, names, command_count);
  return error_set(error, STATUS_USAGE, "there is no command '%s'%s%s%s (bladegap help lists them)", word,
                   near ? "; did you mean " : "", near ? near : "", near ? "?" : "");
}

enum status command_main(int argc, char **argv, struct error *error) {
  if (argc < 2 || strcmp(argv[1], "--help") == 0 || strcmp(argv[1], "-h") == 0) {
    help_overview(stdout);
    return STATUS_OK;
  }
  if (strcmp(argv[1], "--version") == 0) {
    help_version(stdout);
    return STATUS_OK;
  }
  if (argv[1][0] == '-')
    return error_set(error, STATUS_USAGE, "'%s' before the command is not understood; options come after it (bladegap help)",
                     argv[1]);
  const struct command *command = command_find(argv[1]);
  if (!command) return command_unknown(argv[1], error);

  struct command_line line;
  enum status status = options_parse(command, argc - 1, argv + 1, &line, error);
  if (status == STATUS_OK) {
    if (line.help) {
      help_command(stdout, command);
    } else {
      status = command->run(&line, error);
    }
  }
  options_destroy(&line);
  return status;
}
