/* Plain text for people: paragraphs and tables that fit a page of TEXT_WIDTH columns. */
#ifndef IO_FORMAT_TEXT_H
#define IO_FORMAT_TEXT_H

#include "base/attributes.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdio.h>

enum { TEXT_WIDTH = 100, TEXT_COLUMN_MAX = 8 };

/* Prints words from a column on (the cursor stands there already), further lines at the same column. */
void text_wrap(FILE *stream, size_t column, const char *words);

/* Prints paragraphs parted by an empty line, each at the margin. A line that begins with two blanks stays as
 * it is. */
void text_paragraphs(FILE *stream, size_t margin, const char *paragraphs);

/* A table is filled cell by cell and printed with columns as wide as they need be; where that is more than
 * the page has, the widest are wrapped. */
struct text_table {
  size_t column_count;
  const char *headings[TEXT_COLUMN_MAX];
  size_t cell_count, capacity;
  char **cells; // owned
  bool failed;  // no memory for a cell
};

void text_table_init(struct text_table *table, size_t column_count, const char *const *headings);
void text_table_add(struct text_table *table, const char *format, ...) PRINTF_LIKE(2, 3);
/* Prints what was added and empties the table. 0, or -1 if there was no memory for it all. */
MUST_CHECK int text_table_print(struct text_table *table, FILE *stream, size_t margin);
void text_table_destroy(struct text_table *table);

#endif
