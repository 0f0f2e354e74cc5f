/* The engine that a unit carries in resources/engine.txt: lines of text, the numbers as the bits of IEEE 754 doubles in hexadecimal, so that
 * neither locale nor byte order matters. */
#ifndef FMU_RESOURCE_H
#define FMU_RESOURCE_H

#include "base/error.h"
#include "car/engine.h"

#include <stdio.h>

#define RESOURCE_NAME "engine.txt"

/* Writes an engine. */
void resource_write(const struct engine *engine, FILE *stream);

/* Reads it from a folder. STATUS_NO_INPUT, or STATUS_BAD_DATA if it is not whole, or another version's. */
MUST_CHECK enum status resource_read(const char *folder, struct engine *engine, struct error *error);

/* A folder from FMI's URI ("file:///tmp/a%20b/resources") or path. STATUS_USAGE for what is none. */
enum { RESOURCE_PATH_SIZE = 4096 };
MUST_CHECK enum status resource_folder(const char *location, char folder[RESOURCE_PATH_SIZE], struct error *error);

#endif
