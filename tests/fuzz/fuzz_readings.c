/* Lists of readings, and logs given as readings, before any bytes. What must hold: a refusal has its sentence; what is taken is finite. */
#include "io/log/readings_file.h"

#include "io/config/engine_file.h"

#include <math.h>
#include <stdlib.h>

#include "held_file.h"

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t size);

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t size) {
  char path[HELD_FILE_PATH_SIZE];
  struct error error;
  const int file = held_file_open(bytes, size, path);
  error_clear(&error);
  static struct engine engine;
  static int known;
  if (!known) known = engine_file_read("models/four-16.cfg", &engine, &error) == STATUS_OK;
  assert(known);
  struct estimate_readings_input *input = calloc(1, sizeof *input);
  assert(input);
  if (estimate_readings_init(input, &engine, &error) == STATUS_OK) {
    if (readings_file_add(input, path, &error) != STATUS_OK) assert(error.text[0] != 0);
    for (size_t i = 0; i < input->given.count; i++) assert(isfinite(input->given.readings[i].value));
  }
  free(input);
  close(file);
  return 0;
}
