#include "io/report/testsheet.h"

#include "io/format/json.h"
#include "io/format/text.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { LABEL_COLUMN = 4, WORD_COLUMN = 13, GOOD_COLUMN = 60 };

const char testsheet_how[] =
    "Every value is computed by running the model of this engine. Good is the engine as its file has it; the "
    "range around it is "
    "cycle scatter, one count of the instrument and the spread between good units, taken together. Below a "
    "good value stands "
    "what the same test reads with a fault, and what to do about it. A fault that leaves the reading in the "
    "range is named too: "
    "this test does not see it, and a good reading does not clear it. One reading alone proves nothing.";

/* ---- numbers ---- */
/* A number that rounds to nothing has no sign. */
static double rounded(double value, int decimals) { return fabs(value) < 0.5 * pow(10.0, -decimals) ? 0.0 : value; }

void testsheet_value(const struct sheet_row *row, double value, char text[TESTSHEET_TEXT_SIZE]) {
  if (isfinite(value))
    snprintf(text, TESTSHEET_TEXT_SIZE, "%.*f%s%s", row->decimals, rounded(value, row->decimals), *row->unit ? " " : "",
             row->unit);
  else if (sheet_procedure_window_rows[row->window].procedure == SHEET_PROCEDURE_RUN)
    snprintf(text, TESTSHEET_TEXT_SIZE, "does not idle");
  else
    snprintf(text, TESTSHEET_TEXT_SIZE, "no reading");
}

void testsheet_unseen_value(const struct sheet_reading *reading, double value, char text[TESTSHEET_TEXT_SIZE]) {
  char good[TESTSHEET_TEXT_SIZE], other[TESTSHEET_TEXT_SIZE];
  testsheet_value(reading->row, reading->good, good);
  testsheet_value(reading->row, value, other);
  text[0] = '\0';
  if (strcmp(good, other) != 0) snprintf(text, TESTSHEET_TEXT_SIZE, " (%.*s)", TESTSHEET_TEXT_SIZE - 4, other);
}

void testsheet_range(const struct sheet_reading *reading, char text[TESTSHEET_TEXT_SIZE]) {
  const int decimals = reading->row->decimals;
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

int testsheet_caution_number(const struct sheet *sheet, int caution) {
  int number = 0;
  for (int i = 0; i <= caution; i++)
    if ((sheet->cautions >> i) & 1u) number++;
  return (sheet->cautions >> caution) & 1u ? number : 0;
}

/* ---- text ---- */
static void print_line(FILE *stream, const char *label, const char *words) {
  fprintf(stream, "%*s%-*s", LABEL_COLUMN, "", WORD_COLUMN - LABEL_COLUMN, label);
  text_wrap(stream, WORD_COLUMN, words);
}

static void print_departures(const struct sheet_reading *reading, FILE *stream) {
  const char *label = "with";
  for (size_t i = 0; i < reading->departure_count && reading->departures[i].seen; i++) {
    const struct sheet_departure *departure = &reading->departures[i];
    char value[TESTSHEET_TEXT_SIZE], words[2 * TESTSHEET_TEXT_SIZE];
    testsheet_value(reading->row, departure->value, value);
    snprintf(words, sizeof words, "%s: %s.", departure->fault->label, departure->fault->meaning);
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
  fclose(list);
  if (count > 0) print_line(stream, "unseen", words);
  free(words);
}

static void print_cautions(const struct sheet *sheet, unsigned cautions, FILE *stream) {
  char words[TESTSHEET_TEXT_SIZE] = "";
  for (int i = 0; i < SHEET_CAUTION_COUNT; i++) {
    if (!((cautions >> i) & 1u)) continue;
    const size_t used = strlen(words);
    snprintf(words + used, sizeof words - used, "%s%d %s", used ? ", " : "", testsheet_caution_number(sheet, i),
             sheet_cautions[i].name);
  }
  if (*words) print_line(stream, "caution", words);
}

static void print_reading(const struct sheet *sheet, const struct sheet_reading *reading, FILE *stream) {
  char value[TESTSHEET_TEXT_SIZE], range[TESTSHEET_TEXT_SIZE], note[TESTSHEET_TEXT_SIZE];
  testsheet_value(reading->row, reading->good, value);
  testsheet_range(reading, range);
  fprintf(stream, "  %-*s%s  (%s)\n", GOOD_COLUMN - 2, reading->row->title, value, range);
  print_line(stream, "when", sheet_procedure_window_rows[reading->row->window].text);
  print_line(stream, "read", reading->row->where);
  testsheet_note(sheet, reading, note);
  if (*note) print_line(stream, "know", note);
  print_departures(reading, stream);
  print_unseen(reading, stream);
  print_cautions(sheet, reading->row->cautions, stream);
  putc('\n', stream);
}

void testsheet_print(const struct sheet *sheet, FILE *stream) {
  fprintf(stream, "Bench test sheet: ");
  text_wrap(stream, 18, sheet->engine->title);
  putc('\n', stream);
  text_wrap(stream, 0, sheet_disclaimer);
  fputs("\nCautions\n", stream);
  for (int i = 0; i < SHEET_CAUTION_COUNT; i++) {
    const int number = testsheet_caution_number(sheet, i);
    if (number == 0) continue;
    fprintf(stream, "  %2d %-12s", number, sheet_cautions[i].name);
    text_wrap(stream, 17, sheet_cautions[i].text);
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
static void put_departure(struct json *json, const struct sheet_reading *reading, const struct sheet_departure *departure) {
  json_open_object(json, NULL);
  json_put_text(json, "with", departure->fault->label);
  json_open_object(json, "conditions");
  for (size_t i = 0; i < SHEET_SET_MAX && departure->fault->sets[i].condition; i++)
    json_put_real(json, departure->fault->sets[i].condition, departure->fault->sets[i].value, 3);
  json_close(json);
  json_put_real(json, "value", departure->value, reading->row->decimals + 1);
  json_put_flag(json, "seen", departure->seen);
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
  json_put_text(json, "when", sheet_procedure_window_rows[row->window].text);
  json_put_text(json, "read", row->where);
  json_put_text(json, "note", note);
  json_put_text(json, "unit", row->unit);
  json_put_real(json, "good", reading->good, decimals);
  json_put_real(json, "low", reading->low, decimals);
  json_put_real(json, "high", reading->high, decimals);
  json_open_object(json, "tolerance");
  json_put_real(json, "all", reading->tolerance, decimals);
  json_put_real(json, "scatter", reading->scatter, decimals);
  json_put_real(json, "resolution", reading->resolution, decimals);
  json_put_real(json, "unit_to_unit", reading->unit, decimals);
  json_close(json);
  json_open_array(json, "departures");
  for (size_t i = 0; i < reading->departure_count; i++) put_departure(json, reading, &reading->departures[i]);
  json_close(json);
  json_open_array(json, "cautions");
  for (int i = 0; i < SHEET_CAUTION_COUNT; i++)
    if ((row->cautions >> i) & 1u) json_put_text(json, NULL, sheet_cautions[i].name);
  json_close(json);
  json_close(json);
}

enum status testsheet_print_json(const struct sheet *sheet, FILE *stream, struct error *error) {
  struct json *json = json_create();
  json_put_text(json, "engine", sheet->engine->name);
  json_put_text(json, "title", sheet->engine->title);
  json_put_text(json, "disclaimer", sheet_disclaimer);
  json_open_object(json, "cautions");
  for (int i = 0; i < SHEET_CAUTION_COUNT; i++)
    if (testsheet_caution_number(sheet, i)) json_put_text(json, sheet_cautions[i].name, sheet_cautions[i].text);
  json_close(json);
  json_open_array(json, "tests");
  for (size_t i = 0; i < sheet->reading_count; i++) put_reading(sheet, json, &sheet->readings[i]);
  json_close(json);
  const enum status status = json_print(json, stream, error);
  json_destroy(json);
  return status;
}
