/* Files of logged data: analysis/log/log_text.h for a file, or a capture of the bus (io/scantool/capture_read.h). */
#ifndef IO_LOG_LOG_FILE_H
#define IO_LOG_LOG_FILE_H

#include "analysis/log/log_text.h"

/* Reads a file. If all its columns are our own and an events.csv stands beside it, its events are read too. setting: NULL for none.
 * STATUS_NO_INPUT if it cannot be read; what log_text_read() and events_file_read() give. log_text_destroy() in any case. */
MUST_CHECK enum status log_file_read(const char *path, const struct log_text_setting *setting, struct log_text *log,
                                     struct error *error);

/* Whether a file is a log, as log_text_is_log() has it; false also if it cannot be read. */
bool log_file_is(const char *path, const struct log_text_setting *setting);

/* Adds the names of columns that a file holds. STATUS_NO_INPUT; what log_map_add_table() says. */
MUST_CHECK enum status log_file_read_map(const char *path, struct log_map *map, struct error *error);

/* Writes what the columns of a log are taken for; those that are not understood with an empty name, to be filled in. */
MUST_CHECK enum status log_file_write_map(const char *path, const struct log_text *log, const struct log_map *map,
                                          struct error *error);

#endif
