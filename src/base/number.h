/* Numbers in text, the same in every locale: with a decimal point, whatever the program round us has chosen. */
#ifndef BASE_NUMBER_H
#define BASE_NUMBER_H

#include <stdbool.h>
#include <stddef.h>

/* The number that the whole word is, decimal and finite: no blanks, no `0x10`, no `nan`. False if it is none. */
bool number_read(const char *word, double *value);

/* Whether the word is a number with its thousands parted, as in 1,234 or 1 234.5 or 1'234'567; plain: the same without them. */
bool number_grouped(const char *word, char *plain, size_t size);

/* Writes a finite number with so many significant digits, as %g does; returns its length. */
size_t number_write(double value, int digits, char *text, size_t size);

#endif
