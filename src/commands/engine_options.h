/* --set NAME=VALUE and --scale NAME=FACTOR on an engine that stays as it is in its file. */
#ifndef COMMANDS_ENGINE_OPTIONS_H
#define COMMANDS_ENGINE_OPTIONS_H

#include "car/setting.h"
#include "commands/options.h"

/* Row for the options of a command that takes --set. */
#define ENGINE_OPTIONS_SCALE_ROW \
  OPTION_ROW_TEXTS("scale", "NAME=FACTOR", \
                   "multiplies a number or a whole curve of the engine file (friction.constant_bar=1.1), after --set; may be " \
                   "given several times")

/* Applies all --set, then all --scale of the line, conditions: NULL if the command has none, and then a condition is
 * refused. What of the engine was changed is told in its title; that its values agree is still to be checked (engine_check). STATUS_USAGE. */
MUST_CHECK enum status engine_options_apply(const struct command_line *line, struct engine *engine, struct conditions *conditions,
                                            struct error *error);

#endif
