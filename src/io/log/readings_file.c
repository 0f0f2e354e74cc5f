#include "io/log/readings_file.h"

#include "io/config/find_file.h"
#include "io/format/csv_read.h"

enum status readings_file_add(struct estimate_readings_input *input, const char *path, struct error *error) {
  struct csv_table table;
  struct error reading;
  error_clear(&reading);
  enum status status = find_file_exists(path, &reading);
  if (status == STATUS_OK) status = csv_read_words(path, &table, &reading);
  if (status != STATUS_OK) return error_append(error, status, "%s", reading.text);
  status = estimate_readings_add_table(input, path, &table, error);
  csv_table_destroy(&table);
  return status;
}
