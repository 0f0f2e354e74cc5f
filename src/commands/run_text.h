/* What a run prints: what was changed for it, then its report, in the units asked for. */
#ifndef COMMANDS_RUN_TEXT_H
#define COMMANDS_RUN_TEXT_H

#include "commands/what_if.h"
#include "io/report/run_report.h"

/* In US units if the report has them. STATUS_NO_MEMORY. */
MUST_CHECK enum status run_text_print(const struct what_if *what, const struct run_report *report, FILE *stream,
                                      struct error *error);

#endif
