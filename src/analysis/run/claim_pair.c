#include "analysis/run/claim_pair.h"

#include <math.h>

double claim_pair_cell(const struct recording *recording, size_t row, enum channel channel) {
  static const double powers_of_ten[] = {1.0, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6};
  const double scale = powers_of_ten[channel_rows[channel].decimals];
  return nearbyint(recording_value(recording, row, channel) * scale) / scale;
}

double claim_pair_value(enum claim_pairing how, double first, double second) {
  switch (how) {
  case CLAIM_PAIRING_less:
    return first - second;
  case CLAIM_PAIRING_short_of:
    return second - first;
  case CLAIM_PAIRING_apart:
    return fabs(first - second);
  case CLAIM_PAIRING_plus:
    return first + second;
  default:
    return -first - second;
  }
}
