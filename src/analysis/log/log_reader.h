/* The reading of one log, between the files of this room; for others: log_text.h. */
#ifndef ANALYSIS_LOG_LOG_READER_H
#define ANALYSIS_LOG_LOG_READER_H

#include "analysis/log/log.h"
#include "analysis/log/log_table.h"

#include <stdint.h>

#define LOG_READER_NONE SIZE_MAX

enum log_reader_clock {
  LOG_READER_NUMBER, // seconds or the like
  LOG_READER_DAY,    // a clock's
  LOG_READER_RUN,    // run time of the engine: begins again with each start
  LOG_READER_SAMPLE, // a count of rows, at the rate
  LOG_READER_COUNT   // nothing: rows are counted here
};

/* A signal: where its values stand, and what makes them those of the channel. */
struct log_source {
  size_t column;      // of the table
  size_t unit_column; // whose cells name its unit; LOG_READER_NONE
  size_t told;        // its column of the log
  double factor, offset;
  char unit[LOG_COLUMNS_UNIT_SIZE]; // of the last row, where there is a column of units
  bool understood, changes;         // the unit of the last row; units differ from row to row
};

/* Signals that share a time. */
struct log_group {
  enum log_reader_clock clock;
  size_t time_column; // of the table
  size_t source_count;
  struct log_source sources[CHANNEL_COUNT];
  size_t count, room;
  double *times, *values; // values: source_count a row
  size_t *lines;
  double ahead_s, last_s; // what is added to a clock that began again; what it last showed
  bool past_noon_told;    // an hour of 0 or above 12 was seen: no clock of twelve hours
  size_t midnights, restarts, again_line;
};

struct log_reader {
  const char *name;
  struct log_text *log;
  struct log_table table;
  struct log_said notes;
  struct error *error;
  const struct log_map *map; // NULL: none
  double rate_hz;            // 0: not told
  bool is_long;              // time, name, value
  size_t name_column, value_column, unit_column;
  size_t group_count;
  struct log_group *groups; // owned
  size_t *lines;            // of the recording's rows; owned
  size_t short_count;       // rows shorter than the header
};

void log_reader_note(struct log_reader *reader, const char *format, ...) PRINTF_LIKE(2, 3);
enum status log_reader_no_memory(struct log_reader *reader);

#endif
