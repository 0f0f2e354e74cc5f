#include "io/config/card_file.h"

#include "base/number.h"
#include "car/card_read.h"
#include "io/config/config.h"
#include "io/config/config_text.h"
#include "io/config/find_file.h"

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

/* ---- CSV and words ---- */

static enum status read_csv(const char *path, struct card *card, struct error *error) {
  char *text;
  enum status status = config_text_read(path, &text, error);
  if (status != STATUS_OK) return status;
  status = card_read_csv(card, path, text, strlen(text), error);
  free(text);
  return status;
}

enum status card_file_read(const char *path, struct card *card, struct error *error) {
  card_init(card);
  enum status status = find_file_exists(path, error);
  if (status == STATUS_OK) status = is_settings(path) ? read_settings(path, card, error) : read_csv(path, card, error);
  return status == STATUS_OK ? card_check(card, error) : status;
}

enum status card_file_read_or_words(const char *words, struct card *card, struct error *error) {
  if (!strchr(words, '=')) return card_file_read(words, card, error);
  card_init(card);
  const enum status status = card_read_words(card, words, error);
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
