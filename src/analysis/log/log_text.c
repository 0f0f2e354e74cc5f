#include "analysis/log/log_text.h"

#include "analysis/log/log_bytes.h"
#include "analysis/log/log_find.h"
#include "analysis/log/log_reader.h"
#include "analysis/log/log_rows.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define LONGEST_S 1e6 // eleven days; more is a time of another unit

/* ---- Values that are none ---- */

static bool beyond(const struct log_text_column *column, double value) {
  return value < column->lowest || value > column->highest;
}

/* Values that are no readings become nothing. Where most are beyond under a unit that was only assumed, it is the unit that is wrong, which
 * note_unit() says. */
static void leave_out_values(struct log_reader *reader, const struct log_text_column *column) {
  struct recording *recording = &reader->log->recording;
  size_t count = 0, values = 0;
  for (size_t row = 0; row < recording->row_count; row++) {
    const double value = recording_value(recording, row, (enum channel)column->channel);
    count += beyond(column, value);
    values += isnan(value) ? 0 : 1;
  }
  if (count == 0 || (column->assumed && 2 * count > values)) return;
  for (size_t row = 0; row < recording->row_count; row++) {
    double *value = &recording->values[row * CHANNEL_COUNT + (size_t)column->channel];
    if (!beyond(column, *value)) continue;
    log_said_fault(&reader->log->values, LOG_SAID_value, reader->lines[row], "%.40s: %.10g is not a reading", column->name,
                   (*value - column->offset) / column->factor);
    *value = NAN;
  }
}

static enum status check_rows(struct log_reader *reader) {
  const struct log_text *log = reader->log;
  if (log->row_count == 0) return error_set(reader->error, STATUS_BAD_DATA, "%s: has a header and no row below it", reader->name);
  if (log->recording.row_count > 0) return STATUS_OK;
  if (reader->is_long && reader->group_count == 1 && log->column_count > reader->table.column_count) {
    char names[LOG_COLUMNS_TEXT_SIZE];
    log_columns_list(CHANNEL_speed_rpm, names);
    return error_set(
        reader->error, STATUS_BAD_DATA,
        "%s: no reading in column '%s' is understood, not '%.40s' for instance; engine speed is %s or speed_rpm, and --map "
        "'NAME=speed_rpm' says that a name is it",
        reader->name, reader->table.columns[reader->name_column].name, log->columns[reader->table.column_count].name, names);
  }
  for (size_t i = 0; i < log->rows.shown; i++)
    (void)error_append(reader->error, STATUS_BAD_DATA, "%s:%zu: %s", reader->name, log->rows.items[i].line,
                       log->rows.items[i].text);
  return error_append(reader->error, STATUS_BAD_DATA, "%s: none of its %zu rows can be used", reader->name, log->row_count);
}

/* ---- Time ---- */

/* A log may count from 1970 or from before its trigger; that of a recording begins near zero. */
static enum status place_time(struct log_reader *reader) {
  struct recording *recording = &reader->log->recording;
  const double start_s = recording_value(recording, 0, CHANNEL_time_s);
  const double end_s = recording_value(recording, recording->row_count - 1, CHANNEL_time_s);
  const struct log_group *group = &reader->groups[0];
  const bool clock = group->clock == LOG_READER_DAY;
  if (end_s - start_s > LONGEST_S && clock)
    return error_set(reader->error, STATUS_BAD_DATA, "%s: the log covers %.0f days by its clock, so it is not a log of one drive",
                     reader->name, (end_s - start_s) / 86400.0);
  if (end_s - start_s > LONGEST_S)
    return error_set(
        reader->error, STATUS_BAD_DATA,
        "%s: column '%s' covers %.3g s, which is %.0f days; if it is not in %s, name its unit in the header, as in 'Time (ms)'",
        reader->name, group->clock == LOG_READER_COUNT ? "time" : reader->table.columns[group->time_column].name, end_s - start_s,
        (end_s - start_s) / 86400.0, group->clock == LOG_READER_NUMBER ? reader->log->columns[group->time_column].unit : "s");
  if (!clock && start_s >= 0.0 && end_s <= LONGEST_S) return STATUS_OK;
  if (!clock) log_reader_note(reader, "time counted from the first row, which is at %.10g s", start_s);
  for (size_t row = 0; row < recording->row_count; row++) recording->values[row * CHANNEL_COUNT + CHANNEL_time_s] -= start_s;
  return STATUS_OK;
}

/* ---- Notes on what was assumed and left out ---- */

/* A unit that was assumed, and whether the values speak against it. */
static void note_unit(struct log_reader *reader, const struct log_text_column *column) {
  const struct recording *recording = &reader->log->recording;
  double least = INFINITY, most = -INFINITY;
  if (!column->assumed) return;
  for (size_t row = 0; row < recording->row_count; row++) {
    const double value = recording_value(recording, row, (enum channel)column->channel);
    least = fmin(least, isnan(value) ? INFINITY : value);
    most = fmax(most, isnan(value) ? -INFINITY : value);
  }
  if (least < column->least || most > column->most)
    log_reader_note(reader,
                    "column '%s' taken as %s, but its values from %.4g to %.4g make that unlikely: write the unit into the "
                    "header, as in '%s (%s)'",
                    column->name, column->unit, least, most, column->name, column->unit);
  else
    log_reader_note(reader, "column '%s' taken as %s", column->name, column->unit);
}

static void note_head(struct log_reader *reader) {
  const struct log_table *table = &reader->table;
  if (table->passed_count > 0)
    log_reader_note(reader, "the header is line %zu; %zu line%s above it skipped", table->header_line, table->passed_count,
                    table->passed_count == 1 ? "" : "s");
  if (table->units_line > 0) log_reader_note(reader, "units taken from line %zu", table->units_line);
}

static void note_times(struct log_reader *reader) {
  for (size_t i = 0; i < reader->group_count; i++) {
    const struct log_group *group = &reader->groups[i];
    if (group->midnights > 0) log_reader_note(reader, "the clock passes midnight before line %zu", group->again_line);
    if (group->restarts > 0)
      log_reader_note(
          reader,
          "the run time of the engine begins again in line %zu: counted on, because the log does not show how long it stood",
          group->again_line);
    if (group->midnights + group->restarts > 0) break; // the others say the same
  }
  if (reader->groups[0].clock == LOG_READER_SAMPLE)
    log_reader_note(reader, "'%s' counts the rows, %.10g per second", reader->table.columns[reader->groups[0].time_column].name,
                    reader->rate_hz);
}

/* Numbers that could be read in two ways, and which was taken. */
static void note_marks(struct log_reader *reader) {
  for (size_t i = 0; i < reader->table.column_count; i++) {
    const struct log_table_column *column = &reader->table.columns[i];
    double value;
    const bool used = reader->log->columns[i].channel >= 0 || (reader->is_long && i == reader->value_column);
    if (!used || column->open || !column->example[0] || !strchr(column->example, column->mark == '.' ? ',' : '.')) continue;
    if (log_number_read(column->example, column->mark, &value))
      log_reader_note(reader, "column '%s': thousands are separated, %s read as %.10g", column->name, column->example, value);
  }
}

static void note_changes(struct log_reader *reader) {
  for (size_t i = 0; i < reader->group_count; i++)
    for (size_t k = 0; k < reader->groups[i].source_count; k++)
      if (reader->groups[i].sources[k].changes)
        log_reader_note(reader, "'%s': its unit changes from row to row; each row was read in its own unit",
                        reader->log->columns[reader->groups[i].sources[k].told].name);
}

/* Readings of a column of names that are not understood. */
static void note_named(struct log_reader *reader) {
  size_t count = 0;
  if (!reader->is_long) return;
  for (size_t i = reader->table.column_count; i < reader->log->column_count; i++) count += reader->log->columns[i].channel < 0;
  if (count == 0) return;
  log_said_add(&reader->notes, "%s: %zu reading%s not understood or not used here:", reader->name, count, count == 1 ? "" : "s");
  size_t shown = 0;
  for (size_t i = reader->table.column_count; i < reader->log->column_count; i++)
    if (reader->log->columns[i].channel < 0)
      log_said_add(&reader->notes, "%s '%s'", shown++ ? "," : "", reader->log->columns[i].name);
  log_said_add(&reader->notes, "\n");
}

static void note_rows(struct log_reader *reader) {
  const struct log_text *log = reader->log;
  for (size_t i = 0; i < log->rows.shown; i++)
    log_said_add(&reader->notes, "%s:%zu: row left out: %s\n", reader->name, log->rows.items[i].line, log->rows.items[i].text);
  for (size_t i = 0; i < log->values.shown; i++)
    log_said_add(&reader->notes, "%s:%zu: value left out: %s\n", reader->name, log->values.items[i].line,
                 log->values.items[i].text);
  if (log->values.count > log->values.shown) log_reader_note(reader, "%zu values left out in all", log->values.count);
  if (reader->short_count > 0 && reader->short_count < log->row_count)
    log_reader_note(reader, "%zu of %zu rows are shorter than the header; they were read as far as they go", reader->short_count,
                    log->row_count);
  else if (reader->short_count > 0)
    log_reader_note(reader, "all rows are shorter than the header; they were read as far as they go");
  if (log->rows.count == 0) return;
  log_said_add(&reader->notes, "%s: %zu of %zu rows left out", reader->name, log->rows.count, log->row_count);
  if (log->rows.shown > 0) log_said_add(&reader->notes, ", first at line %zu", log->rows.items[0].line);
  size_t shown = 0;
  for (size_t i = 0; i < LOG_SAID_REASON_COUNT; i++)
    if (log->rows.reasons[i] > 0)
      log_said_add(&reader->notes, "%s %zu %s", shown++ ? "," : ":", log->rows.reasons[i], log_said_reasons[i]);
  log_said_add(&reader->notes, "\n");
}

static void note_all(struct log_reader *reader) {
  const struct log_text *log = reader->log;
  note_head(reader);
  for (size_t i = 0; i < log->column_count; i++)
    if (log->columns[i].channel >= 0) note_unit(reader, &log->columns[i]);
  note_times(reader);
  note_marks(reader);
  note_changes(reader);
  note_named(reader);
  note_rows(reader);
}

/* ---- The whole ---- */

static enum status read_rows(struct log_reader *reader) {
  struct log_text *log = reader->log;
  log->row_count = reader->table.row_count;
  enum status status = log_rows_read(reader);
  if (status == STATUS_OK) status = log_rows_join(reader);
  if (status == STATUS_OK) status = check_rows(reader);
  if (status != STATUS_OK) return status;
  for (size_t i = 0; i < log->column_count; i++)
    if (log->columns[i].channel >= 0 && log->columns[i].channel != CHANNEL_time_s) leave_out_values(reader, &log->columns[i]);
  return place_time(reader);
}

static enum status read_table(struct log_reader *reader, const struct log_bytes *bytes, const struct log_text_setting *setting) {
  reader->map = setting ? setting->map : NULL;
  enum status status = log_table_find(reader->name, bytes->text, bytes->size, reader->map, &reader->table, reader->error);
  if (status != STATUS_OK) return status;
  reader->rate_hz = setting && setting->rate_hz > 0.0 ? setting->rate_hz : reader->table.rate_hz;
  status = log_table_survey(reader->name, &reader->table, reader->error);
  if (status == STATUS_OK) status = log_find_signals(reader);
  if (status == STATUS_OK) status = read_rows(reader);
  if (status != STATUS_OK) return status;
  const enum log_reader_clock clock = reader->groups[0].clock;
  if (setting && setting->rate_hz > 0.0 && clock != LOG_READER_SAMPLE && clock != LOG_READER_COUNT)
    log_reader_note(reader, "the rate of %.10g rows per second is not used: column '%s' gives the time", setting->rate_hz,
                    reader->table.columns[reader->groups[0].time_column].name);
  note_all(reader);
  return STATUS_OK;
}

enum status log_text_read(const char *name, const void *bytes, size_t size, const struct log_text_setting *setting,
                          struct log_text *log, struct error *error) {
  struct log_bytes text;
  *log = (struct log_text){0};
  recording_init(&log->recording);
  struct log_reader reader = {.name = name, .log = log, .error = error};
  enum status status = log_bytes_read(name, bytes, size, &text, error);
  if (status == STATUS_OK) status = read_table(&reader, &text, setting);
  if (status == STATUS_OK && reader.notes.failed) status = log_reader_no_memory(&reader);
  log->notes = reader.notes.text;
  log_bytes_destroy(&text);
  log_table_destroy(&reader.table);
  for (size_t i = 0; i < reader.group_count; i++) {
    free(reader.groups[i].times);
    free(reader.groups[i].values);
    free(reader.groups[i].lines);
  }
  free(reader.groups);
  free(reader.lines);
  return status;
}

/* Whether a column tells time or counts rows, or, if rows are counted by their rate alone, is a signal. */
static bool shows_log(const struct log_table_column *column, bool rate) {
  const bool known = column->answer != LOG_COLUMNS_UNKNOWN && column->answer != LOG_COLUMNS_UNUSED;
  return (known && (rate || column->meaning.channel == CHANNEL_time_s)) || column->role == LOG_COLUMNS_RUN_TIME ||
         column->role == LOG_COLUMNS_SAMPLE;
}

bool log_text_is_log(const void *bytes, size_t size, const struct log_text_setting *setting) {
  struct log_bytes text;
  struct log_table table = {0};
  struct error error;
  bool found = false;
  error_clear(&error);
  if (log_bytes_read("", bytes, size, &text, &error) == STATUS_OK &&
      log_table_find("", text.text, text.size, setting ? setting->map : NULL, &table, &error) == STATUS_OK) {
    const bool rate = table.rate_hz > 0.0 || (setting && setting->rate_hz > 0.0);
    for (size_t i = 0; i < table.column_count; i++) found |= shows_log(&table.columns[i], rate);
  }
  log_table_destroy(&table);
  log_bytes_destroy(&text);
  return found;
}
