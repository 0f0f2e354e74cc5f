#include "base/number.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { WORD_SIZE = 128 }; // longer words are read too where the locale has a plain point

/* What stands between whole and rest in the locale of now: printf says it. Another way to one locale, newlocale(), reads the
 * environment in some C libraries, which a page has none of. */
static void find_point(char *point, size_t size) {
  char sample[32];
  snprintf(sample, sizeof sample, "%.1f", 0.0); // "0", the point, "0"
  const size_t length = strlen(sample) - 2;
  snprintf(point, size, "%.*s", (int)length, sample + 1);
}

/* Where strtod() stopped at a point, as another is usual here: the same with that one. */
static bool read_local(const char *word, const char *stop, double *value) {
  char point[16], local[WORD_SIZE];
  find_point(point, sizeof point);
  const int length = snprintf(local, sizeof local, "%.*s%s%s", (int)(stop - word), word, point, stop + 1);
  if (length < 0 || length >= WORD_SIZE) return false;
  char *end;
  *value = strtod(local, &end);
  return end == local + length && isfinite(*value);
}

bool number_read(const char *word, double *value) {
  if (*word == '\0' || word[strspn(word, "+-.0123456789eE")] != '\0') return false;
  char *end;
  *value = strtod(word, &end);
  if (end != word && *end == '\0') return isfinite(*value);
  const char *stop = end == word ? word + strspn(word, "+-") : end; // ".5" begins with its point
  return *stop == '.' && read_local(word, stop, value);
}

/* Bytes of a sign that parts thousands at this place, 0 if there is none: comma, blank, apostrophe, no-break blanks (U+00A0, U+202F). */
static size_t group_sign(const char *at) {
  static const char *const signs[] = {",", " ", "'", "\xC2\xA0", "\xE2\x80\xAF"};
  for (size_t i = 0; i < sizeof signs / sizeof signs[0]; i++)
    if (strncmp(at, signs[i], strlen(signs[i])) == 0) return strlen(signs[i]);
  return 0;
}

bool number_grouped(const char *word, char *plain, size_t size) {
  const char *at = word + strspn(word, "+-");
  const size_t first = strspn(at, "0123456789");
  if (at - word > 1 || first < 1 || first > 3 || *at == '0') return false;
  int length = snprintf(plain, size, "%.*s", (int)(at - word + (long)first), word);
  size_t groups = 0;
  at += first;
  for (size_t sign; (sign = group_sign(at)) > 0 && strspn(at + sign, "0123456789") == 3; at += sign + 3, groups++)
    if (length >= 0 && (size_t)length < size) length += snprintf(plain + length, size - (size_t)length, "%.3s", at + sign);
  if (groups == 0 || (*at != '.' && *at != '\0')) return false;
  if (strspn(at + (*at == '.'), "0123456789") != strlen(at + (*at == '.'))) return false;
  if (length >= 0 && (size_t)length < size) length += snprintf(plain + length, size - (size_t)length, "%s", at);
  return length >= 0 && (size_t)length < size;
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
