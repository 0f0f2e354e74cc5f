/* Starts gnuplot with three pipes, without the user's start-up file and settings. */
#ifndef IO_PICTURE_GNUPLOT_START_H
#define IO_PICTURE_GNUPLOT_START_H

#include "base/status.h"

#include <stdbool.h>
#include <sys/types.h>

/* Our ends of its pipes, -1 when closed; writing never waits, and raises SIGPIPE if it has ended. process 0: it could not be started. */
struct gnuplot_start {
  pid_t process;
  int to_stdin, from_stdout, from_stderr;
};

/* apart: a group of its own, so that what is typed to end or stop us does not reach it. 0 or an errno; the pipes are to be closed in any
 * case. */
int gnuplot_start(struct gnuplot_start *started, bool apart);

/* Closes a pipe's end unless it is closed. */
void gnuplot_start_close(int *end);

/* Why it does not start, of gnuplot_start()'s answer, in a sentence: STATUS_NO_HELPER if it is not installed, else STATUS_INTERNAL. */
enum { GNUPLOT_START_WHY_SIZE = 160 };
enum status gnuplot_start_why(int reason, char why[GNUPLOT_START_WHY_SIZE]);

#endif
