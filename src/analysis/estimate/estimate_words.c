#include "analysis/estimate/estimate_words.h"

#include "base/attributes.h"
#include "base/number.h"
#include "sim/log_columns.h"

#include <ctype.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

/* Letters, percent and degree signs after the number, an exponent's e not among them. */
static size_t number_length(const char *word) {
  size_t length = strspn(word, "+-0123456789.,");
  if ((word[length] == 'e' || word[length] == 'E') && length > 0) {
    const size_t exponent = strspn(word + length + 1, "+-0123456789");
    if (exponent > 0) length += 1 + exponent;
  }
  return length;
}

bool estimate_words_grouped(const char *word) {
  char plain[ESTIMATE_WORDS_SIZE];
  const char *comma = strchr(word, ',');
  const bool either = comma && !strchr(comma + 1, ',') && !strchr(word, '.') && !strchr(word, ' ');
  return !either && number_grouped(word, plain, sizeof plain);
}

bool estimate_words_number(const char *word, double *value, char unit[ESTIMATE_WORDS_SIZE], char why[ESTIMATE_WORDS_SIZE]) {
  char number[ESTIMATE_WORDS_SIZE];
  const size_t length = number_length(word);
  snprintf(number, sizeof number, "%.*s", (int)(length < sizeof number ? length : sizeof number - 1), word);
  const char *rest = word + length;
  while (isspace((unsigned char)*rest)) rest++;
  snprintf(unit, ESTIMATE_WORDS_SIZE, "%s", rest);
  snprintf(why, ESTIMATE_WORDS_SIZE, "is not a number");
  char *comma = strchr(number, ',');
  if (comma && !strchr(comma + 1, ',') && !strchr(number, '.')) {
    if (strspn(comma + 1, "0123456789") == 3 && comma[4] == '\0') {
      snprintf(why, ESTIMATE_WORDS_SIZE, "may be thousands or three decimals: write it with a point, or without the comma");
      return false;
    }
    *comma = '.';
  }
  return number_read(number, value);
}

/* Ending of a quantity's name, and its unit as people write it. */
static const struct {
  const char *ending, *unit;
} own_units[] = {{"_gps", "g/s"},   {"_gps", "gps"}, {"_pct", "%"},      {"_pct", "pct"}, {"_rpm", "rpm"},
                 {"_rpm", "1/min"}, {"_kpa", "kpa"}, {"_deg", "deg"},    {"_c", "c"},     {"_c", "°c"},
                 {"_v", "v"},       {"_mm2", "mm2"}, {"_steps", "steps"}};

static bool is_own(const char *name, const char *unit) {
  for (size_t i = 0; i < ARRAY_COUNT(own_units); i++) {
    const size_t name_size = strlen(name), ending = strlen(own_units[i].ending);
    size_t k = 0;
    if (name_size < ending || strcmp(name + name_size - ending, own_units[i].ending) != 0) continue;
    while (unit[k] && tolower((unsigned char)unit[k]) == own_units[i].unit[k]) k++;
    if (unit[k] == '\0' && own_units[i].unit[k] == '\0') return true;
  }
  return false;
}

bool estimate_words_unit(enum estimate_quantity quantity, const char *unit, double *factor, double *offset) {
  const char *name = estimate_quantities[quantity].name;
  *factor = 1.0;
  *offset = 0.0;
  if (is_own(name, unit)) return true;
  int channel = -1;
  for (int i = 0; i < CHANNEL_COUNT; i++)
    if (strcmp(channel_rows[i].name, name) == 0) channel = i;
  if (channel < 0) return false;
  char spellings[LOG_COLUMNS_TEXT_SIZE], header[LOG_COLUMNS_TEXT_SIZE + ESTIMATE_WORDS_SIZE];
  log_columns_list((enum channel)channel, spellings); // 'a', 'b': the first will do
  const size_t size = spellings[0] == '\'' ? strcspn(spellings + 1, "'") : 0;
  snprintf(header, sizeof header, "%.*s (%s)", (int)size, spellings + 1, unit);
  struct log_columns_meaning meaning;
  if (size == 0 || log_columns_find(header, &meaning) != LOG_COLUMNS_KNOWN || (int)meaning.channel != channel) return false;
  *factor = meaning.factor;
  *offset = meaning.offset;
  return true;
}

bool estimate_words_light(const char *word, double good, double *value, double *sd) {
  static const struct {
    const char *word;
    double value, sd; // shares of a good gap
  } lights[] = {{"light", 1.0, 0.35}, {"none", 0.0, 0.15}, {"one_side", 0.45, 0.25}, {"one side", 0.45, 0.25}};
  for (size_t i = 0; i < ARRAY_COUNT(lights); i++) {
    if (strcmp(word, lights[i].word) != 0) continue;
    *value = lights[i].value * good;
    *sd = lights[i].sd * good;
    return true;
  }
  return false;
}
