/* Where in the text of a log its header stands, what its columns are, and how it writes numbers.
 *
 * The header is the line, among the first ones, in which most names are known, under the delimiter (comma, semicolon, tab, pipe) that
 * shows most of them; lines above it are passed over. A row of units below it counts as part of it. */
#ifndef ANALYSIS_LOG_LOG_TABLE_H
#define ANALYSIS_LOG_LOG_TABLE_H

#include "analysis/log/log_map.h"
#include "analysis/log/log_number.h"
#include "base/splitter.h"
#include "sim/log_columns.h"

enum { LOG_TABLE_COLUMN_MOST = 4096 };

struct log_table_column {
  char *name;                       // the header's; owned; empty if it has none
  char unit[LOG_COLUMNS_UNIT_SIZE]; // from the row of units
  const char *mapped;               // what somebody has said it is; NULL: nothing; the map's
  enum log_columns_answer answer;
  struct log_columns_meaning meaning; // where the answer has one
  enum log_columns_role role;
  // what its cells are
  size_t shapes[LOG_NUMBER_SHAPE_COUNT];
  size_t numbers, words, clocks, untold, switches;
  bool large;       // a whole number of three digits or more
  char mark;        // of decimals
  bool open;        // 1,234 or 1.234 stand in it, and nothing tells which they are
  char example[24]; // the first of them
};

struct log_table {
  const char *text;
  size_t size;
  char delimiter;
  size_t header_line;
  size_t rows_at, rows_line; // where the rows begin
  size_t passed_count;       // lines above the header with something in them
  size_t units_line;         // 0: there is no row of units
  double rate_hz;            // rows a second, if a line above the header says so; else 0
  size_t column_count;
  struct log_table_column *columns; // owned
  size_t row_count;                 // below the header
};

/* Finds header and columns. text must outlive the table; map may be NULL and must too. name is for messages. STATUS_BAD_DATA if there is no header.
 * log_table_destroy() in any case. */
MUST_CHECK enum status log_table_find(const char *name, const char *text, size_t size, const struct log_map *map,
                                      struct log_table *table, struct error *error);

/* Reads all rows once: their number, what stands in the columns, and what marks decimals. */
MUST_CHECK enum status log_table_survey(const char *name, struct log_table *table, struct error *error);
void log_table_destroy(struct log_table *table);

/* Begins with the rows. */
void log_table_begin(const struct log_table *table, struct splitter *splitter);

/* What a column is under a unit that stands elsewhere. */
enum log_columns_answer log_table_meaning(const struct log_table_column *column, const char *unit,
                                          struct log_columns_meaning *meaning);

/* Whether a column tells time. */
bool log_table_is_time(const struct log_table_column *column);

/* Words of a switch, as on and off. False if it is none. */
bool log_table_switch(const char *word, double *value);

#endif
