/* Assertions on doubles for cmocka tests. cmocka 1.1.5's own assert_float_equal works in single precision.
 *
 * A failure prints file:line, the expression, both values, the difference and what was allowed. NaN always
 * fails. The forms with _at also print where in a table or a sweep the check stood. */
#ifndef TESTS_SUPPORT_CHECK_H
#define TESTS_SUPPORT_CHECK_H

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include <math.h>

/* Where an assertion stands in the source, and at which abscissa of a sweep; NAN for none. */
struct check_place {
  const char *file;
  int line;
  const char *expression;
  double at;
};
#define CHECK_PLACE(expression, at) ((struct check_place){__FILE__, __LINE__, expression, at})

/* |actual - expected| <= tolerance */
#define check_close(actual, expected, tolerance)        check_close_at(NAN, actual, expected, tolerance)
#define check_close_at(at, actual, expected, tolerance) check_close_from(CHECK_PLACE(#actual, at), actual, expected, tolerance)

/* |actual - expected| <= ratio * |expected|; an expected zero wants an exact zero. */
#define check_relative(actual, expected, ratio)        check_relative_at(NAN, actual, expected, ratio)
#define check_relative_at(at, actual, expected, ratio) check_relative_from(CHECK_PLACE(#actual, at), actual, expected, ratio)

/* actual < limit, actual > limit */
#define check_below(actual, limit)        check_below_at(NAN, actual, limit)
#define check_below_at(at, actual, limit) check_below_from(CHECK_PLACE(#actual, at), actual, limit)
#define check_above(actual, limit)        check_above_at(NAN, actual, limit)
#define check_above_at(at, actual, limit) check_above_from(CHECK_PLACE(#actual, at), actual, limit)

void check_close_from(struct check_place place, double actual, double expected, double tolerance);
void check_relative_from(struct check_place place, double actual, double expected, double ratio);
void check_below_from(struct check_place place, double actual, double limit);
void check_above_from(struct check_place place, double actual, double limit);

#endif
