/* What the estimate said of each simulated car: one line of CSV a car and set. */
#ifndef CALIBRATION_RESULTS_H
#define CALIBRATION_RESULTS_H

#include "base/attributes.h"
#include "readings.h"

#include <stdio.h>

struct result {
  size_t car;
  enum reading_set set;
  enum cause cause; // the truth
  double share, severity;
  double distance;                 // of its readings without noise from those of the same car when good, in standard deviations
  double probability[CAUSE_COUNT]; // stated
  double rank;                     // posterior probability of a severity share below the true one; NaN where nothing is wrong
  double low, high, mean;          // of the true cause's severity; NaN where nothing is wrong
  double p_value;
  double cpu_s;
};

struct result_list {
  size_t count, capacity;
  struct result *results;
};

void results_print_head(FILE *stream);
void results_print(FILE *stream, const struct result *result);

/* Reads what was printed, from one or several files; false with a message on stderr. */
MUST_CHECK bool results_read(const char *path, struct result_list *list);
void results_destroy(struct result_list *list);

/* The cause with the greatest stated probability. */
enum cause result_first(const struct result *result);

#endif
