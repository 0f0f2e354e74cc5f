/* Scenario files before any bytes. */
#include "io/config/scenario_file.h"

#include "one_timeline.h"

static enum status one_file(const char *path, size_t size, struct error *error) {
  (void)size;
  return one_timeline(scenario_file_read, path, error);
}
