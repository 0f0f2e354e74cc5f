/* Results as CSV: a header of names that carry their units, then numbers with fixed decimals.
 *
 * Whatever the locale, the decimal sign is a point. NaN becomes an empty cell. Some 10 ns a number, a
 * tenth of what printf takes. Errors of writing show when the stream's owner closes it (io/format/output_file.h). */
#ifndef IO_FORMAT_CSV_WRITE_H
#define IO_FORMAT_CSV_WRITE_H

#include "sim/recording.h"

#include <stddef.h>
#include <stdio.h>

enum {
  CSV_WRITE_DECIMALS_MAX = 9,
  CSV_WRITE_NUMBER_SIZE = 336, // the longest double, 309 digits, with sign and decimals
};

/* Writes the number with this many decimals, without a final null; returns its length. Rounded to nearest;
 * infinity is `inf`; beyond 9e15 units of the last decimal the decimals are left out. */
size_t csv_write_number(char text[CSV_WRITE_NUMBER_SIZE], double value, int decimals);

/* A header line; a name with a comma, a quote or a line end is quoted. */
void csv_write_header(FILE *stream, const char *const *names, size_t count);

/* One row; the i-th value has decimals[i]. */
void csv_write_row(FILE *stream, const double *values, const int *decimals, size_t count);

/* The same for a run, column by column as in channel_rows; a row can be written as soon as it is known. */
void csv_write_channel_header(FILE *stream);
void csv_write_channel_row(FILE *stream, const double values[CHANNEL_COUNT]);
void csv_write_recording(FILE *stream, const struct recording *recording);

#endif
