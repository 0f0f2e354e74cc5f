#include "io/report/sweep_file.h"

#include "io/format/csv_write.h"

#include <assert.h>
#include <errno.h>
#include <fcntl.h>
#include <inttypes.h>
#include <stdlib.h>
#include <string.h>
#include <sys/file.h>
#include <unistd.h>

uint64_t sweep_file_hash(uint64_t hash, const void *bytes, size_t size) {
  const unsigned char *byte = bytes;
  for (size_t i = 0; i < size; i++) hash = (hash ^ byte[i]) * 1099511628211u;
  return hash;
}

enum status sweep_file_hash_file(uint64_t *hash, const char *path, struct error *error) {
  FILE *stream = fopen(path, "re");
  if (!stream) return error_set(error, STATUS_NO_INPUT, "%s: cannot read: %s", path, strerror(errno));
  unsigned char bytes[4096];
  for (size_t size = fread(bytes, 1, sizeof bytes, stream); size > 0; size = fread(bytes, 1, sizeof bytes, stream))
    *hash = sweep_file_hash(*hash, bytes, size);
  const bool failed = ferror(stream) != 0;
  fclose(stream);
  return failed ? error_set(error, STATUS_IO, "%s: cannot read to its end", path) : STATUS_OK;
}

/* ---- Head and rows as text ---- */

static void write_head(FILE *stream, const struct sweep *sweep, const struct sweep_file_head *head) {
  const char *names[SWEEP_COLUMN_MAX];
  for (size_t i = 0; i < sweep->column_count; i++) names[i] = sweep->columns[i].name;
  fprintf(stream, "# bladegap sweep %016" PRIx64 " rows %zu to %zu of %zu\n", head->fingerprint, head->first, head->end,
          head->total);
  csv_write_header(stream, names, sweep->column_count);
}

static void write_rows(FILE *stream, const struct sweep *sweep, const double *values, size_t rows) {
  int decimals[SWEEP_COLUMN_MAX];
  for (size_t i = 0; i < sweep->column_count; i++)
    decimals[i] = sweep->columns[i].decimals < CSV_WRITE_DECIMALS_MAX ? sweep->columns[i].decimals : CSV_WRITE_DECIMALS_MAX;
  for (size_t row = 0; row < rows; row++)
    csv_write_row(stream, values + row * sweep->column_count, decimals, sweep->column_count);
}

/* Rows that are to become text; a piece is what a hand takes at a time. */
enum { PIECE_ROWS = 128 };
struct piece {
  char *text; // NULL: out of memory
  size_t size;
};
struct pieces {
  const struct sweep *sweep;
  const double *values;
  size_t rows;
  struct piece *pieces;
};

static size_t rows_of_piece(const struct pieces *all, size_t index) {
  const size_t from = index * PIECE_ROWS;
  return from + PIECE_ROWS < all->rows ? PIECE_ROWS : all->rows - from;
}

static void make_piece(size_t index, size_t worker, void *user) {
  (void)worker;
  const struct pieces *all = user;
  struct piece *piece = &all->pieces[index];
  FILE *stream = open_memstream(&piece->text, &piece->size);
  if (!stream) return;
  write_rows(stream, all->sweep, all->values + index * PIECE_ROWS * all->sweep->column_count, rows_of_piece(all, index));
  if (fclose(stream) == 0) return;
  free(piece->text);
  piece->text = NULL;
}

/* Text in memory; NULL if there is none. */
static char *head_text(const struct sweep *sweep, const struct sweep_file_head *head, size_t *size) {
  char *text = NULL;
  FILE *stream = open_memstream(&text, size);
  if (!stream) return NULL;
  write_head(stream, sweep, head);
  return fclose(stream) == 0 ? text : (free(text), NULL);
}

/* ---- Opening ---- */

/* Whether the stream begins with this head; its whole rows are counted, and it stands behind the last of them. */
static bool take_up(struct sweep_file *file, const char *head, size_t size) {
  char *line = NULL;
  size_t capacity = 0, at = 0;
  ssize_t length;
  bool same = true;
  file->row_count = 0;
  rewind(file->stream);
  while (same && (length = getline(&line, &capacity, file->stream)) > 0 && line[length - 1] == '\n') {
    const size_t end = at + (size_t)length;
    if (at < size) {
      same = end <= size && memcmp(head + at, line, (size_t)length) == 0;
    } else {
      file->row_count++;
      file->last_at = (long)at;
    }
    at = end;
  }
  free(line);
  same = same && at >= size && file->row_count <= file->head.end - file->head.first;
  return same;
}

static long end_of_rows(const struct sweep_file *file, long end) { return file->row_count > 0 ? end : 0; }

/* Takes the finished file if it answers the same question. */
static bool take_finished(struct sweep_file *file, const char *head, size_t size) {
  file->stream = fopen(file->path, "re");
  if (!file->stream) return false;
  file->complete = take_up(file, head, size) && file->row_count == file->head.end - file->head.first;
  if (file->complete) return true;
  fclose(file->stream);
  file->stream = NULL;
  file->row_count = 0;
  return false;
}

/* Opens the unfinished file, new or old, for this process alone. */
static enum status open_partial(struct sweep_file *file, struct error *error) {
  const int descriptor = open(file->partial, O_RDWR | O_CREAT | O_CLOEXEC | O_NOFOLLOW, 0666);
  if (descriptor < 0) return error_set(error, STATUS_CANNOT_CREATE, "%s: cannot create: %s", file->partial, strerror(errno));
  if (flock(descriptor, LOCK_EX | LOCK_NB) != 0 && errno == EWOULDBLOCK) {
    close(descriptor);
    return error_set(error, STATUS_CANNOT_CREATE, "%s: another bladegap is writing it", file->partial);
  }
  file->stream = fdopen(descriptor, "r+");
  if (file->stream) return STATUS_OK;
  close(descriptor);
  return error_set(error, STATUS_NO_MEMORY, "%s: out of memory", file->partial);
}

static enum status cannot_write(const struct sweep_file *file, int reason, struct error *error) {
  return error_set(error, STATUS_IO,
                   "%s: cannot write: %s; %zu of %zu rows are in it: make room and give the same command again to go on",
                   file->partial, strerror(reason), file->row_count, file->head.end - file->head.first);
}

static enum status cut(struct sweep_file *file, long at, struct error *error) {
  if (fflush(file->stream) != 0 || ftruncate(fileno(file->stream), at) != 0 || fseek(file->stream, at, SEEK_SET) != 0)
    return cannot_write(file, errno, error);
  return STATUS_OK;
}

/* Goes on after the last whole row, or begins. */
static enum status begin_or_go_on(struct sweep_file *file, const char *head, size_t size, struct error *error) {
  fseek(file->stream, 0, SEEK_END);
  const long length = ftell(file->stream);
  const bool same = take_up(file, head, size);
  if (!same && length >= (long)size) {
    return error_set(error, STATUS_CANNOT_CREATE,
                     "%s: is an unfinished sweep that was asked something else: finish it with its own command, delete it, or "
                     "choose another --out",
                     file->partial);
  }
  if (!same || file->row_count == 0) return sweep_file_restart(file, error);
  // behind the last row: its begin plus its length
  if (fseek(file->stream, file->last_at, SEEK_SET) != 0) return cannot_write(file, errno, error);
  int sign;
  while ((sign = getc(file->stream)) != EOF && sign != '\n') continue;
  return cut(file, end_of_rows(file, ftell(file->stream)), error);
}

enum status sweep_file_open(struct sweep_file *file, const char *path, const struct sweep *sweep,
                            const struct sweep_file_head *head, struct error *error) {
  *file = (struct sweep_file){.sweep = sweep, .head = *head};
  const int length = snprintf(file->partial, sizeof file->partial, "%s.partial", path);
  if (length < 0 || (size_t)length >= sizeof file->partial)
    return error_set(error, STATUS_CANNOT_CREATE, "%.60s...: the path is too long", path);
  snprintf(file->path, sizeof file->path, "%s", path);
  size_t size = 0;
  char *text = head_text(sweep, head, &size);
  if (!text) return error_set(error, STATUS_NO_MEMORY, "%s: out of memory", path);
  enum status status = STATUS_OK;
  if (!take_finished(file, text, size)) {
    status = open_partial(file, error);
    if (status == STATUS_OK) status = begin_or_go_on(file, text, size, error);
    if (status != STATUS_OK) sweep_file_close(file);
  }
  free(text);
  return status;
}

void sweep_file_close(struct sweep_file *file) {
  if (file->stream) fclose(file->stream);
  file->stream = NULL;
}

/* ---- Rows ---- */

enum status sweep_file_agrees(const struct sweep_file *file, const double *row, bool *agrees, struct error *error) {
  assert(file->row_count > 0);
  char *text = NULL, *line = NULL;
  size_t size = 0, capacity = 0;
  FILE *stream = open_memstream(&text, &size);
  if (!stream) return error_set(error, STATUS_NO_MEMORY, "%s: out of memory", file->path);
  write_rows(stream, file->sweep, row, 1);
  const bool lost = fclose(stream) != 0;
  const long here = ftell(file->stream);
  fseek(file->stream, file->last_at, SEEK_SET);
  const ssize_t length = getline(&line, &capacity, file->stream);
  fseek(file->stream, here, SEEK_SET);
  *agrees = !lost && length == (ssize_t)size && memcmp(line, text, size) == 0;
  free(line);
  free(text);
  return STATUS_OK;
}

enum status sweep_file_restart(struct sweep_file *file, struct error *error) {
  enum status status = STATUS_OK;
  if (file->complete) { // an old answer: it keeps its name until the new one is whole
    sweep_file_close(file);
    file->complete = false;
    file->row_count = 0;
    status = open_partial(file, error);
  }
  file->row_count = 0;
  if (status == STATUS_OK) status = cut(file, 0, error);
  if (status != STATUS_OK) return status;
  write_head(file->stream, file->sweep, &file->head);
  errno = 0;
  return fflush(file->stream) == 0 ? STATUS_OK : cannot_write(file, errno, error);
}

static enum status append_piece(struct sweep_file *file, const struct piece *piece, size_t rows, struct error *error) {
  if (!piece->text) return error_set(error, STATUS_NO_MEMORY, "%s: out of memory for %zu rows", file->partial, rows);
  errno = 0;
  if (fwrite(piece->text, 1, piece->size, file->stream) != piece->size || fflush(file->stream) != 0)
    return cannot_write(file, errno ? errno : EIO, error);
  file->row_count += rows;
  return STATUS_OK;
}

enum status sweep_file_append(struct sweep_file *file, const struct for_each *for_each, const double *values, size_t rows,
                              struct error *error) {
  assert(!file->complete);
  const size_t count = (rows + PIECE_ROWS - 1) / PIECE_ROWS;
  struct pieces all = {file->sweep, values, rows, calloc(count + 1, sizeof *all.pieces)};
  if (!all.pieces) return error_set(error, STATUS_NO_MEMORY, "%s: out of memory for %zu rows", file->partial, rows);
  for_each->run(for_each, count, make_piece, &all);
  enum status status = STATUS_OK;
  for (size_t i = 0; i < count; i++) {
    if (status == STATUS_OK) status = append_piece(file, &all.pieces[i], rows_of_piece(&all, i), error);
    free(all.pieces[i].text);
  }
  free(all.pieces);
  return status;
}

enum status sweep_file_finish(struct sweep_file *file, struct error *error) {
  if (file->complete) return STATUS_OK;
  assert(file->row_count == file->head.end - file->head.first);
  if (rename(file->partial, file->path) != 0)
    return error_set(error, STATUS_CANNOT_CREATE, "%s: cannot give it its name: %s", file->path, strerror(errno));
  file->complete = true;
  const int lost = fclose(file->stream);
  file->stream = NULL;
  return lost ? error_set(error, STATUS_IO, "%s: cannot write: %s", file->path, strerror(errno)) : STATUS_OK;
}
