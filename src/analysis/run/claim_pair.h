/* Two channels at one row, taken together. */
#ifndef ANALYSIS_RUN_CLAIM_PAIR_H
#define ANALYSIS_RUN_CLAIM_PAIR_H

#include "sim/recording.h"

/* How two channels are taken together. PAIRING(name, what it is) */
// clang-format off
#define CLAIM_PAIRING_LIST(PAIRING) \
  PAIRING(less, "the first minus the second") \
  PAIRING(short_of, "the second minus the first") \
  PAIRING(apart, "their difference, either sign") \
  PAIRING(plus, "their sum") \
  PAIRING(minus_both, "their sum with the opposite sign")
// clang-format on

enum claim_pairing {
#define PAIRING(name, text) CLAIM_PAIRING_##name,
  CLAIM_PAIRING_LIST(PAIRING)
#undef PAIRING
      CLAIM_PAIRING_COUNT
};

/* A cell as run.csv has it, rounded to the channel's decimals: whoever compares it with a level there finds the same. */
double claim_pair_cell(const struct recording *recording, size_t row, enum channel channel);

double claim_pair_value(enum claim_pairing how, double first, double second);

#endif
