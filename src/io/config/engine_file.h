/* Engine files (in models/): a title and one group per row of plant_params_groups and computer_params_groups; or only what differs from an
 * engine named by `like` (io/config/engine_like.h). */
#ifndef IO_CONFIG_ENGINE_FILE_H
#define IO_CONFIG_ENGINE_FILE_H

#include "base/attributes.h"
#include "base/error.h"
#include "car/engine.h"

#include <stdbool.h>

struct config;

/* Reads an engine file, strictly: every key is required unless the file names an engine it is like, none may be unknown, and keys that bear on each
 * other must agree. STATUS_BAD_CONFIG with one line for each fault, or what config_open says; *engine is then
 * not to be used. */
MUST_CHECK enum status engine_file_read(const char *path, struct engine *engine, struct error *error);

/* Whether an open settings file looks like an engine's, faults or not. */
bool engine_file_recognises(const struct config *config);

#endif
