#include "io/format/csv_read.h"

#include "io/format/input_file.h"

#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* The whole file in memory, with a null after it; NULL and *reason an errno if that failed. */
static char *contents_of(FILE *file, size_t *size, int *reason) {
  size_t capacity = 65536, used = 0;
  char *text = malloc(capacity);
  while (text) {
    errno = 0;
    used += input_file_fill(file, text + used, capacity - used);
    if (ferror(file)) {
      *reason = errno;
      free(text);
      return NULL;
    }
    if (used < capacity) {
      text[used] = '\0';
      *size = used;
      return text;
    }
    capacity *= 2;
    char *bigger = realloc(text, capacity);
    if (!bigger) free(text);
    text = bigger;
  }
  *reason = ENOMEM;
  return NULL;
}

typedef enum status (*reader)(const char *name, const char *text, size_t size, struct csv_table *table, struct error *error);

static enum status read_file(const char *path, reader read, struct csv_table *table, struct error *error) {
  memset(table, 0, sizeof *table);
  FILE *file = fopen(path, "rbe");
  if (!file) return error_set(error, STATUS_NO_INPUT, "%s: cannot read: %s", path, strerror(errno));
  size_t size = 0;
  int reason = 0;
  char *text = contents_of(file, &size, &reason);
  fclose(file);
  if (!text && reason == ENOMEM) return error_set(error, STATUS_NO_MEMORY, "%s: out of memory", path);
  if (!text) return error_set(error, STATUS_NO_INPUT, "%s: cannot read: %s", path, strerror(reason));
  const enum status status = read(path, text, size, table, error);
  free(text);
  return status;
}

enum status csv_read_file(const char *path, struct csv_table *table, struct error *error) {
  return read_file(path, csv_table_read, table, error);
}

enum status csv_read_words(const char *path, struct csv_table *table, struct error *error) {
  return read_file(path, csv_table_read_words, table, error);
}
