/* Parts of a sweep before any bytes, read and merged. What must hold: a refusal has its sentence; what is taken has all its rows. */
#include "io/report/sweep_file.h"

#include "held_file.h"

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t size);

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t size) {
  char path[HELD_FILE_PATH_SIZE];
  struct error error;
  const int file = held_file_open(bytes, size, path);
  error_clear(&error);
  struct sweep_table table;
  if (sweep_file_read(path, &for_each_serial, &table, &error) != STATUS_OK)
    assert(error.text[0] != 0);
  else
    assert(table.row_count == table.head.end - table.head.first && table.column_count > 0);
  sweep_file_read_forget(&table);
  size_t rows = 0;
  char *paths[] = {path, path};
  error_clear(&error);
  if (sweep_file_read_merge(paths, 1 + size % 2, "/dev/null", &rows, &error) != STATUS_OK) assert(error.text[0] != 0);
  close(file);
  return 0;
}
