/* Reading sweeps back, and putting parts together. */
#include "io/report/sweep_file.h"

#include <errno.h>
#include <inttypes.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

/* A part being read line by line. */
struct part {
  const char *path;
  FILE *stream;
  struct sweep_file_head head;
  char *header; // the line of names; owned
  char *line;
  size_t capacity, line_number;
  uint64_t said, sum; // what the first line says; over the lines behind it that were read
  long rows_at;       // where the first row begins; -1: it cannot be read twice
};

static void close_part(struct part *part) {
  if (part->stream) fclose(part->stream);
  free(part->header);
  free(part->line);
  part->stream = NULL;
  part->header = part->line = NULL;
}

/* The next whole line without its end; false at the end of the file. */
static bool next_line(struct part *part) {
  const ssize_t length = getline(&part->line, &part->capacity, part->stream);
  if (length <= 0 || part->line[length - 1] != '\n') return false;
  if (part->line_number > 0) part->sum = sweep_file_hash(part->sum, part->line, (size_t)length);
  part->line[length - 1] = '\0';
  part->line_number++;
  return true;
}

static enum status open_part(struct part *part, const char *path, struct error *error) {
  *part = (struct part){.path = path, .sum = SWEEP_FILE_HASH_BEGIN};
  part->stream = fopen(path, "re");
  if (!part->stream) return error_set(error, STATUS_NO_INPUT, "%s: cannot read: %s", path, strerror(errno));
  struct sweep_file_head *head = &part->head;
  int used = 0;
  const bool good = next_line(part) &&
                    sscanf(part->line, "# bladegap sweep %16" SCNx64 " rows %zu to %zu of %zu sum %16" SCNx64 "%n",
                           &head->fingerprint, &head->first, &head->end, &head->total, &part->said, &used) == 5 &&
                    part->line[used] == '\0' && head->first <= head->end && head->end <= head->total;
  if (!good)
    return error_set(error, STATUS_BAD_DATA,
                     "%s:1: is not the file of a sweep: it should have '# bladegap sweep ... sum ...' here", path);
  if (!next_line(part)) return error_set(error, STATUS_BAD_DATA, "%s:2: the header is missing", path);
  part->header = part->line;
  part->line = NULL;
  part->capacity = 0;
  part->rows_at = ftell(part->stream);
  return STATUS_OK;
}

/* After the last row: whether the sum fits, and whether more follows. */
static enum status check_end(struct part *part, struct error *error) {
  if (part->sum != part->said)
    return error_set(error, STATUS_BAD_DATA,
                     "%s: was changed since its sweep wrote it: its checksum does not match. Compute it again", part->path);
  if (next_line(part))
    return error_set(error, STATUS_BAD_DATA, "%s:%zu: more rows than the first line says", part->path, part->line_number);
  return STATUS_OK;
}

static enum status not_whole(const struct part *part, size_t rows, struct error *error) {
  return error_append(error, STATUS_BAD_DATA, "%s: has %zu rows of %zu: let its sweep finish first", part->path, rows,
                      part->head.end - part->head.first);
}

/* ---- Into memory ---- */

void sweep_file_read_forget(struct sweep_table *table) {
  free(table->names);
  free(table->values);
  *table = (struct sweep_table){0};
}

/* Lines that are to become rows; a piece is what a hand takes at a time. */
enum { PIECE_ROWS = 128, BATCH_ROWS = 64 * PIECE_ROWS };
struct batch {
  size_t count;
  struct {
    char *text;      // owned
    size_t bad_cell; // the first that is no number, from 1; 0 for none
  } lines[BATCH_ROWS];
  double *values; // of the first line
  size_t columns;
};

/* Turns a line into numbers; returns the first cell that is none, from 1; 0 for a good line. */
static size_t read_row(const char *at, double *values, size_t count) {
  for (size_t i = 0; i < count; i++) {
    const char end = i + 1 < count ? ',' : '\0';
    char *after = (char *)at;
    values[i] = *at == end ? NAN : strtod(at, &after);
    if (*after != end) return i + 1;
    at = after + 1;
  }
  return 0;
}

static void read_piece(size_t index, size_t worker, void *user) {
  (void)worker;
  struct batch *batch = user;
  for (size_t i = index * PIECE_ROWS; i < (index + 1) * PIECE_ROWS && i < batch->count; i++)
    batch->lines[i].bad_cell = read_row(batch->lines[i].text, batch->values + i * batch->columns, batch->columns);
}

/* The next lines of the part, as many as a batch holds and the table wants. */
static void take_lines(struct part *part, size_t wanted, struct batch *batch) {
  for (batch->count = 0; batch->count < BATCH_ROWS && batch->count < wanted && next_line(part); batch->count++) {
    batch->lines[batch->count].text = part->line;
    part->line = NULL; // so that the next line gets memory of its own
    part->capacity = 0;
  }
}

static enum status keep_rows(const struct part *part, struct batch *batch, struct sweep_table *table, struct error *error) {
  const size_t first_line = part->line_number - batch->count + 1;
  enum status status = STATUS_OK;
  for (size_t i = 0; i < batch->count; i++) {
    if (status == STATUS_OK && batch->lines[i].bad_cell)
      status = error_set(error, STATUS_BAD_DATA, "%s:%zu: cell %zu is not a number", part->path, first_line + i,
                         batch->lines[i].bad_cell);
    free(batch->lines[i].text);
  }
  table->row_count += batch->count;
  return status;
}

/* All rows of a part whose head has been read. */
static enum status read_rows(struct part *part, const struct for_each *for_each, struct sweep_table *table, struct error *error) {
  const size_t rows = part->head.end - part->head.first;
  struct batch *batch = calloc(1, sizeof *batch);
  table->values = calloc(rows + 1, table->column_count * sizeof *table->values);
  enum status status = STATUS_OK;
  if (!batch || !table->values) status = error_set(error, STATUS_NO_MEMORY, "%s: out of memory for %zu rows", part->path, rows);
  while (status == STATUS_OK && batch && table->row_count < rows) {
    batch->values = table->values + table->row_count * table->column_count;
    batch->columns = table->column_count;
    take_lines(part, rows - table->row_count, batch);
    if (batch->count == 0) break;
    for_each->run(for_each, (batch->count + PIECE_ROWS - 1) / PIECE_ROWS, read_piece, batch);
    status = keep_rows(part, batch, table, error);
  }
  free(batch);
  if (status == STATUS_OK && table->row_count < rows) status = not_whole(part, table->row_count, error);
  return status == STATUS_OK ? check_end(part, error) : status;
}

enum status sweep_file_read(const char *path, const struct for_each *for_each, struct sweep_table *table, struct error *error) {
  *table = (struct sweep_table){0};
  struct part part;
  enum status status = open_part(&part, path, error);
  if (status != STATUS_OK) goto cleanup;
  table->head = part.head;
  table->column_count = 1;
  for (char *sign = part.header; *sign; sign++)
    if (*sign == ',') {
      *sign = '\0';
      table->column_count++;
    }
  table->names = part.header;
  part.header = NULL;
  status = read_rows(&part, for_each, table, error);
cleanup:
  close_part(&part);
  return status;
}

/* ---- Merging ---- */

static int by_first_row(const void *a, const void *b) {
  const struct part *left = a, *right = b;
  if (left->head.first != right->head.first) return left->head.first < right->head.first ? -1 : 1;
  return left->head.end < right->head.end ? -1 : left->head.end > right->head.end;
}

/* Same question, no gap, nothing twice; parts are sorted. */
static enum status check_parts(const struct part *parts, size_t count, struct error *error) {
  size_t next = 0;
  for (size_t i = 0; i < count; i++) {
    const struct part *part = &parts[i];
    if (part->head.fingerprint != parts[0].head.fingerprint || part->head.total != parts[0].head.total ||
        strcmp(part->header, parts[0].header) != 0) {
      error_append(error, STATUS_BAD_DATA, "%s: is not part of the same sweep as %s", part->path, parts[0].path);
      continue;
    }
    if (part->head.first > next)
      error_append(error, STATUS_BAD_DATA, "rows %zu to %zu are in none of these files", next + 1, part->head.first);
    if (part->head.first < next)
      error_append(error, STATUS_BAD_DATA, "%s: rows %zu to %zu are in %s too", part->path, part->head.first + 1, next,
                   parts[i - 1].path);
    if (part->head.end > next) next = part->head.end;
  }
  if (next < parts[0].head.total)
    error_append(error, STATUS_BAD_DATA, "rows %zu to %zu are in none of these files", next + 1, parts[0].head.total);
  return error->line_count ? error->status : STATUS_OK;
}

/* Reads a part to its end, joins its rows to the sum of the whole, and goes back to its first row. */
static enum status look_through(struct part *part, uint64_t *sum, struct error *error) {
  const size_t rows = part->head.end - part->head.first;
  size_t done = 0;
  for (; done < rows && next_line(part); done++) {
    *sum = sweep_file_hash(*sum, part->line, strlen(part->line));
    *sum = sweep_file_hash(*sum, "\n", 1);
  }
  if (done < rows && feof(part->stream)) return not_whole(part, done, error);
  if (done < rows) return error_set(error, STATUS_NO_MEMORY, "%s: cannot be read to its end", part->path);
  const enum status status = check_end(part, error);
  if (status != STATUS_OK || fseek(part->stream, part->rows_at, SEEK_SET) == 0) return status;
  return error_set(error, STATUS_NO_INPUT, "%s: must be an ordinary file: it is read twice", part->path);
}

static enum status copy_rows(struct part *part, FILE *out, struct error *error) {
  const size_t rows = part->head.end - part->head.first;
  for (size_t done = 0; done < rows; done++) {
    if (!next_line(part)) return error_set(error, STATUS_IO, "%s: changed while it was read", part->path);
    fputs(part->line, out);
    fputc('\n', out);
  }
  return STATUS_OK;
}

enum status sweep_file_read_merge(char *const *paths, size_t count, const char *out_path, size_t *row_count,
                                  struct error *error) {
  struct part *parts = calloc(count, sizeof *parts);
  if (!parts) return error_set(error, STATUS_NO_MEMORY, "out of memory for %zu files", count);
  struct output_file out = {0};
  enum status status = STATUS_OK;
  for (size_t i = 0; status == STATUS_OK && i < count; i++) status = open_part(&parts[i], paths[i], error);
  if (status != STATUS_OK) goto cleanup;
  qsort(parts, count, sizeof *parts, by_first_row);
  status = check_parts(parts, count, error);
  uint64_t sum = sweep_file_hash(SWEEP_FILE_HASH_BEGIN, parts[0].header, strlen(parts[0].header));
  sum = sweep_file_hash(sum, "\n", 1);
  for (size_t i = 0; status == STATUS_OK && i < count; i++) status = look_through(&parts[i], &sum, error);
  if (status == STATUS_OK) status = output_file_open(&out, out_path, error);
  if (status != STATUS_OK) goto cleanup;
  *row_count = parts[0].head.total;
  fprintf(out.stream, "# bladegap sweep %016" PRIx64 " rows 0 to %zu of %zu sum %016" PRIx64 "\n%s\n", parts[0].head.fingerprint,
          *row_count, *row_count, sum, parts[0].header);
  for (size_t i = 0; status == STATUS_OK && i < count; i++) status = copy_rows(&parts[i], out.stream, error);
  if (status == STATUS_OK)
    status = output_file_commit(&out, error);
  else
    output_file_discard(&out);
cleanup:
  for (size_t i = 0; i < count; i++) close_part(&parts[i]);
  free(parts);
  return status;
}
