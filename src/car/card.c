#include "car/card.h"

#include "base/attributes.h"
#include "base/near_miss.h"
#include "base/number.h"

#include <ctype.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

enum { WORD_SIZE = 64, LIST_SIZE = 160 };

#define WORDS(name, ...) static const char *const words_##name[] = {__VA_ARGS__, NULL};
#define NO_WORDS(key, unit, least, most, question, sets)
#define OF_CHOICE(key, words, question, sets) WORDS words
CARD_LIST(NO_WORDS, OF_CHOICE)
#undef WORDS
#undef NO_WORDS
#undef OF_CHOICE

#define FIRST(name, ...)                                   words_##name
#define NUMBER_ROW(key, unit, least, most, question, sets) {#key, question, sets, unit, least, most, NULL},
#define CHOICE_ROW(key, words, question, sets)             {#key, question, sets, NULL, 0, 0, FIRST words},
const struct card_row card_rows[CARD_COUNT] = {CARD_LIST(NUMBER_ROW, CHOICE_ROW)};

/* Columns: unit of a row, unit as written, in small letters; value in the row's = (written + offset) * factor. */
static const struct {
  const char *unit, *written;
  double offset, factor;
} unit_rows[] = {
    {"l", "l", 0, 1},
    {"l", "litre", 0, 1},
    {"l", "liter", 0, 1},
    {"l", "litres", 0, 1},
    {"l", "liters", 0, 1},
    {"l", "cc", 0, 1e-3},
    {"l", "ccm", 0, 1e-3},
    {"l", "cm3", 0, 1e-3},
    {"l", "cm\u00b3", 0, 1e-3},
    {"l", "ci", 0, 0.016387},
    {"l", "cui", 0, 0.016387},
    {"mm", "mm", 0, 1},
    {"mm", "cm", 0, 10},
    {"mm", "in", 0, 25.4},
    {"mm", "\"", 0, 25.4},
    {"%", "%", 0, 1},
    {"%", "pct", 0, 1},
    {"%", "percent", 0, 1},
    {"rpm", "rpm", 0, 1},
    {"rpm", "1/min", 0, 1},
    {"rpm", "/min", 0, 1},
    {"rpm", "min-1", 0, 1},
    {"deg", "deg", 0, 1},
    {"deg", "\u00b0", 0, 1},
    {"deg", "degrees", 0, 1},
    {"deg", "btdc", 0, 1},
    {"deg", "\u00b0btdc", 0, 1},
    {"m", "m", 0, 1},
    {"m", "ft", 0, 0.3048},
    {"m", "feet", 0, 0.3048},
    {"m", "km", 0, 1000},
    {"C", "c", 0, 1},
    {"C", "\u00b0c", 0, 1},
    {"C", "degc", 0, 1},
    {"C", "f", -32, 1 / 1.8},
    {"C", "\u00b0f", -32, 1 / 1.8},
    {"C", "degf", -32, 1 / 1.8},
    {"C", "k", -273.15, 1},
    {"", ":1", 0, 1},
};

void card_init(struct card *card) {
  memset(card, 0, sizeof *card);
  for (int i = 0; i < CARD_COUNT; i++) card->values[i] = NAN;
}

int card_choice(const struct card *card, enum card_item item, int otherwise) {
  return card_has(card, item) ? (int)card->values[item] : otherwise;
}

/* In small letters, without blanks round it, hyphens and blanks within as underscores if so wanted. */
static void plain_word(const char *given, bool joined, char word[WORD_SIZE]) {
  while (isspace((unsigned char)*given)) given++;
  size_t length = 0;
  for (; *given && length < WORD_SIZE - 1; given++) {
    const char c = (char)tolower((unsigned char)*given);
    word[length++] = joined && (c == '-' || c == ' ') ? '_' : c;
  }
  while (length > 0 && (word[length - 1] == '_' || isspace((unsigned char)word[length - 1]))) length--;
  word[length] = '\0';
}

int card_find(const char *key) {
  char word[WORD_SIZE];
  plain_word(key, true, word);
  for (int i = 0; i < CARD_COUNT; i++)
    if (strcmp(word, card_rows[i].key) == 0) return i;
  return -1;
}

/* ---- One entry ---- */

static void list_words(const char *const *words, char list[LIST_SIZE]) {
  size_t used = 0;
  list[0] = '\0';
  for (size_t i = 0; words[i] && used < LIST_SIZE; i++)
    used += (size_t)snprintf(list + used, LIST_SIZE - used, "%s%s", i == 0 ? "" : words[i + 1] ? ", " : " or ", words[i]);
}

static enum status take_choice(const struct card_row *row, const char *place, const char *value, double *taken,
                               struct error *error) {
  char word[WORD_SIZE], list[LIST_SIZE];
  plain_word(value, true, word);
  for (size_t i = 0; row->choices[i]; i++)
    if (strcmp(word, row->choices[i]) == 0) {
      *taken = (double)i;
      return STATUS_OK;
    }
  list_words(row->choices, list);
  return error_append(error, STATUS_BAD_DATA, "%s: %s is '%s'; it can be %s", place, row->key, word, list);
}

/* The number at the start of a word; what follows it is left in rest. A decimal comma counts. */
static bool split_number(const char *word, double *value, char rest[WORD_SIZE]) {
  char digits[WORD_SIZE];
  size_t length = 0, commas = 0;
  for (; word[length] && (isdigit((unsigned char)word[length]) || strchr("+-.,", word[length])); length++) {
    digits[length] = word[length] == ',' ? '.' : word[length];
    commas += word[length] == ',';
  }
  digits[length] = '\0';
  // word ends with a null. NOLINTNEXTLINE(clang-analyzer-core.uninitialized.ArraySubscript)
  while (isspace((unsigned char)word[length])) length++;
  snprintf(rest, WORD_SIZE, "%s", word + length);
  return commas <= 1 && number_read(digits, value);
}

static bool convert(const struct card_row *row, const char *unit, double *value) {
  if (unit[0] == '\0') return true;
  for (size_t i = 0; i < ARRAY_COUNT(unit_rows); i++)
    if (strcmp(row->unit, unit_rows[i].unit) == 0 && strcmp(unit, unit_rows[i].written) == 0) {
      *value = (*value + unit_rows[i].offset) * unit_rows[i].factor;
      return true;
    }
  return false;
}

static enum status out_of_range(const struct card_row *row, const char *place, double value, struct error *error) {
  const char *blank = row->unit[0] && row->unit[0] != '%' ? " " : "";
  if (row == &card_rows[CARD_displacement_l] && value >= 600.0 && value <= 8000.0)
    return error_append(error, STATUS_BAD_DATA, "%s: displacement_l is %.10g; is that in cc? Then write %.4g", place, value,
                        value / 1e3);
  if (row == &card_rows[CARD_bore_mm] && value >= 2.5 && value <= 10.0)
    return error_append(error, STATUS_BAD_DATA, "%s: bore_mm is %.10g; is that in cm? Then write %.4g", place, value, value * 10);
  return error_append(error, STATUS_BAD_DATA, "%s: %s is %.10g%s%s; it can be %g to %g", place, row->key, value, blank, row->unit,
                      row->least, row->most);
}

static enum status take_number(const struct card_row *row, const char *place, const char *value, const char *unit, double *taken,
                               struct error *error) {
  char word[WORD_SIZE], behind[WORD_SIZE], beside[WORD_SIZE];
  plain_word(value, false, word);
  plain_word(unit, false, beside);
  if (!split_number(word, taken, behind))
    return error_append(error, STATUS_BAD_DATA, "%s: %s is '%s', which is not a number", place, row->key, word);
  if (behind[0] && beside[0] && strcmp(behind, beside) != 0)
    return error_append(error, STATUS_BAD_DATA, "%s: %s is in '%s' and in '%s': which?", place, row->key, behind, beside);
  const char *written = behind[0] ? behind : beside;
  if (!convert(row, written, taken))
    return error_append(error, STATUS_BAD_DATA, "%s: %s is in '%s'; its unit is %s", place, row->key, written,
                        row->unit[0] ? row->unit : "none: it is a plain number");
  if (!(*taken >= row->least && *taken <= row->most)) return out_of_range(row, place, *taken, error);
  if (row == &card_rows[CARD_cylinders] && *taken != round(*taken))
    return error_append(error, STATUS_BAD_DATA, "%s: cylinders is %.10g; it is a whole number", place, *taken);
  return STATUS_OK;
}

enum status card_set(struct card *card, const char *place, const char *key, const char *value, const char *unit,
                     struct error *error) {
  const int item = card_find(key);
  if (item < 0) {
    const char *names[CARD_COUNT];
    char word[WORD_SIZE];
    for (int i = 0; i < CARD_COUNT; i++) names[i] = card_rows[i].key;
    plain_word(key, true, word);
    const char *near = near_miss_best(word, names, CARD_COUNT);
    if (near) return error_append(error, STATUS_BAD_DATA, "%s: a card has no '%s'; did you mean '%s'?", place, word, near);
    return error_append(error, STATUS_BAD_DATA, "%s: a card has no '%s'; bladegap list card shows what it can have", place, word);
  }
  const struct card_row *row = &card_rows[item];
  if (card_has(card, (enum card_item)item))
    return error_append(error, STATUS_BAD_DATA, "%s: %s is already given at %s", place, row->key, card->places[item]);
  char word[WORD_SIZE];
  plain_word(value, false, word);
  if (word[0] == '\0' || strcmp(word, "?") == 0) return STATUS_OK; // left open
  double taken = NAN;
  const enum status status =
      row->choices ? take_choice(row, place, value, &taken, error) : take_number(row, place, value, unit, &taken, error);
  if (status != STATUS_OK) return status;
  card->values[item] = taken;
  snprintf(card->places[item], CARD_PLACE_SIZE, "%s", place);
  return STATUS_OK;
}

/* ---- What contradicts itself ---- */

double card_usual_bore_mm(double litres) { return 43.0 * cbrt(litres); }

#define LITRES_LEAST 0.15 // a cylinder; 0.2 to 0.7 usual, our own choice of what can be no more
#define LITRES_MOST  1.1
#define BORE_FACTOR  1.6 // against what is usual
#define IN_GEAR_RPM  150.0

static enum status check_sizes(const struct card *card, struct error *error) {
  const double litres = card->values[CARD_displacement_l], cylinders = card->values[CARD_cylinders];
  const double usual_mm = card_usual_bore_mm(litres), bore_mm = card->values[CARD_bore_mm];
  enum status status = STATUS_OK;
  if (litres / cylinders < LITRES_LEAST || litres / cylinders > LITRES_MOST)
    status = error_append(error, STATUS_BAD_DATA, "%s: %g cylinders of %.3g l each: with %s, that is not a car engine",
                          card->places[CARD_cylinders], cylinders, litres / cylinders, card->places[CARD_displacement_l]);
  if (bore_mm > BORE_FACTOR * usual_mm || bore_mm < usual_mm / BORE_FACTOR)
    status =
        error_append(error, STATUS_BAD_DATA,
                     "%s: bore_mm is %g, but some %.0f is usual for the %.3g l at %s: is this the diameter of the throttle bore?",
                     card->places[CARD_bore_mm], bore_mm, usual_mm, litres, card->places[CARD_displacement_l]);
  return status;
}

static enum status check_readings(const struct card *card, struct error *error) {
  enum status status = STATUS_OK;
  const double idle = card->values[CARD_idle_rpm];
  if (card->values[CARD_floor_pct] - card->values[CARD_stop_pct] < 40.0)
    status = error_append(
        error, STATUS_BAD_DATA,
        "%s: floor_pct is %g, and stop_pct at %s is %g: between stop and wide open lie 60 to 80 %% as a rule, and 40 at "
        "least",
        card->places[CARD_floor_pct], card->values[CARD_floor_pct], card->places[CARD_stop_pct], card->values[CARD_stop_pct]);
  if (card->values[CARD_idle_drive_rpm] > idle + IN_GEAR_RPM)
    status =
        error_append(error, STATUS_BAD_DATA, "%s: idle_drive_rpm is %g, far above the %g out of gear at %s",
                     card->places[CARD_idle_drive_rpm], card->values[CARD_idle_drive_rpm], idle, card->places[CARD_idle_rpm]);
  if (card->values[CARD_idle_ac_rpm] < idle - IN_GEAR_RPM)
    status = error_append(error, STATUS_BAD_DATA, "%s: idle_ac_rpm is %g, far below the %g without at %s",
                          card->places[CARD_idle_ac_rpm], card->values[CARD_idle_ac_rpm], idle, card->places[CARD_idle_rpm]);
  return status;
}

static enum status check_kinds(const struct card *card, struct error *error) {
  enum status status = STATUS_OK;
  if (card_choice(card, CARD_fuel, CARD_FUEL_PETROL) == CARD_FUEL_DIESEL)
    status =
        error_append(error, STATUS_BAD_DATA,
                     "%s: a diesel is not throttled at idle, its manifold stands at ambient pressure: nothing here applies to it",
                     card->places[CARD_fuel]);
  if (card_has(card, CARD_idle_drive_rpm) && card_choice(card, CARD_gearbox, CARD_GEARBOX_AUTOMATIC) == CARD_GEARBOX_MANUAL)
    status = error_append(error, STATUS_BAD_DATA, "%s: idle_drive_rpm is of an automatic, and the gearbox at %s is manual",
                          card->places[CARD_idle_drive_rpm], card->places[CARD_gearbox]);
  if (card_choice(card, CARD_turbo, 0) == 1 && card_choice(card, CARD_kind, CARD_KIND_ELECTRONIC) == CARD_KIND_CABLE)
    status =
        error_append(error, STATUS_BAD_DATA, "%s: this program does not know a turbocharged engine with a cable throttle (%s)",
                     card->places[CARD_turbo], card->places[CARD_kind]);
  return status;
}

enum status card_check(const struct card *card, struct error *error) {
  enum status status = STATUS_OK;
  if (check_sizes(card, error) != STATUS_OK) status = STATUS_BAD_DATA;
  if (check_readings(card, error) != STATUS_OK) status = STATUS_BAD_DATA;
  if (check_kinds(card, error) != STATUS_OK) status = STATUS_BAD_DATA;
  return status;
}

void card_text(const struct card *card, enum card_item item, size_t size, char *text) {
  text[0] = '\0';
  if (!card_has(card, item)) return;
  if (card_rows[item].choices)
    snprintf(text, size, "%s", card_rows[item].choices[(int)card->values[item]]);
  else
    number_write(card->values[item], 6, text, size);
}
