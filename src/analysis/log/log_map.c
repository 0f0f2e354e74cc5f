#include "analysis/log/log_map.h"

#include "base/csv_table.h"
#include "base/near_miss.h"
#include "sim/log_columns.h"

#include <ctype.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { WORD_MOST = 200 };

static char *copy(const char *text, size_t size) {
  while (size > 0 && (*text == ' ' || *text == '\t')) text++, size--;
  while (size > 0 && (text[size - 1] == ' ' || text[size - 1] == '\t')) size--;
  char *word = malloc(size + 1);
  if (!word) return NULL;
  memcpy(word, text, size);
  word[size] = '\0';
  return word;
}

static enum status add_row(struct log_map *map, char *header, char *name, struct error *error) {
  struct log_map_row *rows = header && name ? realloc(map->rows, (map->count + 1) * sizeof *rows) : NULL;
  if (!rows) {
    free(header);
    free(name);
    return error_set(error, STATUS_NO_MEMORY, "out of memory for the names of columns");
  }
  map->rows = rows;
  map->rows[map->count++] = (struct log_map_row){header, name};
  return STATUS_OK;
}

/* Whether a name is one of a reading; else what is said of it. */
static bool is_reading(const char *name, char *problem, size_t size) {
  struct log_columns_meaning meaning;
  const enum log_columns_answer answer = strlen(name) <= WORD_MOST ? log_columns_find(name, &meaning) : LOG_COLUMNS_UNKNOWN;
  const char *names[CHANNEL_COUNT];
  for (size_t i = 0; i < CHANNEL_COUNT; i++) names[i] = channel_rows[i].name;
  if (answer == LOG_COLUMNS_KNOWN) return true;
  const char *near = strlen(name) <= NEAR_MISS_WORD_MAX ? near_miss_best(name, names, CHANNEL_COUNT) : NULL;
  if (!near) near = log_columns_near(name);
  if (answer == LOG_COLUMNS_BAD_UNIT)
    snprintf(problem, size, "the unit '%s' of '%.80s' is not understood; understood: %s", meaning.unit, name, meaning.units);
  else if (answer == LOG_COLUMNS_UNUSED)
    snprintf(problem, size, "'%.80s' is a reading that is not used here", name);
  else
    snprintf(problem, size, "'%.80s' is not a reading%s%s%s (bladegap list channels)", name, near ? "; did you mean '" : "",
             near ? near : "", near ? "'?" : "");
  return false;
}

enum status log_map_add(struct log_map *map, const char *pair, struct error *error) {
  char problem[400];
  const char *equals = strrchr(pair, '=');
  if (!equals || equals == pair)
    return error_set(error, STATUS_USAGE, "--map %s: there is no such file; a pair is HEADER=name, as in 'Luftmasse=maf_gps'",
                     pair);
  char *header = copy(pair, (size_t)(equals - pair)), *name = copy(equals + 1, strlen(equals + 1));
  if (header && name && *name && !is_reading(name, problem, sizeof problem)) {
    free(header);
    free(name);
    return error_set(error, STATUS_USAGE, "--map %s: %s", pair, problem);
  }
  return add_row(map, header, name, error);
}

static enum status add_table_row(struct log_map *map, const char *name, const struct csv_table *table, size_t row, size_t header,
                                 size_t reading, struct error *error) {
  char problem[400];
  const char *of = csv_table_word(table, row, header), *is = csv_table_word(table, row, reading);
  if (*of == '\0') return error_append(error, STATUS_BAD_DATA, "%s:%zu: there is no header in this row", name, table->lines[row]);
  if (*is && !is_reading(is, problem, sizeof problem))
    return error_append(error, STATUS_BAD_DATA, "%s:%zu: %s", name, table->lines[row], problem);
  struct error adding;
  error_clear(&adding);
  const enum status status = add_row(map, copy(of, strlen(of)), copy(is, strlen(is)), &adding);
  return status == STATUS_OK ? STATUS_OK : error_append(error, status, "%s", adding.text);
}

enum status log_map_add_table(struct log_map *map, const char *name, const char *text, size_t size, struct error *error) {
  struct csv_table table;
  const enum status status = csv_table_read_words(name, text, size, &table, error);
  if (status != STATUS_OK) return status;
  const int header = csv_table_find(&table, "header"), reading = csv_table_find(&table, "name");
  if (header < 0 || reading < 0)
    (void)error_append(error, STATUS_BAD_DATA, "%s:1: it does not have the columns header and name", name);
  for (size_t i = 0; i < table.fault_count; i++)
    (void)error_append(error, STATUS_BAD_DATA, "%s:%zu: %s", name, table.faults[i].line, table.faults[i].text);
  for (size_t row = 0; header >= 0 && reading >= 0 && row < table.row_count; row++)
    (void)add_table_row(map, name, &table, row, (size_t)header, (size_t)reading, error);
  csv_table_destroy(&table);
  return error->status;
}

void log_map_destroy(struct log_map *map) {
  if (!map) return;
  for (size_t i = 0; i < map->count; i++) {
    free(map->rows[i].header);
    free(map->rows[i].name);
  }
  free(map->rows);
  *map = (struct log_map){0};
}

/* Whether the first so many bytes of a header are this word. */
static bool same(const char *word, const char *header, size_t size) {
  if (strlen(word) != size) return false;
  for (size_t i = 0; i < size; i++)
    if (tolower((unsigned char)word[i]) != tolower((unsigned char)header[i])) return false;
  return true;
}

const char *log_map_find(const struct log_map *map, const char *header) {
  size_t unit_size, size = strlen(header), bare = size;
  const char *unit = log_columns_unit_of(header, &unit_size);
  if (unit_size > 0) {
    bare = (size_t)(unit - header);
    while (bare > 0 && strchr(" \t([{,", header[bare - 1])) bare--;
  }
  for (size_t i = map ? map->count : 0; i-- > 0;)
    if (same(map->rows[i].header, header, size) || (bare < size && same(map->rows[i].header, header, bare)))
      return map->rows[i].name;
  return NULL;
}
