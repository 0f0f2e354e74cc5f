/* What the targets share that put any bytes as a file before one reader. A target defines one_file(); what must hold for all: a refusal has its
 * sentence. */
#ifndef FUZZ_ONE_FILE_H
#define FUZZ_ONE_FILE_H

#include "base/error.h"

#include "held_file.h"

/* Reads the file of so many bytes, and checks what was taken. */
static enum status one_file(const char *path, size_t size, struct error *error);

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t size);

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t size) {
  char path[HELD_FILE_PATH_SIZE];
  struct error error;
  error_clear(&error);
  const int file = held_file_open(bytes, size, path);
  if (one_file(path, size, &error) != STATUS_OK) assert(error.text[0] != '\0');
  close(file);
  return 0;
}

#endif
