#include "io/report/sweep_file.h"

#include "io/format/csv_write.h"
#include "io/format/memory_stream.h"

#include <assert.h>
#include <errno.h>
#include <fcntl.h>
#include <inttypes.h>
#include <stdlib.h>
#include <string.h>
#include <sys/file.h>
#include <sys/stat.h>
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

enum { SUM_DIGITS = 16, ASKED_SIZE = 160 };

/* The first two lines; the sum is put in between them. */
struct head_text {
  char asked[ASKED_SIZE]; // "# bladegap sweep ... sum "
  int sum_at;             // its length
  char *names;            // the header with its end of line; owned
  size_t names_size;
};

static int asked_text(const struct sweep_file_head *head, char text[ASKED_SIZE]) {
  return snprintf(text, ASKED_SIZE, "# bladegap sweep %016" PRIx64 " rows %zu to %zu of %zu sum ", head->fingerprint, head->first,
                  head->end, head->total);
}

static bool make_head_text(const struct sweep *sweep, const struct sweep_file_head *head, struct head_text *text) {
  const char *names[SWEEP_COLUMN_MAX];
  for (size_t i = 0; i < sweep->column_count; i++) names[i] = sweep->columns[i].name;
  text->sum_at = asked_text(head, text->asked);
  text->names = NULL;
  FILE *stream = open_memstream(&text->names, &text->names_size);
  if (!stream) return false;
  csv_write_header(stream, names, sweep->column_count);
  return memory_stream_close(stream, &text->names);
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
  (void)!memory_stream_close(stream, &piece->text);
}

/* ---- Opening ---- */

/* Reads the first two lines; whether they are these, and the sum that the first has. */
static bool take_head(FILE *stream, const struct head_text *text, uint64_t *said, size_t *end) {
  char *line = NULL, *after = NULL;
  size_t capacity = 0;
  const size_t sum_at = (size_t)text->sum_at, first_size = sum_at + SUM_DIGITS + 1;
  bool same = getline(&line, &capacity, stream) == (ssize_t)first_size && memcmp(line, text->asked, sum_at) == 0;
  if (same) *said = strtoull(line + sum_at, &after, 16);
  same = same && after == line + sum_at + SUM_DIGITS && *after == '\n';
  same =
      same && getline(&line, &capacity, stream) == (ssize_t)text->names_size && memcmp(line, text->names, text->names_size) == 0;
  free(line);
  *end = first_size + text->names_size;
  return same;
}

/* Whether the stream begins with this head. The rows that its sum covers are counted; *rest: whether more follows them. */
static bool take_up(struct sweep_file *file, const struct head_text *text, bool *rest) {
  char *line = NULL;
  size_t capacity = 0, at, rows = 0;
  ssize_t length;
  uint64_t said, sum = sweep_file_hash(SWEEP_FILE_HASH_BEGIN, text->names, text->names_size);
  file->row_count = 0;
  *rest = false;
  rewind(file->stream);
  if (!take_head(file->stream, text, &said, &at)) return false;
  while (rows < file->head.end - file->head.first && (length = getline(&line, &capacity, file->stream)) > 0 &&
         line[length - 1] == '\n') {
    sum = sweep_file_hash(sum, line, (size_t)length);
    rows++;
    if (sum == said) {
      file->row_count = rows;
      file->last_at = (long)at;
      file->sum = sum;
    }
    at += (size_t)length;
  }
  *rest = rows > file->row_count || getc(file->stream) != EOF;
  free(line);
  return true;
}

/* Takes the finished file if it answers the same question; changed since, it is refused, not written over. */
static enum status take_finished(struct sweep_file *file, const struct head_text *text, struct error *error) {
  bool rest;
  file->stream = fopen(file->path, "re");
  if (!file->stream) return STATUS_OK;
  const bool same = take_up(file, text, &rest);
  file->complete = same && !rest && file->row_count == file->head.end - file->head.first;
  if (file->complete) return STATUS_OK;
  sweep_file_close(file);
  file->row_count = 0;
  if (!same) return STATUS_OK;
  return error_set(error, STATUS_BAD_DATA,
                   "%s: was changed since its sweep wrote it: its checksum does not match. Rename it to keep it, or delete it; "
                   "the same command then computes it again",
                   file->path);
}

/* Whether the open file still has this name: between opening and locking, its sweep may have finished and renamed it. */
static bool has_name(int descriptor, const char *path) {
  struct stat open_one, named;
  return fstat(descriptor, &open_one) == 0 && stat(path, &named) == 0 && open_one.st_ino == named.st_ino &&
         open_one.st_dev == named.st_dev;
}

/* Opens the unfinished file, new or old, for this process alone. Nothing is open after STATUS_OK if its sweep ended just now. */
static enum status open_partial(struct sweep_file *file, struct error *error) {
  const int descriptor = open(file->partial, O_RDWR | O_CREAT | O_CLOEXEC | O_NOFOLLOW, 0666);
  if (descriptor < 0) return error_set(error, STATUS_CANNOT_CREATE, "%s: cannot create: %s", file->partial, strerror(errno));
  if (flock(descriptor, LOCK_EX | LOCK_NB) != 0 && errno == EWOULDBLOCK) {
    close(descriptor);
    return error_set(error, STATUS_CANNOT_CREATE, "%s: another bladegap is writing it", file->partial);
  }
  if (!has_name(descriptor, file->partial)) {
    close(descriptor);
    return STATUS_OK;
  }
  file->stream = fdopen(descriptor, "r+");
  if (file->stream) return STATUS_OK;
  close(descriptor);
  return error_set(error, STATUS_NO_MEMORY, "%s: out of memory", file->partial);
}

static enum status cannot_write(const struct sweep_file *file, int reason, struct error *error) {
  return error_set(error, STATUS_IO,
                   "%s: cannot write: %s; %zu of %zu rows are in it: free some space and give the same command again to continue",
                   file->partial, strerror(reason), file->row_count, file->head.end - file->head.first);
}

static enum status cut(struct sweep_file *file, long at, struct error *error) {
  if (fflush(file->stream) != 0 || ftruncate(fileno(file->stream), at) != 0 || fseek(file->stream, at, SEEK_SET) != 0)
    return cannot_write(file, errno, error);
  return STATUS_OK;
}

/* Goes on after the last whole row, or begins. */
static enum status begin_or_go_on(struct sweep_file *file, const struct head_text *text, struct error *error) {
  fseek(file->stream, 0, SEEK_END);
  const long length = ftell(file->stream);
  bool rest;
  const bool same = take_up(file, text, &rest);
  if (!same && length >= text->sum_at + SUM_DIGITS + 1 + (long)text->names_size) {
    return error_set(
        error, STATUS_CANNOT_CREATE,
        "%s: is an unfinished sweep with other settings: finish it with its own command, delete it, or choose another --out",
        file->partial);
  }
  if (!same || file->row_count == 0) return sweep_file_restart(file, error);
  // behind the last row: its begin plus its length
  if (fseek(file->stream, file->last_at, SEEK_SET) != 0) return cannot_write(file, errno, error);
  int sign;
  while ((sign = getc(file->stream)) != EOF && sign != '\n') continue;
  return cut(file, ftell(file->stream), error);
}

enum status sweep_file_open(struct sweep_file *file, const char *path, const struct sweep *sweep,
                            const struct sweep_file_head *head, struct error *error) {
  *file = (struct sweep_file){.sweep = sweep, .head = *head};
  const int length = snprintf(file->partial, sizeof file->partial, "%s.partial", path);
  if (length < 0 || (size_t)length >= sizeof file->partial)
    return error_set(error, STATUS_CANNOT_CREATE, "%.60s...: the path is too long", path);
  snprintf(file->path, sizeof file->path, "%s", path);
  struct head_text text;
  if (!make_head_text(sweep, head, &text)) return error_set(error, STATUS_NO_MEMORY, "%s: out of memory", path);
  enum status status = STATUS_OK;
  while (status == STATUS_OK && !file->stream) {
    status = take_finished(file, &text, error);
    if (status == STATUS_OK && !file->complete) status = open_partial(file, error);
  }
  if (status == STATUS_OK && !file->complete) status = begin_or_go_on(file, &text, error);
  if (status != STATUS_OK) sweep_file_close(file);
  free(text.names);
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
  const bool lost = !memory_stream_close(stream, &text);
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
    while (status == STATUS_OK && !file->stream) status = open_partial(file, error);
  }
  file->row_count = 0;
  if (status == STATUS_OK) status = cut(file, 0, error);
  if (status != STATUS_OK) return status;
  struct head_text text;
  if (!make_head_text(file->sweep, &file->head, &text))
    return error_set(error, STATUS_NO_MEMORY, "%s: out of memory", file->partial);
  file->sum = sweep_file_hash(SWEEP_FILE_HASH_BEGIN, text.names, text.names_size);
  fprintf(file->stream, "%s%016" PRIx64 "\n%s", text.asked, file->sum, text.names);
  free(text.names);
  errno = 0;
  return fflush(file->stream) == 0 ? STATUS_OK : cannot_write(file, errno, error);
}

/* Brings the first line up to date with the rows; it takes no new room. */
static bool put_sum(const struct sweep_file *file) {
  char asked[ASKED_SIZE], digits[SUM_DIGITS + 1];
  snprintf(digits, sizeof digits, "%016" PRIx64, file->sum);
  return pwrite(fileno(file->stream), digits, SUM_DIGITS, asked_text(&file->head, asked)) == SUM_DIGITS;
}

static enum status append_piece(struct sweep_file *file, const struct piece *piece, size_t rows, struct error *error) {
  if (!piece->text) return error_set(error, STATUS_NO_MEMORY, "%s: out of memory for %zu rows", file->partial, rows);
  errno = 0;
  if (fwrite(piece->text, 1, piece->size, file->stream) != piece->size || fflush(file->stream) != 0)
    return cannot_write(file, errno ? errno : EIO, error);
  file->sum = sweep_file_hash(file->sum, piece->text, piece->size);
  if (!put_sum(file)) return cannot_write(file, errno ? errno : EIO, error);
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
