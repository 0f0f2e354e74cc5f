/* How a call ended. One row per status; the row also holds the program's exit code, so that a shell script can
 * tell a typing slip (64) from a bad file (78) from a full disk (74). Codes 64 to 78 follow BSD's sysexits.h. */
#ifndef BASE_STATUS_H
#define BASE_STATUS_H

/* STATUS(name, exit code, what it means) */
#define STATUS_LIST(STATUS) \
  STATUS(OK, 0, "done") \
  STATUS(NO, 1, "the check or the comparison says no") \
  STATUS(USAGE, 64, "the command line is not understood") \
  STATUS(BAD_DATA, 65, "the data in a log or a reading cannot be used") \
  STATUS(NO_INPUT, 66, "an input file cannot be read") \
  STATUS(NO_HELPER, 69, "a helper program is missing") \
  STATUS(INTERNAL, 70, "the solver or the program itself failed") \
  STATUS(NO_MEMORY, 71, "out of memory") \
  STATUS(CANNOT_CREATE, 73, "an output file or folder cannot be created") \
  STATUS(IO, 74, "reading or writing failed part of the way") \
  STATUS(BAD_CONFIG, 78, "a model, scenario or lesson file has mistakes")

enum status {
#define STATUS(name, code, text) STATUS_##name,
  STATUS_LIST(STATUS)
#undef STATUS
      STATUS_COUNT
};

/* The exit code of the program for this status. */
int status_exit_code(enum status status);

/* What the status means, in a few words. */
const char *status_text(enum status status);

#endif
