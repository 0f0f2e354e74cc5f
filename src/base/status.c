#include "base/status.h"

#include <assert.h>

static const struct {
  int exit_code;
  const char *text;
} status_rows[] = {
#define STATUS(name, code, text) {code, text},
    STATUS_LIST(STATUS)
#undef STATUS
};

int status_exit_code(enum status status) {
  assert(status >= 0 && status < STATUS_COUNT);
  return status_rows[status].exit_code;
}

const char *status_text(enum status status) {
  assert(status >= 0 && status < STATUS_COUNT);
  return status_rows[status].text;
}
