/* Streams that are interrupted. Truth: read(2) may end with EINTR, with nothing lost, and every other error is one. */
#include "io/format/input_file.h"
#include "support/check.h"

#include "base/attributes.h"

#include <errno.h>
#include <stdbool.h>
#include <string.h>

/* Gives "ab" and "cd", with this error between the two, and as many times. */
struct source {
  int error, times, given;
};

static ssize_t give(void *cookie, char *bytes, size_t size) {
  struct source *source = cookie;
  (void)size;
  if (source->given == 1 && source->times-- > 0) {
    errno = source->error;
    return -1;
  }
  if (source->given == 2) return 0;
  memcpy(bytes, source->given++ ? "cd" : "ab", 2);
  return 2;
}

static void goes_on(void **state) {
  (void)state;
  static const struct {
    struct source source;
    size_t room, got;
    bool failed;
  } rows[] = {
      {{0, 0, 0}, 8, 4, false},  {{EINTR, 1, 0}, 8, 4, false}, {{EINTR, 3, 0}, 8, 4, false},
      {{EIO, 1, 0}, 8, 2, true}, {{EINTR, 1, 0}, 3, 3, false}, {{EINTR, 1, 0}, 2, 2, false},
  };
  for (size_t i = 0; i < ARRAY_COUNT(rows); i++) {
    struct source source = rows[i].source;
    char bytes[8] = "";
    FILE *stream = fopencookie(&source, "r", (cookie_io_functions_t){.read = give});
    assert_non_null(stream);
    assert_int_equal(input_file_fill(stream, bytes, rows[i].room), rows[i].got);
    assert_memory_equal(bytes, "abcd", rows[i].got);
    assert_int_equal(ferror(stream) != 0, rows[i].failed);
    if (rows[i].failed) assert_int_equal(errno, rows[i].source.error);
    fclose(stream);
  }
}

int main(void) {
  const struct CMUnitTest tests[] = {cmocka_unit_test(goes_on)};
  return cmocka_run_group_tests(tests, NULL, NULL);
}
