/* Numbers in text, the same in every locale: with a decimal point, whatever the program round us has chosen. */
#ifndef BASE_NUMBER_H
#define BASE_NUMBER_H

#include <stdbool.h>
#include <stddef.h>

/* The number that the whole word is, decimal and finite: no blanks, no `0x10`, no `nan`. False if it is none. */
bool number_read(const char *word, double *value);

/* Writes a finite number with so many significant digits, as %g does; returns its length. */
size_t number_write(double value, int digits, char *text, size_t size);

#endif
