/* Logged data: any CSV with a header line, read whole.
 *
 * Accepted: comma, semicolon or tab between cells (whichever the header has most of; with semicolons a
 * decimal comma too), a byte-order mark, any line ends, quoted cells with line ends in them, blank lines,
 * a comma too many at the end of lines. An empty cell is NaN. A column with more text than numbers is a
 * text column; all its cells are NaN.
 *
 * A row with a wrong number of cells, with broken quotes, or with text in a column of numbers is left out,
 * counted, and named by its line in the file. */
#ifndef IO_FORMAT_CSV_READ_H
#define IO_FORMAT_CSV_READ_H

#include "base/error.h"

#include <stdbool.h>
#include <stddef.h>

enum {
  CSV_READ_FAULT_MAX = 20, // bad rows that are described; further ones are counted only
  CSV_READ_TEXT_SIZE = 160,
};

struct csv_column {
  char *name;          // without the blanks round it; owned
  size_t number_count; // cells with a number, in rows with the right number of cells
  size_t text_count;   // cells with something else
  bool is_text;        // more text than numbers
};

struct csv_fault {
  size_t line;
  char text[CSV_READ_TEXT_SIZE];
};

struct csv_table {
  size_t column_count;
  struct csv_column *columns; // owned
  size_t row_count;           // good rows
  double *values;             // row after row; owned
  size_t *lines;              // where each row begins in the file; owned
  char **words;               // the same cells as they stand, by csv_read_words() only; owned
  size_t bad_row_count;
  size_t fault_count; // described ones
  struct csv_fault faults[CSV_READ_FAULT_MAX];
};

/* Reads a file. STATUS_NO_INPUT if it cannot be opened; STATUS_BAD_DATA if it is empty, is not text, has
 * no header, has a name twice, or never ends a quoted cell. Bad rows alone are no failure. On failure the
 * table is empty. */
MUST_CHECK enum status csv_read_file(const char *path, struct csv_table *table, struct error *error);

/* The same from memory; name is for messages. */
MUST_CHECK enum status csv_read_text(const char *name, const char *text, size_t size, struct csv_table *table,
                                     struct error *error);

/* Reads a file of words and numbers: every cell stands in `words` as well, no column is a text column, no row is left out for
 * its text, and a line that begins with # is a comment. Otherwise as csv_read_file(). */
MUST_CHECK enum status csv_read_words(const char *path, struct csv_table *table, struct error *error);

void csv_read_destroy(struct csv_table *table);

/* Index of the column with this name, -1 if none. */
int csv_read_find(const struct csv_table *table, const char *name);

static inline double csv_read_value(const struct csv_table *table, size_t row, size_t column) {
  return table->values[row * table->column_count + column];
}

static inline const char *csv_read_word(const struct csv_table *table, size_t row, size_t column) {
  return table->words[row * table->column_count + column];
}

#endif
