/* Engines as a command line names them: a path, or the bare name of a shipped one. */
#ifndef COMMANDS_ENGINE_ANY_H
#define COMMANDS_ENGINE_ANY_H

#include "base/error.h"
#include "car/engine.h"

/* Reads the engine that a word means. STATUS_NO_INPUT with a near miss if there is no such file, else what engine_file_read() says. */
MUST_CHECK enum status engine_any_read(const char *word, struct engine *engine, struct error *error);

#endif
