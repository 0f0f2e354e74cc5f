/* Writes an engine file that says only what differs from an engine that the reader can find: `like = "four-16";` and then the values. */
#ifndef IO_CONFIG_ENGINE_FILE_WRITE_H
#define IO_CONFIG_ENGINE_FILE_WRITE_H

#include "base/attributes.h"
#include "base/error.h"
#include "car/engine.h"

#include <stdio.h>

struct engine_file_form {
  const char *like;          // as the file names it: a shipped engine, or a path seen from the file
  const char *heading;       // a comment ahead of all, of one or more lines; NULL: none
  const struct engine *base; // what `like` reads as
  /* What stands behind a value as a comment: how sure it is, where it comes from. NULL, or an empty answer: nothing. */
  const char *(*note)(const char *group, const char *key, void *user);
  void *user;
  void (*after)(FILE *stream, void *user); // writes what stands behind all of it; NULL: nothing
};

/* Every key whose value differs is written as the shortest number that reads back equal, so that the file reads as this very engine; a value
 * that the user's unit cannot express becomes the nearest. The title is written if it differs. */
void engine_file_write_text(const struct engine_file_form *form, const struct engine *engine, FILE *stream);

/* The same into a file that is whole or not there. STATUS_CANNOT_CREATE, STATUS_IO, STATUS_NO_MEMORY. */
MUST_CHECK enum status engine_file_write(const char *path, const struct engine_file_form *form, const struct engine *engine,
                                         struct error *error);

#endif
