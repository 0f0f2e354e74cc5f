/* A fit as an engine file that says only what differs from a shipped engine, each value with how sure it is and where it comes from. */
#ifndef IO_REPORT_FIT_ENGINE_FILE_H
#define IO_REPORT_FIT_ENGINE_FILE_H

#include "io/report/fit_report.h"

/* STATUS_CANNOT_CREATE, STATUS_IO, STATUS_NO_MEMORY. */
MUST_CHECK enum status fit_engine_file_write(const struct fit_report *report, const char *path, struct error *error);

#endif
