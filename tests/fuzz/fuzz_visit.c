/* Files of visits before any bytes. What must hold: a refusal has its sentence; readings have a deviation above 0. */
#include "io/config/visit_file.h"

#include <stdlib.h>

#include "held_file.h"

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t size);

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t size) {
  char path[HELD_FILE_PATH_SIZE];
  struct error error;
  const int file = held_file_open(bytes, size, path);
  error_clear(&error);
  struct visit *visit = calloc(1, sizeof *visit);
  assert(visit);
  visit_init(visit);
  if (visit_file_read(path, visit, &error) != STATUS_OK)
    assert(error.text[0] != 0);
  else
    for (size_t i = 0; i < visit->readings.count; i++) assert(visit->readings.readings[i].sd > 0.0);
  free(visit);
  close(file);
  return 0;
}
