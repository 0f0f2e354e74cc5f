/* The file of a practice case: practice_text.h, whole or not there. */
#ifndef IO_CONFIG_CASE_FILE_H
#define IO_CONFIG_CASE_FILE_H

#include "analysis/practice/practice_text.h"

/* STATUS_NO_INPUT, STATUS_IO, or what practice_text_read() says. */
MUST_CHECK enum status case_file_read(const char *path, struct practice_record *record, struct error *error);

/* STATUS_CANNOT_CREATE, STATUS_IO. */
MUST_CHECK enum status case_file_write(const struct practice_record *record, const char *path, struct error *error);

#endif
