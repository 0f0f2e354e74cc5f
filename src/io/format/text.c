#include "io/format/text.h"

#include <assert.h>
#include <stdarg.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

enum { TABLE_GAP = 2 }; // blanks between two columns

/* Columns a UTF-8 text takes: every byte but the continuation bytes counts for one. */
static size_t columns(const char *text, size_t length) {
  size_t count = 0;
  for (size_t i = 0; i < length; i++) count += ((unsigned char)text[i] & 0xC0) != 0x80;
  return count;
}

static void wrap(FILE *stream, size_t column, const char *words, size_t length) {
  size_t at = column;
  bool first = true;
  for (size_t i = 0; i < length;) {
    const char *word = words + i;
    const size_t size = strcspn(word, " \n") < length - i ? strcspn(word, " \n") : length - i;
    const size_t width = columns(word, size);
    if (size > 0) {
      if (!first && at + 1 + width > TEXT_WIDTH) {
        fprintf(stream, "\n%*s", (int)column, "");
        at = column;
      } else if (!first) {
        putc(' ', stream);
        at++;
      }
      fwrite(word, 1, size, stream);
      at += width;
      first = false;
    }
    i += size + 1;
  }
  putc('\n', stream);
}

void text_wrap(FILE *stream, size_t column, const char *words) { wrap(stream, column, words, strlen(words)); }

void text_paragraphs(FILE *stream, size_t margin, const char *paragraphs) {
  for (const char *at = paragraphs; *at;) {
    const bool verbatim = strncmp(at, "  ", 2) == 0;
    const char *end = strstr(at, verbatim ? "\n" : "\n\n");
    if (!end) end = at + strlen(at);
    fprintf(stream, "%*s", (int)margin, "");
    if (verbatim) {
      fwrite(at, 1, (size_t)(end - at), stream);
      putc('\n', stream);
    } else {
      wrap(stream, margin, at, (size_t)(end - at));
    }
    while (*end == '\n') {
      if (end[1] == '\n') putc('\n', stream);
      end++;
    }
    at = end;
  }
}

void text_table_init(struct text_table *table, size_t column_count, const char *const *headings) {
  assert(column_count > 0 && column_count <= TEXT_COLUMN_MAX);
  *table = (struct text_table){.column_count = column_count};
  for (size_t i = 0; i < column_count; i++) table->headings[i] = headings[i];
}

void text_table_add(struct text_table *table, const char *format, ...) {
  if (table->cell_count == table->capacity) {
    const size_t capacity = table->capacity ? 2 * table->capacity : 64;
    char **cells = realloc(table->cells, capacity * sizeof *cells);
    if (!cells) {
      table->failed = true;
      return;
    }
    table->cells = cells;
    table->capacity = capacity;
  }
  va_list values;
  va_start(values, format);
  char *cell = NULL;
  if (vasprintf(&cell, format, values) < 0) {
    table->failed = true;
  } else {
    table->cells[table->cell_count++] = cell;
  }
  va_end(values);
}

/* How many bytes of the text go on the next line of so many columns: whole words if one fits. */
static size_t line_size(const char *text, size_t width) {
  size_t size = 0, used = 0, last_blank = 0;
  while (text[size] && used <= width) {
    if (text[size] == ' ') last_blank = size;
    size++;
    while (((unsigned char)text[size] & 0xC0) == 0x80) size++;
    used++;
  }
  if (used <= width) return size; // all of it
  if (last_blank > 0) return last_blank;
  return strcspn(text, " "); // a word longer than the line stays whole
}

/* One row of the table, on as many lines as its longest cell needs. */
static void print_row(FILE *stream, size_t margin, size_t count, const char *const *cells, const size_t *widths) {
  const char *rest[TEXT_COLUMN_MAX];
  for (size_t i = 0; i < count; i++) rest[i] = cells[i];
  bool more = true;
  while (more) {
    more = false;
    size_t blanks = margin; // owed before the next cell that has text
    for (size_t i = 0; i < count; i++) {
      const size_t size = line_size(rest[i], widths[i]);
      if (size > 0) fprintf(stream, "%*s%.*s", (int)blanks, "", (int)size, rest[i]);
      const size_t width = columns(rest[i], size);
      const size_t room = widths[i] + TABLE_GAP;
      blanks = (size > 0 ? 0 : blanks) + (room > width ? room - width : 1);
      rest[i] += size;
      rest[i] += strspn(rest[i], " ");
      more |= *rest[i] != '\0';
    }
    putc('\n', stream);
  }
}

/* Takes columns from the widest, which holds prose, until the table fits; narrow ones hold names and
 * numbers. */
static void shrink(size_t margin, size_t count, size_t *widths) {
  size_t total = margin + TABLE_GAP * (count - 1);
  for (size_t i = 0; i < count; i++) total += widths[i];
  for (; total > TEXT_WIDTH; total--) {
    size_t widest = 0;
    for (size_t i = 1; i < count; i++)
      if (widths[i] >= widths[widest]) widest = i;
    widths[widest]--;
  }
}

int text_table_print(struct text_table *table, FILE *stream, size_t margin) {
  const size_t count = table->column_count;
  size_t widths[TEXT_COLUMN_MAX];
  for (size_t i = 0; i < count; i++) widths[i] = columns(table->headings[i], strlen(table->headings[i]));
  for (size_t i = 0; i < table->cell_count; i++) {
    const size_t width = columns(table->cells[i], strlen(table->cells[i]));
    // there are no cells without columns. NOLINTNEXTLINE(clang-analyzer-core.DivideZero)
    if (width > widths[i % count]) widths[i % count] = width;
  }
  const bool failed = table->failed;
  if (!failed) {
    // a table has a column. NOLINTNEXTLINE(clang-analyzer-core.DivideZero)
    assert(table->cell_count % count == 0);
    shrink(margin, count, widths);
    print_row(stream, margin, count, table->headings, widths);
    for (size_t i = 0; i < table->cell_count; i += count)
      print_row(stream, margin, count, (const char *const *)table->cells + i, widths);
  }
  text_table_destroy(table);
  return failed ? -1 : 0;
}

void text_table_destroy(struct text_table *table) {
  for (size_t i = 0; i < table->cell_count; i++) free(table->cells[i]);
  free(table->cells);
  table->cells = NULL;
  table->cell_count = table->capacity = 0;
}
