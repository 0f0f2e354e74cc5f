/* What the results come to. */
#ifndef CALIBRATION_REPORT_H
#define CALIBRATION_REPORT_H

#include "results.h"

/* Tables of Markdown on stdout. */
void report_print(const struct result_list *list);

/* Rank histogram and reliability for plot.gp on stdout: blocks, each named by its first line. */
void report_print_data(const struct result_list *list);

#endif
