/* Files of rows and cells: base/csv_table.h for a file. */
#ifndef IO_FORMAT_CSV_READ_H
#define IO_FORMAT_CSV_READ_H

#include "base/csv_table.h"

/* Reads a file. STATUS_NO_INPUT if it cannot be opened; otherwise as csv_table_read(). */
MUST_CHECK enum status csv_read_file(const char *path, struct csv_table *table, struct error *error);

/* The same of words and numbers, as csv_table_read_words(). */
MUST_CHECK enum status csv_read_words(const char *path, struct csv_table *table, struct error *error);

#endif
