/* Plays a record from standard input through the library and prints every channel's bits, a line a second: what the page's module must
 * give too (tests/page/play.js). */
#include "bladegap.h"

#include <inttypes.h>
#include <stdio.h>
#include <string.h>

enum { RECORD_SIZE = 1 << 16, CHANNELS_MOST = 64 };

int main(void) {
  static char record[RECORD_SIZE];
  char error[BLADEGAP_ERROR_SIZE];
  double end_s, values[CHANNELS_MOST];
  const size_t size = fread(record, 1, sizeof record, stdin);
  bladegap_table *channels = bladegap_list("channels", error, sizeof error);
  const size_t count = bladegap_table_row_count(channels);
  bladegap_table_destroy(channels);
  bladegap_run *run = bladegap_run_replay("record", record, size, &end_s, error, sizeof error);
  int status = run && count > 0 && count <= CHANNELS_MOST ? 0 : 1;
  for (double time_s = 0; status == 0 && time_s < end_s; time_s++) {
    status = bladegap_run_step(run, BLADEGAP_TICKS_PER_S, error, sizeof error);
    if (status == 0) status = bladegap_run_values(run, values, count, error, sizeof error);
    for (size_t i = 0; status == 0 && i < count; i++) {
      uint64_t bits;
      memcpy(&bits, &values[i], sizeof bits);
      if (values[i] != values[i]) bits = 0; // nothing is nothing, whatever its bits
      printf("%" PRIx64 "%c", bits, i + 1 < count ? ' ' : '\n');
    }
  }
  if (status != 0) fprintf(stderr, "%s\n", error);
  bladegap_run_destroy(run);
  return status;
}
