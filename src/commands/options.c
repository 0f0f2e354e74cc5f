#include "commands/options.h"

#include "base/near_miss.h"
#include "commands/command_row.h"

#include <assert.h>
#include <ctype.h>
#include <errno.h>
#include <getopt.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { OPTION_ROW_MAX = 48, OPTION_KEY = 256 }; // getopt's value of row i is OPTION_KEY + i; above any character

// clang-format off
const struct option_row options_common_rows[] = {
    OPTION_ROW_FLAG("json", "print the result as JSON on stdout"),
    OPTION_ROW_FLAG("quiet", "print nothing but errors; with --json, nothing but the JSON"),
    OPTION_ROW_FLAG("help", "print this help"),
};
// clang-format on
const size_t options_common_count = ARRAY_COUNT(options_common_rows);

/* All rows of a command: its own, then the common ones. */
struct row_set {
  size_t count;
  const struct option_row *rows[OPTION_ROW_MAX];
};

static struct row_set row_set(const struct command *command) {
  struct row_set set = {0};
  assert(command->option_count + options_common_count < OPTION_ROW_MAX);
  for (size_t i = 0; i < command->option_count; i++) set.rows[set.count++] = &command->options[i];
  for (size_t i = 0; i < options_common_count; i++) set.rows[set.count++] = &options_common_rows[i];
  return set;
}

bool options_read_real(const char *text, double *value) {
  if (*text == '\0' || isspace((unsigned char)*text) || strpbrk(text, "xX")) return false; // no blanks, no hexadecimal
  char *end;
  const double number = strtod(text, &end);
  if (*end != '\0' || !isfinite(number)) return false;
  *value = number;
  return true;
}

static enum status read_number(const struct option_row *row, const char *text, double *value, struct error *error) {
  const bool whole = row->kind == OPTION_COUNT;
  if (!options_read_real(text, value))
    return error_set(error, STATUS_USAGE, "--%s: '%s' is not a %s; allowed: %.10g to %.10g", row->name, text,
                     whole ? "whole number" : "finite number", row->min, row->max);
  if (whole && *value != floor(*value))
    return error_set(error, STATUS_USAGE, "--%s: '%s' is not a whole number; allowed: %.10g to %.10g", row->name, text, row->min,
                     row->max);
  if (*value < row->min || *value > row->max)
    return error_set(error, STATUS_USAGE, "--%s: %s is out of range; allowed: %.10g to %.10g", row->name, text, row->min,
                     row->max);
  return STATUS_OK;
}

static enum status read_choice(const struct option_row *row, const char *text, double *value, struct error *error) {
  char list[256] = "";
  size_t count = 0;
  for (; row->choices[count]; count++) {
    if (strcmp(row->choices[count], text) == 0) {
      *value = (double)count;
      return STATUS_OK;
    }
    const size_t used = strlen(list);
    snprintf(list + used, sizeof list - used, "%s%s", count ? ", " : "", row->choices[count]);
  }
  const char *near = near_miss_best(text, row->choices, count);
  return error_set(error, STATUS_USAGE, "--%s: '%s' is none of %s%s%s%s", row->name, text, list, near ? "; did you mean " : "",
                   near ? near : "", near ? "?" : "");
}

/* Checks one option's value and appends it to the line. */
static enum status add_value(struct command_line *line, const struct option_row *row, const char *text, struct error *error) {
  struct option_value value = {row, text, 0.0};
  if (!row->repeats && row->kind != OPTION_FLAG)
    for (size_t i = 0; i < line->value_count; i++)
      if (line->values[i].row == row)
        return error_set(error, STATUS_USAGE, "--%s is given twice: '%s' and '%s'", row->name, line->values[i].text, text);
  enum status status = STATUS_OK;
  if (row->kind == OPTION_TEXT && *text == '\0')
    status = error_set(error, STATUS_USAGE, "--%s: %s must not be empty", row->name, row->argument);
  if (row->kind == OPTION_REAL || row->kind == OPTION_COUNT) status = read_number(row, text, &value.real, error);
  if (row->kind == OPTION_CHOICE) status = read_choice(row, text, &value.real, error);
  if (status == STATUS_OK) line->values[line->value_count++] = value;
  return status;
}

static enum status unknown_option(const struct command *command, const struct row_set *set, const char *word,
                                  struct error *error) {
  const size_t size = strcspn(word, "=");
  char name[80] = "";
  const char *candidates[OPTION_ROW_MAX];
  for (size_t i = 0; i < set->count; i++) candidates[i] = set->rows[i]->name;
  if (strncmp(word, "--", 2) == 0 && size - 2 < sizeof name) snprintf(name, sizeof name, "%.*s", (int)(size - 2), word + 2);
  const char *near = *name ? near_miss_best(name, candidates, set->count) : NULL;
  return error_set(error, STATUS_USAGE, "%s has no option %.*s%s%s%s (bladegap help %s lists its options)", command->name,
                   (int)size, word, near ? "; did you mean --" : "", near ? near : "", near ? "?" : "", command->name);
}

/* The word of argv that held the option getopt_long has just answered with. */
static const char *option_word(char **argv, const char *argument) {
  const bool apart = argument && argument == argv[optind - 1];
  return argv[optind - (apart ? 2 : 1)];
}

/* What to do about one answer of getopt_long. */
static enum status take(const struct row_set *set, int answer, char **argv, struct command_line *line, struct error *error) {
  const struct command *command = line->command;
  if (answer == '?' && optopt < OPTION_KEY) {
    const char letter[] = {'-', (char)optopt, '\0'};
    return unknown_option(command, set, optopt ? letter : argv[optind - 1], error);
  }
  const struct option_row *row = set->rows[(answer == '?' || answer == ':' ? optopt : answer) - OPTION_KEY];
  const char *word = option_word(argv, optarg);
  if (strcspn(word + 2, "=") != strlen(row->name)) return unknown_option(command, set, word, error); // abbreviated
  if (answer == '?') return error_set(error, STATUS_USAGE, "--%s takes no value: '%s'", row->name, word);
  if (answer == ':') return error_set(error, STATUS_USAGE, "--%s needs a value: --%s %s", row->name, row->name, row->argument);
  if (optarg == argv[optind - 1] && strncmp(optarg, "--", 2) == 0)
    return error_set(error, STATUS_USAGE, "--%s needs a value, and '%s' looks like an option (--%s=%s if you mean it)", row->name,
                     optarg, row->name, optarg);
  return add_value(line, row, optarg, error);
}

static enum status check_operands(const struct command *command, const struct command_line *line, struct error *error) {
  if (line->operand_count > command->operand_most)
    return error_set(error, STATUS_USAGE, "%s: '%s' is one too many (usage: bladegap %s %s)", command->name,
                     line->operands[command->operand_most], command->name, command->operands);
  if (line->operand_count < command->operand_least)
    return error_set(error, STATUS_USAGE, "%s: %s is missing (bladegap help %s says more)", command->name, command->operands,
                     command->name);
  return STATUS_OK;
}

static bool help_asked(int argc, char **argv) {
  for (int i = 1; i < argc && strcmp(argv[i], "--") != 0; i++)
    if (strcmp(argv[i], "--help") == 0 || strcmp(argv[i], "-h") == 0) return true;
  return false;
}

enum status options_parse(const struct command *command, int argc, char **argv, struct command_line *line, struct error *error) {
  *line = (struct command_line){.command = command};
  line->help = help_asked(argc, argv);
  if (line->help) return STATUS_OK;
  line->values = calloc((size_t)argc, sizeof *line->values);
  if (!line->values) return error_set(error, STATUS_NO_MEMORY, "no memory left for the command line");

  const struct row_set set = row_set(command);
  struct option words[OPTION_ROW_MAX] = {{0}}; // the last one stays empty, as getopt_long wants it
  for (size_t i = 0; i < set.count; i++)
    words[i] = (struct option){set.rows[i]->name, set.rows[i]->kind == OPTION_FLAG ? no_argument : required_argument, NULL,
                               OPTION_KEY + (int)i};
  optind = 0; // glibc: start afresh
  opterr = 0; // messages are ours
  for (int answer; (answer = getopt_long(argc, argv, ":", words, NULL)) != -1;) {
    const enum status status = take(&set, answer, argv, line, error);
    if (status != STATUS_OK) return status;
  }
  line->operand_count = (size_t)(argc - optind);
  line->operands = argv + optind;
  line->json = options_given(line, "json") > 0;
  line->quiet = options_given(line, "quiet") > 0;
  return check_operands(command, line, error);
}

void options_destroy(struct command_line *line) {
  free(line->values);
  line->values = NULL;
  line->value_count = 0;
}

/* The row of this name; asking for one that the command does not have is our own mistake. */
static const struct option_row *find_row(const struct command_line *line, const char *name) {
  const struct row_set set = row_set(line->command);
  const struct option_row *found = NULL;
  for (size_t i = 0; i < set.count && !found; i++)
    if (strcmp(set.rows[i]->name, name) == 0) found = set.rows[i];
  assert(found);
  return found;
}

/* The index-th value given for the row, NULL if there are not so many. */
static const struct option_value *find_value(const struct command_line *line, const struct option_row *row, size_t index) {
  for (size_t i = 0; i < line->value_count; i++)
    if (line->values[i].row == row && index-- == 0) return &line->values[i];
  return NULL;
}

size_t options_given(const struct command_line *line, const char *name) {
  const struct option_row *row = find_row(line, name);
  size_t count = 0;
  for (size_t i = 0; i < line->value_count; i++) count += line->values[i].row == row;
  return count;
}

const char *options_text_at(const struct command_line *line, const char *name, size_t index) {
  const struct option_row *row = find_row(line, name);
  const struct option_value *value = find_value(line, row, index);
  assert(row->kind != OPTION_FLAG && value);
  return value->text;
}

const char *options_text(const struct command_line *line, const char *name, const char *otherwise) {
  return options_given(line, name) ? options_text_at(line, name, 0) : otherwise;
}

double options_real(const struct command_line *line, const char *name, double otherwise) {
  const struct option_row *row = find_row(line, name);
  const struct option_value *value = find_value(line, row, 0);
  assert(row->kind == OPTION_REAL || row->kind == OPTION_COUNT || row->kind == OPTION_CHOICE);
  return value ? value->real : otherwise;
}

int options_count(const struct command_line *line, const char *name, int otherwise) {
  return (int)options_real(line, name, otherwise);
}

int options_choice(const struct command_line *line, const char *name, int otherwise) {
  return (int)options_real(line, name, otherwise);
}
