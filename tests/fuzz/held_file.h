/* Bytes as a file that has a path, for readers that open files: nothing is written to a disk. */
#ifndef FUZZ_HELD_FILE_H
#define FUZZ_HELD_FILE_H

#include <assert.h>
#include <stdint.h>
#include <stdio.h>
#include <sys/mman.h>
#include <unistd.h>

enum { HELD_FILE_PATH_SIZE = 64 };

static inline int held_file_open(const uint8_t *bytes, size_t size, char path[HELD_FILE_PATH_SIZE]) {
  const int file = memfd_create("held", MFD_CLOEXEC);
  assert(file >= 0);
  for (size_t done = 0; done < size;) {
    const ssize_t written = write(file, bytes + done, size - done);
    assert(written > 0);
    done += (size_t)written;
  }
  snprintf(path, HELD_FILE_PATH_SIZE, "/proc/self/fd/%d", file);
  return file;
}

#endif
