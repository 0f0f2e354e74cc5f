#include "io/config/card_file.h"

#include "base/number.h"
#include "base/splitter.h"
#include "io/config/config.h"
#include "io/config/config_text.h"
#include "io/config/find_file.h"

#include <ctype.h>
#include <errno.h>
#include <stdlib.h>
#include <string.h>

enum { WORD_SIZE = 96 };

static bool is_settings(const char *path) {
  const char *dot = strrchr(path, '.');
  return dot && strcmp(dot, ".cfg") == 0;
}

/* ---- settings ---- */

static enum status take_node(const struct config_setting_t *node, const char *path, struct card *card, struct error *error) {
  char place[CARD_PLACE_SIZE], word[WORD_SIZE] = "", what[CONFIG_DESCRIPTION_SIZE];
  snprintf(place, sizeof place, "%s:%d", path, config_line(node));
  const struct config_value value = config_value(node);
  if (value.kind == CONFIG_TEXT)
    snprintf(word, sizeof word, "%s", value.text);
  else if (value.kind == CONFIG_INTEGER || value.kind == CONFIG_REAL)
    number_write(value.real, 12, word, sizeof word);
  else if (value.kind == CONFIG_BOOLEAN)
    snprintf(word, sizeof word, "%s", value.integer ? "yes" : "no");
  else {
    config_describe(node, sizeof what, what);
    return error_append(error, STATUS_BAD_DATA, "%s: %s is %s; a card has one word or number for each name", place,
                        config_name(node), what);
  }
  return card_set(card, place, config_name(node), word, "", error);
}

static enum status read_settings(const char *path, struct card *card, struct error *error) {
  struct config *config;
  enum status status = config_open(path, &config, error);
  if (status != STATUS_OK) return status;
  const struct config_setting_t *root = config_root(config);
  for (size_t i = 0; i < config_child_count(root); i++)
    if (take_node(config_child(root, i), path, card, error) != STATUS_OK) status = error->status;
  config_close(config);
  return status;
}

/* ---- CSV ---- */

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

static enum status read_csv(const char *path, struct card *card, struct error *error) {
  char *text;
  enum status status = config_text_read(path, &text, error);
  if (status != STATUS_OK) return status;
  struct splitter rows;
  splitter_init(&rows, text, strlen(text), true);
  status = take_rows(&rows, path, card, error);
  splitter_destroy(&rows);
  free(text);
  return status;
}

enum status card_file_read(const char *path, struct card *card, struct error *error) {
  card_init(card);
  enum status status = find_file_exists(path, error);
  if (status == STATUS_OK) status = is_settings(path) ? read_settings(path, card, error) : read_csv(path, card, error);
  return status == STATUS_OK ? card_check(card, error) : status;
}

static enum status take_words(const char *words, struct card *card, struct error *error) {
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

enum status card_file_read_or_words(const char *words, struct card *card, struct error *error) {
  if (!strchr(words, '=')) return card_file_read(words, card, error);
  card_init(card);
  const enum status status = take_words(words, card, error);
  return status == STATUS_OK ? card_check(card, error) : status;
}

enum status card_file_write(const struct card *card, FILE *stream, struct error *error) {
  char text[WORD_SIZE];
  fprintf(stream, "name,value,unit\n");
  for (int i = 0; i < CARD_COUNT; i++) {
    const struct card_row *row = &card_rows[i];
    card_text(card, (enum card_item)i, sizeof text, text);
    if (card_has(card, (enum card_item)i))
      fprintf(stream, "%s,%s,%s\n", row->key, text, row->choices || !row->unit[0] ? "" : row->unit);
    else
      fprintf(stream, "# %s: %s\n", row->key, row->question);
  }
  return fflush(stream) == 0 && !ferror(stream) ? STATUS_OK
                                                : error_set(error, STATUS_IO, "the card cannot be written: %s", strerror(errno));
}
