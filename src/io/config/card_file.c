#include "io/config/card_file.h"

#include "base/number.h"
#include "io/config/config.h"
#include "io/config/find_file.h"
#include "io/format/csv_read.h"

#include <errno.h>
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
    return error_append(error, STATUS_BAD_DATA, "%s: %s is %s; a card has one word or number a name", place, config_name(node),
                        what);
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

static int find_column(const struct csv_table *table, const char *name) {
  for (size_t i = 0; i < table->column_count; i++) {
    const char *given = table->columns[i].name;
    size_t k = 0;
    while (given[k] && (given[k] | 0x20) == name[k]) k++;
    if (given[k] == '\0' && name[k] == '\0') return (int)i;
  }
  return -1;
}

static enum status take_table(const struct csv_table *table, const char *path, struct card *card, struct error *error) {
  const int name = find_column(table, "name"), value = find_column(table, "value"), unit = find_column(table, "unit");
  enum status status = STATUS_OK;
  if (name < 0 || value < 0)
    return error_append(error, STATUS_BAD_DATA, "%s:1: a card has the columns name and value, and where wanted unit", path);
  for (size_t i = 0; i < table->fault_count; i++)
    status = error_append(error, STATUS_BAD_DATA, "%s:%zu: %s", path, table->faults[i].line, table->faults[i].text);
  for (size_t row = 0; row < table->row_count; row++) {
    char place[CARD_PLACE_SIZE];
    snprintf(place, sizeof place, "%s:%zu", path, table->lines[row]);
    if (card_set(card, place, csv_table_word(table, row, (size_t)name), csv_table_word(table, row, (size_t)value),
                 unit < 0 ? "" : csv_table_word(table, row, (size_t)unit), error) != STATUS_OK)
      status = error->status;
  }
  return status;
}

static enum status read_csv(const char *path, struct card *card, struct error *error) {
  struct csv_table table;
  const enum status status = csv_read_words(path, &table, error);
  if (status != STATUS_OK) return status;
  const enum status taken = take_table(&table, path, card, error);
  csv_table_destroy(&table);
  return taken;
}

enum status card_file_read(const char *path, struct card *card, struct error *error) {
  card_init(card);
  enum status status = find_file_exists(path, error);
  if (status == STATUS_OK) status = is_settings(path) ? read_settings(path, card, error) : read_csv(path, card, error);
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
