/* A live session: keys become actions on the bench, and time passes as fast as was asked.
 *
 * The same keys at the same ticks give the same record. A key that waits ('.') stands for a second of somebody watching, so that a text of keys
 * is a whole session, played as fast as the machine can. live_keys.c has the table of keys, a row each. */
#ifndef ANALYSIS_LIVE_LIVE_SESSION_H
#define ANALYSIS_LIVE_LIVE_SESSION_H

#include "analysis/live/live_bench.h"

enum { LIVE_SESSION_SAID_SIZE = 1200, LIVE_SESSION_TYPED_SIZE = 120, LIVE_SESSION_PENDING_MAX = 2 };

/* Times real time that may be chosen. */
extern const int live_session_speeds[];
extern const int live_session_speed_count;

struct live_session {
  struct live_bench *bench; // not owned
  int speed;                // index of live_session_speeds
  bool paused, ended, help;
  bool why;           // the reasons are to be told, where they are not on view anyway
  bool behind;        // the machine is slower than the speed that was chosen
  bool scenario_over; // its end has been told
  int marks;          // so far
  size_t actions;     // that were played by keys
  size_t chosen;      // row of condition_rows that < and > move
  bool typing;
  char typed[LIVE_SESSION_TYPED_SIZE];
  size_t pending_count; // steps that wait for a yes, their cautions having been shown
  struct scenario_step pending[LIVE_SESSION_PENDING_MAX];
  struct {
    double si, until_s; // where a condition is on its way to, and until when
  } goals[CONDITION_MOST];
  int key_goal; // enum key
  double key_until_s;
  char said[LIVE_SESSION_SAID_SIZE]; // about the last key: what it did or why not; lines
};

void live_session_init(struct live_session *session, struct live_bench *bench);

/* Presses a key, or types a letter of a line that has been begun. What is not possible is said in session->said, and nothing has happened.
 * *watch_s: how long somebody watches now, for a key that waits; else 0. STATUS_NO_MEMORY. */
MUST_CHECK enum status live_session_press(struct live_session *session, char letter, double *watch_s, struct error *error);

/* Ticks in so many seconds of watching at the speed of now; paused or not. */
long live_session_ticks(const struct live_session *session, double watch_s);

/* Lets ticks pass. The end of the scenario and of the day are said, and the latter ends the session. */
MUST_CHECK enum status live_session_pass(struct live_session *session, long ticks, struct error *error);

/* ---- for live_keys.c ---- */

/* What the session says now, in place of what it said. */
void live_session_say(struct live_session *session, const char *format, ...) PRINTF_LIKE(2, 3);

/* Where a condition is, or is on its way to, SI. */
double live_session_goal(const struct live_session *session, size_t condition);

/* Plays a step at the coming tick. What cannot be is said, and answered false. */
bool live_session_play(struct live_session *session, const struct scenario_step *step);

/* ---- keys ---- */

struct live_key_row {
  char key;
  const char *text; // what it does
  void (*press)(struct live_session *session, double amount);
  double amount;
  double watch_s; // a key that waits
};
extern const struct live_key_row live_key_rows[];
extern const size_t live_key_count;

/* Types a letter into the line that was begun, or ends it: '\n', '\r' or ';' do it, escape leaves it. */
void live_key_type(struct live_session *session, char letter);

/* Answers a question: y does what waits, anything else leaves it. */
void live_key_answer(struct live_session *session, char letter);

/* Name of a key as it is told: "space", "f". */
const char *live_key_name(char key, char name[2]);

#endif
