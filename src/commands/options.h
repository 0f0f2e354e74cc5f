/* Options of a command: one row each, and what a command line gave for them.
 *
 * From the row come parsing, range check, help text, man page and completion. getopt_long splits the words;
 * values are read strictly: the whole word, finite, in range. */
#ifndef COMMANDS_OPTIONS_H
#define COMMANDS_OPTIONS_H

#include "base/error.h"

#include <stdbool.h>
#include <stddef.h>

enum option_kind {
  OPTION_FLAG,   // no argument
  OPTION_TEXT,   // any words but none
  OPTION_REAL,   // a finite number in [min, max]
  OPTION_COUNT,  // a whole number in [min, max]
  OPTION_CHOICE, // one of choices
};

struct option_row {
  const char *name; // long name, without the dashes
  enum option_kind kind;
  const char *argument;       // its name in the help text; NULL for a flag
  double min, max;            // OPTION_REAL and OPTION_COUNT
  const char *const *choices; // OPTION_CHOICE: NULL after the last
  bool repeats;               // may be given several times; else a second time is an error
  const char *text;           // one sentence; names the default if there is one
};

#define OPTION_ROW_FLAG(name, text) \
  { name, OPTION_FLAG, NULL, 0, 0, NULL, false, text }
#define OPTION_ROW_TEXT(name, argument, text) \
  { name, OPTION_TEXT, argument, 0, 0, NULL, false, text }
#define OPTION_ROW_TEXTS(name, argument, text) \
  { name, OPTION_TEXT, argument, 0, 0, NULL, true, text }
#define OPTION_ROW_REAL(name, argument, min, max, text) \
  { name, OPTION_REAL, argument, min, max, NULL, false, text }
#define OPTION_ROW_COUNT(name, argument, min, max, text) \
  { name, OPTION_COUNT, argument, min, max, NULL, false, text }
#define OPTION_ROW_CHOICE(name, argument, choices, text) \
  { name, OPTION_CHOICE, argument, 0, 0, choices, false, text }

struct option_value {
  const struct option_row *row;
  const char *text; // as given; NULL for a flag; lives as long as argv
  double real;      // OPTION_REAL, OPTION_COUNT; index of an OPTION_CHOICE
};

struct command;

/* A command line that has been checked against its command's rows. */
struct command_line {
  const struct command *command;
  bool help, json, quiet; // what every command takes
  size_t operand_count;
  char **operands; // words that are no options, in order
  size_t value_count;
  struct option_value *values; // in the order given; owned
};

/* Rows that every command takes besides its own. */
extern const struct option_row options_common_rows[];
extern const size_t options_common_count;

/* Splits and checks argv[1..]; argv[0] is the command's name. Reorders argv. With --help nothing further is
 * checked. STATUS_USAGE names the option, the value and its range, or a near miss. options_destroy(line) in
 * any case. */
MUST_CHECK enum status options_parse(const struct command *command, int argc, char **argv, struct command_line *line,
                                     struct error *error);
void options_destroy(struct command_line *line);

/* What was given. The name must be one of the command's rows. */
size_t options_given(const struct command_line *line, const char *name); // how many times
const char *options_text(const struct command_line *line, const char *name, const char *otherwise);
const char *options_text_at(const struct command_line *line, const char *name, size_t index);
double options_real(const struct command_line *line, const char *name, double otherwise);
int options_count(const struct command_line *line, const char *name, int otherwise);
int options_choice(const struct command_line *line, const char *name,
                   int otherwise); // index into the row's choices

/* A number as a user may write it: the whole word, decimal, finite. False if it is not. */
MUST_CHECK bool options_read_real(const char *text, double *value);

#endif
