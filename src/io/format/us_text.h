/* A finished text with its pressures in inHg, temperatures in F and speeds in mph: "27.7 kPa" becomes "8.18 inHg".
 *
 * Read is a number with its unit behind it, one blank or a line's end between, and what goes before it in "from 27.7 to 33.2 kPa" and
 * "between 20 and 30 C". "10 C warmer" is a difference. Names that end in a unit (coolant_c) stay, as do numbers in tables, whose unit
 * stands elsewhere: who prints a table converts it. */
#ifndef IO_FORMAT_US_TEXT_H
#define IO_FORMAT_US_TEXT_H

#include "base/error.h"
#include "base/us_units.h"

#include <stdbool.h>
#include <stdio.h>

/* The converted text, owned by the caller; NULL if memory ran out. */
MUST_CHECK char *us_text(const char *text);

/* The same of words about readings, which have their unit in their name: "map_kpa@idle is 33.2, 5.5 above expected (27.7, spread 0.9)"
 * becomes "map_inhg@idle is 9.80, 1.62 above expected (8.18, spread 0.27)". From a name to the end of its sentence the numbers without
 * a unit are its own; one in brackets with its sign, "(+1.7)", counts standard deviations and stays, as does one before "%". */
MUST_CHECK char *us_text_of_readings(const char *text);

/* A cell of a table whose row is about readings in that unit (NULL: in one that stays); difference: what a reading may be off by. */
MUST_CHECK char *us_text_cell(const char *cell, const struct us_unit *unit, bool difference);

/* The unit that the name at the start of a text ends in, NULL if it stays in our own. */
const struct us_unit *us_text_unit_of_name(const char *text);

/* What is printed between begin and end goes to a stream, in US units if they are asked for. */
struct us_text_printing {
  bool us;
  FILE *to, *memory; // memory: what is to be converted
  char *plain;
  size_t size;
};

/* The stream to print to; NULL if memory ran out, which us_text_end() then tells. */
FILE *us_text_begin(struct us_text_printing *printing, bool us, FILE *to);

MUST_CHECK enum status us_text_end(struct us_text_printing *printing, struct error *error);

#endif
