/* What a scan tool shows: names of readings, parted by commas, or a file with them: a log, a list of readings, or one name a line. */
#ifndef IO_LOG_SHOWS_FILE_H
#define IO_LOG_SHOWS_FILE_H

#include "analysis/estimate/estimate_reading.h"
#include "base/error.h"

/* Sets what is shown. STATUS_USAGE for a name that is none, STATUS_NO_INPUT, STATUS_BAD_DATA for a file in which no name is known. */
MUST_CHECK enum status shows_file_add(const char *names, bool shown[ESTIMATE_QUANTITY_COUNT], struct error *error);

#endif
