/* Two channels at one row, taken together. */
#ifndef ANALYSIS_RUN_CLAIM_PAIR_H
#define ANALYSIS_RUN_CLAIM_PAIR_H

#include "analysis/run/claim.h"

/* A cell as run.csv has it, rounded to the channel's decimals: whoever compares it with a level there finds the same. */
double claim_pair_cell(const struct recording *recording, size_t row, enum channel channel);

double claim_pair_value(enum claim_pairing how, double first, double second);

#endif
