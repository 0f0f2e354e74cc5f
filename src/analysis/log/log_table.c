#include "analysis/log/log_table.h"

#include "analysis/log/log_clock.h"

#include <ctype.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { HEAD_ROWS = 60, NAME_MOST = 200 };

static const char delimiters[] = {',', ';', '\t', '|'};

static void begin(const char *text, size_t size, char delimiter, struct splitter *splitter) {
  splitter_init(splitter, text, size, false);
  splitter->delimiter = delimiter;
}

void log_table_begin(const struct log_table *table, struct splitter *splitter) {
  begin(table->text, table->size, table->delimiter, splitter);
  splitter->at = table->rows_at;
  splitter->line = table->rows_line;
}

bool log_table_is_time(const struct log_table_column *column) {
  return column->answer == LOG_COLUMNS_KNOWN && column->meaning.channel == CHANNEL_time_s;
}

bool log_table_switch(const char *word, double *value) {
  static const struct {
    const char *word;
    double value;
  } rows[] = {{"on", 1.0}, {"off", 0.0}, {"yes", 1.0}, {"no", 0.0}, {"true", 1.0}, {"false", 0.0}};
  char small[8];
  size_t length = 0;
  for (; word[length] && length + 1 < sizeof small; length++) small[length] = (char)tolower((unsigned char)word[length]);
  small[length] = '\0';
  for (size_t i = 0; word[length] == '\0' && i < ARRAY_COUNT(rows); i++) {
    if (strcmp(rows[i].word, small) != 0) continue;
    *value = rows[i].value;
    return true;
  }
  return false;
}

/* ---- The header ---- */

enum log_columns_answer log_table_meaning(const struct log_table_column *column, const char *unit,
                                          struct log_columns_meaning *meaning) {
  if (column->mapped && *column->mapped == '\0') return LOG_COLUMNS_UNUSED;
  const enum log_columns_answer answer = column->mapped ? log_columns_find_as(column->mapped, column->name, unit, meaning)
                                                        : log_columns_find_in(column->name, unit, meaning);
  // "Time (hh:mm:ss)" tells how the clock is written
  const bool clock = answer == LOG_COLUMNS_BAD_UNIT && meaning->channel == CHANNEL_time_s && strchr(meaning->unit, ':');
  if (clock) {
    meaning->factor = 1.0;
    meaning->offset = 0.0;
    meaning->assumed = false;
  }
  return clock ? LOG_COLUMNS_KNOWN : answer;
}

static bool is_known(const char *cell, const struct log_map *map) {
  struct log_columns_meaning meaning;
  if (strlen(cell) > NAME_MOST) return false;
  return log_map_find(map, cell) || log_columns_find(cell, &meaning) != LOG_COLUMNS_UNKNOWN ||
         log_columns_role(cell) != LOG_COLUMNS_NONE;
}

struct candidate {
  char delimiter;
  size_t known, cells;
  size_t line, passed; // rows above it
  bool found;
};

/* Names that are known in a row; none if there is a number or a time in it, which no header has. */
static size_t count_known(const struct splitter *splitter, const struct log_map *map, bool *words) {
  size_t known = 0;
  struct log_clock clock;
  *words = false;
  for (size_t i = 0; i < splitter->cell_count; i++) {
    const char *cell = splitter_cell(splitter, i, NULL);
    if (log_number_shape(cell) != LOG_NUMBER_NONE || log_clock_read(cell, &clock) != LOG_CLOCK_NONE) return 0;
    *words |= *cell != '\0';
  }
  for (size_t i = 0; i < splitter->cell_count && i < LOG_TABLE_COLUMN_MOST; i++)
    known += is_known(splitter_cell(splitter, i, NULL), map);
  return known;
}

/* One known name may stand in a row of units, as rpm does, or in a row of data: it makes no header below a line of as many words. */
static bool is_better(const struct candidate *new, const struct candidate *old) {
  if (new->known != old->known) return new->known > old->known;
  return new->known > 0 && new->cells > old->cells;
}

static enum status look(const char *name, const struct log_table *table, const struct log_map *map, char delimiter,
                        struct candidate *best, struct error *error) {
  struct splitter splitter;
  struct candidate row = {.delimiter = delimiter, .found = true};
  size_t words_cells = 0; // of the widest line of words so far
  enum splitter_found found = SPLITTER_ROW;
  begin(table->text, table->size, delimiter, &splitter);
  for (; row.passed < HEAD_ROWS && found != SPLITTER_END; row.passed++) {
    bool words = false;
    found = splitter_next(&splitter);
    if (found == SPLITTER_NO_MEMORY || found == SPLITTER_OPEN_QUOTE) break;
    if (found != SPLITTER_ROW) continue;
    row.known = count_known(&splitter, map, &words);
    row.cells = splitter.cell_count;
    row.line = splitter.row_line;
    if (row.known == 1 && words_cells >= 2 && row.cells <= words_cells) row.known = 0;
    if (is_better(&row, best)) *best = row;
    if (words && splitter.cell_count > words_cells) words_cells = splitter.cell_count;
  }
  splitter_destroy(&splitter);
  return found == SPLITTER_NO_MEMORY ? error_set(error, STATUS_NO_MEMORY, "%s: out of memory", name) : STATUS_OK;
}

/* ---- What lines above the header say ---- */

/* The number behind a word, and the unit behind that. */
static bool number_after(const char *line, const char *word, double *value, const char **unit) {
  char text[32];
  const char *at = strstr(line, word);
  if (!at) return false;
  at += strlen(word);
  at += strcspn(at, "0123456789\n");
  const size_t size = strspn(at, "0123456789.,");
  if (size == 0 || size >= sizeof text) return false;
  memcpy(text, at, size);
  text[size] = '\0';
  *unit = at + size + strspn(at + size, " ");
  return log_number_read(text, strchr(text, ',') && !strchr(text, '.') ? ',' : '.', value) && *value > 0.0;
}

static void find_rate(const struct splitter *splitter, double *rate_hz) {
  static const char *const rates[] = {"samples per second", "samples/s", "sample rate", "sampling rate", "sampling frequency"};
  static const char *const intervals[] = {"sample interval", "sampling interval", "sample period"};
  char line[256];
  size_t used = 0;
  for (size_t i = 0; i < splitter->cell_count; i++)
    for (const char *at = splitter_cell(splitter, i, NULL); used + 2 < sizeof line;) {
      line[used++] = *at ? (char)tolower((unsigned char)*at) : ' ';
      if (*at++ == '\0') break;
    }
  line[used] = '\0';
  double value;
  const char *unit;
  for (size_t i = 0; i < ARRAY_COUNT(rates); i++)
    if (number_after(line, rates[i], &value, &unit)) *rate_hz = strncmp(unit, "khz", 3) == 0 ? 1e3 * value : value;
  for (size_t i = 0; i < ARRAY_COUNT(intervals); i++)
    if (number_after(line, intervals[i], &value, &unit) && (*unit == 'm' || *unit == 's'))
      *rate_hz = (*unit == 'm' ? 1e3 : 1.0) / value;
}

/* ---- Columns ---- */

static void find_meaning(struct log_table_column *column) {
  column->answer = log_table_meaning(column, column->unit, &column->meaning);
  column->role = column->mapped || column->answer == LOG_COLUMNS_KNOWN ? LOG_COLUMNS_NONE : log_columns_role(column->name);
}

static enum status take_header(const char *name, const struct splitter *splitter, const struct log_map *map,
                               struct log_table *table, struct error *error) {
  size_t count = splitter->cell_count;
  while (count > 1 && splitter_cell(splitter, count - 1, NULL)[0] == '\0') count--;
  if (count > LOG_TABLE_COLUMN_MOST)
    return error_set(error, STATUS_BAD_DATA, "%s:%zu: the header has %zu columns; %d at most can be read", name,
                     splitter->row_line, count, LOG_TABLE_COLUMN_MOST);
  table->columns = calloc(count, sizeof *table->columns);
  if (!table->columns) return error_set(error, STATUS_NO_MEMORY, "%s: out of memory", name);
  for (size_t i = 0; i < count; i++) {
    struct log_table_column *column = &table->columns[i];
    size_t size;
    const char *cell = splitter_cell(splitter, i, &size);
    column->name = malloc(size + 1);
    if (!column->name) return error_set(error, STATUS_NO_MEMORY, "%s: out of memory", name);
    memcpy(column->name, cell, size + 1);
    for (char *at = column->name; *at; at++)
      if (*at == '\n' || *at == '\r') *at = ' '; // one line in messages
    column->mapped = log_map_find(map, column->name);
    table->column_count++;
    find_meaning(column);
  }
  table->header_line = splitter->row_line;
  return STATUS_OK;
}

/* A cell of a row of units, without brackets of its own; of size 0 if it names none. */
static void unit_in(const char *cell, char unit[LOG_COLUMNS_UNIT_SIZE]) {
  size_t size = strlen(cell);
  if (size >= 2 && strchr("([{", cell[0]) && strchr(")]}", cell[size - 1])) {
    cell++;
    size -= 2;
  }
  const bool none = size >= LOG_COLUMNS_UNIT_SIZE || (size == 1 && *cell == '-');
  snprintf(unit, LOG_COLUMNS_UNIT_SIZE, "%.*s", none ? 0 : (int)size, cell);
}

/* Whether the row below the header is one of units: no number, and at least one word that is a unit of its column. */
static bool is_units(const struct log_table *table, const struct splitter *splitter) {
  bool understood = false;
  struct log_clock clock;
  for (size_t i = 0; i < splitter->cell_count; i++) {
    const char *cell = splitter_cell(splitter, i, NULL);
    char unit[LOG_COLUMNS_UNIT_SIZE];
    struct log_columns_meaning meaning;
    if (log_number_shape(cell) != LOG_NUMBER_NONE || log_clock_read(cell, &clock) != LOG_CLOCK_NONE) return false;
    unit_in(cell, unit);
    if (i >= table->column_count || unit[0] == '\0') continue;
    understood |= log_table_meaning(&table->columns[i], unit, &meaning) == LOG_COLUMNS_KNOWN;
  }
  return understood;
}

static void take_units(struct log_table *table, const struct splitter *splitter) {
  table->units_line = splitter->row_line;
  for (size_t i = 0; i < splitter->cell_count && i < table->column_count; i++) {
    unit_in(splitter_cell(splitter, i, NULL), table->columns[i].unit);
    find_meaning(&table->columns[i]);
  }
}

static enum status read_head(const char *name, const struct log_map *map, const struct candidate *best, struct log_table *table,
                             struct error *error) {
  struct splitter splitter;
  enum status status = STATUS_OK;
  enum splitter_found found = SPLITTER_END;
  table->delimiter = best->delimiter;
  begin(table->text, table->size, best->delimiter, &splitter);
  for (size_t i = 0; i <= best->passed; i++) {
    found = splitter_next(&splitter);
    if (found == SPLITTER_ROW && i < best->passed) find_rate(&splitter, &table->rate_hz);
  }
  table->passed_count = best->passed;
  if (found == SPLITTER_ROW) status = take_header(name, &splitter, map, table, error);
  table->rows_at = splitter.at;
  table->rows_line = splitter.line;
  if (status == STATUS_OK && found == SPLITTER_ROW && splitter_next(&splitter) == SPLITTER_ROW && is_units(table, &splitter)) {
    take_units(table, &splitter);
    table->rows_at = splitter.at;
    table->rows_line = splitter.line;
  }
  if (found == SPLITTER_BAD_QUOTE)
    status = error_set(error, STATUS_BAD_DATA, "%s:%zu: the header has a quote in the wrong place", name, splitter.fault_line);
  else if (found == SPLITTER_OPEN_QUOTE)
    status =
        error_set(error, STATUS_BAD_DATA, "%s:%zu: a quoted cell begins in this row and never ends", name, splitter.row_line);
  else if (found == SPLITTER_END)
    status = error_set(error, STATUS_BAD_DATA, "%s:1: the file is empty", name);
  else if (found == SPLITTER_NO_MEMORY)
    status = error_set(error, STATUS_NO_MEMORY, "%s: out of memory", name);
  splitter_destroy(&splitter);
  return status;
}

enum status log_table_find(const char *name, const char *text, size_t size, const struct log_map *map, struct log_table *table,
                           struct error *error) {
  *table = (struct log_table){.text = text, .size = size};
  struct candidate best = {0};
  for (size_t i = 0; i < ARRAY_COUNT(delimiters); i++) {
    const enum status status = look(name, table, map, delimiters[i], &best, error);
    if (status != STATUS_OK) return status;
  }
  if (!best.found) { // no name is known: the first line, so that it can be said what its columns are
    struct splitter splitter;
    splitter_init(&splitter, text, size, false);
    best.delimiter = splitter.delimiter;
    splitter_destroy(&splitter);
  }
  const enum status status = read_head(name, map, &best, table, error);
  if (status != STATUS_OK || best.found) return status;
  size_t numbers = 0;
  for (size_t i = 0; i < table->column_count; i++) numbers += log_number_shape(table->columns[i].name) != LOG_NUMBER_NONE;
  if (numbers < table->column_count) return STATUS_OK;
  return error_set(error, STATUS_BAD_DATA, "%s:%zu: no header: the first line has numbers, it must name the columns", name,
                   table->header_line);
}

void log_table_destroy(struct log_table *table) {
  for (size_t i = 0; i < table->column_count; i++) free(table->columns[i].name);
  free(table->columns);
  *table = (struct log_table){0};
}

/* ---- What stands in the columns ---- */

static void survey_cell(struct log_table_column *column, const char *cell) {
  const enum log_number_shape shape = log_number_shape(cell);
  column->shapes[shape]++;
  if (shape == LOG_NUMBER_WHOLE) column->large |= strlen(cell) >= 3;
  if ((shape == LOG_NUMBER_EITHER_COMMA || shape == LOG_NUMBER_EITHER_POINT) && !column->example[0])
    snprintf(column->example, sizeof column->example, "%s", cell);
  if (shape != LOG_NUMBER_NONE) {
    column->numbers++;
    return;
  }
  double value;
  struct log_clock clock;
  const enum log_clock_answer answer = log_clock_read(cell, &clock);
  column->clocks += answer == LOG_CLOCK_TOLD;
  column->untold += answer == LOG_CLOCK_UNTOLD;
  const bool on_off = answer == LOG_CLOCK_NONE && log_table_switch(cell, &value);
  column->switches += on_off;
  column->words += answer == LOG_CLOCK_NONE && !on_off;
}

static void decide_mark(struct log_table_column *column, bool points, bool commas) {
  const size_t *shapes = column->shapes;
  const size_t either = shapes[LOG_NUMBER_EITHER_COMMA] + shapes[LOG_NUMBER_EITHER_POINT];
  if (shapes[LOG_NUMBER_POINT] + shapes[LOG_NUMBER_COMMA] > 0) { // it tells itself
    column->mark = shapes[LOG_NUMBER_COMMA] > shapes[LOG_NUMBER_POINT] ? ',' : '.';
    column->open = false;
    return;
  }
  column->mark = commas && !points ? ',' : '.';
  const size_t decimals = shapes[column->mark == ',' ? LOG_NUMBER_EITHER_COMMA : LOG_NUMBER_EITHER_POINT];
  // 1,700 among 850 and 900; 1,700 and 1.700; 1,700 where nothing tells how the file writes
  const bool told = points != commas, mixed = shapes[LOG_NUMBER_EITHER_COMMA] && shapes[LOG_NUMBER_EITHER_POINT];
  const bool natural = !commas && shapes[LOG_NUMBER_EITHER_COMMA] == 0;
  column->open = either > 0 && ((decimals > 0 && column->large) || mixed || !(told || natural));
}

enum status log_table_survey(const char *name, struct log_table *table, struct error *error) {
  struct splitter splitter;
  enum splitter_found found;
  log_table_begin(table, &splitter);
  while ((found = splitter_next(&splitter)) == SPLITTER_ROW || found == SPLITTER_BAD_QUOTE) {
    table->row_count++;
    for (size_t i = 0; found == SPLITTER_ROW && i < splitter.cell_count && i < table->column_count; i++) {
      const char *cell = splitter_cell(&splitter, i, NULL);
      const struct log_table_column *column = &table->columns[i];
      if (*cell && (column->answer == LOG_COLUMNS_KNOWN || column->role != LOG_COLUMNS_NONE))
        survey_cell(&table->columns[i], cell);
    }
  }
  size_t points = 0, commas = 0;
  for (size_t i = 0; i < table->column_count; i++) {
    points += table->columns[i].shapes[LOG_NUMBER_POINT];
    commas += table->columns[i].shapes[LOG_NUMBER_COMMA];
  }
  for (size_t i = 0; i < table->column_count; i++) decide_mark(&table->columns[i], points > 0, commas > 0);
  const size_t line = splitter.row_line;
  splitter_destroy(&splitter);
  if (found == SPLITTER_NO_MEMORY) return error_set(error, STATUS_NO_MEMORY, "%s: out of memory", name);
  if (found == SPLITTER_OPEN_QUOTE)
    return error_set(error, STATUS_BAD_DATA, "%s:%zu: a quoted cell begins in this row and never ends", name, line);
  return STATUS_OK;
}
