/* How far a long job is, on stderr: on a terminal or with --progress, never with --quiet, and not before a second has passed, so that what
 * is over in no time says nothing. */
#ifndef COMMANDS_PROGRESS_H
#define COMMANDS_PROGRESS_H

#include "base/for_each.h"
#include "commands/options.h"

#include <stdbool.h>

#define PROGRESS_OPTION_ROW \
  OPTION_ROW_FLAG("progress", "show progress on stderr even if it is not a terminal; never with --quiet")

struct progress {
  const char *what; // "simulating"
  bool on;
  bool lines;     // no terminal: a line each, ten in all at most
  bool shown;     // something stands on the terminal
  int last_tenth; // lines: the last told
  bool stepwise;  // the share is that of a step
  int step;       // from 1; 0: there are none
  double start_s, last_s;
};

/* Begins; the command must have PROGRESS_OPTION_ROW. */
void progress_begin(struct progress *progress, const struct command_line *line, const char *what);

/* Shows a share, 0 to 1. Several times a second is often enough. */
void progress_show(struct progress *progress, double share);

/* Takes it off the terminal. */
void progress_end(struct progress *progress);

/* The same for simulation_run(): user is the struct progress; always goes on. */
bool progress_simulation(double share, void *user);

/* Work shared out that shows how far it is: hand on &for_each of it. Only the calling thread prints. */
struct progress_for_each {
  struct for_each for_each; // first: its run finds the rest by it
  struct for_each inner;
  struct progress *progress;
};

/* progress must outlive it; with `stepwise` set in it each run is told as a step of its own. */
struct progress_for_each progress_for_each(const struct for_each *inner, struct progress *progress);

#endif
