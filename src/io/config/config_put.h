/* Words and numbers as libconfig reads them back. */
#ifndef IO_CONFIG_CONFIG_PUT_H
#define IO_CONFIG_CONFIG_PUT_H

#include "base/field.h"

#include <stdio.h>

/* The shortest number that reads back equal, in the field's unit, as libconfig takes for no whole one, of which it has two sizes. field: NULL
 * for a number without a unit. */
void config_put_real(const struct field *field, double si, FILE *stream);

/* A byte of a text between quotation marks. */
void config_put_letter(int byte, FILE *stream);

/* A text, its quotation marks included. */
void config_put_text(const char *text, FILE *stream);

#endif
