#include "analysis/log/log_rows.h"

#include "analysis/log/log_find.h"
#include "analysis/log/log_time.h"
#include "base/number.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { NAMED_MOST = 1024, VALUES_FIRST = 64 };

/* ---- Values ---- */

enum found { EMPTY, GOOD, BAD };

/* Why a cell is no value. */
struct problem {
  const char *name; // of the column
  const struct log_table_column *column;
  const char *cell, *unit;
  enum log_columns_answer answer; // of the unit
};

static void describe(const struct problem *problem, char text[CSV_TABLE_TEXT_SIZE]) {
  double point, comma;
  if (problem->answer != LOG_COLUMNS_KNOWN)
    snprintf(text, CSV_TABLE_TEXT_SIZE, "%.60s: the unit '%.24s' of this row is not understood, or not that of the name",
             problem->name, problem->unit);
  else if (problem->column->open && log_number_read(problem->cell, '.', &point) && log_number_read(problem->cell, ',', &comma))
    snprintf(text, CSV_TABLE_TEXT_SIZE, "%.60s: \"%.30s\" may be %.10g or %.10g", problem->name, problem->cell, point, comma);
  else if (log_number_shape(problem->cell) != LOG_NUMBER_NONE)
    snprintf(text, CSV_TABLE_TEXT_SIZE, "%.60s: \"%.30s\" is not a number if '%c' is the decimal mark", problem->name,
             problem->cell, problem->column->mark);
  else
    snprintf(text, CSV_TABLE_TEXT_SIZE, "%.60s: \"%.30s\" is not a number", problem->name, problem->cell);
}

static bool is_switch(const struct log_text_column *column) {
  return column->channel == CHANNEL_air_conditioning || column->channel == CHANNEL_drive;
}

static enum found read_value(const struct log_table_column *column, bool on_off, const char *cell, double *value) {
  if (*cell == '\0') return EMPTY;
  if (log_number_read(cell, column->mark, value)) {
    if (!column->open) return GOOD;
    const enum log_number_shape shape = log_number_shape(cell);
    return shape == LOG_NUMBER_EITHER_COMMA || shape == LOG_NUMBER_EITHER_POINT ? BAD : GOOD;
  }
  return on_off && log_table_switch(cell, value) ? GOOD : BAD;
}

/* What the unit in this row makes of the source. */
static bool take_unit(struct log_reader *reader, struct log_source *source, const char *unit, struct problem *problem) {
  if (strncmp(source->unit, unit, sizeof source->unit) == 0 && (source->unit[0] || *unit == '\0')) return source->understood;
  struct log_text_column *told = &reader->log->columns[source->told];
  struct log_table_column asked = {.name = told->name, .mapped = log_map_find(reader->map, told->name)};
  struct log_columns_meaning meaning;
  problem->answer = strlen(unit) < sizeof source->unit ? log_table_meaning(&asked, unit, &meaning) : LOG_COLUMNS_BAD_UNIT;
  source->understood = problem->answer == LOG_COLUMNS_KNOWN;
  source->changes |= source->unit[0] && source->understood;
  snprintf(source->unit, sizeof source->unit, "%s", unit);
  if (!source->understood) return false;
  // set where the answer is KNOWN. NOLINTNEXTLINE(clang-analyzer-core.uninitialized.Assign)
  source->factor = meaning.factor;
  source->offset = meaning.offset;
  told->assumed = meaning.assumed;
  if (!source->changes) snprintf(told->unit, sizeof told->unit, "%s", meaning.unit);
  return true;
}

static const char *cell_of(const struct splitter *splitter, size_t column) {
  return column < splitter->cell_count ? splitter_cell(splitter, column, NULL) : "";
}

static enum found read_source(struct log_reader *reader, struct log_source *source, const struct splitter *splitter,
                              double *value, struct problem *problem) {
  const struct log_text_column *told = &reader->log->columns[source->told];
  const char *cell = cell_of(splitter, source->column);
  const struct log_table_column *column = &reader->table.columns[source->column];
  *problem = (struct problem){told->name, column, cell, "", LOG_COLUMNS_KNOWN};
  const enum found found = read_value(column, is_switch(told), cell, value);
  if (found != GOOD) return found;
  if (source->unit_column != LOG_READER_NONE) {
    problem->unit = cell_of(splitter, source->unit_column);
    problem->answer = LOG_COLUMNS_BAD_UNIT;
    if (!take_unit(reader, source, problem->unit, problem)) return BAD;
    problem->answer = LOG_COLUMNS_KNOWN;
  }
  *value = source->factor * *value + source->offset;
  return GOOD;
}

/* ---- Rows ---- */

static bool make_room(struct log_group *group) {
  if (group->count < group->room) return true;
  const size_t room = group->room ? 2 * group->room : VALUES_FIRST, width = group->source_count ? group->source_count : 1;
  double *times = reallocarray(group->times, room, sizeof *times);
  if (times) group->times = times;
  size_t *lines = reallocarray(group->lines, room, sizeof *lines);
  if (lines) group->lines = lines;
  double *values = reallocarray(group->values, room, width * sizeof *values);
  if (values) group->values = values;
  if (times && lines && values) group->room = room;
  return times && lines && values;
}

/* The time of a row, NaN if it has none; told: something stands there. */
static double time_of(struct log_reader *reader, struct log_group *group, const struct splitter *splitter, size_t index,
                      bool *told) {
  const double rate_hz = reader->rate_hz;
  *told = true;
  if (group->clock == LOG_READER_COUNT) return (double)index / rate_hz;
  const struct log_table_column *column = &reader->table.columns[group->time_column];
  const struct log_text_column *named = &reader->log->columns[group->time_column];
  const char *cell = cell_of(splitter, group->time_column);
  *told = *cell != '\0';
  if (!*told) return NAN;
  if (group->clock == LOG_READER_SAMPLE) return log_time_of(group, column, 1.0 / rate_hz, 0.0, cell, splitter->row_line);
  if (group->clock == LOG_READER_RUN) return log_time_of(group, column, 1.0, 0.0, cell, splitter->row_line);
  const double now_s = log_time_of(group, column, named->factor, named->offset, cell, splitter->row_line);
  if (group->clock != LOG_READER_NUMBER || (now_s >= named->lowest && now_s <= named->highest)) return now_s;
  if (!isnan(now_s))
    log_said_fault(&reader->log->values, LOG_SAID_value, splitter->row_line, "%.60s: %.30s is not a reading", column->name, cell);
  return NAN;
}

/* A row that has no time: in a log of one group it is left out; where signals have their own, it is a value. */
static void say_no_time(struct log_reader *reader, const struct log_group *group, const struct splitter *splitter, bool told) {
  const char *name = reader->table.columns[group->time_column].name, *cell = cell_of(splitter, group->time_column);
  struct log_faults *faults = reader->group_count == 1 || reader->is_long ? &reader->log->rows : &reader->log->values;
  if (told && log_number_shape(cell) == LOG_NUMBER_NONE)
    log_said_fault(faults, LOG_SAID_no_time, splitter->row_line, "\"%.30s\" in column '%.40s' is not a time", cell, name);
  else if (told)
    log_said_fault(faults, LOG_SAID_no_time, splitter->row_line, "no time in column '%.40s'", name);
  else
    log_said_fault(faults, LOG_SAID_no_time, splitter->row_line, "nothing in column '%.40s', which is the time", name);
}

static enum status take_group(struct log_reader *reader, struct log_group *group, const struct splitter *splitter, size_t index) {
  struct problem problem, problems[CHANNEL_COUNT];
  size_t good = 0, bad = 0;
  bool told;
  if (!make_room(group)) return log_reader_no_memory(reader);
  double *values = group->values + group->count * group->source_count;
  for (size_t i = 0; i < group->source_count; i++) {
    values[i] = NAN;
    const enum found found = read_source(reader, &group->sources[i], splitter, &values[i], &problem);
    good += found == GOOD;
    if (found != BAD) continue;
    values[i] = NAN;
    problems[bad++] = problem;
  }
  const double now_s = time_of(reader, group, splitter, index, &told);
  if (good + bad == 0 && !told && reader->group_count > 1) return STATUS_OK; // its signals have ended
  char text[CSV_TABLE_TEXT_SIZE];
  if (isnan(now_s)) {
    say_no_time(reader, group, splitter, told);
    return STATUS_OK;
  }
  const bool lost = good == 0 && bad > 0 && reader->group_count == 1;
  for (size_t i = 0; i < (lost ? 1 : bad); i++) {
    describe(&problems[i], text);
    log_said_fault(lost ? &reader->log->rows : &reader->log->values, lost ? LOG_SAID_words : LOG_SAID_value, splitter->row_line,
                   "%s", text);
  }
  if (lost || (good == 0 && reader->group_count > 1)) return STATUS_OK;
  group->times[group->count] = now_s;
  group->lines[group->count++] = splitter->row_line;
  return STATUS_OK;
}

/* ---- A reading by its name ---- */

static size_t named(struct log_reader *reader, const char *name, const char *unit) {
  const struct log_text *log = reader->log;
  for (size_t i = reader->table.column_count; i < log->column_count; i++)
    if (strcmp(log->columns[i].name, name) == 0) return i;
  return log->column_count < reader->table.column_count + NAMED_MOST ? log_find_named(reader, name, unit)
                                                                     : reader->table.column_count;
}

static enum status take_named(struct log_reader *reader, const struct splitter *splitter, size_t index) {
  const char *name = cell_of(splitter, reader->name_column);
  const char *unit = reader->unit_column == LOG_READER_NONE ? "" : cell_of(splitter, reader->unit_column);
  const size_t column = named(reader, name, unit);
  struct problem problem;
  bool told;
  if (column == LOG_READER_NONE) return log_reader_no_memory(reader);
  struct log_group *group = NULL;
  for (size_t i = 1; i < reader->group_count; i++)
    if (reader->groups[i].sources[0].told == column) group = &reader->groups[i];
  if (!group) return STATUS_OK; // as a column that is not understood
  if (!make_room(group)) return log_reader_no_memory(reader);
  const double now_s = time_of(reader, group, splitter, index, &told);
  const enum found found = read_source(reader, &group->sources[0], splitter, &group->values[group->count], &problem);
  char text[CSV_TABLE_TEXT_SIZE] = "nothing in it";
  if (found == BAD) describe(&problem, text);
  if (isnan(now_s)) {
    say_no_time(reader, group, splitter, told);
  } else if (found != GOOD) {
    log_said_fault(&reader->log->rows, LOG_SAID_words, splitter->row_line, "%s", text);
  } else {
    group->times[group->count] = now_s;
    group->lines[group->count++] = splitter->row_line;
  }
  return STATUS_OK;
}

/* ---- All rows ---- */

/* Two cells that may be one number: 1 and 234 of 1,234. */
static void hint_at_parts(const struct splitter *splitter, char *hint, size_t size) {
  for (size_t i = 0; i + 1 < splitter->cell_count && splitter->delimiter == ','; i++) {
    char whole[32], plain[32];
    const int length =
        snprintf(whole, sizeof whole, "%s,%s", splitter_cell(splitter, i, NULL), splitter_cell(splitter, i + 1, NULL));
    if (length < 0 || length >= (int)sizeof whole || !number_grouped(whole, plain, sizeof plain)) continue;
    snprintf(hint, size, "; if %.20s is one number, write %.20s", whole, plain);
    return;
  }
}

static enum status take_row(struct log_reader *reader, struct splitter *splitter, size_t index) {
  const size_t wanted = reader->table.column_count;
  while (splitter->cell_count > wanted && splitter_cell(splitter, splitter->cell_count - 1, NULL)[0] == '\0')
    splitter->cell_count--;
  if (splitter->cell_count > wanted) {
    char hint[96] = "";
    hint_at_parts(splitter, hint, sizeof hint);
    log_said_fault(&reader->log->rows, LOG_SAID_cells, splitter->row_line, "%zu cells, the header has %zu%s",
                   splitter->cell_count, wanted, hint);
    return STATUS_OK;
  }
  reader->short_count += splitter->cell_count < wanted;
  if (reader->is_long) return take_named(reader, splitter, index);
  enum status status = STATUS_OK;
  for (size_t i = 0; i < reader->group_count && status == STATUS_OK; i++)
    status = take_group(reader, &reader->groups[i], splitter, index);
  return status;
}

enum status log_rows_read(struct log_reader *reader) {
  struct splitter splitter;
  enum status status = STATUS_OK;
  enum splitter_found found = SPLITTER_ROW;
  log_table_begin(&reader->table, &splitter);
  for (size_t index = 0; status == STATUS_OK && (found = splitter_next(&splitter)) != SPLITTER_END; index++) {
    if (found == SPLITTER_ROW)
      status = take_row(reader, &splitter, index);
    else if (found == SPLITTER_BAD_QUOTE)
      log_said_fault(&reader->log->rows, LOG_SAID_quote, splitter.row_line, "a quote in the wrong place");
    else
      status = log_reader_no_memory(reader); // an open quote was found by the survey
  }
  splitter_destroy(&splitter);
  for (size_t i = 0; status == STATUS_OK && i < reader->group_count; i++) log_time_settle(reader, &reader->groups[i]);
  return status;
}

/* ---- A recording ---- */

/* The earliest time that no group has passed; false if all have. */
static bool next_time(const struct log_reader *reader, const size_t *at, double *now_s) {
  *now_s = INFINITY;
  for (size_t i = 0; i < reader->group_count; i++)
    if (at[i] < reader->groups[i].count) *now_s = fmin(*now_s, reader->groups[i].times[at[i]]);
  return isfinite(*now_s);
}

static size_t count_times(const struct log_reader *reader, size_t *at) {
  size_t count = 0;
  if (reader->group_count == 1) return reader->groups[0].count;
  for (double now_s; next_time(reader, at, &now_s); count++)
    for (size_t i = 0; i < reader->group_count; i++)
      while (at[i] < reader->groups[i].count && reader->groups[i].times[at[i]] <= now_s) at[i]++;
  memset(at, 0, reader->group_count * sizeof *at);
  return count;
}

static void take(const struct log_reader *reader, const struct log_group *group, size_t row, double values[CHANNEL_COUNT]) {
  for (size_t i = 0; i < group->source_count; i++)
    values[reader->log->columns[group->sources[i].told].channel] = group->values[row * group->source_count + i];
}

static enum status join(struct log_reader *reader, size_t *at) {
  struct recording *recording = &reader->log->recording;
  const size_t count = count_times(reader, at);
  enum status status = recording_reserve(recording, count, reader->error);
  reader->lines = calloc(count + 1, sizeof *reader->lines);
  if (status != STATUS_OK || !reader->lines) return log_reader_no_memory(reader);
  double values[CHANNEL_COUNT];
  for (double now_s; status == STATUS_OK && next_time(reader, at, &now_s);) {
    for (size_t i = 0; i < CHANNEL_COUNT; i++) values[i] = NAN;
    values[CHANNEL_time_s] = now_s;
    for (size_t i = 0; i < reader->group_count; i++) {
      const struct log_group *group = &reader->groups[i];
      for (; at[i] < group->count && group->times[at[i]] <= now_s; at[i]++) {
        take(reader, group, at[i], values);
        reader->lines[recording->row_count] = group->lines[at[i]];
      }
    }
    status = recording_append(recording, values, reader->error);
  }
  return status;
}

enum status log_rows_join(struct log_reader *reader) {
  size_t *at = calloc(reader->group_count, sizeof *at);
  if (!at) return log_reader_no_memory(reader);
  const enum status status = join(reader, at);
  free(at);
  return status;
}
