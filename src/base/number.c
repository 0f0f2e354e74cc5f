#include "base/number.h"

#include <locale.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

bool number_read(const char *word, double *value) {
  if (*word == '\0' || word[strspn(word, "+-.0123456789eE")] != '\0') return false;
  const locale_t plain = newlocale(LC_ALL_MASK, "C", (locale_t)0); // the C library's own: nothing is allocated
  if (!plain) return false;
  char *end;
  *value = strtod_l(word, &end, plain);
  freelocale(plain);
  return end != word && *end == '\0' && isfinite(*value);
}
