/* Scenario files (in scenarios/): an engine, how it stands at the start, and a timeline. */
#ifndef IO_CONFIG_SCENARIO_FILE_H
#define IO_CONFIG_SCENARIO_FILE_H

#include "base/attributes.h"
#include "base/error.h"
#include "sim/scenario.h"

#include <stdbool.h>

struct config;

/* Reads a scenario file, strictly; the caller owns *scenario and ends it with scenario_destroy, also after a
 * fault. STATUS_BAD_CONFIG with one line for each fault, or what config_open says. The engine file is looked
 * for, not read. */
MUST_CHECK enum status scenario_file_read(const char *path, struct scenario *scenario, struct error *error);

/* Whether an open settings file looks like a scenario, faults or not. */
bool scenario_file_recognises(const struct config *config);

#endif
