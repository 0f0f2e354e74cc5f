/* An engine as a co-simulation unit, one FMI archive: description, engine, shared object, sources, a page about it and a picture. */
#ifndef IO_UNIT_UNIT_FILE_H
#define IO_UNIT_UNIT_FILE_H

#include "base/error.h"
#include "io/unit/unit_input.h"

/* Writes it. STATUS_CANNOT_CREATE, STATUS_IO, STATUS_NO_INPUT if object or sources cannot be read, or what unit_begin() says of an engine that does
 * not idle. */
MUST_CHECK enum status unit_file_write(const struct unit_file *unit, const char *path, struct error *error);

#endif
