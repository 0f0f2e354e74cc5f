#include "analysis/log/log_number.h"

#include "base/number.h"

#include <stdint.h>
#include <string.h>

enum { GROUP_MOST = 8, PLAIN_SIZE = 96 };

/* ---- How it is written ---- */

/* Digits between signs; 'g' is a sign that only parts thousands. */
struct groups {
  int count, sizes[GROUP_MOST];
  char signs[GROUP_MOST]; // behind each but the last
  bool zero;              // the first digit of several, or the only one, is 0
  bool exponent;
};

static bool is_digit(char c) { return c >= '0' && c <= '9'; }

/* Bytes of a blank or apostrophe that parts thousands, 0 if there is none: also the no-break blanks U+00A0 and U+202F, and U+2019. */
static int parting(const char *at) {
  static const char *const signs[] = {" ", "'", "\xC2\xA0", "\xE2\x80\xAF", "\xE2\x80\x99"};
  for (unsigned i = 0; i < sizeof signs / sizeof signs[0]; i++)
    if (strncmp(at, signs[i], strlen(signs[i])) == 0) return (int)strlen(signs[i]);
  return 0;
}

static const char *pass_exponent(const char *at) {
  if (*at != 'e' && *at != 'E') return at;
  const char *digits = at + 1 + (at[1] == '+' || at[1] == '-');
  if (!is_digit(*digits)) return at;
  while (is_digit(*digits)) digits++;
  return digits;
}

/* False if other letters stand in it, or too many signs. */
static bool split(const char *at, struct groups *groups) {
  *groups = (struct groups){0};
  if (*at == '+' || *at == '-') at++;
  groups->zero = *at == '0';
  for (;;) {
    int size = 0;
    for (; is_digit(*at); at++) size++;
    if (groups->count == GROUP_MOST) return false;
    groups->sizes[groups->count++] = size;
    const int part = *at == '.' || *at == ',' ? 1 : parting(at);
    if (part == 0) break;
    groups->signs[groups->count - 1] = *at == '.' || *at == ',' ? *at : 'g';
    at += part;
  }
  const char *end = pass_exponent(at);
  groups->exponent = end != at;
  return *end == '\0';
}

/* Whether the first groups up to this many are thousands parted by one sign. */
static bool parted(const struct groups *groups, int count) {
  if (groups->sizes[0] < 1 || groups->sizes[0] > 3 || groups->zero || groups->exponent) return false;
  for (int i = 1; i < count; i++)
    if (groups->sizes[i] != 3 || groups->signs[i - 1] != groups->signs[0]) return false;
  return true;
}

static enum log_number_shape shape_of(const struct groups *groups) {
  const int last = groups->count - 1;
  const char mark = last > 0 ? groups->signs[last - 1] : '\0';
  if (last == 0) return groups->sizes[0] > 0 ? LOG_NUMBER_WHOLE : LOG_NUMBER_NONE;
  const enum log_number_shape decimal = mark == '.' ? LOG_NUMBER_POINT : LOG_NUMBER_COMMA;
  if (last == 1 && mark != 'g') {
    if (groups->sizes[0] + groups->sizes[1] == 0) return LOG_NUMBER_NONE;
    if (!parted(groups, 2)) return decimal;
    return mark == '.' ? LOG_NUMBER_EITHER_POINT : LOG_NUMBER_EITHER_COMMA;
  }
  if (parted(groups, groups->count)) // of 1,234,567 the comma parts, so the point is the decimal mark
    return mark == 'g' ? LOG_NUMBER_PARTED : mark == ',' ? LOG_NUMBER_POINT : LOG_NUMBER_COMMA;
  if (mark != 'g' && mark != groups->signs[0] && parted(groups, last)) return decimal;
  return LOG_NUMBER_NONE;
}

enum log_number_shape log_number_shape(const char *text) {
  struct groups groups;
  return split(text, &groups) ? shape_of(&groups) : LOG_NUMBER_NONE;
}

/* ---- What it is ---- */

/* Few digits, and at most one mark: the quotient of two whole numbers that a double holds exactly is rounded once, as it should be. */
static bool read_plain(const char *at, char mark, double *value) {
  static const double powers[] = {1e0, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15};
  const bool negative = *at == '-';
  uint64_t whole = 0;
  int digits = 0, decimals = 0;
  if (*at == '+' || *at == '-') at++;
  for (; is_digit(*at) && digits < 15; at++, digits++) whole = 10 * whole + (uint64_t)(*at - '0');
  if (*at == mark)
    for (at++; is_digit(*at) && digits < 15; at++, digits++, decimals++) whole = 10 * whole + (uint64_t)(*at - '0');
  if (*at != '\0' || digits == 0) return false;
  *value = (double)whole / powers[decimals];
  if (negative) *value = -*value;
  return true;
}

static bool fits(enum log_number_shape shape, char mark) {
  return shape != LOG_NUMBER_NONE && shape != (mark == '.' ? LOG_NUMBER_COMMA : LOG_NUMBER_POINT);
}

bool log_number_read(const char *text, char mark, double *value) {
  char plain[PLAIN_SIZE];
  size_t used = 0;
  if (read_plain(text, mark, value)) return true;
  if (!fits(log_number_shape(text), mark)) return false;
  for (const char *at = text; *at; at++) {
    if (used + 1 == sizeof plain) return false;
    if (*at == mark)
      plain[used++] = '.';
    else if (is_digit(*at) || strchr("+-eE", *at))
      plain[used++] = *at;
  }
  plain[used] = '\0';
  return number_read(plain, value);
}
