#include "commands/dispatch.h"

#include "commands/command.h"
#include "commands/help.h"

#include <string.h>

enum status dispatch_main(int argc, char **argv, struct error *error) {
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
