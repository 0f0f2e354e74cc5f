/* Numbers as they stand in sentences, and the units behind them. */
#ifndef ANALYSIS_RUN_CLAIM_NUMBER_H
#define ANALYSIS_RUN_CLAIM_NUMBER_H

#include <stdbool.h>
#include <stddef.h>

/* Where a number of its own begins in words, not one that is glued to a name as in mm2 or P0505; *end: behind it. from lies in the words that
 * begin at start. NULL if there is none. */
const char *claim_number_next(const char *from, const char *start, const char **end);

/* Whether a template has a number that is not in braces. */
bool claim_number_bare(const char *text);

/* Nothing is written -0. */
void claim_number_print(char *text, size_t size, double value, int decimals);

/* The unit that a channel's or a condition's name ends in, as people write it; empty if it has none. */
const char *claim_number_unit(const char *name);

#endif
