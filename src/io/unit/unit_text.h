/* The texts within a unit: its description by either version, how it is built, the page about it. */
#ifndef IO_UNIT_UNIT_TEXT_H
#define IO_UNIT_UNIT_TEXT_H

#include "analysis/unit/unit_variables.h"
#include "io/unit/unit_input.h"

#include <stdio.h>

/* What an engine shows: its variables in order of reference; owned. */
struct unit_list {
  struct unit_variable *items;
  size_t count;
};

/* sources: names of the files to be compiled, relative to the folder sources; NULL after the last. */
void unit_text_describe(const struct unit_file *unit, const struct unit_list *list, const char *const *sources, FILE *stream);
void unit_text_build(const char *const *sources, FILE *stream); // FMI 3's buildDescription.xml
void unit_text_page(const struct unit_file *unit, const struct unit_list *list, FILE *stream);

#endif
