/* The file of a visit: libconfig, readable, with a format number; it is whole or not there. */
#ifndef IO_CONFIG_VISIT_FILE_H
#define IO_CONFIG_VISIT_FILE_H

#include "analysis/visit/visit.h"

/* STATUS_BAD_CONFIG with one line for each fault; one of a newer format is told as that alone. What config_open() says. */
MUST_CHECK enum status visit_file_read(const char *path, struct visit *visit, struct error *error);

/* STATUS_CANNOT_CREATE, STATUS_IO. */
MUST_CHECK enum status visit_file_write(const struct visit *visit, const char *path, struct error *error);

#endif
