/* A file of its own for what reads files alone. */
#ifndef SUPPORT_FILE_OF_BYTES_H
#define SUPPORT_FILE_OF_BYTES_H

#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <unistd.h>

enum { FILE_OF_BYTES_PATH_SIZE = 64 };

/* Makes one in memory where there is such a place, and gives its path; unlink() it. Ends the program if it cannot. */
static inline void file_of_bytes(const uint8_t *bytes, size_t size, char path[FILE_OF_BYTES_PATH_SIZE]) {
  snprintf(path, FILE_OF_BYTES_PATH_SIZE, "%s/bladegap-XXXXXX", access("/dev/shm", W_OK) == 0 ? "/dev/shm" : "/tmp");
  const int file = mkstemp(path);
  if (file < 0 || (size > 0 && write(file, bytes, size) != (ssize_t)size) || close(file) != 0) abort();
}

#endif
