/* What an opening curve says: as text, JSON and CSV. */
#ifndef IO_REPORT_OPENING_REPORT_H
#define IO_REPORT_OPENING_REPORT_H

#include "analysis/curve/opening_curve.h"

#include <stdio.h>

struct opening_report {
  const struct opening_curve *curve;
  const char *log, *baseline; // their files; baseline NULL for none
  bool stop_given, weather_given;
  size_t file_count;
  const char *const *files; // that were written
};

MUST_CHECK enum status opening_report_print(const struct opening_report *report, FILE *stream, struct error *error);
MUST_CHECK enum status opening_report_json(const struct opening_report *report, FILE *stream, struct error *error);

/* A row a point: position_pct, open_mm2, open_sd_mm2, clean_mm2, clean_sd_mm2, speed_rpm, stretches. Clean: the baseline's, else the
 * fitted blade without film; empty where neither reaches. */
void opening_report_csv(const struct opening_report *report, FILE *stream);

#endif
