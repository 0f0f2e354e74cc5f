/* Whether a committed page says what a fresh one says. */
#ifndef TESTS_SUPPORT_PAGE_COMPARE_H
#define TESTS_SUPPORT_PAGE_COMPARE_H

#include <stdio.h>

/* Lines must be alike but for their numbers, and a number may differ by one in its last printed digit: two compilers round a value
 * that lies between two digits differently. Tells each line that differs on stderr; returns how many. */
size_t page_compare(FILE *committed, FILE *fresh);

/* The same for one line. */
int page_compare_line(const char *committed, const char *fresh);

#endif
