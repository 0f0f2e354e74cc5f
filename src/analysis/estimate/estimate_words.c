#include "analysis/estimate/estimate_words.h"

#include "base/attributes.h"
#include "base/near_miss.h"
#include "base/number.h"
#include "sim/log_columns.h"

#include <ctype.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

#define LEAST_MANIFOLD_KPA \
  8.0 // no engine draws its manifold emptier than that; from memory, a closed throttle in overrun has some 15

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

/* How a pressure is counted, as the word before or behind its unit says. */
enum counted { COUNTED_DOWN = -1, COUNTED_UNSAID, COUNTED_UP, COUNTED_FROM_ZERO };

/* The unit without that word: down or up from the air outside, or from nothing. */
static enum counted outside(const char *unit, char plain[ESTIMATE_WORDS_SIZE]) {
  static const struct {
    const char *word;
    enum counted counted;
  } words[] = {{"ofvacuum", COUNTED_DOWN},  {"vacuum", COUNTED_DOWN},  {"vac.", COUNTED_DOWN}, {"vac", COUNTED_DOWN},
               {"gauge", COUNTED_UP},       {"rel", COUNTED_UP},       {"g", COUNTED_UP},      {"absolute", COUNTED_FROM_ZERO},
               {"abs.", COUNTED_FROM_ZERO}, {"abs", COUNTED_FROM_ZERO}};
  size_t length = 0;
  for (; *unit && length + 1 < ESTIMATE_WORDS_SIZE; unit++)
    if (!isspace((unsigned char)*unit) && *unit != '(' && *unit != ')') plain[length++] = (char)tolower((unsigned char)*unit);
  plain[length] = '\0';
  for (size_t i = 0; i < ARRAY_COUNT(words); i++) {
    const size_t size = strlen(words[i].word);
    if (length <= size) continue;
    if (strcmp(plain + length - size, words[i].word) == 0 && (size > 1 || strcmp(plain, "psig") == 0)) {
      plain[length - size] = '\0';
      return words[i].counted;
    }
    if (words[i].counted == COUNTED_DOWN && strncmp(plain, words[i].word, size) == 0) {
      memmove(plain, plain + size, length - size + 1);
      return words[i].counted;
    }
  }
  return COUNTED_UNSAID;
}

bool estimate_words_unit(enum estimate_quantity quantity, const char *unit, double ambient_kpa, double *factor, double *offset) {
  const char *name = estimate_quantities[quantity].name, *suffix = strrchr(name, '_');
  char plain[ESTIMATE_WORDS_SIZE];
  if (quantity == ESTIMATE_QUANTITY_closed_gap_mm2 && strcmp(unit, "mm2") == 0) {
    *factor = 1.0;
    *offset = 0.0;
    return true;
  }
  if (log_columns_unit(name, unit, factor, offset)) return true;
  const enum counted counted = suffix && strcmp(suffix, "_kpa") == 0 ? outside(unit, plain) : COUNTED_UNSAID;
  if (counted == COUNTED_UNSAID || !log_columns_unit(name, plain, factor, offset)) return false;
  if (counted == COUNTED_FROM_ZERO) return true;
  *factor *= (double)counted;
  *offset = ambient_kpa;
  return true;
}

bool estimate_words_either_way(enum estimate_quantity quantity, const char *unit, double value, double ambient_kpa,
                               char ask[ESTIMATE_WORDS_ASK_SIZE]) {
  char plain[ESTIMATE_WORDS_SIZE];
  double factor, offset;
  if (quantity != ESTIMATE_QUANTITY_manifold_kpa || outside(unit, plain) != COUNTED_UNSAID) return false;
  const size_t length = strlen(plain);
  const bool mercury = length >= 2 && strcmp(plain + length - 2, "hg") == 0;
  if (!mercury || !log_columns_unit(estimate_quantities[quantity].name, plain, &factor, &offset)) return false;
  const double up_kpa = factor * value + offset, down_kpa = ambient_kpa - factor * value;
  if (down_kpa < LEAST_MANIFOLD_KPA || up_kpa < LEAST_MANIFOLD_KPA || up_kpa > ambient_kpa) return false;
  snprintf(
      ask, ESTIMATE_WORDS_ASK_SIZE,
      "%g %s may be counted down from the air outside, as a vacuum gauge does (%.1f kPa), or up from nothing, as a scan tool "
      "does (%.1f kPa): write '%g %s vacuum' or '%g %s absolute'",
      value, unit, down_kpa, up_kpa, value, unit, value, unit);
  return true;
}

/* Whether a name is a scan tool's for the sensor, whatever the letter case. */
static bool names_sensor(const char *name) {
  char plain[ESTIMATE_WORDS_SIZE];
  size_t length = 0;
  for (; name[length] && length + 1 < ESTIMATE_WORDS_SIZE; length++) plain[length] = (char)tolower((unsigned char)name[length]);
  plain[length] = '\0';
  const char *map = strstr(plain, "map");
  return strstr(plain, "absolute") ||
         (map && (map == plain || !isalpha((unsigned char)map[-1])) && !isalpha((unsigned char)map[3]));
}

int estimate_words_quantity(const struct engine *engine, const char *name, enum channel channel) {
  if (channel == CHANNEL_manifold_kpa && names_sensor(name) && engine_has(engine, FEATURE_manifold_sensor))
    return ESTIMATE_QUANTITY_map_kpa;
  return estimate_quantity_find(channel_rows[channel].name);
}

const char *estimate_words_near(const char *name) {
  const char *names[ESTIMATE_QUANTITY_COUNT];
  for (int i = 0; i < ESTIMATE_QUANTITY_COUNT; i++) names[i] = estimate_quantities[i].name;
  const char *near = near_miss_best(name, names, ESTIMATE_QUANTITY_COUNT);
  return near ? near : log_columns_near(name);
}

/* As the trade calls them, in small letters without signs. */
static const struct {
  const char *words;
  enum estimate_condition condition;
} condition_words[] = {
    {"warm idle", ESTIMATE_CONDITION_idle},       {"idle warm", ESTIMATE_CONDITION_idle},
    {"hot idle", ESTIMATE_CONDITION_idle},        {"koeo", ESTIMATE_CONDITION_key_on},
    {"ignition on", ESTIMATE_CONDITION_key_on},   {"key on engine off", ESTIMATE_CONDITION_key_on},
    {"in gear", ESTIMATE_CONDITION_drive},        {"idle a c", ESTIMATE_CONDITION_idle_ac},
    {"a c", ESTIMATE_CONDITION_idle_ac},          {"ac on", ESTIMATE_CONDITION_idle_ac},
    {"a c on", ESTIMATE_CONDITION_idle_ac},       {"2500", ESTIMATE_CONDITION_hold_2500},
    {"2500 rpm", ESTIMATE_CONDITION_hold_2500},   {"2500rpm", ESTIMATE_CONDITION_hold_2500},
    {"cold start", ESTIMATE_CONDITION_cold_idle},
};

/* In small letters, whatever is no letter or figure a blank, none twice. */
static void plain_words(const char *word, char separator, char plain[ESTIMATE_WORDS_SIZE]) {
  size_t length = 0;
  for (; *word && length + 1 < ESTIMATE_WORDS_SIZE; word++)
    if (isalnum((unsigned char)*word))
      plain[length++] = (char)tolower((unsigned char)*word);
    else if (length > 0 && plain[length - 1] != separator)
      plain[length++] = separator;
  while (length > 0 && plain[length - 1] == separator) length--;
  plain[length] = '\0';
}

int estimate_words_condition(const char *word) {
  char plain[ESTIMATE_WORDS_SIZE];
  plain_words(word, '_', plain);
  const int found = estimate_condition_find(plain);
  if (found >= 0) return found;
  plain_words(word, ' ', plain);
  for (size_t i = 0; i < ARRAY_COUNT(condition_words); i++)
    if (strcmp(plain, condition_words[i].words) == 0) return (int)condition_words[i].condition;
  return -1;
}

const char *estimate_words_near_condition(const char *word) {
  char plain[ESTIMATE_WORDS_SIZE];
  const char *names[ESTIMATE_CONDITION_COUNT];
  for (int i = 0; i < ESTIMATE_CONDITION_COUNT; i++) names[i] = estimate_conditions[i].name;
  plain_words(word, '_', plain);
  return *plain ? near_miss_best(plain, names, ESTIMATE_CONDITION_COUNT) : NULL;
}

bool estimate_words_is_log(const char *path, const struct csv_table *table, struct error *error) {
  char signals[ESTIMATE_WORDS_SIZE];
  size_t known = 0, used = 0;
  signals[0] = '\0';
  for (size_t i = 0; i < table->column_count; i++) {
    struct log_columns_meaning meaning;
    if (log_columns_find(table->columns[i].name, &meaning) != LOG_COLUMNS_KNOWN) continue;
    known++;
    if (used + strlen(table->columns[i].name) + 4 < ESTIMATE_WORDS_SIZE)
      used += (size_t)snprintf(signals + used, ESTIMATE_WORDS_SIZE - used, "%s%s", used ? ", " : "", table->columns[i].name);
  }
  if (known < 2) return false; // one may be a slip
  error_append(
      error, STATUS_BAD_DATA,
      "%s: this looks like a log (%s), but no column of it tells the time: say which does, with --map 'HEADER=time_s', or how "
      "many "
      "rows there are a second, with --rate HZ (estimate: --log-rate); or write what each signal reads while it idles as a line "
      "NAME,idle,VALUE under the header name,condition,value",
      path, signals);
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
