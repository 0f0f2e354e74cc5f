#include "analysis/lesson/lesson_value.h"

#include "base/number.h"

#include <ctype.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { DEPTH_MOST = 40 };

/* A text being read. What is said of numbers on the way is kept in `numbers`. */
struct reader {
  const struct lesson_results *results;
  const char *text, *at;
  int depth;
  size_t operations; // what is printed of a single channel has its decimals
  struct lesson_value last;
  size_t numbers_size;
  char *numbers; // NULL: nobody wants them
  struct error *error;
};

static enum status fault(struct reader *reader, const char *what) {
  return error_set(reader->error, STATUS_BAD_CONFIG, "'%.120s': %s at '%.40s'", reader->text, what,
                   *reader->at ? reader->at : "its end");
}

static void skip(struct reader *reader) {
  while (isspace((unsigned char)*reader->at)) reader->at++;
}

/* Whether this comes next, and then it is taken. A word ends where letters do. */
static bool take(struct reader *reader, const char *what) {
  skip(reader);
  const size_t size = strlen(what);
  if (strncmp(reader->at, what, size) != 0) return false;
  const char next = reader->at[size];
  if (isalpha((unsigned char)*what) && next && (isalnum((unsigned char)next) || strchr("_.-", next))) return false;
  reader->at += size;
  return true;
}

static bool take_function(struct reader *reader, const char *name) {
  skip(reader);
  const size_t size = strlen(name);
  if (strncmp(reader->at, name, size) != 0 || reader->at[size] != '(') return false;
  reader->at += size + 1;
  return true;
}

static enum status close(struct reader *reader) { return take(reader, ")") ? STATUS_OK : fault(reader, "')' is missing"); }

static enum status read_or(struct reader *reader, double *value);

/* Digits with a point; no sign, no exponent. Two points in a row are a range and end it. */
static bool take_number(struct reader *reader, double *value) {
  char word[32];
  size_t size = 0;
  skip(reader);
  const char *at = reader->at;
  while (size + 1 < sizeof word && (isdigit((unsigned char)at[size]) || (at[size] == '.' && at[size + 1] != '.'))) {
    word[size] = at[size];
    size++;
  }
  word[size] = '\0';
  if (size == 0 || !number_read(word, value)) return false;
  reader->at += size;
  return true;
}

/* name.what, with @ and its times. */
static enum status take_reference(struct reader *reader, struct lesson_lookup *lookup) {
  skip(reader);
  size_t name = 0, what = 0;
  while (islower((unsigned char)reader->at[name]) || isdigit((unsigned char)reader->at[name]) || reader->at[name] == '-') name++;
  if (name == 0 || name >= sizeof lookup->name || reader->at[name] != '.') return fault(reader, "RESULT.CHANNEL is expected");
  snprintf(lookup->name, sizeof lookup->name, "%.*s", (int)name, reader->at);
  reader->at += name + 1;
  while (isalnum((unsigned char)reader->at[what]) || reader->at[what] == '_') what++;
  if (what == 0 || what >= sizeof lookup->what) return fault(reader, "the name of a channel or code is expected");
  snprintf(lookup->what, sizeof lookup->what, "%.*s", (int)what, reader->at);
  reader->at += what;
  lookup->from = lookup->to = NAN;
  if (!take(reader, "@")) return STATUS_OK;
  if (!take_number(reader, &lookup->from)) return fault(reader, "a time or input is expected");
  lookup->to = lookup->from;
  if (take(reader, "..") && !take_number(reader, &lookup->to)) return fault(reader, "the end of the range is expected");
  return STATUS_OK;
}

/* What was looked up, as it stands in the text from there to here. */
static void note_number(struct reader *reader, const char *from, double number, int decimals) {
  if (!reader->numbers) return;
  const size_t used = strlen(reader->numbers);
  int size = (int)(reader->at - from);
  char words[160];
  while (size > 0 && from[size - 1] == ' ') size--;
  snprintf(words, sizeof words, "%s%.*s = %.*f", used ? ", " : "", size, from, decimals, number);
  if (strstr(reader->numbers, words + (used ? 2 : 0))) return;
  snprintf(reader->numbers + used, reader->numbers_size - used, "%s", words);
}

static enum status look_up(struct reader *reader, enum lesson_lookup_how how, double *value) {
  skip(reader);
  const char *from = reader->at;
  struct lesson_lookup lookup = {.how = how};
  enum status status = take_reference(reader, &lookup);
  if (status == STATUS_OK && how != LESSON_LOOKUP_VALUE) status = close(reader);
  if (status == STATUS_OK) status = lesson_lookup_find(reader->results, &lookup, &reader->last, reader->error);
  if (status != STATUS_OK) return status;
  if (how != LESSON_LOOKUP_VALUE && from > reader->text) // with the name of its function
    for (from--; from > reader->text && isalpha((unsigned char)from[-1]);) from--;
  if (!reader->last.is_words) note_number(reader, from, reader->last.number, reader->last.decimals);
  *value = reader->last.number;
  return STATUS_OK;
}

static enum status look_for_stall(struct reader *reader, double *value) {
  char name[LESSON_RESULT_NAME_SIZE];
  double at_s;
  const char *from = reader->at - strlen("stalls(");
  skip(reader);
  const size_t size = strcspn(reader->at, " )");
  snprintf(name, sizeof name, "%.*s", (int)size, reader->at);
  const struct lesson_result *result;
  const enum status status = lesson_lookup_result(reader->results, name, &result, reader->error);
  if (status != STATUS_OK) return status;
  reader->at += size;
  *value = lesson_result_stalls(result, &at_s) ? 1.0 : 0.0;
  if (close(reader) != STATUS_OK) return reader->error->status;
  note_number(reader, from, *value, 0);
  return STATUS_OK;
}

/* when(name.channel < level [, from]). */
static enum status look_when(struct reader *reader, double *value) {
  const char *from = reader->at - strlen("when(");
  struct lesson_lookup lookup = {.how = LESSON_LOOKUP_WHEN};
  enum status status = take_reference(reader, &lookup);
  if (status != STATUS_OK) return status;
  lookup.falling = take(reader, "<");
  if (!lookup.falling && !take(reader, ">")) return fault(reader, "'<' or '>' is expected");
  double sign = 1.0;
  if (take(reader, "-")) sign = -1.0;
  if (!take_number(reader, &lookup.level)) return fault(reader, "a number is expected");
  lookup.level *= sign;
  if (take(reader, ",") && !take_number(reader, &lookup.from)) return fault(reader, "a time or input is expected");
  status = close(reader);
  if (status == STATUS_OK) status = lesson_lookup_find(reader->results, &lookup, &reader->last, reader->error);
  if (status != STATUS_OK) return status;
  note_number(reader, from, reader->last.number, reader->last.decimals);
  *value = reader->last.number;
  return STATUS_OK;
}

static const char *const functions[] = {"mean", "min", "max", "set", "confirmed"};
static const enum lesson_lookup_how function_looks[] = {LESSON_LOOKUP_MEAN, LESSON_LOOKUP_MIN, LESSON_LOOKUP_MAX,
                                                        LESSON_LOOKUP_SET, LESSON_LOOKUP_CONFIRMED};

static enum status read_atom(struct reader *reader, double *value) {
  if (take(reader, "true") || take(reader, "false")) {
    *value = reader->at[-2] == 'u' ? 1.0 : 0.0;
    return STATUS_OK;
  }
  if (take_number(reader, value)) return STATUS_OK;
  const bool absolute = take_function(reader, "abs");
  if (absolute || take(reader, "(")) {
    reader->operations += absolute;
    enum status status = read_or(reader, value);
    if (absolute) *value = fabs(*value);
    return status == STATUS_OK ? close(reader) : status;
  }
  if (take_function(reader, "stalls")) return look_for_stall(reader, value);
  if (take_function(reader, "when")) return look_when(reader, value);
  for (size_t i = 0; i < ARRAY_COUNT(functions); i++)
    if (take_function(reader, functions[i])) return look_up(reader, function_looks[i], value);
  return look_up(reader, LESSON_LOOKUP_VALUE, value);
}

static enum status read_sign(struct reader *reader, double *value) {
  const bool minus = take(reader, "-");
  const enum status status = read_atom(reader, value);
  if (minus) *value = -*value;
  return status;
}

static enum status read_product(struct reader *reader, double *value) {
  enum status status = read_sign(reader, value);
  while (status == STATUS_OK) {
    const bool times = take(reader, "*");
    if (!times && !take(reader, "/")) break;
    double other;
    reader->operations++;
    status = read_sign(reader, &other);
    if (status == STATUS_OK) *value = times ? *value * other : *value / other;
  }
  return status;
}

static enum status read_sum(struct reader *reader, double *value) {
  enum status status = read_product(reader, value);
  while (status == STATUS_OK) {
    const bool plus = take(reader, "+");
    if (!plus && !take(reader, "-")) break;
    double other;
    reader->operations++;
    status = read_product(reader, &other);
    if (status == STATUS_OK) *value += plus ? other : -other;
  }
  return status;
}

static enum status read_comparison(struct reader *reader, double *value) {
  static const char *const signs[] = {"<=", ">=", "<", ">"};
  enum status status = read_sum(reader, value);
  for (size_t i = 0; i < ARRAY_COUNT(signs) && status == STATUS_OK; i++) {
    double other;
    if (!take(reader, signs[i])) continue;
    reader->operations++;
    status = read_sum(reader, &other);
    const bool less = *signs[i] == '<', equal = signs[i][1] == '=';
    const bool holds = less ? (equal ? *value <= other : *value < other) : (equal ? *value >= other : *value > other);
    *value = holds ? 1.0 : 0.0;
    break;
  }
  return status;
}

static enum status read_not(struct reader *reader, double *value) {
  const bool inverted = take(reader, "not");
  const enum status status = read_comparison(reader, value);
  if (inverted) *value = *value > 0.5 ? 0.0 : 1.0;
  reader->operations += inverted;
  return status;
}

static enum status read_and(struct reader *reader, double *value) {
  enum status status = read_not(reader, value);
  while (status == STATUS_OK && take(reader, "and")) {
    double other;
    reader->operations++;
    status = read_not(reader, &other);
    if (status == STATUS_OK) *value = *value > 0.5 && other > 0.5 ? 1.0 : 0.0;
  }
  return status;
}

static enum status read_or(struct reader *reader, double *value) {
  if (++reader->depth > DEPTH_MOST) return fault(reader, "too many brackets");
  enum status status = read_and(reader, value);
  while (status == STATUS_OK && take(reader, "or")) {
    double other;
    reader->operations++;
    status = read_and(reader, &other);
    if (status == STATUS_OK) *value = *value > 0.5 || other > 0.5 ? 1.0 : 0.0;
  }
  reader->depth--;
  return status;
}

static enum status read_all(struct reader *reader, struct lesson_value *value) {
  *value = (struct lesson_value){.decimals = 1};
  enum status status = read_or(reader, &value->number);
  skip(reader);
  if (status == STATUS_OK && *reader->at) status = fault(reader, "the end is expected");
  if (status != STATUS_OK) return status;
  if (reader->last.is_words && reader->operations > 0) return fault(reader, "words cannot be used in a computation");
  if (reader->last.is_words || reader->operations == 0) {
    const double number = value->number;
    if (reader->last.decimals > 0 || reader->last.is_words || reader->last.number > 0.0) *value = reader->last;
    value->number = number;
  }
  if (!value->is_words && !isfinite(value->number))
    return error_set(reader->error, STATUS_BAD_CONFIG, "'%.120s' is not a number: something is divided by zero", reader->text);
  return STATUS_OK;
}

enum status lesson_value_find(const struct lesson_results *results, const char *text, struct lesson_value *value,
                              struct error *error) {
  struct reader reader = {.results = results, .text = text, .at = text, .error = error};
  return read_all(&reader, value);
}

enum status lesson_value_holds(const struct lesson_results *results, const char *text, bool *holds, struct error *error) {
  struct lesson_value value;
  const enum status status = lesson_value_find(results, text, &value, error);
  if (status != STATUS_OK) return status;
  const bool is_condition = !value.is_words && (fabs(value.number) < 1e-12 || fabs(value.number - 1.0) < 1e-12);
  if (!is_condition) return error_set(error, STATUS_BAD_CONFIG, "'%.120s' is not a condition: compare it with something", text);
  *holds = value.number > 0.5;
  return STATUS_OK;
}

void lesson_value_numbers(const struct lesson_results *results, const char *text, size_t size, char *numbers) {
  struct lesson_value value;
  struct error ignored;
  error_clear(&ignored);
  *numbers = '\0';
  struct reader reader = {
      .results = results, .text = text, .at = text, .error = &ignored, .numbers_size = size, .numbers = numbers};
  if (read_all(&reader, &value) != STATUS_OK) *numbers = '\0';
}
