/* A gnuplot that lives as long as a session: a script goes in, what it draws comes back, as often as wanted, and nothing waits for it.
 *
 * Each script is followed by a mark that gnuplot prints when it is done, so that a frame is known to be whole. */
#ifndef IO_PICTURE_GNUPLOT_LIVE_H
#define IO_PICTURE_GNUPLOT_LIVE_H

#include "io/picture/gnuplot_start.h"

#include <stddef.h>

enum { GNUPLOT_LIVE_SAID_SIZE = 400, GNUPLOT_LIVE_TIMEOUT_S = 5 };

struct gnuplot_live {
  struct gnuplot_start gnuplot;
  bool alive, asked;
  double asked_s;
  char *script; // being sent; owned
  size_t script_size, sent;
  char *answer; // received so far; owned
  size_t answer_size, capacity;
  char complaint[GNUPLOT_LIVE_SAID_SIZE];
  size_t complaint_size;
  char said[GNUPLOT_LIVE_SAID_SIZE]; // why it is no longer alive
};

/* False if there is none: said tells why. */
bool gnuplot_live_start(struct gnuplot_live *live);

/* Begins to send a script; not while another is asked for. */
void gnuplot_live_ask(struct gnuplot_live *live, const char *script, size_t size);

/* Moves what can be moved without waiting, or up to wait_s; true once for each answer, which then stands in answer, ended by a null. Where it has
 * died or hangs, alive becomes false. */
bool gnuplot_live_poll(struct gnuplot_live *live, double wait_s);

/* Ends it; its pipes closed, it goes by itself, and after a moment it is ended. */
void gnuplot_live_end(struct gnuplot_live *live);

#endif
