/* Parts of a sweep before any bytes, read and merged. What must hold: what is taken has all its rows. */
#include "io/report/sweep_file.h"

#include "one_file.h"

static enum status one_file(const char *path, size_t size, struct error *error) {
  struct sweep_table table;
  const enum status status = sweep_file_read(path, &for_each_serial, &table, error);
  assert(status != STATUS_OK || (table.row_count == table.head.end - table.head.first && table.column_count > 0));
  assert(status == STATUS_OK || error->text[0] != '\0');
  sweep_file_read_forget(&table);
  size_t rows = 0;
  char held[HELD_FILE_PATH_SIZE], *paths[] = {held, held};
  snprintf(held, sizeof held, "%s", path);
  error_clear(error);
  return sweep_file_read_merge(paths, 1 + size % 2, "/dev/null", &rows, error);
}
