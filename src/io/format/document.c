#include "io/format/document.h"

#include "io/format/html.h"

#include <stdarg.h>
#include <stdlib.h>
#include <string.h>

enum { WORDS_SIZE = 1200 };

// clang-format off
#define STYLE \
    "@page { size: A4; margin: 12mm 12mm 14mm 12mm; }\n" \
    "* { box-sizing: border-box; }\n" \
    "body { font: 9.5pt/1.35 sans-serif; color: #000; background: #fff; margin: 0 auto; max-width: 186mm; }\n" \
    "h1 { font-size: 15pt; margin: 0 0 1mm 0; }\n" \
    "h2 { font-size: 11pt; margin: 5mm 0 1mm 0; break-after: avoid; }\n" \
    "p, ul { margin: 1mm 0; }\n" \
    "ul { padding-left: 6mm; }\n" \
    ".frame { border: 0.6mm solid #000; padding: 1mm 3mm 2mm 3mm; margin: 4mm 0; break-inside: avoid; }\n" \
    ".frame h2 { margin-top: 1mm; }\n" \
    "table { width: 100%; border-collapse: collapse; margin: 1.5mm 0; }\n" \
    "thead { display: table-header-group; }\n" \
    "tr, figure { break-inside: avoid; }\n" \
    "th, td { border: 0.2mm solid #777; padding: 0.8mm 1.5mm; text-align: left; vertical-align: top; }\n" \
    "th { background: #e4e4e4; }\n" \
    "figure { margin: 3mm 0; }\n" \
    "figure svg { width: 100%; height: auto; }\n" \
    "figcaption { color: #333; }\n"
// clang-format on
static const char style[] = STYLE;
/* For what is to fit on a few sheets of A4 or Letter. */
static const char tight_style[] = STYLE "@page { size: auto; margin: 9mm 12mm; }\n"
                                        "@media screen { body { padding: 2mm 3mm; } }\n"
                                        "@media print {\n"
                                        "  body { font-size: 8.5pt; line-height: 1.2; }\n"
                                        "  h2 { margin: 2mm 0 0.5mm 0; font-size: 10pt; }\n"
                                        "  p, ul, table { margin: 0.5mm 0; }\n"
                                        "  th, td { padding: 0.15mm 1.5mm; }\n"
                                        "  .frame { margin: 2mm 0; padding: 0.5mm 3mm 1mm 3mm; }\n"
                                        "}\n";

static void end_list(struct document *document) {
  if (document->in_list && document->form == DOCUMENT_HTML) fputs("</ul>\n", document->stream);
  document->in_list = false;
}

static void begin(struct document *document, enum document_form form, FILE *stream, const char *title, const char *subject,
                  const char *its_style) {
  *document = (struct document){.form = form, .stream = stream};
  if (form == DOCUMENT_TEXT) {
    fprintf(stream, "%s: ", title);
    text_wrap(stream, strlen(title) + 2, subject);
    return;
  }
  html_begin(stream, title, subject, its_style);
}

void document_begin(struct document *document, enum document_form form, FILE *stream, const char *title, const char *subject) {
  begin(document, form, stream, title, subject, style);
}

void document_begin_tight(struct document *document, enum document_form form, FILE *stream, const char *title,
                          const char *subject) {
  begin(document, form, stream, title, subject, tight_style);
}

void document_in_us_units(struct document *document) { document->us = true; }

/* Takes over what was converted: our own units stay where memory ran out, which document_finish() tells. */
static void take_over(struct document *document, char words[WORDS_SIZE], char *converted) {
  if (!converted) document->failed = true;
  if (converted) snprintf(words, WORDS_SIZE, "%s", converted);
  free(converted);
}

static void format_words(struct document *document, char words[WORDS_SIZE], const char *format, va_list values) {
  vsnprintf(words, WORDS_SIZE, format, values);
  if (document->us) take_over(document, words, us_text_of_readings(words));
}

void document_heading(struct document *document, const char *text) {
  end_list(document);
  if (document->form == DOCUMENT_HTML)
    html_put_in(document->stream, "<h2>", text, "</h2>\n");
  else
    fprintf(document->stream, "\n%s\n", text);
}

void document_paragraph(struct document *document, const char *format, ...) {
  char words[WORDS_SIZE];
  va_list values;
  va_start(values, format);
  format_words(document, words, format, values);
  va_end(values);
  end_list(document);
  if (document->form == DOCUMENT_HTML) {
    html_put_in(document->stream, "<p>", words, "</p>\n");
  } else {
    fputs("  ", document->stream);
    text_wrap(document->stream, 2, words);
  }
}

void document_item(struct document *document, const char *format, ...) {
  char words[WORDS_SIZE];
  va_list values;
  va_start(values, format);
  format_words(document, words, format, values);
  va_end(values);
  if (document->form == DOCUMENT_HTML) {
    if (!document->in_list) fputs("<ul>\n", document->stream);
    html_put_in(document->stream, "<li>", words, "</li>\n");
  } else {
    fputs("  - ", document->stream);
    text_wrap(document->stream, 4, words);
  }
  document->in_list = true;
}

void document_frame_begin(struct document *document) {
  end_list(document);
  if (document->form == DOCUMENT_HTML) fputs("<div class=\"frame\">\n", document->stream);
}

void document_frame_end(struct document *document) {
  end_list(document);
  if (document->form == DOCUMENT_HTML) fputs("</div>\n", document->stream);
}

void document_table_begin(struct document *document, size_t column_count, const char *const *headings) {
  end_list(document);
  document->column_count = column_count;
  document->cell_count = 0;
  document->headings = headings;
  if (document->form == DOCUMENT_TEXT) {
    text_table_init(&document->table, column_count, headings);
    return;
  }
  fputs("<table><thead><tr>", document->stream);
  for (size_t i = 0; i < column_count; i++) html_put_in(document->stream, "<th>", headings[i], "</th>");
  fputs("</tr></thead><tbody>\n", document->stream);
}

static void convert_cell(struct document *document, size_t column, char words[WORDS_SIZE]) {
  const bool of_readings = strcmp(document->headings[0], DOCUMENT_READING) == 0;
  if (column == 0) document->row_unit = of_readings ? us_text_unit_of_name(words) : NULL;
  const bool difference = strcmp(document->headings[column], DOCUMENT_OFF_BY) == 0;
  take_over(document, words, us_text_cell(words, document->row_unit, difference));
}

void document_cell(struct document *document, const char *format, ...) {
  char words[WORDS_SIZE];
  va_list values;
  va_start(values, format);
  vsnprintf(words, sizeof words, format, values);
  va_end(values);
  const size_t column = document->cell_count++ % document->column_count;
  if (document->us) convert_cell(document, column, words);
  if (document->form == DOCUMENT_TEXT) {
    text_table_add(&document->table, "%s", words);
    return;
  }
  if (column == 0) fputs("<tr>", document->stream);
  html_put_in(document->stream, "<td>", words, "</td>");
  if (column + 1 == document->column_count) fputs("</tr>\n", document->stream);
}

void document_table_end(struct document *document) {
  if (document->form == DOCUMENT_HTML) {
    fputs("</tbody></table>\n", document->stream);
    return;
  }
  if (text_table_print(&document->table, document->stream, 2) != 0) document->failed = true;
  text_table_destroy(&document->table);
}

/* The SVG element alone: an XML declaration and a document type may stand before it. */
void document_drawing(struct document *document, const char *svg, size_t size, const char *text) {
  end_list(document);
  if (document->form == DOCUMENT_TEXT) return;
  const char *begin = size > 0 ? strstr(svg, "<svg") : NULL;
  if (!begin) return;
  fputs("<figure>\n", document->stream);
  fwrite(begin, 1, size - (size_t)(begin - svg), document->stream);
  html_put_in(document->stream, "<figcaption>", text, "</figcaption>\n</figure>\n");
}

enum status document_finish(struct document *document, struct error *error) {
  end_list(document);
  if (document->form == DOCUMENT_HTML) fputs("</body>\n</html>\n", document->stream);
  return document->failed ? error_set(error, STATUS_NO_MEMORY, "out of memory for a table") : STATUS_OK;
}
