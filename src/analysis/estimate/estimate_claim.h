/* Sentences of an estimate with the values they print, each with where it stands in the JSON report, so that a reader who knows nothing
 * of how they came about can check them (tests/claims/estimate_claims.py).
 *
 * A source is a path in the report, "film_um.best", "causes[film].probability", "readings[tp_pct@idle].value", or "rule:" and what
 * it is, or "text:" and the name of a test or condition in whose fixed text the number stands. */
#ifndef ANALYSIS_ESTIMATE_ESTIMATE_CLAIM_H
#define ANALYSIS_ESTIMATE_ESTIMATE_CLAIM_H

#include "base/attributes.h"

#include <stddef.h>

enum {
  ESTIMATE_CLAIM_SIZE = 900,
  ESTIMATE_CLAIM_VALUE_MAX = 24,
  ESTIMATE_CLAIM_SOURCE_SIZE = 128,
  ESTIMATE_CLAIM_PRINTED_SIZE = 24
};

/* How what is printed stands to the value. */
enum estimate_claim_how { ESTIMATE_CLAIM_ROUNDED, ESTIMATE_CLAIM_OVER, ESTIMATE_CLAIM_BELOW };

struct estimate_claim_value {
  char source[ESTIMATE_CLAIM_SOURCE_SIZE], printed[ESTIMATE_CLAIM_PRINTED_SIZE];
  double value; // unit of what is printed
  enum estimate_claim_how how;
};

struct estimate_claim {
  char text[ESTIMATE_CLAIM_SIZE];
  size_t count;
  struct estimate_claim_value values[ESTIMATE_CLAIM_VALUE_MAX]; // in the order of the text
};

void estimate_claim_begin(struct estimate_claim *claim);

/* Appends words; no number may stand in them but as part of a name. */
void estimate_claim_words(struct estimate_claim *claim, const char *format, ...) PRINTF_LIKE(2, 3);

/* Appends a number with so many decimals. */
void estimate_claim_number(struct estimate_claim *claim, double value, int decimals, const char *source, ...) PRINTF_LIKE(4, 5);

/* Appends a probability in percent, never quite certain: "98 %", "over 99 %", "below 1 %". */
void estimate_claim_share(struct estimate_claim *claim, double probability, const char *source, ...) PRINTF_LIKE(3, 4);

/* Appends "best (low to high)" with as many decimals as the interval deserves; source: of the object that has the three. */
void estimate_claim_interval(struct estimate_claim *claim, double best, double low, double high, const char *source, ...)
    PRINTF_LIKE(5, 6);

/* Appends a fixed text in which numbers may stand; source: "text:" and whose it is. */
void estimate_claim_text(struct estimate_claim *claim, const char *text, const char *source, ...) PRINTF_LIKE(3, 4);

/* Decimals, so many at least, by which two numbers that differ are printed as two; three at most. */
int estimate_claim_decimals_apart(double one, double other, int least);

/* Decimals that show an interval of this width with two digits. */
int estimate_claim_decimals(double width);

#endif
