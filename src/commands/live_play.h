/* The three ways in which a live session goes on: on a screen, line by line on a terminal, from a text of keys. */
#ifndef COMMANDS_LIVE_PLAY_H
#define COMMANDS_LIVE_PLAY_H

#include "analysis/live/live_session.h"
#include "io/picture/strip_chart.h"

struct live_play {
  struct live_session *session;
  struct strip_chart *chart;
  bool silent;      // nothing but the result is wanted on stdout
  double every_s;   // from one line to the next, seconds of watching
  const char *keys; // a text of keys; NULL: stdin
  size_t told;      // events that have been
  unsigned kind;    // of the reasons told last, and one: live_words_kind()
};

/* Times real time, until the session ends, the keys do, or a signal does (terminal_ended_by()). STATUS_IO if stdout or the terminal cannot be
 * used any more, else what the bench says. */
MUST_CHECK enum status live_play_on_screen(struct live_play *play, struct error *error);
MUST_CHECK enum status live_play_in_lines(struct live_play *play, struct error *error);

/* As fast as it goes, time passing with the keys that wait alone. */
MUST_CHECK enum status live_play_keys(struct live_play *play, struct error *error);

#endif
