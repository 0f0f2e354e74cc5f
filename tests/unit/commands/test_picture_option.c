/* Patience with gnuplot. Truth by hand: a minute for one that hangs, once. */
#include "commands/picture_option.h"
#include "support/check.h"

#include "io/picture/gnuplot.h"

static const struct command_line quiet = {.quiet = true};

static double patience_after(struct picture_option_drawing *drawing, double took_s, enum status status) {
  struct error error;
  error_clear(&error);
  if (status != STATUS_OK) error_set(&error, status, "it failed");
  (void)picture_option_target(drawing, PICTURE_dumb, NULL, NULL);
  drawing->began_s -= took_s;
  assert_int_equal(picture_option_end(drawing, status, &error), status == STATUS_OK);
  return picture_option_target(drawing, PICTURE_dumb, NULL, NULL).timeout_s;
}

static void it_waits_long_only_once(void **state) {
  (void)state;
  struct picture_option_drawing drawing;
  struct error error;
  picture_option_begin(&drawing, &quiet);
  check_close(patience_after(&drawing, 0.3, STATUS_OK), GNUPLOT_TIMEOUT_S, 0.0);
  check_close(patience_after(&drawing, 0.3, STATUS_INTERNAL), GNUPLOT_TIMEOUT_S, 0.0);
  check_close(patience_after(&drawing, GNUPLOT_TIMEOUT_S - 1.0, STATUS_OK), GNUPLOT_TIMEOUT_S, 0.0); // slow, but there
  check_close(patience_after(&drawing, GNUPLOT_TIMEOUT_S, STATUS_INTERNAL), 2.0, 0.0);
  check_close(patience_after(&drawing, 0.3, STATUS_OK), 2.0, 0.0);
  error_clear(&error);
  assert_int_equal(picture_option_result(&drawing, &error), STATUS_INTERNAL);
  assert_string_equal(error.text, "it failed");
}

int main(void) {
  const struct CMUnitTest tests[] = {cmocka_unit_test(it_waits_long_only_once)};
  return cmocka_run_group_tests(tests, NULL, NULL);
}
