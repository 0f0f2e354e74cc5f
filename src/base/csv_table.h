/* A text of rows and cells as a table with a header line, read whole: logged data, readings.
 *
 * Accepted: comma, semicolon or tab between cells (whichever the header has most of; with semicolons a
 * decimal comma too), a byte-order mark, any line ends, quoted cells with line ends in them, blank lines,
 * a comma too many at the end of lines (base/splitter.h). An empty cell is NaN. A column with more text than numbers is a
 * text column; all its cells are NaN.
 *
 * A number with its thousands parted (1,234 in quotes, 1 234) is no number here: its cell is NaN, told by its line, and the row stays.
 * Where a decimal comma may stand, 1,234 is one if its column has others that can be nothing else, as 8,5; or if all of its column have
 * one and the rest of the file has such others.
 *
 * A row with a wrong number of cells, with broken quotes, or with text in a column of numbers is left out,
 * counted, and named by its line in the file. */
#ifndef BASE_CSV_TABLE_H
#define BASE_CSV_TABLE_H

#include "base/error.h"

#include <stdbool.h>
#include <stddef.h>

enum {
  CSV_TABLE_FAULT_MAX = 20, // bad rows that are described; further ones are counted only
  CSV_TABLE_TEXT_SIZE = 160,
};

struct csv_column {
  char *name;           // without the blanks round it; owned
  size_t number_count;  // cells with a number, in rows with the right number of cells
  size_t text_count;    // cells with something else
  size_t comma_count;   // cells with a comma that can only be a decimal one
  size_t grouped_count; // cells with a number whose thousands are parted
  bool is_text;         // more text than numbers
};

struct csv_fault {
  size_t line;
  char text[CSV_TABLE_TEXT_SIZE];
};

struct csv_table {
  size_t column_count;
  struct csv_column *columns; // owned
  size_t row_count;           // good rows
  double *values;             // row after row; owned
  size_t *lines;              // where each row begins in the file; owned
  char **words;               // the same cells as they stand, by csv_table_read_words() only; owned
  size_t bad_row_count;
  size_t fault_count; // described ones
  struct csv_fault faults[CSV_TABLE_FAULT_MAX];
  size_t cell_fault_count; // cells left out of rows that stay, described or not
  struct csv_fault cell_faults[CSV_TABLE_FAULT_MAX];
};

/* Reads a text; name is for messages. STATUS_BAD_DATA if it is empty, is not text, has
 * no header, has a name twice, or never ends a quoted cell. Bad rows alone are no failure. On failure the
 * table is empty. */
MUST_CHECK enum status csv_table_read(const char *name, const char *text, size_t size, struct csv_table *table,
                                      struct error *error);

/* Reads a text of words and numbers: every cell stands in `words` as well, no column is a text column, no row is left out for
 * its text, and a line that begins with # is a comment. Otherwise as csv_table_read(). */
MUST_CHECK enum status csv_table_read_words(const char *name, const char *text, size_t size, struct csv_table *table,
                                            struct error *error);

void csv_table_destroy(struct csv_table *table);

/* Index of the column with this name, -1 if none. */
int csv_table_find(const struct csv_table *table, const char *name);

static inline double csv_table_value(const struct csv_table *table, size_t row, size_t column) {
  return table->values[row * table->column_count + column];
}

static inline const char *csv_table_word(const struct csv_table *table, size_t row, size_t column) {
  return table->words[row * table->column_count + column];
}

#endif
