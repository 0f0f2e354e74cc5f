/* Engine files before any bytes. What must hold: what is taken stands the check of the whole, or is refused with a sentence. */
#include "io/config/engine_file.h"

#include "car/engine_check.h"

#include <stdlib.h>

#include "held_file.h"

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t size);

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t size) {
  char path[HELD_FILE_PATH_SIZE];
  struct error error;
  const int file = held_file_open(bytes, size, path);
  error_clear(&error);
  struct engine *engine = calloc(1, sizeof *engine);
  assert(engine);
  if (engine_file_read(path, engine, &error) != STATUS_OK)
    assert(error.text[0] != 0);
  else
    assert(engine_check(engine, &error) == STATUS_OK);
  free(engine);
  close(file);
  return 0;
}
