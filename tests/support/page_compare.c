#include "support/page_compare.h"

#include <ctype.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { LINE_SIZE = 4096, TOLD_MAX = 20 };

/* One in the last digit of a number as it is printed: "12.30" 0.01, "53" 1. */
static double last_digit(const char *text, const char *end) {
  const char *point = memchr(text, '.', (size_t)(end - text));
  return point ? pow(10.0, -(double)(end - point - 1)) : 1.0;
}

static const char *number_end(const char *text) {
  while (isdigit((unsigned char)*text) || (*text == '.' && isdigit((unsigned char)text[1]))) text++;
  return text;
}

int page_compare_line(const char *a, const char *b) {
  for (;;) {
    const int sign_a = *a == '-', sign_b = *b == '-'; // a difference of zero may be printed as -0.0
    const char *first = a + sign_a, *second = b + sign_b;
    if (isdigit((unsigned char)*first) && isdigit((unsigned char)*second)) {
      const char *end_a = number_end(first), *end_b = number_end(second);
      const double x = strtod(first, NULL) * (sign_a ? -1.0 : 1.0), y = strtod(second, NULL) * (sign_b ? -1.0 : 1.0);
      const double digit = last_digit(first, end_a);
      if (last_digit(second, end_b) != digit || fabs(x - y) > 1.001 * digit) return 0;
      a = end_a;
      b = end_b;
      continue;
    }
    if (*a != *b) return 0;
    if (!*a) return 1;
    a++;
    b++;
  }
}

size_t page_compare(FILE *committed, FILE *fresh) {
  char old_line[LINE_SIZE], new_line[LINE_SIZE];
  size_t wrong = 0;
  for (size_t number = 1;; number++) {
    const char *old = fgets(old_line, sizeof old_line, committed), *new = fgets(new_line, sizeof new_line, fresh);
    if (!old && !new) return wrong;
    if (old && new &&page_compare_line(old, new)) continue;
    if (++wrong <= TOLD_MAX)
      fprintf(stderr, "line %zu\n  committed: %s  now:       %s", number, old ? old : "(ends)\n", new ? new : "(ends)\n");
  }
}
