/* What a fit found: for people, as JSON, and as an engine file that says only what differs. */
#ifndef IO_REPORT_FIT_REPORT_H
#define IO_REPORT_FIT_REPORT_H

#include "analysis/fit/fit.h"

#include <stdio.h>

struct fit_report {
  const struct fit *fit;
  const char *card;         // its path
  const char *const *files; // of the cars, as many as the question has
  size_t left_out;          // of the readings of an estimate, whose meaning nobody knows
  const char *out;          // engine file that was written; NULL: none
};

MUST_CHECK enum status fit_report_print(const struct fit_report *report, FILE *stream, struct error *error);
MUST_CHECK enum status fit_report_json(const struct fit_report *report, FILE *stream, struct error *error);

/* A few lines for a report that stands on a card: what the car is known by, how little that is, what two minutes of measuring would change. */
void fit_report_print_car(const struct fit_report *report, FILE *stream);

#endif
