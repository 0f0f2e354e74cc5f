/* What happened between the rows of a run: `events.csv` beside `run.csv`. Notes, codes, stalls and limits,
 * one a line:
 *
 *   time_s,kind,code,value,text
 *   412.340000,code,P0506,pending,"P0506 pending"
 *
 * kind: note, code, engine, controller; code: of a code only; value: the code's new state, or what the
 * engine or the controller did. */
#ifndef IO_REPORT_EVENTS_FILE_H
#define IO_REPORT_EVENTS_FILE_H

#include "io/format/output_file.h"
#include "sim/recording.h"

/* Writes all events of a recording, also if there are none. What output_file gives. */
MUST_CHECK enum status events_file_write(const char *path, const struct recording *recording, struct error *error);

/* Adds a file's events to a recording. STATUS_NO_INPUT if it cannot be read, STATUS_BAD_DATA with one line
 * for each fault; what was added before a fault stays. */
MUST_CHECK enum status events_file_read(const char *path, struct recording *recording, struct error *error);

/* The path of the events beside a file. False if it is too long, or there is no such file. */
bool events_file_beside(const char *csv_path, char path[OUTPUT_FILE_PATH_SIZE]);

/* Whether a path's last part is the name of such a file. */
bool events_file_is(const char *path);

#endif
