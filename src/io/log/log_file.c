#include "io/log/log_file.h"

#include "io/report/events_file.h"
#include "sim/log_columns.h"

#include <math.h>
#include <stdarg.h>
#include <stdlib.h>
#include <string.h>

#define LONGEST_S 1e6 // eleven days; more is a time of another unit

struct reader {
  const char *path;
  struct csv_table table;
  struct log_file *log;
  FILE *notes;
  struct error *error;
  size_t time; // index of its column
};

static void PRINTF_LIKE(2, 3) note(struct reader *reader, const char *format, ...) {
  va_list values;
  fprintf(reader->notes, "%s: ", reader->path);
  va_start(values, format);
  vfprintf(reader->notes, format, values);
  va_end(values);
  fputc('\n', reader->notes);
}

/* ---- Columns ---- */

/* Why a column that is understood cannot serve; NULL if it can. A run may have nothing in a channel. */
static const char *useless(const struct csv_column *column, bool own) {
  if (column->is_text) return "has words instead of numbers";
  if (column->number_count == 0 && column->grouped_count > 0) return "has its thousands parted: write 1234 and not 1,234";
  return column->number_count == 0 && !own ? "is empty" : NULL;
}

static void take_meaning(struct log_file_column *column, const struct log_columns_meaning *meaning) {
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

/* Sets what the column gives, or notes why it gives nothing. False if its name is not known at all. */
static bool map_column(struct reader *reader, size_t index) {
  const struct csv_column *source = &reader->table.columns[index];
  struct log_columns_meaning meaning;
  const enum log_columns_answer answer = log_columns_find(source->name, &meaning);
  if (answer == LOG_COLUMNS_UNKNOWN) return false;
  const struct log_file_column *rival = log_file_column_of(reader->log, meaning.channel);
  const char *problem = useless(source, meaning.own);
  if (answer == LOG_COLUMNS_BAD_UNIT)
    note(reader, "column '%s' left out: its unit '%s' is not understood; understood: %s", source->name, meaning.unit,
         meaning.units);
  else if (problem && reader->table.row_count > 0)
    note(reader, "column '%s' left out: it %s", source->name, problem);
  else if (rival)
    note(reader, "column '%s' left out: '%s' already gives %s", source->name, rival->name, channel_rows[meaning.channel].name);
  else
    take_meaning(&reader->log->columns[index], &meaning);
  if (reader->log->columns[index].channel >= 0 && meaning.remark)
    note(reader, "column '%s' taken as %s: %s", source->name, channel_rows[meaning.channel].name, meaning.remark);
  return true;
}

static void note_unknown(struct reader *reader, const size_t *unknown, size_t count) {
  if (count == 0) return;
  fprintf(reader->notes, "%s: %zu column%s not understood and left out:", reader->path, count, count == 1 ? "" : "s");
  for (size_t i = 0; i < count; i++) {
    const char *name = reader->table.columns[unknown[i]].name, *near = log_columns_near(name);
    fprintf(reader->notes, "%s '%s'", i ? "," : "", name);
    if (near) fprintf(reader->notes, " (did you mean '%s'?)", near);
  }
  fputc('\n', reader->notes);
}

static enum status map_columns(struct reader *reader) {
  struct log_file *log = reader->log;
  const struct csv_table *table = &reader->table;
  size_t *unknown = calloc(table->column_count, sizeof *unknown);
  log->columns = calloc(table->column_count, sizeof *log->columns);
  if (!unknown || !log->columns) {
    free(unknown);
    return error_set(reader->error, STATUS_NO_MEMORY, "%s: out of memory", reader->path);
  }
  size_t unknown_count = 0;
  log->own = true;
  for (size_t i = 0; i < table->column_count; i++) {
    log->columns[i].channel = -1;
    log->columns[i].name = strdup(table->columns[i].name);
    if (!log->columns[i].name) break;
    log->column_count++;
    if (!map_column(reader, i)) unknown[unknown_count++] = i;
    log->own &= channel_find(table->columns[i].name) >= 0;
  }
  note_unknown(reader, unknown, unknown_count);
  free(unknown);
  if (log->column_count < table->column_count)
    return error_set(reader->error, STATUS_NO_MEMORY, "%s: out of memory", reader->path);
  return STATUS_OK;
}

/* The notes so far, as lines of the error: they say why a column that is there does not count. */
static void append_notes(struct reader *reader) {
  fflush(reader->notes);
  for (const char *at = reader->log->notes; at && *at;) {
    const int size = (int)strcspn(at, "\n");
    error_append(reader->error, STATUS_BAD_DATA, "%.*s", size, at);
    at += size + (at[size] == '\n');
  }
}

/* There must be a time, and something else. */
static enum status check_columns(struct reader *reader) {
  const struct log_file *log = reader->log;
  const struct log_file_column *time = log_file_column_of(log, CHANNEL_time_s);
  size_t count = 0;
  for (size_t i = 0; i < log->column_count; i++) count += log->columns[i].channel >= 0;
  if (time && count > 1) {
    reader->time = (size_t)(time - log->columns);
    return STATUS_OK;
  }
  append_notes(reader);
  char names[LOG_COLUMNS_TEXT_SIZE];
  log_columns_list(time ? CHANNEL_speed_rpm : CHANNEL_time_s, names);
  if (!time)
    return error_append(reader->error, STATUS_BAD_DATA,
                        "%s:1: no column of numbers holds the time; name it %s or time_s, with its unit as in "
                        "'Time (ms)'",
                        reader->path, names);
  return error_append(reader->error, STATUS_BAD_DATA,
                      "%s:1: no column but the time is understood; engine speed for instance is %s or speed_rpm "
                      "(bladegap plot --help)",
                      reader->path, names);
}

/* ---- Rows ---- */

static void PRINTF_LIKE(3, 4) leave_out(struct reader *reader, size_t line, const char *format, ...) {
  struct log_file *log = reader->log;
  log->left_out_count++;
  if (log->fault_count == CSV_TABLE_FAULT_MAX) return;
  struct csv_fault *fault = &log->faults[log->fault_count++];
  fault->line = line;
  va_list values;
  va_start(values, format);
  vsnprintf(fault->text, sizeof fault->text, format, values);
  va_end(values);
}

static double cell(const struct reader *reader, size_t row, size_t column) {
  const struct log_file_column *meaning = &reader->log->columns[column];
  return meaning->factor * csv_table_value(&reader->table, row, column) + meaning->offset;
}

static void PRINTF_LIKE(3, 4) leave_out_value(struct reader *reader, size_t line, const char *format, ...) {
  struct log_file *log = reader->log;
  if (log->cell_fault_count++ >= CSV_TABLE_FAULT_MAX) return;
  struct csv_fault *fault = &log->cell_faults[log->cell_fault_count - 1];
  fault->line = line;
  va_list values;
  va_start(values, format);
  vsnprintf(fault->text, sizeof fault->text, format, values);
  va_end(values);
}

static bool beyond(const struct log_file_column *column, double value) {
  return value < column->lowest || value > column->highest;
}

/* Values that are no readings become nothing. Where most are beyond under a unit that was only assumed, it is the unit that is wrong, which
 * note_unit() says. */
static void leave_out_values(struct reader *reader, size_t index) {
  const struct log_file_column *column = &reader->log->columns[index];
  struct csv_table *table = &reader->table;
  size_t count = 0;
  for (size_t row = 0; row < table->row_count; row++) count += beyond(column, cell(reader, row, index));
  if (count == 0 || (column->assumed && 2 * count > table->row_count)) return;
  for (size_t row = 0; row < table->row_count; row++) {
    double *value = &table->values[row * table->column_count + index];
    if (!beyond(column, cell(reader, row, index))) continue;
    leave_out_value(reader, table->lines[row], "%.40s: %.10g is no reading", column->name, *value);
    *value = NAN;
  }
}

static enum status take_row(struct reader *reader, size_t row) {
  const struct log_file *log = reader->log;
  double values[CHANNEL_COUNT];
  for (size_t i = 0; i < CHANNEL_COUNT; i++) values[i] = NAN;
  for (size_t i = 0; i < log->column_count; i++)
    if (log->columns[i].channel >= 0) values[log->columns[i].channel] = cell(reader, row, i);
  return recording_append(&reader->log->recording, values, reader->error);
}

static enum status take_rows(struct reader *reader) {
  const struct csv_table *table = &reader->table;
  const char *name = reader->log->columns[reader->time].name;
  double last_s = -INFINITY;
  for (size_t i = 0; i < reader->log->column_count; i++)
    if (reader->log->columns[i].channel >= 0) leave_out_values(reader, i);
  size_t last_line = 0;
  for (size_t row = 0; row < table->row_count; row++) {
    const double now_s = cell(reader, row, reader->time);
    if (isnan(now_s)) {
      leave_out(reader, table->lines[row], "nothing in column '%.40s', which is the time", name);
    } else if (now_s <= last_s) {
      leave_out(reader, table->lines[row], "the time does not rise: %.10g s, after %.10g s in line %zu", now_s, last_s,
                last_line);
    } else {
      last_s = now_s;
      last_line = table->lines[row];
      const enum status status = take_row(reader, row);
      if (status != STATUS_OK) return status;
    }
  }
  return STATUS_OK;
}

static int compare_faults(const void *a, const void *b) {
  const struct csv_fault *left = a, *right = b;
  return (left->line > right->line) - (left->line < right->line);
}

/* How many of the values left out are described. */
static size_t shown_cells(const struct log_file *log) {
  return log->cell_fault_count < CSV_TABLE_FAULT_MAX ? log->cell_fault_count : CSV_TABLE_FAULT_MAX;
}

/* Adds the rows the CSV reader left out to our own; the first of all by line are described. */
static void merge_faults(struct reader *reader) {
  struct log_file *log = reader->log;
  struct csv_fault all[2 * CSV_TABLE_FAULT_MAX];
  size_t count = 0;
  for (size_t i = 0; i < log->fault_count; i++) all[count++] = log->faults[i];
  for (size_t i = 0; i < reader->table.fault_count; i++) all[count++] = reader->table.faults[i];
  qsort(all, count, sizeof all[0], compare_faults);
  log->fault_count = count < CSV_TABLE_FAULT_MAX ? count : CSV_TABLE_FAULT_MAX;
  for (size_t i = 0; i < log->fault_count; i++) log->faults[i] = all[i];
  log->left_out_count += reader->table.bad_row_count;
  for (size_t i = 0; i < reader->table.cell_fault_count; i++, log->cell_fault_count++)
    if (i < CSV_TABLE_FAULT_MAX && log->cell_fault_count < CSV_TABLE_FAULT_MAX)
      log->cell_faults[log->cell_fault_count] = reader->table.cell_faults[i];
  qsort(log->cell_faults, shown_cells(log), sizeof log->cell_faults[0], compare_faults);
  log->row_count = reader->table.row_count + reader->table.bad_row_count;
}

static enum status check_rows(struct reader *reader) {
  const struct log_file *log = reader->log;
  if (log->row_count == 0) return error_set(reader->error, STATUS_BAD_DATA, "%s: has a header and no row below it", reader->path);
  if (log->recording.row_count > 0) return STATUS_OK;
  for (size_t i = 0; i < log->fault_count; i++)
    error_append(reader->error, STATUS_BAD_DATA, "%s:%zu: %s", reader->path, log->faults[i].line, log->faults[i].text);
  return error_append(reader->error, STATUS_BAD_DATA, "%s: none of its %zu rows can be used", reader->path, log->row_count);
}

/* ---- Time ---- */

/* A log may count from 1970 or from before its trigger; that of a recording begins near zero. */
static enum status place_time(struct reader *reader) {
  struct recording *recording = &reader->log->recording;
  const double start_s = recording_value(recording, 0, CHANNEL_time_s);
  const double end_s = recording_value(recording, recording->row_count - 1, CHANNEL_time_s);
  const struct log_file_column *time = &reader->log->columns[reader->time];
  if (end_s - start_s > LONGEST_S)
    return error_set(reader->error, STATUS_BAD_DATA,
                     "%s: column '%s' runs over %.3g s, which is %.0f days; if it is not in %s, name its unit in "
                     "the header, as in 'Time (ms)'",
                     reader->path, time->name, end_s - start_s, (end_s - start_s) / 86400.0, time->unit);
  if (start_s >= 0.0 && end_s <= LONGEST_S) return STATUS_OK;
  note(reader, "time counted from the first row, which is at %.10g s", start_s);
  for (size_t row = 0; row < recording->row_count; row++) recording->values[row * CHANNEL_COUNT + CHANNEL_time_s] -= start_s;
  return STATUS_OK;
}

/* ---- Notes on what was assumed and left out ---- */

/* A unit that was assumed, and whether the values speak against it. */
static void note_unit(struct reader *reader, const struct log_file_column *column) {
  const struct recording *recording = &reader->log->recording;
  double least = INFINITY, most = -INFINITY;
  for (size_t row = 0; row < recording->row_count; row++) {
    const double value = recording_value(recording, row, (enum channel)column->channel);
    if (isnan(value)) continue;
    least = fmin(least, value);
    most = fmax(most, value);
  }
  if (column->assumed && (least < column->least || most > column->most))
    note(reader,
         "column '%s' taken as %s, but its values from %.4g to %.4g are hardly that: write the unit into the "
         "header, as in '%s (%s)'",
         column->name, column->unit, least, most, column->name, column->unit);
  else if (column->assumed)
    note(reader, "column '%s' taken as %s", column->name, column->unit);
}

static void note_rows(struct reader *reader) {
  const struct log_file *log = reader->log;
  for (size_t i = 0; i < log->fault_count; i++)
    fprintf(reader->notes, "%s:%zu: row left out: %s\n", reader->path, log->faults[i].line, log->faults[i].text);
  for (size_t i = 0; i < shown_cells(log); i++)
    fprintf(reader->notes, "%s:%zu: value left out: %s\n", reader->path, log->cell_faults[i].line, log->cell_faults[i].text);
  if (log->cell_fault_count > shown_cells(log)) note(reader, "%zu values left out in all", log->cell_fault_count);
  if (log->left_out_count > 0)
    note(reader, "%zu of %zu rows left out, first at line %zu", log->left_out_count, log->row_count, log->faults[0].line);
}

/* ---- The whole ---- */

static enum status read_events(struct reader *reader) {
  char path[OUTPUT_FILE_PATH_SIZE];
  if (!reader->log->own || !events_file_beside(reader->path, path)) return STATUS_OK;
  return events_file_read(path, &reader->log->recording, reader->error);
}

static enum status read_table(struct reader *reader) {
  enum status status = map_columns(reader);
  if (status == STATUS_OK) status = check_columns(reader);
  if (status == STATUS_OK) status = take_rows(reader);
  if (status != STATUS_OK) return status;
  merge_faults(reader);
  status = check_rows(reader);
  if (status == STATUS_OK) status = place_time(reader);
  if (status != STATUS_OK) return status;
  for (size_t i = 0; i < reader->log->column_count; i++)
    if (reader->log->columns[i].channel >= 0) note_unit(reader, &reader->log->columns[i]);
  note_rows(reader);
  return read_events(reader);
}

enum status log_file_read(const char *path, struct log_file *log, struct error *error) {
  *log = (struct log_file){0};
  recording_init(&log->recording);
  struct reader reader = {.path = path, .log = log, .error = error};
  enum status status = csv_read_file(path, &reader.table, error);
  if (status != STATUS_OK) return status;
  size_t size;
  reader.notes = open_memstream(&log->notes, &size);
  if (reader.notes) status = read_table(&reader);
  if (!reader.notes || fclose(reader.notes) != 0) status = error_set(error, STATUS_NO_MEMORY, "%s: out of memory", path);
  csv_table_destroy(&reader.table);
  return status;
}

void log_file_destroy(struct log_file *log) {
  if (!log) return;
  for (size_t i = 0; i < log->column_count; i++) free(log->columns[i].name);
  free(log->columns);
  free(log->notes);
  recording_destroy(&log->recording);
  *log = (struct log_file){0};
}

const struct log_file_column *log_file_column_of(const struct log_file *log, enum channel channel) {
  for (size_t i = 0; i < log->column_count; i++)
    if (log->columns[i].channel == (int)channel) return &log->columns[i];
  return NULL;
}
