/* log_dump FILE [MAP [RATE]]: a log as the reader has it, every row and every channel that any row has, to 17 digits; its notes on
 * stderr. For tests that hold it against what was written. */
#include "io/log/log_file.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

static void print(const struct recording *recording) {
  bool has[CHANNEL_COUNT] = {false};
  for (size_t row = 0; row < recording->row_count; row++)
    for (int c = 0; c < CHANNEL_COUNT; c++) has[c] |= !isnan(recording_value(recording, row, (enum channel)c));
  for (int c = 0; c < CHANNEL_COUNT; c++)
    if (has[c]) printf("%s%s", c ? "," : "", channel_rows[c].name);
  putchar('\n');
  for (size_t row = 0; row < recording->row_count; row++) {
    for (int c = 0; c < CHANNEL_COUNT; c++) {
      const double value = recording_value(recording, row, (enum channel)c);
      if (has[c]) printf(isnan(value) ? "%s" : "%s%.17g", c ? "," : "", value);
    }
    putchar('\n');
  }
}

int main(int argc, char **argv) {
  struct log_map map = {0};
  struct log_text log = {0};
  struct error error;
  error_clear(&error);
  if (argc < 2) return 64;
  enum status status = argc > 2 && *argv[2] ? log_file_read_map(argv[2], &map, &error) : STATUS_OK;
  const struct log_text_setting setting = {.map = &map, .rate_hz = argc > 3 ? atof(argv[3]) : 0.0};
  if (status == STATUS_OK) status = log_file_read(argv[1], &setting, &log, &error);
  if (status == STATUS_OK) print(&log.recording);
  fputs(status == STATUS_OK ? (log.notes ? log.notes : "") : error.text, stderr);
  log_text_destroy(&log);
  log_map_destroy(&map);
  return status == STATUS_OK ? 0 : 65;
}
