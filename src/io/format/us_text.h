/* A finished text with its pressures in inHg, temperatures in F and speeds in mph: "27.7 kPa" becomes "8.18 inHg".
 *
 * Read is a number with its unit behind it, one blank or a line's end between, and what goes before it in "from 27.7 to 33.2 kPa" and
 * "between 20 and 30 C". "10 C warmer" is a difference. Names that end in a unit (coolant_c) stay, as do numbers in tables, whose unit
 * stands elsewhere: who prints a table converts it. */
#ifndef IO_FORMAT_US_TEXT_H
#define IO_FORMAT_US_TEXT_H

#include "base/attributes.h"

#include <stddef.h>

/* The converted text, owned by the caller; NULL if memory ran out. */
MUST_CHECK char *us_text(const char *text);

#endif
