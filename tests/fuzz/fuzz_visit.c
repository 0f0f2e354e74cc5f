/* Files of a visit before any bytes. What must hold: a refusal has its sentence; what was taken is written and read again as the same visit, with
 * no number in its texts that looks like one of a vehicle. */
#include "io/config/visit_file.h"
#include "support/file_of_bytes.h"

#include <assert.h>
#include <string.h>
#include <unistd.h>

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t size);

static void check_same(const struct visit *one, const struct visit *other) {
  assert(strcmp(one->engine, other->engine) == 0 && strcmp(one->vehicle, other->vehicle) == 0);
  assert(strcmp(one->codes, other->codes) == 0 && strcmp(one->baseline, other->baseline) == 0 && one->pairs == other->pairs);
  assert(one->readings.count == other->readings.count && one->look_count == other->look_count);
  for (size_t i = 0; i < one->readings.count; i++) {
    assert(one->readings.readings[i].quantity == other->readings.readings[i].quantity);
    assert(one->readings.readings[i].condition == other->readings.readings[i].condition);
  }
}

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t size) {
  static struct visit visit, again;
  char path[FILE_OF_BYTES_PATH_SIZE], copy[FILE_OF_BYTES_PATH_SIZE];
  char text[VISIT_TEXT_SIZE];
  struct error error;
  error_clear(&error);
  file_of_bytes(bytes, size, path);
  if (visit_file_read(path, &visit, &error) != STATUS_OK) {
    assert(error.text[0] != '\0');
  } else {
    memcpy(text, visit.vehicle, sizeof text);
    assert(visit_clear_text(text) == 0);
    file_of_bytes((const uint8_t *)"", 0, copy);
    error_clear(&error);
    assert(visit_file_write(&visit, copy, &error) == STATUS_OK);
    const enum status status = visit_file_read(copy, &again, &error);
    assert(status == STATUS_OK);
    check_same(&visit, &again);
    unlink(copy);
  }
  unlink(path);
  return 0;
}
