#include "car/card_read.h"

#include "base/splitter.h"

#include <ctype.h>
#include <stdio.h>
#include <string.h>

enum { COLUMN_NAME, COLUMN_VALUE, COLUMN_UNIT, COLUMN_COUNT };
static const char *const column_names[COLUMN_COUNT] = {"name", "value", "unit"};

static bool same_word(const char *given, const char *name) {
  while (*given && *name && tolower((unsigned char)*given) == *name) {
    given++;
    name++;
  }
  return *given == *name;
}

/* Which cell is which; a later cell of a row may be missing. */
static bool read_header(const struct splitter *rows, size_t places[COLUMN_COUNT]) {
  for (int i = 0; i < COLUMN_COUNT; i++) {
    places[i] = rows->cell_count;
    for (size_t k = 0; k < rows->cell_count; k++)
      if (same_word(splitter_cell(rows, k, NULL), column_names[i])) places[i] = k;
  }
  return places[COLUMN_NAME] < rows->cell_count && places[COLUMN_VALUE] < rows->cell_count;
}

static const char *cell_or_nothing(const struct splitter *rows, size_t place) {
  return place < rows->cell_count ? splitter_cell(rows, place, NULL) : "";
}

static enum status take_row(const struct splitter *rows, const size_t places[COLUMN_COUNT], const char *path, struct card *card,
                            struct error *error) {
  char place[CARD_PLACE_SIZE];
  snprintf(place, sizeof place, "%s:%zu", path, rows->row_line);
  if (rows->cell_count > COLUMN_COUNT && splitter_cell(rows, COLUMN_COUNT, NULL)[0])
    return error_append(
        error, STATUS_BAD_DATA,
        "%s: %zu cells, a card has three: name, value, unit; with decimal commas, separate the cells by semicolons", place,
        rows->cell_count);
  return card_set(card, place, cell_or_nothing(rows, places[COLUMN_NAME]), cell_or_nothing(rows, places[COLUMN_VALUE]),
                  cell_or_nothing(rows, places[COLUMN_UNIT]), error);
}

static enum status take_rows(struct splitter *rows, const char *path, struct card *card, struct error *error) {
  size_t places[COLUMN_COUNT];
  enum splitter_found found = splitter_next(rows);
  if (found != SPLITTER_ROW || !read_header(rows, places))
    return error_append(error, STATUS_BAD_DATA, "%s:1: a card has the columns name and value, and optionally unit", path);
  enum status status = STATUS_OK;
  while ((found = splitter_next(rows)) != SPLITTER_END) {
    if (found == SPLITTER_NO_MEMORY) return error_append(error, STATUS_NO_MEMORY, "%s: out of memory", path);
    if (found == SPLITTER_ROW) {
      if (take_row(rows, places, path, card, error) != STATUS_OK) status = error->status;
      continue;
    }
    status =
        error_append(error, STATUS_BAD_DATA, "%s:%zu: a quotation mark too many, or one that never ends", path, rows->fault_line);
  }
  return status;
}

enum status card_read_csv(struct card *card, const char *name, const char *text, size_t size, struct error *error) {
  struct splitter rows;
  splitter_init(&rows, text, size, true);
  const enum status status = take_rows(&rows, name, card, error);
  splitter_destroy(&rows);
  return status;
}

enum status card_read_words(struct card *card, const char *words, struct error *error) {
  enum status status = STATUS_OK;
  while (*words) {
    char pair[CARD_PLACE_SIZE], place[CARD_PLACE_SIZE];
    const size_t length = strcspn(words, ",");
    snprintf(pair, sizeof pair, "%.*s", (int)length, words);
    snprintf(place, sizeof place, "%s", pair);
    words += length + (words[length] == ',');
    char *equals = strchr(pair, '=');
    if (equals) *equals = '\0';
    if (!equals)
      status = error_append(error, STATUS_BAD_DATA, "%s: a card in words is name=value,name=value", place);
    else if (card_set(card, place, pair, equals + 1, "", error) != STATUS_OK)
      status = error->status;
  }
  return status;
}
