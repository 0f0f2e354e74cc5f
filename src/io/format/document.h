/* A report in headings, paragraphs, lists and tables, written once and read as plain text or as a page to print.
 *
 * The page is HTML that stands alone, black on white with grey rules; no row breaks across pages. */
#ifndef IO_FORMAT_DOCUMENT_H
#define IO_FORMAT_DOCUMENT_H

#include "base/error.h"
#include "io/format/text.h"
#include "io/format/us_text.h"

#define DOCUMENT_READING "reading"
#define DOCUMENT_OFF_BY  "give or take"

enum document_form { DOCUMENT_TEXT, DOCUMENT_HTML };

struct document {
  enum document_form form;
  FILE *stream;
  bool us; // F, inHg, mph in place of our own units, in words and in tables of readings
  bool in_list;
  struct text_table table;         // DOCUMENT_TEXT
  size_t column_count, cell_count; // of the table that is open
  const char *const *headings;     // of that table
  const struct us_unit *row_unit;  // of the reading that the row is about; NULL: it stays in our own
  bool failed;                     // no memory for a table
};

/* Begins it: the title, and beneath it a line that says what it is about. */
void document_begin(struct document *document, enum document_form form, FILE *stream, const char *title, const char *subject);

/* The same in small print, on A4 or Letter, for what is to fit on a few sheets. */
void document_begin_tight(struct document *document, enum document_form form, FILE *stream, const char *title,
                          const char *subject);

/* What follows is printed in US units: call it after document_begin(). */
void document_in_us_units(struct document *document);

void document_heading(struct document *document, const char *text);
void document_paragraph(struct document *document, const char *format, ...) PRINTF_LIKE(2, 3);
void document_item(struct document *document, const char *format, ...) PRINTF_LIKE(2, 3); // of a list
/* A frame round what follows, and its end; plain text has none. */
void document_frame_begin(struct document *document);
void document_frame_end(struct document *document);

/* A table: its columns, then cell by cell, then the end. In US units the rows of a table whose first heading is DOCUMENT_READING are
 * converted with the name that each begins with; what stands under DOCUMENT_OFF_BY is how far off it may be. */
void document_table_begin(struct document *document, size_t column_count, const char *const *headings);
void document_cell(struct document *document, const char *format, ...) PRINTF_LIKE(2, 3);
void document_table_end(struct document *document);

/* A drawing as SVG, with what it shows; plain text leaves it out. */
void document_drawing(struct document *document, const char *svg, size_t size, const char *text);

/* Ends it. STATUS_NO_MEMORY if a table had none; errors of writing show when the stream is closed. */
MUST_CHECK enum status document_finish(struct document *document, struct error *error);

#endif
