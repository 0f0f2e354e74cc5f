/* Text into rows and cells: logs, readings, records, whatever a user hands in with something between the cells.
 *
 *   row    = cell { delimiter cell } line end            line end: "\n", "\r\n", "\r", or the end of the text
 *   cell   = blanks word blanks | blanks '"' { anything, '""' for a quote } '"' blanks
 *
 * The delimiter is comma, semicolon or tab, whichever stands most often in the first line. Blanks round a cell go, blank
 * lines are passed over, a byte-order mark too. Quotes hold delimiters and line ends (RFC 4180); a quote inside a cell that
 * does not begin with one, and anything but blanks behind a closing one, spoils the row, and the next line starts afresh.
 * Bytes are not looked at further: nulls pass through, and a line may be as long as memory is. */
#ifndef BASE_SPLITTER_H
#define BASE_SPLITTER_H

#include "base/attributes.h"

#include <stdbool.h>
#include <stddef.h>

enum splitter_found {
  SPLITTER_ROW,
  SPLITTER_BAD_QUOTE,  // the row is lost; fault_line says where
  SPLITTER_OPEN_QUOTE, // a cell begins with a quote and never ends; the text is at its end
  SPLITTER_END,
  SPLITTER_NO_MEMORY,
};

struct splitter {
  const char *text; // not owned
  size_t size, at;  // at: what comes next
  size_t line;      // where that is, from 1
  char delimiter;
  bool comments; // a line that begins with #, between rows, is passed over
  // what splitter_next() found
  size_t row_line;   // where the row begins
  size_t fault_line; // where the bad quote stands
  size_t cell_count;
  char *bytes; // of all cells, a null behind each; owned
  size_t byte_count, byte_room;
  size_t *begins; // of each cell, and of one more behind the last; owned
  size_t begin_room;
};

/* Begins a text, which the caller keeps. splitter_destroy() at the end. */
void splitter_init(struct splitter *splitter, const char *text, size_t size, bool comments);
void splitter_destroy(struct splitter *splitter);

/* Reads the next row. */
MUST_CHECK enum splitter_found splitter_next(struct splitter *splitter);

/* A cell of the row, until the next; a null stands behind it. size: NULL if not wanted. */
const char *splitter_cell(const struct splitter *splitter, size_t cell, size_t *size);

#endif
