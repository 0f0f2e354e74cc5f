/* What can be done with an open case, from the command line as from the terminal: one row each. */
#ifndef COMMANDS_PRACTICE_DESK_H
#define COMMANDS_PRACTICE_DESK_H

#include "analysis/practice/practice_session.h"

struct practice_desk {
  const char *path; // of the case
  bool json, careful;
  struct for_each for_each;
  struct practice_record record;
  struct practice_session *session; // owned
};

/* Reads the case and draws it. practice_desk_end() in any case. */
MUST_CHECK enum status practice_desk_begin(struct practice_desk *desk, const char *path, struct error *error);
void practice_desk_end(struct practice_desk *desk);

/* words[0]: show, tests, work, measure, note, answer, mark. What changes is in the file when it returns. STATUS_NO: cautions were shown, and
 * nothing was done. STATUS_USAGE: what it wants. */
MUST_CHECK enum status practice_desk_do(struct practice_desk *desk, size_t count, char *const *words, struct error *error);

extern const char *const practice_desk_names[]; // NULL after the last
extern const char practice_desk_help[];

/* A terminal session: lines with editing, from stdin if that is no terminal. */
MUST_CHECK enum status practice_play(struct practice_desk *desk, struct error *error);

#endif
