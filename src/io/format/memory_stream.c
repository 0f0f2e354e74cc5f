#include "io/format/memory_stream.h"

#include <stdlib.h>

bool memory_stream_close(FILE *stream, char **text) {
  const bool flushed = fflush(stream) == 0 && !ferror(stream);
  if (fclose(stream) == 0 && flushed && *text) return true;
  free(*text);
  *text = NULL;
  return false;
}
