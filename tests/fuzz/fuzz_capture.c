/* Captures of the bus before any bytes. What must hold: a refusal has its sentence; what is made of one is text with a header, and reading
 * that on does no harm. */
#include "io/scantool/capture_read.h"

#include "analysis/log/log_text.h"

#include <assert.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t size);

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t size) {
  char *text = NULL;
  size_t text_size = 0;
  struct error error;
  error_clear(&error);
  if (!capture_read_is((const char *)bytes, size)) return 0; // as the reader's caller asks first
  if (capture_read_text("capture", (const char *)bytes, size, &text, &text_size, &error) == STATUS_OK) {
    struct log_text log;
    assert(text_size > 0 && memchr(text, '\n', text_size));
    if (log_text_read("capture", text, text_size, NULL, &log, &error) != STATUS_OK) assert(error.text[0] != '\0');
    log_text_destroy(&log);
    free(text);
  } else {
    assert(error.text[0] != '\0');
  }
  return 0;
}
