/* The log reader before any bytes. What must hold of whatever it makes of them: times rise, no number is infinite, a refusal has its
 * sentence. */
#include "analysis/log/log_text.h"

#include <assert.h>
#include <math.h>
#include <stdint.h>

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t size);

static void check(const struct log_text *log) {
  const struct recording *recording = &log->recording;
  assert(recording->row_count > 0);
  for (size_t row = 0; row < recording->row_count; row++) {
    const double now_s = recording_value(recording, row, CHANNEL_time_s);
    assert(isfinite(now_s) && (row == 0 || now_s > recording_value(recording, row - 1, CHANNEL_time_s)));
    for (int c = 0; c < CHANNEL_COUNT; c++) assert(!isinf(recording_value(recording, row, (enum channel)c)));
  }
}

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t size) {
  struct log_text log;
  struct error error;
  const struct log_text_setting setting = {.rate_hz = size % 3 == 0 ? 20.0 : 0.0};
  error_clear(&error);
  if (log_text_read("log", bytes, size, &setting, &log, &error) == STATUS_OK)
    check(&log);
  else
    assert(error.text[0] != '\0');
  log_text_destroy(&log);
  (void)log_text_is_log(bytes, size, NULL);
  return 0;
}
