#include "support/check.h"

#include <math.h>

static void print_place(const struct check_place *place) {
  print_error("%s:%d: %s", place->file, place->line, place->expression);
  if (!isnan(place->at)) print_error(" at %.10g", place->at);
}

static void fail_at(const struct check_place *place) { _fail(place->file, place->line); }

void check_close_from(struct check_place place, double actual, double expected, double tolerance) {
  const double difference = actual - expected;
  if (fabs(difference) <= tolerance) return;
  print_place(&place);
  print_error(" is %.12g, expected %.12g: off by %.3g, allowed %.3g\n", actual, expected, difference, tolerance);
  fail_at(&place);
}

void check_relative_from(struct check_place place, double actual, double expected, double ratio) {
  const double difference = actual - expected;
  if (fabs(difference) <= ratio * fabs(expected)) return;
  print_place(&place);
  print_error(" is %.12g, expected %.12g: off by %.3g of it, allowed %.3g\n", actual, expected, difference / fabs(expected),
              ratio);
  fail_at(&place);
}

void check_below_from(struct check_place place, double actual, double limit) {
  if (actual < limit) return;
  print_place(&place);
  print_error(" is %.12g, must be below %.12g\n", actual, limit);
  fail_at(&place);
}

void check_above_from(struct check_place place, double actual, double limit) {
  if (actual > limit) return;
  print_place(&place);
  print_error(" is %.12g, must be above %.12g\n", actual, limit);
  fail_at(&place);
}
