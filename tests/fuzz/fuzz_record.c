/* Records before any bytes: the file, and what a link to the page holds once it is unpacked. What must hold: as of a scenario. */
#include "io/config/record_file.h"

#include "held_file.h"

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t size);

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t size) {
  char path[HELD_FILE_PATH_SIZE];
  struct error error;
  const int file = held_file_open(bytes, size, path);
  error_clear(&error);
  struct scenario scenario;
  scenario_init(&scenario);
  (void)record_file_is(path);
  if (record_file_read(path, &scenario, &error) != STATUS_OK)
    assert(error.text[0] != 0);
  else
    for (size_t i = 0; i < scenario.step_count; i++)
      assert(scenario.steps[i].at_s >= 0.0 && scenario.steps[i].at_s <= scenario.duration_s);
  scenario_destroy(&scenario);
  close(file);
  return 0;
}
