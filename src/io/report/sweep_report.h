/* What a sweep came to, as numbers: over which values it idles, where the droop begins, where it stalls. */
#ifndef IO_REPORT_SWEEP_REPORT_H
#define IO_REPORT_SWEEP_REPORT_H

#include "analysis/sweep/sweep.h"
#include "io/report/sweep_file.h"

#include <stdio.h>

/* The whole sweep: table->row_count is sweep_point_count(). STATUS_NO_MEMORY. */
MUST_CHECK enum status sweep_report_print(const struct sweep *sweep, const struct sweep_table *table, FILE *stream,
                                          struct error *error);

#endif
