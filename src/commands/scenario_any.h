/* Scenarios and records alike: what `run` and `sweep` take. */
#ifndef COMMANDS_SCENARIO_ANY_H
#define COMMANDS_SCENARIO_ANY_H

#include "base/error.h"
#include "sim/scenario.h"

/* Reads either, by what the file is; word: a path, or the bare name of a shipped scenario; *path: what it stands for. An engine that a
 * record names is looked for among the models. The caller owns *scenario and ends it with scenario_destroy, also after a fault. */
MUST_CHECK enum status scenario_any_read(const char *word, char path[SCENARIO_PATH_SIZE], struct scenario *scenario,
                                         struct error *error);

/* What a record says of an engine file: the model's name if it is one of the models, else the whole path. */
void scenario_any_engine(const char *engine_path, char engine[SCENARIO_PATH_SIZE]);

#endif
