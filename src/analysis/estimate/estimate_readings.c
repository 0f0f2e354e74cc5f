#include "analysis/estimate/estimate_readings.h"

#include "analysis/estimate/estimate_scan.h"
#include "analysis/estimate/estimate_words.h"
#include "base/near_miss.h"
#include "base/number.h"
#include "car/former.h"
#include "sim/log_columns.h"

#include <ctype.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { WORD_SIZE = 96, LIST_SIZE = 400 };

#define COLD_LEAST_C (-40.0) // what the model's conditions allow,
#define COLD_MOST_C  50.0    // and the warmest that anybody would call a cold start; our own choice

enum status estimate_readings_init(struct estimate_readings_input *input, const struct engine *engine, struct error *error) {
  *input = (struct estimate_readings_input){.engine = engine, .cold_coolant_c = NAN, .cold_intake_c = NAN};
  struct estimate_forward *forward;
  const enum status status = estimate_forward_create(engine, &forward, error);
  if (status != STATUS_OK) return status;
  struct estimate_setting setting;
  estimate_setting_init(&setting);
  input->ambient_kpa = conditions_ambient_pa(&setting.conditions) / UNITS_PA_PER_KPA;
  const struct estimate_fault nothing = {0};
  const double z[SCATTER_COUNT] = {0};
  struct estimate_point points[ESTIMATE_CONDITION_COUNT];
  for (int c = 0; c < ESTIMATE_CONDITION_COUNT; c++) {
    if (!estimate_forward_has(engine, (enum estimate_condition)c)) continue;
    estimate_forward_predict(forward, &setting, z, &nothing, 1u << c, points);
    for (int q = 0; q < ESTIMATE_QUANTITY_COUNT; q++) input->has[c][q] = !isnan(estimate_quantities[q].value(&points[c]));
  }
  input->good_gap_mm2 = estimate_quantities[ESTIMATE_QUANTITY_closed_gap_mm2].value(&points[ESTIMATE_CONDITION_key_on]);
  estimate_forward_destroy(forward);
  return STATUS_OK;
}

/* ---- One reading, wherever it stands ---- */

/* As it was written, and where; the words are without blanks round them. */
struct written {
  const char *place;
  enum status fault; // what it is if it cannot be taken
  char name[WORD_SIZE], condition[WORD_SIZE];
  char unit[ESTIMATE_WORDS_SIZE];  // behind the value, or in its column; empty for that of the name
  double value, resolution, noise; // unit of the name as written; NaN: the usual
  double sd;                       // of the reading as a whole; NaN: from resolution and noise
};

/* What a name stands for: a quantity, and how its unit becomes ours. */
struct meaning {
  enum estimate_quantity quantity;
  double factor, offset;
  bool from_outside; // it is told from the air's pressure
};

static void list_conditions(unsigned conditions, char text[LIST_SIZE]) {
  text[0] = '\0';
  for (int i = 0; i < ESTIMATE_CONDITION_COUNT; i++) {
    const size_t used = strlen(text);
    if (conditions & (1u << i)) snprintf(text + used, LIST_SIZE - used, "%s%s", used ? ", " : "", estimate_conditions[i].name);
  }
}

static bool find_quantity(const struct estimate_readings_input *input, const struct written *written, struct meaning *meaning,
                          struct error *error) {
  const int own = estimate_quantity_find(written->name);
  if (own >= 0) {
    char ask[ESTIMATE_WORDS_ASK_SIZE];
    if (input->ambient_kpa > 0.0 &&
        estimate_words_either_way((enum estimate_quantity)own, written->unit, written->value, input->ambient_kpa, ask)) {
      error_append(error, STATUS_BAD_DATA, "%s: %s: %s", written->place, written->name, ask);
      return false;
    }
    *meaning = (struct meaning){.quantity = (enum estimate_quantity)own, .factor = 1.0};
    if (!*written->unit ||
        estimate_words_unit(meaning->quantity, written->unit, input->ambient_kpa, &meaning->factor, &meaning->offset)) {
      meaning->from_outside = input->ambient_kpa > 0.0 && fabs(meaning->offset - input->ambient_kpa) < 1e-9;
      return true;
    }
    error_append(error, written->fault, "%s: value: '%g%s' is not a number, and '%s' no unit of %s", written->place,
                 written->value, written->unit, written->unit, written->name);
    return false;
  }
  struct log_columns_meaning column;
  char header[2 * WORD_SIZE + 4];
  snprintf(header, sizeof header, *written->unit ? "%s (%s)" : "%s", written->name, written->unit);
  const enum log_columns_answer answer = log_columns_find(header, &column);
  if (answer == LOG_COLUMNS_BAD_UNIT) {
    error_append(error, written->fault, "%s: '%s': the unit '%s' is not known here; those of %s are: %s", written->place,
                 written->name, column.unit, channel_rows[column.channel].name, column.units);
    return false;
  }
  const int quantity = answer == LOG_COLUMNS_KNOWN ? estimate_words_quantity(input->engine, written->name, column.channel) : -1;
  if (quantity >= 0) {
    *meaning = (struct meaning){.quantity = (enum estimate_quantity)quantity, .factor = column.factor, .offset = column.offset};
    return true;
  }
  const char *now = former_name_now(written->name);
  const char *near = answer == LOG_COLUMNS_KNOWN ? NULL : estimate_words_near(written->name);
  if (now)
    error_append(error, written->fault, "%s: there is no reading '%s', and no condition any more; %s", written->place,
                 written->name, now);
  else if (answer == LOG_COLUMNS_KNOWN)
    error_append(error, written->fault, "%s: an estimate makes no use of '%s'; bladegap list readings shows what it uses",
                 written->place, written->name);
  else if (near)
    error_append(error, written->fault, "%s: there is no reading '%s'; did you mean '%s'?", written->place, written->name, near);
  else
    error_append(error, written->fault, "%s: there is no reading '%s'; bladegap list readings shows all", written->place,
                 written->name);
  return false;
}

static bool find_condition(const struct written *written, enum estimate_condition *condition, struct error *error) {
  char list[LIST_SIZE];
  const int found = estimate_words_condition(written->condition);
  if (found >= 0) {
    *condition = (enum estimate_condition)found;
    return true;
  }
  const char *near = estimate_words_near_condition(written->condition);
  list_conditions(~0u, list);
  error_append(error, written->fault,
               !*written->condition ? "%s: the condition is missing%s: %s"
               : near               ? "%s: there is no condition '%s'; did you mean '%s'?"
                                    : "%s: there is no condition '%s'; there are %s",
               written->place, written->condition, near ? near : list);
  return false;
}

/* How cold the car was, told by its own sensors. */
static void take_cold(const struct written *written, double value_c, double *cold_c, char place[ESTIMATE_READINGS_PLACE_SIZE],
                      struct error *error) {
  const double from_f = (value_c - 32.0) / 1.8;
  if (!isnan(*cold_c))
    error_append(error, written->fault, "%s: %s at cold_idle is there already: %s", written->place, written->name, place);
  else if (value_c >= COLD_LEAST_C && value_c <= COLD_MOST_C) {
    *cold_c = value_c;
    snprintf(place, ESTIMATE_READINGS_PLACE_SIZE, "%s", written->place);
  } else if (from_f >= COLD_LEAST_C && from_f <= COLD_MOST_C)
    error_append(error, written->fault,
                 "%s: %s at cold_idle is %g C, which is no cold start; %g F would be %.1f C: write that if it is meant",
                 written->place, written->name, value_c, value_c, from_f);
  else
    error_append(error, written->fault, "%s: %s at cold_idle is %g C, which is no cold start: %g to %g C", written->place,
                 written->name, value_c, COLD_LEAST_C, COLD_MOST_C);
}

/* What is read as a whole is not read in parts as well: both would be counted. */
static bool tell_the_same(enum estimate_quantity a, enum estimate_quantity b) {
  for (size_t i = 0; i < ESTIMATE_WHOLE_COUNT; i++)
    for (int part = 0; part < 2; part++) {
      const struct estimate_whole *w = &estimate_wholes[i];
      if ((a == w->whole && b == w->parts[part]) || (b == w->whole && a == w->parts[part])) return true;
    }
  return false;
}

static bool is_new(const struct estimate_readings_input *input, const struct written *written, enum estimate_quantity quantity,
                   enum estimate_condition condition, struct error *error) {
  for (size_t i = 0; i < input->given.count; i++) {
    const struct estimate_reading *other = &input->given.readings[i];
    if (other->condition != condition) continue;
    if (other->quantity == quantity) {
      error_append(error, written->fault, "%s: %s at %s is there already, as %g: %s; leave one out", written->place,
                   estimate_quantities[quantity].name, estimate_conditions[condition].name, other->value, input->places[i]);
      return false;
    }
    if (tell_the_same(other->quantity, quantity)) {
      error_append(error, written->fault,
                   "%s: %s and %s at %s tell the same, one the whole and one a part of it: leave one out (%s)", written->place,
                   estimate_quantities[quantity].name, estimate_quantities[other->quantity].name,
                   estimate_conditions[condition].name, input->places[i]);
      return false;
    }
  }
  return true;
}

/* A battery while it charges is another reading than one at rest. */
static enum estimate_quantity at_that_condition(enum estimate_quantity quantity, enum estimate_condition condition) {
  const bool charging = quantity == ESTIMATE_QUANTITY_battery_v && ((1u << condition) & ESTIMATE_AT_STEADY);
  return charging ? ESTIMATE_QUANTITY_charging_v : quantity;
}

/* Whether this can be read at this condition on this engine. */
static bool can_be_read(const struct estimate_readings_input *input, const struct written *written,
                        enum estimate_quantity quantity, enum estimate_condition condition, struct error *error) {
  const struct estimate_quantity_row *row = &estimate_quantities[quantity];
  char list[LIST_SIZE];
  if (!estimate_forward_has(input->engine, condition)) {
    error_append(error, written->fault, "%s: %s has no condition %s (%s)", written->place, input->engine->name,
                 estimate_conditions[condition].name, estimate_conditions[condition].text);
    return false;
  }
  if (!(row->conditions & (1u << condition))) {
    list_conditions(row->conditions, list);
    error_append(error, written->fault, "%s: %s says nothing at %s; it is read at %s", written->place, row->name,
                 estimate_conditions[condition].name, list);
    return false;
  }
  if (!input->has[condition][quantity]) {
    error_append(error, written->fault, "%s: %s has no %s (%s)", written->place, input->engine->name, row->name, row->text);
    return false;
  }
  return true;
}

static bool is_sure(const struct written *written, struct error *error) {
  if (written->resolution <= 0.0)
    error_append(error, written->fault, "%s: the resolution %g is not above 0", written->place, written->resolution);
  else if (written->noise < 0.0)
    error_append(error, written->fault, "%s: the noise %g is below 0", written->place, written->noise);
  else if (written->sd <= 0.0)
    error_append(error, written->fault, "%s: the standard deviation %g is not above 0", written->place, written->sd);
  else
    return true;
  return false;
}

/* What no instrument tells: it stands for "no value", or is a slip. So whatever is asked for is not taken on trust. */
static bool is_reading(const struct written *written, enum estimate_quantity quantity, double value, struct error *error) {
  const bool is_speed = quantity == ESTIMATE_QUANTITY_speed_rpm || quantity == ESTIMATE_QUANTITY_target_rpm;
  if (fabs(value) <= (is_speed ? COLUMN_UNITS_SPEED_MOST_RPM : COLUMN_UNITS_ANY_MOST)) return true;
  error_append(error, written->fault, "%s: %.10g is no reading of %s", written->place, written->value, written->name);
  return false;
}

static void add(struct estimate_readings_input *input, const struct written *written, struct error *error) {
  struct meaning meaning;
  enum estimate_condition condition;
  const bool known = find_quantity(input, written, &meaning, error); // both are looked at, so that both are told
  if (!find_condition(written, &condition, error) || !known || !is_sure(written, error)) return;
  meaning.quantity = at_that_condition(meaning.quantity, condition);
  const double value = meaning.factor * written->value + meaning.offset;
  if (condition == ESTIMATE_CONDITION_cold_idle && meaning.quantity == ESTIMATE_QUANTITY_coolant_c) {
    take_cold(written, value, &input->cold_coolant_c, input->cold_coolant_place, error);
    return;
  }
  if (condition == ESTIMATE_CONDITION_cold_idle && meaning.quantity == ESTIMATE_QUANTITY_intake_c) {
    take_cold(written, value, &input->cold_intake_c, input->cold_intake_place, error);
    return;
  }
  if (!is_reading(written, meaning.quantity, value, error)) return;
  if (!can_be_read(input, written, meaning.quantity, condition, error)) return;
  if (!is_new(input, written, meaning.quantity, condition, error)) return;
  if (input->given.count == ESTIMATE_READING_MAX) {
    error_append(error, written->fault, "%s: more than %d readings", written->place, ESTIMATE_READING_MAX);
    return;
  }
  const double scale = fabs(meaning.factor);
  const double own_sd = isnan(written->sd)
                            ? estimate_reading_sd(meaning.quantity, value, scale * written->resolution, scale * written->noise)
                            : scale * written->sd;
  const double sd = meaning.from_outside ? hypot(own_sd, input->ambient_sd_kpa) : own_sd;
  snprintf(input->places[input->given.count], ESTIMATE_READINGS_PLACE_SIZE, "%s", written->place);
  input->given.readings[input->given.count++] = (struct estimate_reading){meaning.quantity, condition, value, sd};
}

/* ---- Words and numbers ---- */

static void trim(const char *text, size_t size, char word[WORD_SIZE]) {
  while (size > 0 && isspace((unsigned char)*text)) {
    text++;
    size--;
  }
  while (size > 0 && isspace((unsigned char)text[size - 1])) size--;
  snprintf(word, WORD_SIZE, "%.*s", (int)(size < WORD_SIZE ? size : WORD_SIZE), text);
}

/* What a torch showed, in a word. */
static bool is_light(const struct estimate_readings_input *input, const char *word, struct written *written) {
  return estimate_quantity_find(written->name) == ESTIMATE_QUANTITY_closed_gap_mm2 &&
         estimate_words_light(word, input->good_gap_mm2, &written->value, &written->sd);
}

/* ---- On the command line ---- */

/* Says that a word is none, with what may have been meant. */
static void not_a_number(const char *place, const char *column, enum status fault, const char *word, struct error *error) {
  char plain[WORD_SIZE];
  if (number_grouped(word, plain, sizeof plain))
    error_append(error, fault, "%s: %s'%s' has separated thousands; write %s", place, column, word, plain);
  else
    error_append(error, fault, "%s: %s'%s' is not a number", place, column, word);
}

static bool read_value(const struct estimate_readings_input *input, const char *option, const char *text, const char *word,
                       struct written *written, struct error *error) {
  static const char *const marks[] = {"+-", "+/-", "\302\261"}; // the last is the sign for it
  char number[WORD_SIZE], spread[WORD_SIZE] = "", why[ESTIMATE_WORDS_SIZE];
  const char *mark = NULL;
  size_t mark_size = 0;
  for (size_t i = 0; !mark && i < ARRAY_COUNT(marks); i++) {
    mark = strstr(word, marks[i]);
    mark_size = strlen(marks[i]);
  }
  trim(word, mark ? (size_t)(mark - word) : strlen(word), number);
  if (is_light(input, number, written)) return true;
  if (estimate_words_grouped(number)) {
    not_a_number(written->place, "", STATUS_USAGE, number, error);
    return false;
  }
  if (!estimate_words_number(number, &written->value, written->unit, why)) {
    error_append(error, STATUS_USAGE, "%s %s: '%s' %s", option, text, number, why);
    return false;
  }
  if (!mark) return true;
  trim(mark + mark_size, strlen(mark + mark_size), spread);
  if (number_read(spread, &written->sd)) return true;
  error_append(error, STATUS_USAGE, "%s %s: '%s' is not a number", option, text, spread);
  return false;
}

enum status estimate_readings_add_text(struct estimate_readings_input *input, const char *option, const char *text,
                                       struct error *error) {
  const size_t before = error->line_count;
  const char *equals = strchr(text, '='), *at = strrchr(text, '@');
  if (!equals || equals == text || !at || at < equals || at[1] == '\0')
    return error_append(error, STATUS_USAGE, "%s %s: it needs NAME=VALUE@CONDITION, as in maf_gps=2.58@idle", option, text);
  char place[ESTIMATE_READINGS_PLACE_SIZE], word[WORD_SIZE];
  snprintf(place, sizeof place, "%s %s", option, text);
  struct written written = {.place = place, .fault = STATUS_USAGE, .resolution = NAN, .noise = NAN, .sd = NAN};
  trim(text, (size_t)(equals - text), written.name);
  trim(equals + 1, (size_t)(at - equals - 1), word);
  trim(at + 1, strlen(at + 1), written.condition);
  if (read_value(input, option, text, word, &written, error)) add(input, &written, error);
  return error->line_count == before ? STATUS_OK : error->status;
}

/* ---- In a file ---- */

enum column { COLUMN_NAME, COLUMN_CONDITION, COLUMN_VALUE, COLUMN_RESOLUTION, COLUMN_NOISE, COLUMN_UNIT, COLUMN_COUNT };
static const char *const column_names[COLUMN_COUNT] = {"name", "condition", "value", "resolution", "noise", "unit"};

/* Letter case does not matter. */
static int find_column(const struct csv_table *table, const char *name) {
  for (size_t i = 0; i < table->column_count; i++) {
    const char *given = table->columns[i].name;
    size_t k = 0;
    while (given[k] && tolower((unsigned char)given[k]) == name[k]) k++;
    if (given[k] == '\0' && name[k] == '\0') return (int)i;
  }
  return -1;
}

/* Where each column stands, -1 where it is not. */
static void find_columns(const char *path, const struct csv_table *table, int columns[COLUMN_COUNT], struct error *error) {
  if (find_column(table, "value") < 0 && estimate_words_is_log(path, table, error)) return;
  for (int i = 0; i < COLUMN_COUNT; i++) {
    columns[i] = find_column(table, column_names[i]);
    if (columns[i] < 0 && i <= COLUMN_VALUE)
      error_append(error, STATUS_BAD_DATA,
                   "%s: there is no column '%s': the header is name,condition,value, and where wanted "
                   "resolution,noise,unit",
                   path, column_names[i]);
  }
  for (size_t i = 0; i < table->column_count; i++) {
    const char *name = table->columns[i].name;
    bool known = false;
    for (int k = 0; k < COLUMN_COUNT; k++) known = known || columns[k] == (int)i;
    const char *near = known ? NULL : near_miss_best(name, column_names, COLUMN_COUNT);
    if (!known)
      error_append(error, STATUS_BAD_DATA,
                   near ? "%s: there is no column '%s'; did you mean '%s'?" : "%s: there is no column '%s'", path, name, near);
  }
}

/* A number of the row; NaN where there is none. */
static double cell(const struct written *written, const struct csv_table *table, size_t row, int column, struct error *error) {
  if (column < 0) return NAN;
  const double value = csv_table_value(table, row, (size_t)column);
  const char *word = csv_table_word(table, row, (size_t)column);
  char name[WORD_SIZE];
  snprintf(name, sizeof name, "%.80s: ", table->columns[column].name);
  if (isnan(value) && *word) not_a_number(written->place, name, written->fault, word, error);
  return value;
}

/* The value: a number, a number with its unit, or what a torch showed. */
static void value_cell(const struct estimate_readings_input *input, const struct csv_table *table, size_t row, int column,
                       struct written *written, struct error *error) {
  char word[WORD_SIZE], unit[ESTIMATE_WORDS_SIZE], why[ESTIMATE_WORDS_SIZE];
  written->value = csv_table_value(table, row, (size_t)column);
  const char *text = csv_table_word(table, row, (size_t)column);
  trim(text, strlen(text), word);
  if (!isnan(written->value) || !*word || is_light(input, word, written)) return;
  char name[WORD_SIZE];
  snprintf(name, sizeof name, "%.80s: ", table->columns[column].name);
  if (estimate_words_grouped(word))
    not_a_number(written->place, name, written->fault, word, error);
  else if (!estimate_words_number(word, &written->value, unit, why))
    error_append(error, written->fault, "%s: %s: '%s' %s", written->place, table->columns[column].name, word, why);
  else if (*unit)
    snprintf(written->unit, sizeof written->unit, "%s", unit);
}

static void add_row(struct estimate_readings_input *input, const char *path, const struct csv_table *table, size_t row,
                    const int columns[COLUMN_COUNT], struct error *error) {
  char place[ESTIMATE_READINGS_PLACE_SIZE];
  snprintf(place, sizeof place, "%s:%zu", path, table->lines[row]);
  struct written written = {.place = place, .fault = STATUS_BAD_DATA, .sd = NAN};
  // the caller has found every column. NOLINTNEXTLINE(clang-analyzer-core.CallAndMessage)
  const char *name = csv_table_word(table, row, (size_t)columns[COLUMN_NAME]);
  const char *condition = csv_table_word(table, row, (size_t)columns[COLUMN_CONDITION]);
  trim(name, strlen(name), written.name);
  trim(condition, strlen(condition), written.condition);
  const size_t before = error->line_count;
  if (columns[COLUMN_UNIT] >= 0) {
    const char *unit = csv_table_word(table, row, (size_t)columns[COLUMN_UNIT]);
    trim(unit, strlen(unit), written.unit);
  }
  value_cell(input, table, row, columns[COLUMN_VALUE], &written, error);
  written.resolution = cell(&written, table, row, columns[COLUMN_RESOLUTION], error);
  written.noise = cell(&written, table, row, columns[COLUMN_NOISE], error);
  if (error->line_count > before) return;
  char parts[WORD_SIZE], plain[WORD_SIZE];
  snprintf(parts, sizeof parts, "%g,%03.0f", written.value, written.resolution);
  if (written.resolution >= fmax(100.0, written.value) && number_grouped(parts, plain, sizeof plain)) // a comma that parts cells
    error_append(error, STATUS_BAD_DATA, "%s: the value %g with a resolution of %g: if %s is one number, write %s", place,
                 written.value, written.resolution, parts, plain);
  else if (isnan(written.value))
    error_append(error, STATUS_BAD_DATA, "%s: %s has no value; leave the line out if it was not read", place, written.name);
  else
    add(input, &written, error);
}

enum status estimate_readings_add_table(struct estimate_readings_input *input, const char *name, const struct csv_table *table,
                                        struct error *error) {
  const size_t before = error->line_count;
  int columns[COLUMN_COUNT];
  find_columns(name, table, columns, error);
  const bool readable = error->line_count == before;
  size_t fault = 0;
  for (size_t row = 0; readable && row <= table->row_count; row++) { // the last time round for what is behind the last row
    for (; fault < table->fault_count && (row == table->row_count || table->faults[fault].line < table->lines[row]); fault++)
      error_append(error, STATUS_BAD_DATA, "%s:%zu: %s", name, table->faults[fault].line, table->faults[fault].text);
    if (row < table->row_count) add_row(input, name, table, row, columns, error);
  }
  if (readable && table->bad_row_count > table->fault_count)
    error_append(error, STATUS_BAD_DATA, "%s: %zu more rows like these", name, table->bad_row_count - table->fault_count);
  if (readable && table->row_count + table->bad_row_count == 0)
    error_append(error, STATUS_BAD_DATA, "%s: no readings: there is a header and nothing below it", name);
  return error->line_count == before ? STATUS_OK : error->status;
}

enum status estimate_readings_add_csv(struct estimate_readings_input *input, const char *name, const char *text, size_t size,
                                      struct error *error) {
  struct csv_table table;
  struct error reading;
  error_clear(&reading);
  enum status status = csv_table_read_words(name, text, size, &table, &reading);
  if (status != STATUS_OK) return error_append(error, status, "%s", reading.text);
  status = estimate_readings_add_table(input, name, &table, error);
  csv_table_destroy(&table);
  return status;
}

/* ---- Number by number ---- */

enum status estimate_readings_add(struct estimate_readings_input *input, const char *name, const char *condition, double value,
                                  double sd, struct error *error) {
  const size_t before = error->line_count;
  char place[ESTIMATE_READINGS_PLACE_SIZE];
  snprintf(place, sizeof place, "%.60s=%g@%.60s", name, value, condition);
  struct written written = {.place = place, .fault = STATUS_USAGE, .value = value, .resolution = NAN, .noise = NAN, .sd = sd};
  trim(name, strlen(name), written.name);
  trim(condition, strlen(condition), written.condition);
  if (!isfinite(value) || isinf(sd))
    error_append(error, STATUS_USAGE, "%s: the value and its standard deviation must be finite numbers", place);
  else
    add(input, &written, error);
  return error->line_count == before ? STATUS_OK : error->status;
}

/* ---- All of them ---- */

enum status estimate_readings_finish(const struct estimate_readings_input *input, struct estimate_setting *setting,
                                     struct estimate_readings *readings, struct error *error) {
  for (size_t i = 0; i < input->given.count; i++) {
    if (input->given.readings[i].condition != ESTIMATE_CONDITION_cold_idle || !isnan(input->cold_coolant_c)) continue;
    return error_append(
        error, STATUS_BAD_DATA,
        "%s: read at cold_idle, but how cold was it? Add what the coolant sensor read then: coolant_c at cold_idle",
        input->places[i]);
  }
  if (!isnan(input->cold_coolant_c)) setting->cold_coolant_c = input->cold_coolant_c;
  if (!isnan(input->cold_intake_c)) setting->cold_intake_c = input->cold_intake_c;
  *readings = input->given;
  if (!estimate_scan_leave_some(input->engine, input->places[0], readings, error)) return error->status;
  estimate_readings_join(readings);
  return STATUS_OK;
}
