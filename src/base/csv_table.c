#include "base/csv_table.h"

#include "base/number.h"
#include "base/splitter.h"

#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* A cell that holds neither a number nor nothing. Whether that is a fault shows when the whole column is
 * known. */
struct text_cell {
  size_t row, column;
  char text[32]; // its beginning, for the message
};

/* A cell that looks like a number with its thousands parted. */
struct grouped_cell {
  size_t row, column;
  bool comma;               // it was read with a decimal comma; whether that is so shows when the whole column is known
  char text[32], plain[32]; // as it stands, and without the signs between
};

struct reader {
  const char *name;
  struct csv_table *table;
  struct error *error;
  struct splitter splitter;
  bool decimal_comma, has_header;
  size_t cell_count; // of the row so far
  double *row;       // its values
  size_t row_capacity, column_capacity;
  size_t text_count, text_capacity, text_before; // text_before: count when the row began
  struct text_cell *texts;
  size_t grouped_count, grouped_capacity, grouped_before;
  struct grouped_cell *grouped;
  bool keeps_words;
  char **row_words;   // of the row so far
  enum status status; // STATUS_OK until something ends the reading
};

static void no_memory(struct reader *reader) {
  if (reader->status == STATUS_OK)
    reader->status = error_set(reader->error, STATUS_NO_MEMORY, "%s:%zu: out of memory", reader->name, reader->splitter.line);
}

static void bad_file(struct reader *reader, size_t line, const char *text) {
  if (reader->status == STATUS_OK)
    reader->status = error_set(reader->error, STATUS_BAD_DATA, "%s:%zu: %s", reader->name, line, text);
}

static void PRINTF_LIKE(3, 4) bad_row(struct reader *reader, size_t line, const char *format, ...) {
  struct csv_table *table = reader->table;
  table->bad_row_count++;
  if (table->fault_count == CSV_TABLE_FAULT_MAX) return;
  struct csv_fault *fault = &table->faults[table->fault_count++];
  fault->line = line;
  va_list values;
  va_start(values, format);
  vsnprintf(fault->text, sizeof fault->text, format, values);
  va_end(values);
}

/* Room for one more item; the capacity doubles. */
static bool grow(struct reader *reader, void **items, size_t *capacity, size_t count, size_t size) {
  if (count < *capacity) return true;
  const size_t wanted = *capacity ? 2 * *capacity : 64;
  void *bigger = reallocarray(*items, wanted, size);
  if (!bigger) {
    no_memory(reader);
    return false;
  }
  *items = bigger;
  *capacity = wanted;
  return true;
}

/* Decimal notation only: no `0x10`, no `nan`; `inf` is not a reading either. */
static bool number_from(const struct reader *reader, const char *text, double *value) {
  char plain[64];
  const size_t length = strlen(text);
  if (length >= sizeof plain) return false;
  memcpy(plain, text, length + 1);
  char *comma = reader->decimal_comma && !strchr(plain, '.') ? strchr(plain, ',') : NULL;
  if (comma) *comma = '.';
  return number_read(plain, value);
}

/* ---- Cells and rows ---- */

static void add_column(struct reader *reader, const char *text) {
  struct csv_table *table = reader->table;
  void *items = table->columns;
  const bool fits = grow(reader, &items, &reader->column_capacity, table->column_count, sizeof *table->columns);
  table->columns = items;
  if (!fits) return;
  char *name = strdup(text);
  if (!name) {
    no_memory(reader);
    return;
  }
  table->columns[table->column_count++] = (struct csv_column){.name = name};
}

/* Notes a number with its thousands parted; false if it is none. */
static bool note_grouped(struct reader *reader, size_t column, const char *text, bool is_number) {
  struct grouped_cell cell = {.row = reader->table->row_count, .column = column, .comma = is_number};
  if (reader->keeps_words || !number_grouped(text, cell.plain, sizeof cell.plain)) return false;
  void *items = reader->grouped;
  const bool fits = grow(reader, &items, &reader->grouped_capacity, reader->grouped_count, sizeof *reader->grouped);
  reader->grouped = items;
  if (!fits) return true;
  snprintf(cell.text, sizeof cell.text, "%s", text);
  reader->grouped[reader->grouped_count++] = cell;
  return true;
}

static void add_value(struct reader *reader, size_t column, const char *text) {
  double *value = &reader->row[column];
  *value = NAN;
  if (text[0] == '\0') return;
  if (number_from(reader, text, value)) {
    if (reader->decimal_comma && strchr(text, ',') && !note_grouped(reader, column, text, true))
      reader->table->columns[column].comma_count++;
    return;
  }
  *value = NAN;
  if (note_grouped(reader, column, text, false)) return;
  void *items = reader->texts;
  const bool fits = grow(reader, &items, &reader->text_capacity, reader->text_count, sizeof *reader->texts);
  reader->texts = items;
  if (!fits) return;
  struct text_cell *cell = &reader->texts[reader->text_count++];
  cell->row = reader->table->row_count;
  cell->column = column;
  snprintf(cell->text, sizeof cell->text, "%s", text);
}

static void add_word(struct reader *reader, size_t column, const char *text) {
  reader->row_words[column] = strdup(text);
  if (!reader->row_words[column]) no_memory(reader);
}

static void add_cell(struct reader *reader, const char *text) {
  const size_t column = reader->cell_count++;
  if (!reader->has_header)
    add_column(reader, text);
  else if (column < reader->table->column_count) {
    if (reader->keeps_words) add_word(reader, column, text);
    add_value(reader, column, text);
  } else if (column == reader->table->column_count && text[0] == '\0')
    reader->cell_count--; // a comma too many at the end of the line
}

static void end_header(struct reader *reader) {
  struct csv_table *table = reader->table;
  const size_t line = reader->splitter.row_line;
  size_t number_count = 0;
  char text[CSV_TABLE_TEXT_SIZE];
  if (table->column_count > 1 && table->columns[table->column_count - 1].name[0] == '\0')
    free(table->columns[--table->column_count].name);
  for (size_t i = 0; i < table->column_count; i++) {
    double value;
    if (number_from(reader, table->columns[i].name, &value)) number_count++;
    if (table->columns[i].name[0] == '\0') {
      snprintf(text, sizeof text, "column %zu has no name; the first line must name every column", i + 1);
      bad_file(reader, line, text);
    }
    for (size_t j = 0; j < i; j++) {
      if (strcmp(table->columns[i].name, table->columns[j].name) != 0) continue;
      snprintf(text, sizeof text, "columns %zu and %zu are both named \"%.60s\"; rename one", j + 1, i + 1,
               table->columns[i].name);
      bad_file(reader, line, text);
    }
  }
  if (number_count == table->column_count)
    bad_file(reader, line, "no header: the first line has numbers, it must name the columns");
  reader->row = calloc(table->column_count + 1, sizeof *reader->row);
  reader->row_words = calloc(table->column_count + 1, sizeof *reader->row_words);
  if (!reader->row || !reader->row_words) no_memory(reader);
  reader->has_header = true;
}

static void keep_row(struct reader *reader) {
  struct csv_table *table = reader->table;
  size_t capacity = reader->row_capacity;
  void *values = table->values, *lines = table->lines;
  bool fits = grow(reader, &values, &capacity, table->row_count, table->column_count * sizeof *table->values);
  table->values = values;
  capacity = reader->row_capacity;
  fits = fits && grow(reader, &lines, &capacity, table->row_count, sizeof *table->lines);
  table->lines = lines;
  if (reader->keeps_words) {
    void *words = table->words;
    capacity = reader->row_capacity;
    fits = fits && grow(reader, &words, &capacity, table->row_count, table->column_count * sizeof *table->words);
    table->words = words;
  }
  if (!fits) return;
  if (reader->keeps_words) {
    memcpy(table->words + table->row_count * table->column_count, reader->row_words, table->column_count * sizeof *table->words);
    memset(reader->row_words, 0, table->column_count * sizeof *reader->row_words);
  }
  reader->row_capacity = capacity;
  memcpy(table->values + table->row_count * table->column_count, reader->row, table->column_count * sizeof *table->values);
  table->lines[table->row_count++] = reader->splitter.row_line;
}

static void begin_row(struct reader *reader) {
  for (size_t i = 0; reader->row_words && i < reader->table->column_count; i++) {
    free(reader->row_words[i]);
    reader->row_words[i] = NULL;
  }
  reader->cell_count = 0;
  reader->text_before = reader->text_count;
  reader->grouped_before = reader->grouped_count;
}

/* Two cells that may be one number: 1 and 234 of 1,234. */
static void hint_at_parts(struct reader *reader, char *hint, size_t size) {
  for (size_t i = 0; i + 1 < reader->splitter.cell_count && reader->splitter.delimiter == ','; i++) {
    char whole[32], plain[32];
    const char *one = splitter_cell(&reader->splitter, i, NULL), *two = splitter_cell(&reader->splitter, i + 1, NULL);
    const int length = snprintf(whole, sizeof whole, "%s,%s", one, two);
    if (length < 0 || length >= (int)sizeof whole || !number_grouped(whole, plain, sizeof plain)) continue;
    snprintf(hint, size, "; if %.20s is one number, write %.20s", whole, plain);
    return;
  }
}

static void take_row(struct reader *reader) {
  const size_t wanted = reader->table->column_count;
  for (size_t i = 0; i < reader->splitter.cell_count && reader->status == STATUS_OK; i++)
    add_cell(reader, splitter_cell(&reader->splitter, i, NULL));
  if (reader->status != STATUS_OK) return;
  if (!reader->has_header) {
    end_header(reader);
  } else if (reader->cell_count == wanted) {
    keep_row(reader);
  } else {
    reader->text_count = reader->text_before;
    reader->grouped_count = reader->grouped_before;
    char hint[96] = "";
    if (reader->cell_count > wanted) hint_at_parts(reader, hint, sizeof hint);
    bad_row(reader, reader->splitter.row_line, "%zu cells, the header has %zu%s", reader->cell_count, wanted, hint);
  }
}

static void read_rows(struct reader *reader) {
  const struct splitter *splitter = &reader->splitter;
  bool something = false;
  while (reader->status == STATUS_OK) {
    begin_row(reader);
    const enum splitter_found found = splitter_next(&reader->splitter);
    if (found == SPLITTER_END) break;
    something = true;
    if (found == SPLITTER_ROW)
      take_row(reader);
    else if (found == SPLITTER_NO_MEMORY)
      no_memory(reader);
    else if (found == SPLITTER_OPEN_QUOTE)
      bad_file(reader, splitter->row_line, "a quoted cell begins in this row and never ends");
    else if (!reader->has_header)
      bad_file(reader, splitter->fault_line, "the header has a quote in the wrong place");
    else
      bad_row(reader, splitter->row_line, "a quote in the wrong place");
  }
  if (!something) bad_file(reader, 1, "the file is empty");
}

/* ---- Text columns, and rows with text where the column has numbers ---- */

static void find_text_columns(struct reader *reader) {
  struct csv_table *table = reader->table;
  for (size_t i = 0; i < table->row_count * table->column_count; i++)
    if (!isnan(table->values[i])) table->columns[i % table->column_count].number_count++;
  for (size_t i = 0; i < reader->text_count; i++) table->columns[reader->texts[i].column].text_count++;
  for (size_t i = 0; i < table->column_count; i++)
    table->columns[i].is_text = table->columns[i].text_count > table->columns[i].number_count;
  for (size_t i = 0; i < table->row_count * table->column_count; i++)
    if (table->columns[i % table->column_count].is_text) table->values[i] = NAN;
}

/* Whether commas in a column are decimal. In one that has a comma where only a decimal one can stand (8,5 or 0,123) they are; in one of nothing
 * but 1,234 they are if another column of the file shows that it writes so; beside 850 they part thousands. */
static bool commas_are_decimal(const struct reader *reader, size_t column) {
  const struct csv_table *table = reader->table;
  if (table->columns[column].comma_count > 0) return true;
  size_t commas = 0, elsewhere = 0;
  for (size_t i = 0; i < reader->grouped_count; i++) commas += reader->grouped[i].comma && reader->grouped[i].column == column;
  for (size_t i = 0; i < table->column_count; i++) elsewhere += table->columns[i].comma_count;
  return elsewhere > 0 && commas == table->columns[column].number_count;
}

static void leave_out_grouped(struct reader *reader) {
  struct csv_table *table = reader->table;
  bool *decimal = calloc(table->column_count + 1, sizeof *decimal);
  if (!decimal) no_memory(reader);
  for (size_t i = 0; decimal && reader->grouped_count > 0 && i < table->column_count; i++)
    decimal[i] = commas_are_decimal(reader, i);
  for (size_t i = 0; decimal && reader->status == STATUS_OK && i < reader->grouped_count; i++) {
    const struct grouped_cell *cell = &reader->grouped[i];
    struct csv_column *column = &table->columns[cell->column];
    if (column->is_text || (cell->comma && decimal[cell->column])) continue;
    table->values[cell->row * table->column_count + cell->column] = NAN;
    column->grouped_count++;
    if (cell->comma) column->number_count--;
    if (table->cell_fault_count++ >= CSV_TABLE_FAULT_MAX) continue;
    struct csv_fault *fault = &table->cell_faults[table->cell_fault_count - 1];
    fault->line = table->lines[cell->row];
    snprintf(fault->text, sizeof fault->text, "%.60s: \"%s\" has separated thousands; write %s", column->name, cell->text,
             cell->plain);
  }
  free(decimal);
}

static void drop_text_rows(struct reader *reader) {
  struct csv_table *table = reader->table;
  size_t kept = 0, next = 0;
  for (size_t row = 0; row < table->row_count; row++) {
    const struct text_cell *fault = NULL;
    for (; next < reader->text_count && reader->texts[next].row == row; next++)
      if (!fault && !table->columns[reader->texts[next].column].is_text) fault = &reader->texts[next];
    if (fault) {
      bad_row(reader, table->lines[row], "%.60s: \"%s\" is not a number", table->columns[fault->column].name, fault->text);
      continue;
    }
    table->lines[kept] = table->lines[row];
    memmove(table->values + kept * table->column_count, table->values + row * table->column_count,
            table->column_count * sizeof *table->values);
    kept++;
  }
  table->row_count = kept;
}

/* Broken rows were found before those with text in them. */
static int compare_faults(const void *a, const void *b) {
  const struct csv_fault *left = a, *right = b;
  return (left->line > right->line) - (left->line < right->line);
}

static enum status read_text(const char *name, const char *text, size_t size, bool keeps_words, struct csv_table *table,
                             struct error *error) {
  struct reader reader = {.name = name, .table = table, .error = error, .keeps_words = keeps_words};
  memset(table, 0, sizeof *table);
  splitter_init(&reader.splitter, text, size, keeps_words);
  reader.decimal_comma = reader.splitter.delimiter == ';';
  if (size >= 2 && (memcmp(text, "\xFF\xFE", 2) == 0 || memcmp(text, "\xFE\xFF", 2) == 0))
    bad_file(&reader, 1, "the text is in UTF-16; save it as UTF-8");
  else if (size > 0 && memchr(text, '\0', size))
    bad_file(&reader, 1, "this is not a text file");
  else
    read_rows(&reader);
  begin_row(&reader); // frees the words of a row that never ended
  if (reader.status == STATUS_OK) {
    if (!keeps_words) {
      find_text_columns(&reader);
      leave_out_grouped(&reader);
      drop_text_rows(&reader);
    }
    qsort(table->faults, table->fault_count, sizeof table->faults[0], compare_faults);
  } else {
    csv_table_destroy(table);
  }
  splitter_destroy(&reader.splitter);
  free(reader.row_words);
  free(reader.row);
  free(reader.texts);
  free(reader.grouped);
  return reader.status;
}

enum status csv_table_read(const char *name, const char *text, size_t size, struct csv_table *table, struct error *error) {
  return read_text(name, text, size, false, table, error);
}

enum status csv_table_read_words(const char *name, const char *text, size_t size, struct csv_table *table, struct error *error) {
  return read_text(name, text, size, true, table, error);
}

void csv_table_destroy(struct csv_table *table) {
  if (!table) return;
  for (size_t i = 0; table->words && i < table->row_count * table->column_count; i++) free(table->words[i]);
  free(table->words);
  for (size_t i = 0; i < table->column_count; i++) free(table->columns[i].name);
  free(table->columns);
  free(table->values);
  free(table->lines);
  memset(table, 0, sizeof *table);
}

int csv_table_find(const struct csv_table *table, const char *name) {
  for (size_t i = 0; i < table->column_count; i++)
    if (strcmp(table->columns[i].name, name) == 0) return (int)i;
  return -1;
}
