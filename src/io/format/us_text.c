#include "io/format/us_text.h"
#include "io/format/memory_stream.h"

#include <ctype.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { NAME_SIZE = 64 };

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

/* What is known of the text that is being read. */
struct reader {
  bool names;                 // of readings, whose numbers have no unit of their own
  bool differences;           // all of them are
  const struct us_unit *unit; // of the name that was read last, NULL if it stays
  bool offset;                // that name is of an error of a sensor
};

/* How long the name is that begins here: letters, digits, underscores, of which there is one at least; else 0. */
static size_t name_size(const char *text, const char *at) {
  if (at > text && is_word(at[-1])) return 0;
  size_t size = 0;
  bool joined = false;
  while (is_word(at[size])) joined |= at[size++] == '_';
  return joined && isalpha((unsigned char)*at) ? size : 0;
}

static const struct us_unit *unit_of_name(const char *at, size_t size) {
  char name[NAME_SIZE];
  if (size >= sizeof name) return NULL;
  snprintf(name, sizeof name, "%.*s", (int)size, at);
  return us_unit_of_own(name);
}

/* An error of a sensor is a difference: coolant_bias_c, map_offset_kpa. */
static bool is_offset(const char *at, size_t size) {
  char name[NAME_SIZE];
  snprintf(name, sizeof name, "%.*s", (int)(size < sizeof name ? size : sizeof name - 1), at);
  return strstr(name, "_bias_") || strstr(name, "_offset_");
}

static void put_name(FILE *stream, const char *at, size_t size, const struct us_unit *unit) {
  const size_t stem = unit ? size - strlen(unit->own) : size;
  fprintf(stream, "%.*s%s", (int)stem, at, unit ? unit->suffix : "");
}

/* "(+1.7)" and "90 %" are not in the unit of the reading. */
static bool is_apart(const char *text, const char *at, const char *end) {
  const bool sign = at > text && at[-1] == '+';
  const bool brackets = at > text && at[-1] == '(' && *at == '-' && *end == ')';
  return sign || brackets || *end == '%' || (*end == ' ' && end[1] == '%');
}

/* Of a number without a unit of its own: that of the name before it. */
static struct found unit_of_reading(const struct reader *reader, const char *text, const char *at, const char *end) {
  struct found found = {0};
  if (!reader->unit || is_apart(text, at, end)) return found;
  found.unit = reader->unit;
  found.difference =
      reader->differences || reader->offset || is_difference(end) || (at - text >= 7 && strncmp(at - 7, "spread ", 7) == 0);
  return found;
}

static size_t put_number_at(FILE *stream, const char *text, const char *at, size_t size, const struct reader *reader) {
  struct found found = find_unit(text, at, at + size);
  if (!found.unit) found = unit_of_reading(reader, text, at, at + size);
  if (!found.unit) {
    fwrite(at, 1, size, stream);
    return size;
  }
  put_number(stream, at, size, &found);
  if (!found.unit_at) return size;
  fwrite(at + size, 1, (size_t)(found.unit_at - at) - size, stream);
  fputs(found.unit->text, stream);
  return (size_t)(found.unit_at - at) + strlen(found.unit->own_text);
}

static void put_text(FILE *stream, const char *text, struct reader *reader) {
  for (const char *at = text; *at;) {
    const size_t number = number_size(text, at), name = reader->names ? name_size(text, at) : 0;
    if (number) {
      at += put_number_at(stream, text, at, number, reader);
    } else if (name) {
      reader->unit = unit_of_name(at, name);
      reader->offset = is_offset(at, name);
      put_name(stream, at, name, reader->unit);
      at += name;
    } else {
      if (reader->names && *at == '.' && (at[1] == ' ' || at[1] == '\n')) reader->unit = NULL; // the sentence ends
      putc(*at++, stream);
    }
  }
}

static char *converted(const char *text, struct reader reader) {
  char *result = NULL;
  size_t size;
  FILE *stream = open_memstream(&result, &size);
  if (!stream) return NULL;
  put_text(stream, text, &reader);
  return memory_stream_close(stream, &result) ? result : NULL;
}

char *us_text(const char *text) { return converted(text, (struct reader){0}); }

char *us_text_of_readings(const char *text) { return converted(text, (struct reader){.names = true}); }

char *us_text_cell(const char *cell, const struct us_unit *unit, bool difference) {
  return converted(cell, (struct reader){.names = true, .differences = difference, .unit = unit});
}

const struct us_unit *us_text_unit_of_name(const char *text) { return unit_of_name(text, name_size(text, text)); }

FILE *us_text_begin(struct us_text_printing *printing, bool us, FILE *to) {
  *printing = (struct us_text_printing){.us = us, .to = to};
  if (us) printing->memory = open_memstream(&printing->plain, &printing->size);
  return us ? printing->memory : to;
}

enum status us_text_end(struct us_text_printing *printing, struct error *error) {
  if (!printing->us) return STATUS_OK;
  const bool whole = printing->memory && memory_stream_close(printing->memory, &printing->plain);
  char *text = whole ? us_text(printing->plain) : NULL;
  free(printing->plain);
  if (!text) return error_set(error, STATUS_NO_MEMORY, "out of memory for a text in US units");
  fputs(text, printing->to);
  free(text);
  return STATUS_OK;
}
