#include "io/report/testsheet.h"
#include "io/format/memory_stream.h"

#include "analysis/testsheet/sheet_complaint.h"
#include "base/us_units.h"
#include "io/format/json.h"
#include "io/format/text.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { LABEL_COLUMN = 4, WORD_COLUMN = 13, GOOD_COLUMN = 60 };

const char testsheet_how[] =
    "Every value is computed by running the model of this engine. Good is the engine as its file describes it; the range around "
    "it combines cycle scatter, one count of the instrument and the spread between good units. Below a good value is what the "
    "same test reads with a fault, and what to do about it. A fault that leaves the reading in the range is named too: this test "
    "does not see it, and a good reading does not rule it out. One reading alone proves nothing.";

const char testsheet_before[] =
    "Read and note codes and freeze frame before anything is unplugged or cleared. Is the engine warm? What are the closed stop "
    "and the idle target of this car, and when does the complaint appear: cold, hot, in gear, under load?";

/* ---- numbers ---- */
/* A number that rounds to nothing has no sign. */
static double rounded(double value, int decimals) { return fabs(value) < 0.5 * pow(10.0, -decimals) ? 0.0 : value; }

void testsheet_value(const struct sheet_reading *reading, double value, char text[TESTSHEET_TEXT_SIZE]) {
  const struct sheet_row *row = reading->row;
  if (isfinite(value) && row->torch)
    snprintf(text, TESTSHEET_TEXT_SIZE, "%s", sheet_light(reading, value));
  else if (isfinite(value))
    snprintf(text, TESTSHEET_TEXT_SIZE, "%.*f%s%s", row->decimals, rounded(value, row->decimals), *row->unit ? " " : "",
             row->unit);
  else if (sheet_procedure_window_rows[row->window].procedure == SHEET_PROCEDURE_RUN)
    snprintf(text, TESTSHEET_TEXT_SIZE, "does not idle");
  else
    snprintf(text, TESTSHEET_TEXT_SIZE, "no reading");
}

void testsheet_unseen_value(const struct sheet_reading *reading, double value, char text[TESTSHEET_TEXT_SIZE]) {
  char good[TESTSHEET_TEXT_SIZE], other[TESTSHEET_TEXT_SIZE];
  testsheet_value(reading, reading->good, good);
  testsheet_value(reading, value, other);
  text[0] = '\0';
  if (strcmp(good, other) != 0) snprintf(text, TESTSHEET_TEXT_SIZE, " (%.*s)", TESTSHEET_TEXT_SIZE - 4, other);
}

void testsheet_range(const struct sheet_reading *reading, char text[TESTSHEET_TEXT_SIZE]) {
  const int decimals = reading->row->decimals;
  text[0] = '\0';
  if (!reading->row->torch)
    snprintf(text, TESTSHEET_TEXT_SIZE, "%.*f to %.*f", decimals, rounded(reading->low, decimals), decimals,
             rounded(reading->high, decimals));
}

void testsheet_note(const struct sheet *sheet, const struct sheet_reading *reading, char text[TESTSHEET_TEXT_SIZE]) {
  char remark[TESTSHEET_TEXT_SIZE];
  sheet_remark(sheet, reading, remark, sizeof remark);
  const char *note = reading->row->note ? reading->row->note : "";
  const size_t room = TESTSHEET_TEXT_SIZE / 2 - 1;
  snprintf(text, TESTSHEET_TEXT_SIZE, "%.*s%s%.*s", (int)room, note, *note && *remark ? " " : "", (int)room, remark);
}

int testsheet_caution_number(unsigned appear, int caution) {
  int number = 0;
  for (int i = 0; i <= caution; i++)
    if ((appear >> i) & 1u) number++;
  return (appear >> caution) & 1u ? number : 0;
}

void testsheet_caution_numbers(unsigned appear, unsigned cautions, char text[TESTSHEET_TEXT_SIZE]) {
  size_t used = 0;
  text[0] = '\0';
  for (int i = 0; i < CAUTION_COUNT; i++)
    if ((cautions >> i) & 1u)
      used +=
          (size_t)snprintf(text + used, TESTSHEET_TEXT_SIZE - used, "%s%d", used ? "," : "", testsheet_caution_number(appear, i));
}

/* ---- US units ---- */
/* A digit more for a unit that is larger, as in us_text(). */
static void convert(struct sheet_reading *reading, const struct us_unit *unit, struct sheet_row *row) {
  *row = *reading->row;
  row->unit = unit->text;
  row->decimals += unit->per_own < 0.5;
  reading->row = row;
  reading->good = us_unit_from_own(unit, reading->good, false);
  reading->low = us_unit_from_own(unit, reading->low, false);
  reading->high = us_unit_from_own(unit, reading->high, false);
  reading->tolerance = us_unit_from_own(unit, reading->tolerance, true);
  reading->scatter = us_unit_from_own(unit, reading->scatter, true);
  reading->resolution = us_unit_from_own(unit, reading->resolution, true);
  reading->unit = us_unit_from_own(unit, reading->unit, true);
  for (size_t i = 0; i < reading->departure_count; i++)
    reading->departures[i].value = us_unit_from_own(unit, reading->departures[i].value, false);
}

void testsheet_in_us_units(struct sheet *sheet, struct testsheet_us *us) {
  for (size_t i = 0; i < sheet->reading_count; i++) {
    const struct us_unit *unit = us_unit_of_text(sheet->readings[i].row->unit);
    if (unit) convert(&sheet->readings[i], unit, &us->rows[i]);
  }
}

/* ---- text ---- */
static void print_line(FILE *stream, const char *label, const char *words) {
  fprintf(stream, "%*s%-*s", LABEL_COLUMN, "", WORD_COLUMN - LABEL_COLUMN, label);
  text_wrap(stream, WORD_COLUMN, words);
}

static void print_departures(const struct sheet *sheet, const struct sheet_reading *reading, FILE *stream) {
  const char *label = "with";
  for (size_t i = 0; i < reading->departure_count && reading->departures[i].seen; i++) {
    const struct sheet_departure *departure = &reading->departures[i];
    char value[TESTSHEET_TEXT_SIZE], words[3 * TESTSHEET_TEXT_SIZE], numbers[TESTSHEET_TEXT_SIZE];
    testsheet_value(reading, departure->value, value);
    testsheet_caution_numbers(sheet->cautions, sheet_departure_cautions(sheet, departure), numbers);
    snprintf(words, sizeof words, "%s: %s%s%s%s.", departure->fault->label, *numbers ? "(caution " : "", numbers,
             *numbers ? ") " : "", departure->fault->meaning);
    fprintf(stream, "%*s%-*s%13s  ", LABEL_COLUMN, "", WORD_COLUMN - LABEL_COLUMN, label, value);
    text_wrap(stream, WORD_COLUMN + 15, words);
    label = "";
  }
}

/* Faults that this test does not see. */
static void print_unseen(const struct sheet_reading *reading, FILE *stream) {
  char *words = NULL;
  size_t size = 0;
  FILE *list = open_memstream(&words, &size);
  if (!list) return; // no memory: the sheet is complete but for this line, and stdout's own errors are told at the end
  int count = 0;
  for (size_t i = 0; i < reading->departure_count; i++) {
    const struct sheet_departure *departure = &reading->departures[i];
    if (departure->seen) continue;
    char value[TESTSHEET_TEXT_SIZE];
    testsheet_unseen_value(reading, departure->value, value);
    fprintf(list, "%s%s%s", count++ ? "; " : "", departure->fault->label, value);
  }
  if (memory_stream_close(list, &words) && count > 0) print_line(stream, "unseen", words);
  free(words);
}

static void print_cautions(const struct sheet *sheet, unsigned cautions, FILE *stream) {
  char words[TESTSHEET_TEXT_SIZE] = "";
  for (int i = 0; i < CAUTION_COUNT; i++) {
    if (!((cautions >> i) & 1u)) continue;
    const size_t used = strlen(words);
    snprintf(words + used, sizeof words - used, "%s%d %s", used ? ", " : "", testsheet_caution_number(sheet->cautions, i),
             caution_rows[i].name);
  }
  if (*words) print_line(stream, "caution", words);
}

static void print_reading(const struct sheet *sheet, const struct sheet_reading *reading, FILE *stream) {
  char value[TESTSHEET_TEXT_SIZE], range[TESTSHEET_TEXT_SIZE], note[TESTSHEET_TEXT_SIZE];
  testsheet_value(reading, reading->good, value);
  testsheet_range(reading, range);
  fprintf(stream, "  %-*s%s%s%s%s\n", GOOD_COLUMN - 2, reading->row->title, value, *range ? "  (" : "", range, *range ? ")" : "");
  print_cautions(sheet, reading->cautions, stream);
  print_line(stream, "when", sheet_procedure_window_rows[reading->row->window].text);
  print_line(stream, "read", sheet_where(sheet, reading));
  testsheet_note(sheet, reading, note);
  if (*note) print_line(stream, "know", note);
  print_departures(sheet, reading, stream);
  print_unseen(reading, stream);
  putc('\n', stream);
}

void testsheet_print(const struct sheet *sheet, FILE *stream) {
  fprintf(stream, "Bench test sheet: ");
  text_wrap(stream, 18, sheet->engine->title);
  putc('\n', stream);
  text_wrap(stream, 0, caution_disclaimer);
  fputs("\nCautions\n", stream);
  for (int i = 0; i < CAUTION_COUNT; i++) {
    const int number = testsheet_caution_number(sheet->cautions, i);
    if (number == 0) continue;
    fprintf(stream, "  %2d %-12s ", number, caution_rows[i].name);
    text_wrap(stream, 18, caution_rows[i].text);
  }
  fputs("\nHow to read it\n", stream);
  fputs("  ", stream);
  text_wrap(stream, 2, testsheet_how);
  int section = -1;
  for (size_t i = 0; i < sheet->reading_count; i++) {
    const struct sheet_reading *reading = &sheet->readings[i];
    if ((int)reading->row->section != section) {
      section = (int)reading->row->section;
      fprintf(stream, "\n%s: %s\n\n", sheet_sections[section].heading, sheet_sections[section].text);
    }
    print_reading(sheet, reading, stream);
  }
}

/* ---- JSON ---- */
static void put_caution_names(struct json *json, unsigned cautions) {
  json_open_array(json, "cautions");
  for (int i = 0; i < CAUTION_COUNT; i++)
    if ((cautions >> i) & 1u) json_put_text(json, NULL, caution_rows[i].name);
  json_close(json);
}

static void put_departure(struct json *json, const struct sheet *sheet, const struct sheet_reading *reading,
                          const struct sheet_departure *departure) {
  json_open_object(json, NULL);
  json_put_text(json, "with", departure->fault->label);
  json_open_object(json, "conditions");
  for (size_t i = 0; i < SHEET_SET_MAX && departure->fault->sets[i].condition; i++)
    json_put_real(json, departure->fault->sets[i].condition, departure->fault->sets[i].value, 3);
  json_close(json);
  json_put_real(json, "value", departure->value, reading->row->decimals + 1);
  json_put_flag(json, "seen", departure->seen);
  if (reading->row->torch) json_put_text(json, "light", sheet_light(reading, departure->value));
  put_caution_names(json, sheet_departure_cautions(sheet, departure));
  json_put_text(json, "meaning", departure->fault->meaning);
  json_close(json);
}

static void put_reading(const struct sheet *sheet, struct json *json, const struct sheet_reading *reading) {
  const struct sheet_row *row = reading->row;
  const int decimals = row->decimals + 1;
  char note[TESTSHEET_TEXT_SIZE];
  testsheet_note(sheet, reading, note);
  json_open_object(json, NULL);
  json_put_text(json, "id", row->id);
  json_put_text(json, "section", sheet_sections[row->section].name);
  json_put_text(json, "title", row->title);
  put_caution_names(json, reading->cautions); // before what is done
  json_put_text(json, "when", sheet_procedure_window_rows[row->window].text);
  json_put_text(json, "read", sheet_where(sheet, reading));
  json_put_text(json, "note", note);
  json_put_text(json, "unit", row->unit);
  json_put_real(json, "good", reading->good, decimals);
  if (row->torch) json_put_text(json, "light", sheet_light(reading, reading->good));
  json_put_real(json, "low", reading->low, decimals);
  json_put_real(json, "high", reading->high, decimals);
  json_open_object(json, "tolerance");
  json_put_real(json, "all", reading->tolerance, decimals);
  json_put_real(json, "scatter", reading->scatter, decimals);
  json_put_real(json, "resolution", reading->resolution, decimals);
  json_put_real(json, "unit_to_unit", reading->unit, decimals);
  json_close(json);
  json_open_array(json, "departures");
  for (size_t i = 0; i < reading->departure_count; i++) put_departure(json, sheet, reading, &reading->departures[i]);
  json_close(json);
  json_close(json);
}

/* The short sheet: the tests of each complaint, by their ids. */
static void put_complaints(const struct sheet *sheet, struct json *json) {
  json_put_text(json, "before", testsheet_before);
  json_open_array(json, "complaints");
  for (size_t k = 0; k < sheet_complaint_count; k++) {
    const struct sheet_complaint *complaint = &sheet_complaints[k];
    const struct sheet_reading *tests[SHEET_COMPLAINT_TEST_MAX];
    const size_t count = sheet_complaint_tests(sheet, complaint, tests);
    unsigned cautions = 0;
    if (!sheet_complaint_applies(sheet, complaint)) continue;
    for (size_t i = 0; i < count; i++) cautions |= tests[i]->cautions;
    json_open_object(json, NULL);
    json_put_text(json, "name", complaint->name);
    json_put_text(json, "text", complaint->text);
    put_caution_names(json, cautions);
    json_open_array(json, "tests");
    for (size_t i = 0; i < count; i++) json_put_text(json, NULL, tests[i]->row->id);
    json_close(json);
    json_close(json);
  }
  json_close(json);
}

enum status testsheet_print_json(const struct sheet *sheet, FILE *stream, struct error *error) {
  struct json *json = json_create();
  json_put_text(json, "engine", sheet->engine->name);
  json_put_text(json, "title", sheet->engine->title);
  json_put_text(json, "disclaimer", caution_disclaimer);
  json_open_object(json, "cautions");
  for (int i = 0; i < CAUTION_COUNT; i++)
    if (testsheet_caution_number(sheet->cautions, i)) json_put_text(json, caution_rows[i].name, caution_rows[i].text);
  json_close(json);
  put_complaints(sheet, json);
  json_open_array(json, "tests");
  for (size_t i = 0; i < sheet->reading_count; i++) put_reading(sheet, json, &sheet->readings[i]);
  json_close(json);
  const enum status status = json_print(json, stream, error);
  json_destroy(json);
  return status;
}
