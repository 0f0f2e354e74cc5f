#include "io/log/shows_file.h"

#include "analysis/estimate/estimate_words.h"
#include "io/format/csv_read.h"
#include "sim/log_columns.h"

#include <stdio.h>
#include <string.h>
#include <unistd.h>

enum { NAME_SIZE = 96 };

/* Both trims show the two together, and so do both parts of idle air; 04 and the like are known by their names. */
static void show(enum estimate_quantity quantity, bool shown[ESTIMATE_QUANTITY_COUNT]) {
  static const enum estimate_quantity wholes[][3] = {
      {ESTIMATE_QUANTITY_trim_pct, ESTIMATE_QUANTITY_stft_pct, ESTIMATE_QUANTITY_ltft_pct},
      {ESTIMATE_QUANTITY_trim2_pct, ESTIMATE_QUANTITY_stft2_pct, ESTIMATE_QUANTITY_ltft2_pct},
      {ESTIMATE_QUANTITY_idle_air_pct, ESTIMATE_QUANTITY_learned_pct, ESTIMATE_QUANTITY_effort_pct},
  };
  shown[quantity] = true;
  for (size_t i = 0; i < sizeof wholes / sizeof wholes[0]; i++)
    if (shown[wholes[i][1]] && shown[wholes[i][2]]) shown[wholes[i][0]] = true;
  if (quantity == ESTIMATE_QUANTITY_manifold_kpa) shown[ESTIMATE_QUANTITY_map_kpa] = true; // "MAP" is either
}

static bool add_name(const char *name, bool shown[ESTIMATE_QUANTITY_COUNT]) {
  struct log_columns_meaning meaning;
  int quantity = estimate_quantity_find(name);
  const bool known = quantity < 0 && log_columns_find(name, &meaning) != LOG_COLUMNS_UNKNOWN;
  if (known) quantity = estimate_quantity_find(channel_rows[meaning.channel].name);
  if (quantity >= 0) show((enum estimate_quantity)quantity, shown);
  return quantity >= 0 || known;
}

static size_t add_file(const struct csv_table *table, bool shown[ESTIMATE_QUANTITY_COUNT]) {
  size_t known = 0;
  for (size_t i = 0; i < table->column_count; i++) known += add_name(table->columns[i].name, shown);
  for (size_t row = 0; row < table->row_count; row++) known += add_name(csv_table_word(table, row, 0), shown);
  return known;
}

enum status shows_file_add(const char *names, bool shown[ESTIMATE_QUANTITY_COUNT], struct error *error) {
  if (access(names, F_OK) == 0) {
    struct csv_table table;
    const enum status status = csv_read_words(names, &table, error);
    if (status != STATUS_OK) return status;
    const size_t known = add_file(&table, shown);
    csv_table_destroy(&table);
    return known ? STATUS_OK : error_set(error, STATUS_BAD_DATA, "--shows: no name in %s is the name of a reading", names);
  }
  for (const char *at = names; *at;) {
    char name[NAME_SIZE];
    const size_t length = strcspn(at, ",");
    const size_t blanks = strspn(at, " ");
    snprintf(name, sizeof name, "%.*s", (int)(length - (blanks < length ? blanks : length)),
             at + (blanks < length ? blanks : length));
    if (*name && !add_name(name, shown)) {
      const char *near = estimate_words_near(name);
      return near
                 ? error_set(error, STATUS_USAGE, "--shows: there is no file and no reading '%s'; did you mean '%s'?", name, near)
                 : error_set(error, STATUS_USAGE, "--shows: there is no file and no reading '%s'", name);
    }
    at += length + (at[length] == ',');
  }
  return STATUS_OK;
}
