#include "base/number.h"

#include <locale.h>
#include <math.h>
#include <stdio.h>
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

size_t number_write(double value, int digits, char *text, size_t size) {
  snprintf(text, size, "%.*g", digits, value);
  size_t kept = 0;
  for (const char *at = text; *at; at++) { // whatever the locale has for the point, of one byte or several
    const bool plain = strchr("+-0123456789e", *at) != NULL;
    if (plain)
      text[kept++] = *at;
    else if (kept == 0 || text[kept - 1] != '.')
      text[kept++] = '.';
  }
  text[kept] = '\0';
  return kept;
}
