/* Which kind of settings file a file is, for commands that take any (`check`). One row per kind. */
#ifndef IO_CONFIG_FILE_KIND_H
#define IO_CONFIG_FILE_KIND_H

#include "base/attributes.h"
#include "base/error.h"

enum file_kind { FILE_KIND_ENGINE, FILE_KIND_SCENARIO, FILE_KIND_RECORD, FILE_KIND_COUNT };

/* "engine file", "scenario", "record". */
const char *file_kind_name(enum file_kind kind);

/* Tells the kind by the first word of a record, else by the top-level keys. STATUS_BAD_CONFIG if they fit none, or what config_open says. */
MUST_CHECK enum status file_kind_of(const char *path, enum file_kind *kind, struct error *error);

/* Tells the kind and reads the whole file; STATUS_OK if it has no fault. *kind is FILE_KIND_COUNT if it stays
 * unknown. */
MUST_CHECK enum status file_kind_check(const char *path, enum file_kind *kind, struct error *error);

#endif
