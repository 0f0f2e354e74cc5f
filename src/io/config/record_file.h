/* Record files: what was done to an engine and when (sim/record.h). */
#ifndef IO_CONFIG_RECORD_FILE_H
#define IO_CONFIG_RECORD_FILE_H

#include "base/attributes.h"
#include "base/error.h"
#include "sim/scenario.h"

#include <stdbool.h>

/* Whether a file can be read and begins as a record does. */
bool record_file_is(const char *path);

/* Reads a record; the caller owns *scenario and ends it with scenario_destroy, also after a fault. Its name is the file's stem. An
 * engine that is written as a path is seen from the record's folder; one that is a name stays a name. STATUS_NO_INPUT,
 * STATUS_IO, or STATUS_BAD_CONFIG with a line for each fault. */
MUST_CHECK enum status record_file_read(const char *path, struct scenario *scenario, struct error *error);

/* Whether a record's engine is a name and not a path: no slash, no ".cfg" at the end. */
bool record_file_engine_is_name(const char *engine);

/* Writes a scenario as a record of that engine; STATUS_CANNOT_CREATE, STATUS_IO, STATUS_NO_MEMORY. */
MUST_CHECK enum status record_file_write(const char *path, const struct scenario *scenario, const char *engine,
                                         struct error *error);

#endif
