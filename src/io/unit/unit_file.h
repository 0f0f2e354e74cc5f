/* An engine as a co-simulation unit, one FMI archive: description, engine, shared object, sources, a page about it and a picture. */
#ifndef IO_UNIT_UNIT_FILE_H
#define IO_UNIT_UNIT_FILE_H

#include "base/error.h"
#include "car/engine.h"

#define UNIT_FILE_IDENTIFIER "bladegap"

struct unit_file {
  const struct engine *engine;
  int version;         // 2 or 3
  const char *program; // its version, for the description
  const char *object;  // path of the shared object for this machine
  const char *sources; // folder of the sources, as src/ is laid out
  const char *picture; // path of a PNG; NULL for none
};

/* Writes it. STATUS_CANNOT_CREATE, STATUS_IO, STATUS_NO_INPUT if object or sources cannot be read, or what unit_begin() says of an engine that does
 * not idle. */
MUST_CHECK enum status unit_file_write(const struct unit_file *unit, const char *path, struct error *error);

#endif
