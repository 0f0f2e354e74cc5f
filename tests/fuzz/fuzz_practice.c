/* Practice cases before any bytes. What must hold: what is taken is written and read again as the same; a refusal has its sentence. */
#include "analysis/practice/practice_text.h"

#include <assert.h>
#include <stdint.h>
#include <string.h>

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t size);

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t size) {
  static struct practice_record record, again;
  static char text[PRACTICE_TEXT_MOST];
  struct error error;
  error_clear(&error);
  if (practice_text_read("case", (const char *)bytes, size, &record, &error) != STATUS_OK) {
    assert(error.text[0] != '\0');
    return 0;
  }
  const size_t length = practice_text_write(&record, text);
  assert(practice_text_read("again", text, length, &again, &error) == STATUS_OK);
  assert(memcmp(&record, &again, sizeof record) == 0);
  return 0;
}
