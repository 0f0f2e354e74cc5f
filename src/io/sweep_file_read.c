/* Reading sweeps back, and putting parts together. */
#include "io/sweep_file.h"

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
  part->line[length - 1] = '\0';
  part->line_number++;
  return true;
}

static enum status open_part(struct part *part, const char *path, struct error *error) {
  *part = (struct part){.path = path};
  part->stream = fopen(path, "re");
  if (!part->stream) return error_set(error, STATUS_NO_INPUT, "%s: cannot read: %s", path, strerror(errno));
  struct sweep_file_head *head = &part->head;
  int used = 0;
  const bool good = next_line(part) &&
                    sscanf(part->line, "# bladegap sweep %16" SCNx64 " rows %zu to %zu of %zu%n", &head->fingerprint, &head->first,
                           &head->end, &head->total, &used) == 4 &&
                    part->line[used] == '\0' && head->first <= head->end && head->end <= head->total;
  if (!good)
    return error_set(error, STATUS_BAD_DATA, "%s:1: is not a sweep's file: '# bladegap sweep ...' should stand here", path);
  if (!next_line(part)) return error_set(error, STATUS_BAD_DATA, "%s:2: the header is missing", path);
  part->header = part->line;
  part->line = NULL;
  part->capacity = 0;
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

static enum status read_row(const struct part *part, struct sweep_table *table, struct error *error) {
  double *values = table->values + table->row_count * table->column_count;
  const char *at = part->line;
  for (size_t i = 0; i < table->column_count; i++) {
    const char end = i + 1 < table->column_count ? ',' : '\0';
    char *after = (char *)at;
    values[i] = *at == end ? NAN : strtod(at, &after);
    if (*after != end)
      return error_set(error, STATUS_BAD_DATA, "%s:%zu: cell %zu is not a number", part->path, part->line_number, i + 1);
    at = after + 1;
  }
  table->row_count++;
  return STATUS_OK;
}

enum status sweep_file_read(const char *path, struct sweep_table *table, struct error *error) {
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
  const size_t rows = part.head.end - part.head.first;
  table->values = calloc(rows ? rows : 1, table->column_count * sizeof *table->values);
  if (!table->values) status = error_set(error, STATUS_NO_MEMORY, "%s: out of memory for %zu rows", path, rows);
  while (status == STATUS_OK && table->row_count < rows && next_line(&part)) status = read_row(&part, table, error);
  if (status == STATUS_OK && table->row_count < rows) status = not_whole(&part, table->row_count, error);
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
      error_append(error, STATUS_BAD_DATA, "%s: is part of another sweep than %s", part->path, parts[0].path);
      continue;
    }
    if (part->head.first > next)
      error_append(error, STATUS_BAD_DATA, "rows %zu to %zu are in none of these files", next, part->head.first);
    if (part->head.first < next)
      error_append(error, STATUS_BAD_DATA, "%s: rows %zu to %zu are in %s too", part->path, part->head.first, next,
                   parts[i - 1].path);
    if (part->head.end > next) next = part->head.end;
  }
  if (next < parts[0].head.total)
    error_append(error, STATUS_BAD_DATA, "rows %zu to %zu are in none of these files", next, parts[0].head.total);
  return error->line_count ? error->status : STATUS_OK;
}

static enum status copy_rows(struct part *part, FILE *out, struct error *error) {
  const size_t rows = part->head.end - part->head.first;
  size_t done = 0;
  while (done < rows && next_line(part)) {
    fputs(part->line, out);
    fputc('\n', out);
    done++;
  }
  if (done < rows) return not_whole(part, done, error);
  return next_line(part) ? error_set(error, STATUS_BAD_DATA, "%s:%zu: more rows than the first line says", part->path,
                                     part->line_number)
                         : STATUS_OK;
}

enum status sweep_file_read_merge(char *const *paths, size_t count, const char *out_path, size_t *row_count, struct error *error) {
  struct part *parts = calloc(count, sizeof *parts);
  if (!parts) return error_set(error, STATUS_NO_MEMORY, "out of memory for %zu files", count);
  struct output_file out = {0};
  enum status status = STATUS_OK;
  for (size_t i = 0; status == STATUS_OK && i < count; i++) status = open_part(&parts[i], paths[i], error);
  if (status != STATUS_OK) goto cleanup;
  qsort(parts, count, sizeof *parts, by_first_row);
  status = check_parts(parts, count, error);
  if (status == STATUS_OK) status = output_file_open(&out, out_path, error);
  if (status != STATUS_OK) goto cleanup;
  *row_count = parts[0].head.total;
  fprintf(out.stream, "# bladegap sweep %016" PRIx64 " rows 0 to %zu of %zu\n%s\n", parts[0].head.fingerprint, *row_count,
          *row_count, parts[0].header);
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
