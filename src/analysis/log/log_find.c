#include "analysis/log/log_find.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* ---- Columns of the log ---- */

static void take_meaning(struct log_text_column *column, const struct log_columns_meaning *meaning) {
  column->channel = (int)meaning->channel;
  column->own = meaning->own;
  column->assumed = meaning->assumed;
  snprintf(column->unit, sizeof column->unit, "%s", meaning->unit);
  column->factor = meaning->factor;
  column->offset = meaning->offset;
  column->least = meaning->least;
  column->most = meaning->most;
  column->lowest = meaning->lowest;
  column->highest = meaning->highest;
}

/* What a cell with a comma or point in the wrong place may be. */
static void say_open(struct log_reader *reader, const struct log_table_column *column) {
  double point = 0.0, comma = 0.0;
  (void)log_number_read(column->example, '.', &point);
  (void)log_number_read(column->example, ',', &comma);
  log_reader_note(reader,
                  "column '%s' left out: %s may be %.10g or %.10g, and nothing shows which; write it so that it can be only one",
                  column->name, column->example, point, comma);
}

/* Notes why a column that is understood cannot serve; false if it can. A run may have nothing in a channel. */
static bool is_useless(struct log_reader *reader, const struct log_table_column *column) {
  const bool time = log_table_is_time(column), on_off = column->meaning.quantity == COLUMN_UNITS_SWITCH ||
                                                        column->meaning.channel == CHANNEL_air_conditioning ||
                                                        column->meaning.channel == CHANNEL_drive;
  const size_t either = column->shapes[LOG_NUMBER_EITHER_COMMA] + column->shapes[LOG_NUMBER_EITHER_POINT];
  const size_t good = column->numbers + (time ? column->clocks : 0) + (on_off ? column->switches : 0);
  const size_t words = column->words + column->untold + (time ? 0 : column->clocks) + (on_off ? 0 : column->switches);
  if (reader->table.row_count == 0) return false;
  if (time && column->untold > good)
    log_reader_note(reader,
                    "column '%s' left out: times such as 12:34 may be hours and minutes or minutes and seconds; write 00:12:34",
                    column->name);
  else if (words > good)
    log_reader_note(reader, "column '%s' left out: it has words instead of numbers", column->name);
  else if (good == 0 && !column->meaning.own)
    log_reader_note(reader, "column '%s' left out: it is empty", column->name);
  else if (column->open && either == column->numbers)
    say_open(reader, column);
  else
    return false;
  return true;
}

static void say_units(struct log_reader *reader, const char *name, enum log_columns_answer answer,
                      const struct log_columns_meaning *meaning, const char *elsewhere) {
  if (answer == LOG_COLUMNS_BAD_UNIT)
    log_reader_note(reader, "column '%s' left out: its unit '%s' is not understood; understood: %s", name, meaning->unit,
                    meaning->units);
  else
    log_reader_note(reader, "column '%s' left out: its name says %s, and elsewhere its unit is '%s'", name,
                    meaning->unit[0] ? meaning->unit : "another unit", elsewhere);
}

/* Sets what the column gives, or notes why it gives nothing. False if its name is not known at all. */
static bool map_column(struct log_reader *reader, size_t index) {
  const struct log_table_column *source = &reader->table.columns[index];
  const struct log_columns_meaning *meaning = &source->meaning;
  struct log_text_column *column = &reader->log->columns[index];
  if (source->answer == LOG_COLUMNS_UNKNOWN) return source->role != LOG_COLUMNS_NONE;
  if (source->answer == LOG_COLUMNS_UNUSED) return true;
  if (source->answer != LOG_COLUMNS_KNOWN) {
    say_units(reader, source->name, source->answer, meaning, source->unit);
    return true;
  }
  const bool time = meaning->channel == CHANNEL_time_s;
  const struct log_text_column *rival = time ? NULL : log_text_column_of(reader->log, meaning->channel);
  if (is_useless(reader, source)) return true;
  if (rival)
    log_reader_note(reader, "column '%s' left out: '%s' already gives %s", source->name, rival->name,
                    channel_rows[meaning->channel].name);
  else
    take_meaning(column, meaning);
  if (!rival && meaning->remark)
    log_reader_note(reader, "column '%s' taken as %s: %s", source->name, channel_rows[meaning->channel].name, meaning->remark);
  return true;
}

static void list_columns(struct log_reader *reader, const char *what, const bool *listed, bool with_hints) {
  size_t count = 0, shown = 0;
  for (size_t i = 0; i < reader->table.column_count; i++) count += listed[i];
  if (count == 0) return;
  log_said_add(&reader->notes, "%s: %zu column%s %s:", reader->name, count, count == 1 ? "" : "s", what);
  for (size_t i = 0; i < reader->table.column_count; i++) {
    const char *name = reader->table.columns[i].name;
    const char *near = listed[i] && with_hints && strlen(name) < 200 ? log_columns_near(name) : NULL;
    if (!listed[i]) continue;
    if (*name)
      log_said_add(&reader->notes, "%s '%s'", shown++ ? "," : "", name);
    else
      log_said_add(&reader->notes, "%s the %zu. (no name)", shown++ ? "," : "", i + 1);
    if (near) log_said_add(&reader->notes, " (did you mean '%s'?)", near);
  }
  log_said_add(&reader->notes, "\n");
}

static bool tells_time(const struct log_reader *reader, size_t column) {
  return reader->log->columns[column].channel == CHANNEL_time_s;
}

static size_t first_of_role(const struct log_reader *reader, enum log_columns_role role) {
  for (size_t i = 0; i < reader->table.column_count; i++)
    if (reader->table.columns[i].role == role) return i;
  return LOG_READER_NONE;
}

/* The columns name and value, if no other column has a signal. Of the times the group is the first one. */
static void find_long(struct log_reader *reader) {
  const size_t name = first_of_role(reader, LOG_COLUMNS_NAME), value = first_of_role(reader, LOG_COLUMNS_VALUE);
  size_t signals = 0;
  for (size_t i = 0; i < reader->log->column_count; i++)
    signals += reader->log->columns[i].channel >= 0 && !tells_time(reader, i);
  reader->is_long = name != LOG_READER_NONE && value != LOG_READER_NONE && signals == 0;
  reader->name_column = name;
  reader->value_column = value;
  reader->unit_column = first_of_role(reader, LOG_COLUMNS_UNIT);
}

static enum status map_columns(struct log_reader *reader) {
  struct log_text *log = reader->log;
  const struct log_table *table = &reader->table;
  bool *unknown = calloc(2 * table->column_count, sizeof *unknown), *unused = unknown ? unknown + table->column_count : NULL;
  log->columns = calloc(table->column_count, sizeof *log->columns);
  if (!unknown || !log->columns) {
    free(unknown);
    return log_reader_no_memory(reader);
  }
  log->own = true;
  for (size_t i = 0; i < table->column_count; i++) {
    log->columns[i].channel = -1;
    log->columns[i].name = strdup(table->columns[i].name);
    if (!log->columns[i].name) break;
    log->column_count++;
    unknown[i] = !map_column(reader, i);
    unused[i] = table->columns[i].answer == LOG_COLUMNS_UNUSED && !table->columns[i].mapped;
    log->own &= channel_find(table->columns[i].name) >= 0;
  }
  find_long(reader);
  for (size_t i = 0; i < log->column_count && !reader->is_long; i++)
    unknown[i] |= table->columns[i].role == LOG_COLUMNS_NAME || table->columns[i].role == LOG_COLUMNS_VALUE;
  list_columns(reader, "not understood and left out", unknown, true);
  list_columns(reader, "known but not used here", unused, false);
  free(unknown);
  return log->column_count == table->column_count ? STATUS_OK : log_reader_no_memory(reader);
}

/* ---- Times ---- */

static bool by_clock(const struct log_reader *reader, size_t column) {
  return reader->table.columns[column].clocks > reader->table.columns[column].numbers;
}

static size_t first_time(const struct log_reader *reader) {
  for (size_t i = 0; i < reader->table.column_count; i++)
    if (tells_time(reader, i)) return i;
  return LOG_READER_NONE;
}

static void leave_out_time(struct log_reader *reader, size_t column, size_t rival) {
  log_reader_note(reader, "column '%s' left out: '%s' already gives time_s", reader->table.columns[column].name,
                  reader->table.columns[rival].name);
  reader->log->columns[column].channel = -1;
}

/* Columns of time with signals between them give each its own; but clocks and seconds of one log cannot be laid beside each other, and
 * of two columns side by side, or of one that no signal belongs to, the first serves for all. */
static void leave_out_times(struct log_reader *reader) {
  const size_t first = first_time(reader);
  const struct log_text_column *columns = reader->log->columns;
  size_t last = first, signals = 0, before = 0;
  for (size_t i = 0; i < first && first != LOG_READER_NONE; i++) before += columns[i].channel >= 0;
  for (size_t i = first == LOG_READER_NONE ? reader->table.column_count : first + 1; i < reader->table.column_count; i++) {
    if (!tells_time(reader, i)) {
      signals += columns[i].channel >= 0;
      continue;
    }
    bool behind = before > 0;
    for (size_t k = i + 1; k < reader->table.column_count && !behind && !tells_time(reader, k); k++)
      behind = columns[k].channel >= 0;
    if (signals == 0 || !behind || by_clock(reader, i) != by_clock(reader, first)) {
      leave_out_time(reader, i, signals == 0 ? last : first);
    } else {
      last = i;
      signals = 0;
    }
  }
}

static struct log_group *add_group(struct log_reader *reader, enum log_reader_clock clock, size_t time_column) {
  struct log_group *groups = realloc(reader->groups, (reader->group_count + 1) * sizeof *groups);
  if (!groups) return NULL;
  reader->groups = groups;
  struct log_group *group = &groups[reader->group_count++];
  *group = (struct log_group){.clock = clock, .time_column = time_column, .last_s = -1e300};
  return group;
}

static void add_source(struct log_reader *reader, struct log_group *group, size_t column, size_t told, size_t unit_column) {
  const struct log_text_column *of = &reader->log->columns[told];
  struct log_source *source = &group->sources[group->source_count++];
  *source = (struct log_source){
      .column = column, .unit_column = unit_column, .told = told, .factor = of->factor, .offset = of->offset, .understood = true};
}

static void tell_time(struct log_text_column *column, enum log_reader_clock clock) {
  static const char *const units[] = {[LOG_READER_DAY] = "clock", [LOG_READER_RUN] = "s", [LOG_READER_SAMPLE] = "rows"};
  column->channel = CHANNEL_time_s;
  column->assumed = false;
  snprintf(column->unit, sizeof column->unit, "%s", units[clock]);
}

/* Adds the signals between two columns. */
static void add_sources(struct log_reader *reader, struct log_group *group, size_t from, size_t to) {
  for (size_t i = from; i < to; i++) {
    if (reader->log->columns[i].channel < 0 || tells_time(reader, i)) continue;
    const bool units = i + 1 < reader->table.column_count && reader->table.columns[i + 1].role == LOG_COLUMNS_UNIT;
    add_source(reader, group, i, i, units ? i + 1 : LOG_READER_NONE);
  }
}

static enum status group_by_times(struct log_reader *reader) {
  const size_t first = first_time(reader), end = reader->table.column_count;
  size_t times = 0, begin = 0;
  bool ahead = false; // times stand before their signals
  for (size_t i = 0; i < end; i++) times += tells_time(reader, i);
  for (size_t i = 0; i < first && times > 1; i++) ahead |= reader->log->columns[i].channel >= 0;
  ahead = !ahead;
  for (size_t i = first; i < end; i++) {
    if (!tells_time(reader, i)) continue;
    struct log_group *group = add_group(reader, by_clock(reader, i) ? LOG_READER_DAY : LOG_READER_NUMBER, i);
    if (!group) return log_reader_no_memory(reader);
    if (group->clock == LOG_READER_DAY) tell_time(&reader->log->columns[i], group->clock);
    size_t to = i + 1;
    while (to < end && !tells_time(reader, to)) to++;
    if (times == 1)
      add_sources(reader, group, 0, end);
    else if (ahead)
      add_sources(reader, group, i, to);
    else
      add_sources(reader, group, begin, i);
    begin = i;
  }
  return STATUS_OK;
}

/* The run time of the engine, a count of rows, or our own, when no column tells the time. */
static enum status group_otherwise(struct log_reader *reader) {
  const size_t run = first_of_role(reader, LOG_COLUMNS_RUN_TIME), sample = first_of_role(reader, LOG_COLUMNS_SAMPLE);
  struct log_group *group = NULL;
  if (run != LOG_READER_NONE && reader->table.columns[run].numbers + reader->table.columns[run].clocks > 0)
    group = add_group(reader, by_clock(reader, run) ? LOG_READER_DAY : LOG_READER_RUN, run);
  else if (reader->rate_hz > 0.0)
    group = add_group(reader, sample == LOG_READER_NONE ? LOG_READER_COUNT : LOG_READER_SAMPLE, sample);
  else
    return STATUS_OK;
  if (!group) return log_reader_no_memory(reader);
  if (group->clock == LOG_READER_COUNT)
    log_reader_note(reader, "no column gives the time: rows counted at %.10g per second", reader->rate_hz);
  add_sources(reader, group, 0, reader->table.column_count);
  if (group->clock != LOG_READER_COUNT) tell_time(&reader->log->columns[group->time_column], group->clock);
  return STATUS_OK;
}

/* ---- Names in the rows ---- */

size_t log_find_named(struct log_reader *reader, const char *name, const char *unit) {
  struct log_text *log = reader->log;
  struct log_text_column *columns = realloc(log->columns, (log->column_count + 1) * sizeof *columns);
  if (!columns) return LOG_READER_NONE;
  log->columns = columns;
  struct log_text_column *column = &columns[log->column_count];
  *column = (struct log_text_column){.name = strdup(name), .channel = -1};
  if (!column->name) return LOG_READER_NONE;
  const size_t index = log->column_count++;
  struct log_table_column asked = {.name = column->name, .mapped = log_map_find(reader->map, name)};
  struct log_columns_meaning meaning;
  enum log_columns_answer answer = log_table_meaning(&asked, unit, &meaning);
  if (answer != LOG_COLUMNS_KNOWN && *unit) answer = log_table_meaning(&asked, "", &meaning); // its rows say what is wrong
  if (answer != LOG_COLUMNS_KNOWN || meaning.channel == CHANNEL_time_s) return index;
  const struct log_text_column *rival = log_text_column_of(log, meaning.channel);
  if (rival) {
    log_reader_note(reader, "'%s' left out: '%s' already gives %s", name, rival->name, channel_rows[meaning.channel].name);
    return index;
  }
  struct log_group *group = add_group(reader, reader->groups[0].clock, reader->groups[0].time_column);
  if (!group) return LOG_READER_NONE;
  take_meaning(column, &meaning);
  if (meaning.remark) log_reader_note(reader, "'%s' taken as %s: %s", name, channel_rows[meaning.channel].name, meaning.remark);
  add_source(reader, group, reader->value_column, index, reader->unit_column);
  return index;
}

/* ---- The whole ---- */

/* The notes so far, as lines of the error: they say why a column that is there does not count. */
static void append_notes(struct log_reader *reader) {
  for (const char *at = reader->notes.text; at && *at;) {
    const int size = (int)strcspn(at, "\n");
    (void)error_append(reader->error, STATUS_BAD_DATA, "%.*s", size, at);
    at += size + (at[size] == '\n');
  }
}

static enum status complain(struct log_reader *reader, bool has_time) {
  char names[LOG_COLUMNS_TEXT_SIZE];
  const size_t line = reader->table.header_line, sample = first_of_role(reader, LOG_COLUMNS_SAMPLE);
  append_notes(reader);
  log_columns_list(has_time ? CHANNEL_speed_rpm : CHANNEL_time_s, names);
  if (!has_time && sample != LOG_READER_NONE)
    return error_append(reader->error, STATUS_BAD_DATA,
                        "%s:%zu: '%s' counts the rows, and nothing says how many there are per second: give it with --rate HZ",
                        reader->name, line, reader->table.columns[sample].name);
  if (!has_time)
    return error_append(reader->error, STATUS_BAD_DATA,
                        "%s:%zu: no column of numbers has the time; name it %s or time_s, with its unit as in 'Time (ms)', or "
                        "give the rows per second with --rate HZ",
                        reader->name, line, names);
  return error_append(reader->error, STATUS_BAD_DATA,
                      "%s:%zu: no column but the time is understood; engine speed, for example, is %s or speed_rpm, and --map "
                      "'HEADER=speed_rpm' says which column it is",
                      reader->name, line, names);
}

enum status log_find_signals(struct log_reader *reader) {
  enum status status = map_columns(reader);
  if (status != STATUS_OK) return status;
  leave_out_times(reader);
  status = first_time(reader) == LOG_READER_NONE ? group_otherwise(reader) : group_by_times(reader);
  if (status != STATUS_OK) return status;
  size_t signals = reader->is_long;
  for (size_t i = 0; i < reader->group_count; i++) signals += reader->groups[i].source_count;
  return reader->group_count > 0 && signals > 0 ? STATUS_OK : complain(reader, reader->group_count > 0);
}
