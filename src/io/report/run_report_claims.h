/* The claims of a run as JSON: the array "why" of `run --json`; what its members mean stands in docs/claims.md. */
#ifndef IO_REPORT_RUN_REPORT_CLAIMS_H
#define IO_REPORT_RUN_REPORT_CLAIMS_H

#include "analysis/run/explain.h"

struct json;

/* Into the object that is open. */
void run_report_claims_put(const struct explanation *explanation, struct json *json);

#endif
