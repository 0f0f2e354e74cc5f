/* Engines as a command line names them: a path, or the bare name of a shipped one. */
#ifndef COMMANDS_ENGINE_ANY_H
#define COMMANDS_ENGINE_ANY_H

#include "analysis/estimate/estimate_readings.h"
#include "base/error.h"
#include "car/engine.h"

/* Reads the engine that a word means. STATUS_NO_INPUT with a near miss if there is no such file, else what engine_file_read() says. */
MUST_CHECK enum status engine_any_read(const char *word, struct engine *engine, struct error *error);

/* What the very car of such an engine read when it was good, if its file has it (io/config/engine_good.h), into an input that is begun. */
MUST_CHECK enum status engine_any_good(const char *word, struct estimate_readings_input *input, struct error *error);

#endif
