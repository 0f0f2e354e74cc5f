/* What was found in a log, for people and as JSON. */
#ifndef IO_REPORT_PHASES_REPORT_H
#define IO_REPORT_PHASES_REPORT_H

#include "analysis/log/log_phases.h"
#include "base/error.h"
#include "io/format/json.h"

#include <stdio.h>

/* A table of phases with means of what tells them apart, and what the columns do not tell. STATUS_NO_MEMORY. */
MUST_CHECK enum status phases_report_text(const struct recording *recording, const struct log_phases *phases, FILE *stream,
                                          struct error *error);

/* An array `phases`; means of every channel that the log has. */
void phases_report_json(const struct recording *recording, const struct log_phases *phases, struct json *json);

#endif
