/* Records before any bytes: the file, and what a link to the page holds once it is unpacked. */
#include "io/config/record_file.h"

#include "one_timeline.h"

static enum status one_file(const char *path, size_t size, struct error *error) {
  (void)size;
  (void)record_file_is(path);
  return one_timeline(record_file_read, path, error);
}
