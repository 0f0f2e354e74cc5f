#include "support/slip.h"

#include "io/config/scenario_file.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include <cmocka.h>

struct slip_folder slip_here;

int slip_begin(void **state) {
  (void)state;
  struct slip_folder *folder = &slip_here;
  strcpy(folder->path, "/tmp/bladegap-test-XXXXXX");
  FILE *file = fopen(SLIP_MODEL, "rb");
  if (!file) return -1;
  const size_t size = fread(folder->model, 1, sizeof folder->model - 1, file);
  fclose(file);
  folder->model[size] = '\0';
  if (!mkdtemp(folder->path)) return -1;
  snprintf(folder->engine_path, sizeof folder->engine_path, "%.40s/engine.cfg", folder->path);
  snprintf(folder->scenario_path, sizeof folder->scenario_path, "%.40s/scenario.cfg", folder->path);
  return 0;
}

int slip_end(void **state) {
  (void)state;
  unlink(slip_here.engine_path);
  unlink(slip_here.scenario_path);
  return rmdir(slip_here.path);
}

void slip_write(const char *path, const char *bytes, size_t size) {
  FILE *file = fopen(path, "wb");
  assert_non_null(file);
  assert_int_equal(fwrite(bytes, 1, size, file), size);
  assert_int_equal(fclose(file), 0);
}

int slip_make(const char *path, const char *text, const struct slip *slip) {
  char changed[SLIP_TEXT_SIZE];
  const char *place = strstr(text, slip->find);
  if (!place) {
    fail_msg("the text has no %s", slip->find);
    return 0;
  }
  const int size =
      snprintf(changed, sizeof changed, "%.*s%s%s", (int)(place - text), text, slip->replace, place + strlen(slip->find));
  assert_in_range(size, 1, sizeof changed - 1);
  slip_write(path, changed, (size_t)size);
  const char *at = slip->at ? strstr(changed, slip->at) : changed + (place - text);
  assert_non_null(at);
  int line = 1;
  for (const char *c = changed; c < at; c++) line += *c == '\n';
  return line;
}

void slip_assert(const char *path, const char *text, const struct slip *slip,
                 enum status (*read)(const char *path, struct error *error)) {
  const int line = slip_make(path, text, slip);
  struct error error;
  error_clear(&error);
  assert_int_equal(read(path, &error), STATUS_BAD_CONFIG);
  char wanted[1024];
  snprintf(wanted, sizeof wanted, "%s:%d: %s", path, line, slip->message);
  assert_string_equal(error.text, wanted);
  assert_int_equal(error.line_count, 1);
}

enum status slip_read_scenario(const char *path, struct error *error) {
  struct scenario scenario;
  const enum status status = scenario_file_read(path, &scenario, error);
  scenario_destroy(&scenario);
  return status;
}

void slip_assert_close(double value, double wanted) {
  if (!(fabs(value - wanted) <= 1e-12 * fabs(wanted) + 1e-15)) fail_msg("%.17g instead of %.17g", value, wanted);
}
