#include "sim/record_text.h"

#include "base/number.h"

#include <ctype.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

enum { DIGITS_MOST = 17 }; // enough for any double

static bool is_blank(char c) { return c == ' ' || c == '\t' || c == '\r'; }

static void pass_blanks(struct record_text_line *line) {
  while (line->at < line->stop && is_blank(*line->at)) line->at++;
}

void record_text_begin(struct record_text_line *line, const char *text, size_t size) {
  static const char mark[] = "\xef\xbb\xbf";
  const bool marked = size >= 3 && memcmp(text, mark, 3) == 0;
  *line = (struct record_text_line){.next = text + (marked ? 3 : 0), .end = text + size};
}

bool record_text_next(struct record_text_line *line) {
  while (line->next < line->end) {
    line->at = line->next;
    const char *stop = memchr(line->at, '\n', (size_t)(line->end - line->at));
    line->stop = stop ? stop : line->end;
    line->next = stop ? stop + 1 : line->end;
    line->number++;
    while (line->stop > line->at && is_blank(line->stop[-1])) line->stop--;
    pass_blanks(line);
    if (line->at < line->stop && *line->at != '#') return true;
  }
  line->at = line->stop = line->end;
  return false;
}

bool record_text_more(const struct record_text_line *line) { return line->at < line->stop; }

bool record_text_word(struct record_text_line *line, size_t size, char *word) {
  size_t used = 0;
  const char *begin = line->at;
  for (; line->at < line->stop && !is_blank(*line->at); line->at++)
    if (used + 1 < size) word[used++] = iscntrl((unsigned char)*line->at) ? '?' : *line->at;
  word[used] = '\0';
  if ((size_t)(line->at - begin) > used) memcpy(word + used - 3, "...", 3); // nobody takes it for the whole
  pass_blanks(line);
  return used > 0;
}

bool record_text_rest(struct record_text_line *line, size_t size, char *rest) {
  const size_t length = (size_t)(line->stop - line->at);
  bool good = length < size;
  for (size_t i = 0; i < length && good; i++) {
    good = !iscntrl((unsigned char)line->at[i]);
    rest[i] = line->at[i];
  }
  rest[good ? length : 0] = '\0';
  line->at = line->stop;
  return good;
}

bool record_text_number(const char *word, double *value) { return number_read(word, value); }

bool record_text_whole(const char *word, uint64_t *value) {
  uint64_t sum = 0;
  if (!*word) return false;
  for (; *word; word++) {
    if (!isdigit((unsigned char)*word)) return false;
    const uint64_t digit = (uint64_t)(*word - '0');
    if (sum > (UINT64_MAX - digit) / 10) return false;
    sum = 10 * sum + digit;
  }
  *value = sum;
  return true;
}

void record_text_list(const char *const *words, size_t size, char *list) {
  size_t used = 0;
  list[0] = '\0';
  for (size_t i = 0; words[i]; i++) {
    const size_t length = strlen(words[i]) + (i ? 2 : 0);
    if (used + length >= size) return;
    used += (size_t)snprintf(list + used, size - used, "%s%s", i ? ", " : "", words[i]);
  }
}

static bool reads_back(const struct field *field, const char *number, double wanted) {
  double value;
  if (!number_read(number, &value)) return false;
  const double si = field ? field_to_si(field, value) : value;
  return si >= wanted && si <= wanted;
}

void record_text_shortest(const struct field *field, double value, char number[RECORD_TEXT_NUMBER_SIZE]) {
  double shown = value;
  if (field) shown = field_exactly(field, value);
  if (isnan(shown)) { // no number of the user's unit becomes it: the nearest
    shown = field_from_si(field, value);
    value = field_to_si(field, shown);
  }
  char with_power[RECORD_TEXT_NUMBER_SIZE] = "";
  for (int digits = 1; digits <= DIGITS_MOST; digits++) {
    number_write(shown, digits, number, RECORD_TEXT_NUMBER_SIZE);
    if (!reads_back(field, number, value)) continue;
    if (!strchr(number, 'e')) return; // 100000 rather than 1e+05
    if (!with_power[0]) memcpy(with_power, number, sizeof with_power);
  }
  if (with_power[0]) memcpy(number, with_power, sizeof with_power);
}
