/* --units: in which units a text is printed. */
#ifndef COMMANDS_UNITS_OPTION_H
#define COMMANDS_UNITS_OPTION_H

#include "commands/options.h"

extern const char *const units_option_names[];

#define UNITS_OPTION_ROW \
  OPTION_ROW_CHOICE( \
      "units", "UNITS", units_option_names, \
      "units of the printed text: si (default) or us: F, inHg, mph, ft. CSV and JSON keep the units of their names")

/* Whether US units are asked for. */
static inline bool units_option_us(const struct command_line *line) { return options_choice(line, "units", 0) == 1; }

#endif
