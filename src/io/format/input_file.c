#include "io/format/input_file.h"

#include <errno.h>

size_t input_file_fill(FILE *stream, char *bytes, size_t size) {
  size_t got = 0;
  for (;;) {
    errno = 0;
    got += fread(bytes + got, 1, size - got, stream);
    if (got == size || !ferror(stream) || errno != EINTR) return got;
    clearerr(stream);
  }
}
