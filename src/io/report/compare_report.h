/* What a comparison says: for people (some 40 lines of TEXT_WIDTH columns, the verdict first), as JSON, and as one page to print. */
#ifndef IO_REPORT_COMPARE_REPORT_H
#define IO_REPORT_COMPARE_REPORT_H

#include "analysis/compare/compare.h"
#include "base/error.h"
#include "sim/recording.h"

#include <stdio.h>

struct compare_report {
  const struct compare_result *result;
  const struct compare_model *model;
  const char *before, *after;                     // files
  const struct recording *log_before, *log_after; // NULL: a list of readings
  double from_s[2], to_s[2];                      // idle of each log
  unsigned features;                              // of the engine; all of an electronic throttle's where it is not known
};

void compare_report_print(const struct compare_report *report, FILE *stream);
MUST_CHECK enum status compare_report_json(const struct compare_report *report, FILE *stream, struct error *error);

/* One sheet, A4 or Letter: verdict, three numbers, two traces over each other, what to do. No scripts, no outside files, grey-safe. */
void compare_report_html(const struct compare_report *report, FILE *stream);

/* Cautions for what is to be done next, bits of enum caution. */
unsigned compare_report_cautions(const struct compare_report *report);

enum { COMPARE_REPORT_SIZE = 400 };

/* "-1.62 (-1.85 to -1.39)": a change with its interval. */
void compare_report_change(const struct compare_effect *effect, char text[COMPARE_REPORT_SIZE]);

/* What the film before let expect, and what came of it; empty where there was none. */
void compare_report_outlook(const struct compare_report *report, char text[COMPARE_REPORT_SIZE]);

int compare_report_decimals(enum estimate_quantity quantity);

#endif
