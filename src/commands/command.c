#include "commands/command.h"

#include "base/near_miss.h"

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
