/* What practice tells people: the case, the tests there are, what one showed, the mark and why. Plain text of 100 columns, or JSON. */
#ifndef IO_REPORT_PRACTICE_REPORT_H
#define IO_REPORT_PRACTICE_REPORT_H

#include "analysis/practice/practice_mark.h"

#include <stdio.h>

/* The complaint, what has been done so far, and the notes. */
void practice_report_case(const struct practice_case *drawn, const struct practice_tests *tests,
                          const struct practice_record *record, FILE *stream);

/* Minutes that the tests of a record took. */
double practice_report_minutes(const struct practice_tests *tests, const struct practice_record *record);

void practice_report_tests(const struct practice_tests *tests, FILE *stream);
void practice_report_work(FILE *stream);
void practice_report_cautions(unsigned cautions, FILE *stream);
void practice_report_result(const struct practice_tests *tests, const struct practice_result *result, FILE *stream);
MUST_CHECK enum status practice_report_result_json(const struct practice_tests *tests, const struct practice_result *result,
                                                   FILE *stream, struct error *error);

void practice_report_mark(const struct practice_bank *bank, const struct practice_case *drawn,
                          const struct practice_answer *answer, const struct practice_mark *mark, FILE *stream);
MUST_CHECK enum status practice_report_mark_json(const struct practice_bank *bank, const struct practice_case *drawn,
                                                 const struct practice_mark *mark, FILE *stream, struct error *error);

#endif
