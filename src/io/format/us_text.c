#include "io/format/us_text.h"

#include "base/us_units.h"

#include <ctype.h>
#include <math.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static bool is_word(char sign) { return isalnum((unsigned char)sign) || sign == '_'; }

/* How long the number is that begins here, 0 if none does. */
static size_t number_size(const char *text, const char *at) {
  const bool minus = *at == '-' && isdigit((unsigned char)at[1]);
  if (!minus && !isdigit((unsigned char)*at)) return 0;
  if (at > text && (is_word(at[-1]) || at[-1] == '.' || at[-1] == '-')) return 0;
  size_t size = minus + strspn(at + minus, "0123456789");
  if (at[size] == '.' && isdigit((unsigned char)at[size + 1])) size += 1 + strspn(at + size + 1, "0123456789");
  return is_word(at[size]) ? 0 : size;
}

/* One blank, or a line's end and what the next is indented by; 0 if there is neither. */
static size_t gap_size(const char *at) {
  if (*at == '\n') return 1 + strspn(at + 1, " ");
  return *at == ' ' && at[1] != ' ' ? 1 : 0;
}

/* A number and the unit that holds for it. */
struct found {
  const struct us_unit *unit;
  const char *unit_at; // NULL: it stands behind a later number
  bool difference;
};

static bool starts(const char *at, const char *word) {
  const size_t size = strlen(word);
  return strncmp(at, word, size) == 0 && !is_word(at[size]);
}

static bool is_difference(const char *behind) {
  static const char *const words[] = {"warmer", "colder", "more", "less", "higher", "lower", "above", "below", "apart"};
  const size_t gap = gap_size(behind);
  for (size_t i = 0; gap && i < sizeof words / sizeof words[0]; i++)
    if (starts(behind + gap, words[i])) return true;
  return false;
}

/* The unit behind a number that ends here; of "A to B kPa" also for A, and of "between A and B kPa". */
static struct found find_unit(const char *text, const char *begin, const char *end) {
  struct found found = {0};
  size_t gap = gap_size(end);
  if (!gap) return found;
  found.unit_at = end + gap;
  found.unit = us_unit_of_text(found.unit_at);
  if (found.unit) {
    found.difference = is_difference(found.unit_at + strlen(found.unit->own_text));
    return found;
  }
  const bool between = begin - text >= 8 && strncmp(begin - 8, "between ", 8) == 0;
  const char *joint = starts(end + gap, "to") ? "to" : between && starts(end + gap, "and") ? "and" : NULL;
  found.unit_at = NULL;
  if (!joint) return found;
  const char *next = end + gap + strlen(joint);
  gap = gap_size(next);
  const size_t size = gap ? number_size(text, next + gap) : 0;
  if (size) found = find_unit(text, next + gap, next + gap + size);
  found.unit_at = NULL; // that of the next number
  return found;
}

/* A digit more for a unit that is larger: 27.7 kPa is 8.18 inHg. */
static void put_number(FILE *stream, const char *number, size_t size, const struct found *found) {
  const char *point = memchr(number, '.', size);
  int decimals = point ? (int)(size - (size_t)(point - number)) - 1 : 0;
  if (found->unit->per_own < 0.5) decimals++;
  const double value = us_unit_from_own(found->unit, strtod(number, NULL), found->difference);
  fprintf(stream, "%.*f", decimals, fabs(value) < 0.5 * pow(10.0, -decimals) ? 0.0 : value);
}

static void put_text(FILE *stream, const char *text) {
  for (const char *at = text; *at;) {
    const size_t size = number_size(text, at);
    const struct found found = size ? find_unit(text, at, at + size) : (struct found){0};
    if (!found.unit) {
      const size_t plain = size ? size : 1;
      fwrite(at, 1, plain, stream);
      at += plain;
      continue;
    }
    put_number(stream, at, size, &found);
    at += size;
    if (!found.unit_at) continue;
    fwrite(at, 1, (size_t)(found.unit_at - at), stream);
    fputs(found.unit->text, stream);
    at = found.unit_at + strlen(found.unit->own_text);
  }
}

char *us_text(const char *text) {
  char *converted = NULL;
  size_t size;
  FILE *stream = open_memstream(&converted, &size);
  if (!stream) return NULL;
  put_text(stream, text);
  if (fclose(stream) == 0) return converted;
  free(converted);
  return NULL;
}
