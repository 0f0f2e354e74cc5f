/* Writes a scenario as a scenario file: a record as something to be edited. */
#ifndef IO_CONFIG_SCENARIO_FILE_WRITE_H
#define IO_CONFIG_SCENARIO_FILE_WRITE_H

#include "base/error.h"
#include "sim/scenario.h"

/* engine: a shipped engine's name or a path. Every number is the shortest that reads back equal. STATUS_CANNOT_CREATE, STATUS_IO,
 * STATUS_NO_MEMORY; STATUS_USAGE for a seed that a scenario file cannot hold. */
MUST_CHECK enum status scenario_file_write(const char *path, const struct scenario *scenario, const char *engine,
                                           struct error *error);

#endif
