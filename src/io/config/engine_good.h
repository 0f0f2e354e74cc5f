/* What the very car of an engine file read when it was good:
 *
 *   good_readings = ( "speed_rpm=732.5+-5@idle", "maf_gps=2.1+-0.03@idle" );   as --reading takes them
 *
 * A fit writes the readings that it was made from. An estimate takes from them what the model gets wrong on this car; they are no part of the
 * engine, and a file that is `like` this one has none of them. */
#ifndef IO_CONFIG_ENGINE_GOOD_H
#define IO_CONFIG_ENGINE_GOOD_H

#include "analysis/estimate/estimate_readings.h"
#include "io/config/config.h"

#include <stdio.h>

#define ENGINE_GOOD_KEY "good_readings"

/* Whether they are a list of texts; faults are noted. */
void engine_good_check(struct config *config);

/* Adds those of a file, if it has any; each fault is appended with the file's name and line. STATUS_BAD_CONFIG, or what opening a file says. */
MUST_CHECK enum status engine_good_read(const char *path, struct estimate_readings_input *input, struct error *error);

/* Writes them as a file has them; cold: the setting's cold day goes with them where something was read then. */
void engine_good_print(const struct estimate_readings *readings, const struct estimate_setting *setting, FILE *stream);

#endif
