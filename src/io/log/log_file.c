#include "io/log/log_file.h"

#include "analysis/log/log_bytes.h"
#include "io/format/input_file.h"
#include "io/format/output_file.h"
#include "io/report/events_file.h"
#include "io/scantool/capture_read.h"

#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* ---- Bytes ---- */

enum { CHUNK = 1 << 16, HEAD_MOST = 1 << 18 };

struct bytes {
  char *items; // owned
  size_t size, room;
  size_t line_at; // behind the last line end
};

/* Reads on, by the chunk; a line that no log has is not read to its end, which may be gigabytes away. */
static enum status read_all(FILE *file, const char *path, size_t most, struct bytes *bytes, struct error *error) {
  while (bytes->size < most) {
    if (bytes->room - bytes->size < CHUNK) {
      const size_t room = bytes->room + (bytes->room > CHUNK ? bytes->room : CHUNK);
      char *items = realloc(bytes->items, room);
      if (!items) return error_set(error, STATUS_NO_MEMORY, "%s: out of memory", path);
      bytes->items = items;
      bytes->room = room;
    }
    errno = 0;
    const size_t got = input_file_fill(file, bytes->items + bytes->size, CHUNK);
    if (ferror(file)) return error_set(error, STATUS_NO_INPUT, "%s: cannot read: %s", path, strerror(errno));
    if (got == 0) break;
    const size_t from = bytes->size;
    bytes->size += got;
    for (size_t at = bytes->size; at > from; at--)
      if (bytes->items[at - 1] == '\n' || bytes->items[at - 1] == '\r') {
        bytes->line_at = at;
        break;
      }
    if (capture_read_is(bytes->items, bytes->size)) continue;
    if (bytes->size - bytes->line_at > 2 * (size_t)LOG_BYTES_LINE_MOST + CHUNK) break; // UTF-16 has two bytes a letter
  }
  return STATUS_OK;
}

static enum status read_bytes(const char *path, size_t most, struct bytes *bytes, struct error *error) {
  *bytes = (struct bytes){0};
  FILE *file = fopen(path, "rbe");
  if (!file) return error_set(error, STATUS_NO_INPUT, "%s: cannot read: %s", path, strerror(errno));
  const enum status status = read_all(file, path, most, bytes, error);
  fclose(file);
  return status;
}

/* ---- Logs ---- */

static enum status read_events(const char *path, struct log_text *log, struct error *error) {
  char events[OUTPUT_FILE_PATH_SIZE];
  if (!log->own || !events_file_beside(path, events)) return STATUS_OK;
  return events_file_read(events, &log->recording, error);
}

/* A capture of the bus becomes the table that it says. */
static enum status decode_capture(const char *path, struct bytes *bytes, struct error *error) {
  char *text;
  size_t size;
  if (!capture_read_is(bytes->items, bytes->size)) return STATUS_OK;
  const enum status status = capture_read_text(path, bytes->items, bytes->size, &text, &size, error);
  if (status != STATUS_OK) return status;
  free(bytes->items);
  bytes->items = text;
  bytes->size = size;
  return STATUS_OK;
}

enum status log_file_read(const char *path, const struct log_text_setting *setting, struct log_text *log, struct error *error) {
  struct bytes bytes;
  *log = (struct log_text){0};
  enum status status = read_bytes(path, SIZE_MAX, &bytes, error);
  if (status == STATUS_OK) status = decode_capture(path, &bytes, error);
  if (status == STATUS_OK) status = log_text_read(path, bytes.items, bytes.size, setting, log, error);
  free(bytes.items);
  return status == STATUS_OK ? read_events(path, log, error) : status;
}

bool log_file_is(const char *path, const struct log_text_setting *setting) {
  struct bytes bytes;
  struct error error;
  error_clear(&error);
  const bool found = read_bytes(path, HEAD_MOST, &bytes, &error) == STATUS_OK &&
                     (capture_read_is(bytes.items, bytes.size) || log_text_is_log(bytes.items, bytes.size, setting));
  free(bytes.items);
  return found;
}

/* ---- Maps ---- */

enum status log_file_read_map(const char *path, struct log_map *map, struct error *error) {
  struct bytes bytes;
  enum status status = read_bytes(path, SIZE_MAX, &bytes, error);
  if (status == STATUS_OK) status = log_map_add_table(map, path, bytes.items ? bytes.items : "", bytes.size, error);
  free(bytes.items);
  return status;
}

static void put_cell(FILE *stream, const char *text) {
  const bool quoted = strpbrk(text, ",;\t\"") || text[0] == '#' || text[0] == ' ';
  if (quoted) fputc('"', stream);
  for (; *text; text++) {
    if (*text == '"') fputc('"', stream);
    fputc(*text, stream);
  }
  if (quoted) fputc('"', stream);
}

static void put_map(FILE *stream, const struct log_text *log, const struct log_map *map) {
  fputs("# Which column of a log is which reading; bladegap takes it with --map. Names: bladegap list channels.\n# Without a "
        "name a column is left out. Put a unit that the header does not name in brackets: MAF (kg/h)\nheader,name\n",
        stream);
  for (size_t i = 0; i < log->column_count; i++) {
    const struct log_text_column *column = &log->columns[i];
    const char *given = log_map_find(map, column->name);
    if (column->name[0] == '\0') continue;
    put_cell(stream, column->name);
    fputc(',', stream);
    put_cell(stream, given ? given : column->channel >= 0 ? channel_rows[column->channel].name : "");
    fputc('\n', stream);
  }
}

enum status log_file_write_map(const char *path, const struct log_text *log, const struct log_map *map, struct error *error) {
  struct output_file file;
  const enum status status = output_file_open(&file, path, error);
  if (status != STATUS_OK) return status;
  put_map(file.stream, log, map);
  return output_file_commit(&file, error);
}
