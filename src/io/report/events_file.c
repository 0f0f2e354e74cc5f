/* Lines are read one by one, as they come, and parted here: half words, half numbers. Ours have no line ends within quotes. */
#include "io/report/events_file.h"

#include "control/computer.h"
#include "io/format/csv_write.h"

#include <errno.h>
#include <math.h>
#include <stdarg.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

static const char file_name[] = "events.csv";
static const char header[] = "time_s,kind,code,value,text";

enum { TIME_DECIMALS = 6, CELL_COUNT = 5, KEY_COUNT = 3 };
enum cell { CELL_TIME, CELL_KIND, CELL_CODE, CELL_VALUE, CELL_TEXT };

static const char *code_name(size_t code) { return monitor_rows[code].code; }
static const char *kind_name(size_t kind) { return recording_kind_names[kind]; }
static const char *state_name(size_t state) { return monitors_code_state_name((enum code_state)state); }
static const char *value_name(size_t value) { return recording_value_names[value]; }

enum { STATE_COUNT = CODE_CONFIRMED + 1 };

/* ---- Writing ---- */

static void write_quoted(FILE *stream, const char *text) {
  fputc('"', stream);
  for (; *text; text++) {
    if (*text == '"') fputc('"', stream);
    fputc((unsigned char)*text < ' ' ? ' ' : *text, stream); // a line is an event
  }
  fputc('"', stream);
}

static void write_event(FILE *stream, const struct recording_event *event) {
  char time[CSV_WRITE_NUMBER_SIZE];
  const size_t length = csv_write_number(time, event->time_s, TIME_DECIMALS);
  const bool is_code = event->kind == RECORDING_CODE;
  const char *value = "";
  if (is_code)
    value = state_name((size_t)event->value);
  else if (event->kind != RECORDING_NOTE)
    value = value_name((size_t)event->value);
  fprintf(stream, "%.*s,%s,%s,%s,", (int)length, time, kind_name(event->kind), is_code ? code_name((size_t)event->code) : "",
          value);
  write_quoted(stream, event->text);
  fputc('\n', stream);
}

enum status events_file_write(const char *path, const struct recording *recording, struct error *error) {
  struct output_file *file = calloc(1, sizeof *file);
  if (!file) return error_set(error, STATUS_NO_MEMORY, "%s: out of memory", path);
  enum status status = output_file_open(file, path, error);
  if (status == STATUS_OK) {
    fprintf(file->stream, "%s\n", header);
    for (size_t i = 0; i < recording->event_count; i++) write_event(file->stream, &recording->events[i]);
    status = output_file_commit(file, error);
  }
  free(file);
  return status;
}

/* ---- Reading ---- */

struct reader {
  const char *path;
  size_t line;
  double last_s;
  struct recording *recording;
  struct error *error;
};

static bool PRINTF_LIKE(2, 3) fault(struct reader *reader, const char *format, ...) {
  char text[512];
  va_list values;
  va_start(values, format);
  vsnprintf(text, sizeof text, format, values);
  va_end(values);
  error_append(reader->error, STATUS_BAD_DATA, "%s:%zu: %s", reader->path, reader->line, text);
  return false;
}

/* Parts a line in place. False if a quote is in the wrong place or the number of cells is not right. */
static bool part(struct reader *reader, char *line, char *cells[CELL_COUNT]) {
  size_t count = 0;
  for (char *at = line;; at++) {
    const bool quoted = *at == '"';
    if (quoted) at++;
    char *end = at;
    if (count < CELL_COUNT) cells[count] = at;
    count++;
    while (quoted ? *at && (*at != '"' || at[1] == '"') : *at && *at != ',') {
      if (quoted && *at == '"') at++; // the first of two
      *end++ = *at++;
    }
    if (quoted && *at++ != '"') return fault(reader, "the quote is not closed");
    const char next = *at;
    *end = '\0';
    if (next == '\0') break;
    if (next != ',') return fault(reader, "text after the closing quote");
  }
  return count == CELL_COUNT || fault(reader, "%zu cells, expected %d: %s", count, CELL_COUNT, header);
}

/* Index of a name in a row of names; a fault that lists them if it is none. */
static bool choose(struct reader *reader, const char *what, const char *word, const char *(*name)(size_t), size_t count,
                   int *index) {
  char all[256] = "";
  size_t used = 0;
  for (size_t i = 0; i < count; i++) {
    if (strcmp(name(i), word) == 0) {
      *index = (int)i;
      return true;
    }
    if (used < sizeof all) used += (size_t)snprintf(all + used, sizeof all - used, "%s%s", i ? ", " : "", name(i));
  }
  return fault(reader, "%s '%.40s' is none of %s", what, word, all);
}

static bool read_time(struct reader *reader, const char *word, double *time_s) {
  char *end;
  *time_s = strtod(word, &end);
  if (end == word || *end != '\0' || word[strspn(word, "+-.0123456789eE")] != '\0' || !isfinite(*time_s))
    return fault(reader, "time_s '%.40s' is not a number", word);
  if (*time_s < reader->last_s) return fault(reader, "time_s %s is before the line above, %g", word, reader->last_s);
  reader->last_s = *time_s;
  return true;
}

static bool read_event(struct reader *reader, char *cells[CELL_COUNT], struct recording_event *event) {
  int kind = 0;
  *event = (struct recording_event){.code = -1};
  // the caller has split a whole row. NOLINTBEGIN(clang-analyzer-core.CallAndMessage)
  if (!read_time(reader, cells[CELL_TIME], &event->time_s) ||
      !choose(reader, "kind", cells[CELL_KIND], kind_name, RECORDING_KIND_COUNT, &kind))
    return false;
  // NOLINTEND(clang-analyzer-core.CallAndMessage)
  event->kind = (enum recording_event_kind)kind;
  // the same. NOLINTNEXTLINE(clang-analyzer-core.CallAndMessage)
  if (strlen(cells[CELL_TEXT]) >= sizeof event->text)
    return fault(reader, "text is longer than %d bytes", RECORDING_TEXT_SIZE - 1);
  memcpy(event->text, cells[CELL_TEXT], strlen(cells[CELL_TEXT]) + 1);
  if (kind == RECORDING_CODE)
    return choose(reader, "code", cells[CELL_CODE], code_name, MONITOR_CODE_COUNT, &event->code) &&
           choose(reader, "value", cells[CELL_VALUE], state_name, STATE_COUNT, &event->value);
  if (cells[CELL_CODE][0] != '\0') return fault(reader, "only an event of the kind 'code' has a code");
  if (kind != RECORDING_NOTE) return choose(reader, "value", cells[CELL_VALUE], value_name, RECORDING_VALUE_COUNT, &event->value);
  return cells[CELL_VALUE][0] == '\0' || fault(reader, "a note has no value");
}

static enum status read_line(struct reader *reader, char *line) {
  line[strcspn(line, "\r\n")] = '\0';
  char *cells[CELL_COUNT];
  struct recording_event event;
  if (reader->line == 1) {
    if (strcmp(line, header) != 0) fault(reader, "the first line must be %s", header);
  } else if (line[0] != '\0' && part(reader, line, cells) && read_event(reader, cells, &event)) {
    return recording_add_event(reader->recording, &event, reader->error);
  }
  return STATUS_OK;
}

enum status events_file_read(const char *path, struct recording *recording, struct error *error) {
  FILE *file = fopen(path, "re");
  if (!file) return error_set(error, STATUS_NO_INPUT, "%s: cannot read: %s", path, strerror(errno));
  struct reader reader = {path, 0, -INFINITY, recording, error};
  char *line = NULL;
  size_t capacity = 0;
  enum status status = STATUS_OK;
  ssize_t size = 0;
  while (status == STATUS_OK && (errno = 0, size = getline(&line, &capacity, file)) >= 0) {
    reader.line++;
    if (memchr(line, '\0', (size_t)size)) {
      fault(&reader, "this is not a text file");
      break;
    }
    status = read_line(&reader, line);
    if (reader.line == 1 && error->status != STATUS_OK) break; // some other file: its lines mean nothing
  }
  if (status == STATUS_OK && size < 0 && errno != 0)
    status = error_set(error, STATUS_NO_INPUT, "%s: cannot read: %s", path, strerror(errno));
  if (status == STATUS_OK && reader.line == 0) {
    reader.line = 1;
    fault(&reader, "the file is empty; the first line must be %s", header);
  }
  free(line);
  fclose(file);
  return status != STATUS_OK ? status : error->status;
}

/* ---- Where it is ---- */

static size_t folder_size(const char *path) {
  const char *slash = strrchr(path, '/');
  return slash ? (size_t)(slash - path) + 1 : 0;
}

bool events_file_beside(const char *csv_path, char path[OUTPUT_FILE_PATH_SIZE]) {
  const int length = snprintf(path, OUTPUT_FILE_PATH_SIZE, "%.*s%s", (int)folder_size(csv_path), csv_path, file_name);
  return length > 0 && length < OUTPUT_FILE_PATH_SIZE && access(path, F_OK) == 0;
}

bool events_file_is(const char *path) { return strcmp(path + folder_size(path), file_name) == 0; }
