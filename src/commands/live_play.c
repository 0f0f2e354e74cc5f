#include "commands/live_play.h"

#include "analysis/live/live_words.h"
#include "commands/live_screen.h"
#include "io/format/monotonic.h"
#include "io/terminal/terminal.h"

#include <stdio.h>
#include <string.h>
#include <unistd.h>

enum { KEYS_SIZE = 256 };
#define FRAME_S       0.1  // ten times a second: more cannot be read
#define CHART_EVERY_S 0.2  // gnuplot takes some milliseconds each time
#define LATEST_S      0.25 // of real time that is made up for: a machine that was asleep does not leap
#define CHART_WAIT_S  5.0

static enum status stdout_gone(struct error *error) {
  return error_set(error, STATUS_IO, "stdout takes no more; the session ends here");
}

/* How much of the past a chart shows: what passes in half a minute to a minute of watching. */
static double chart_span_s(const struct live_session *session) {
  const int speed = live_session_speeds[session->speed];
  return speed <= 2 ? 60.0 : speed <= 10 ? 300.0 : 1800.0;
}

/* ---- keys ---- */

/* Presses keys; what a waiting key lets pass goes by at once. */
static enum status press(struct live_session *session, char letter, double *watched_s, struct error *error) {
  const enum status status = live_session_press(session, letter, watched_s, error);
  return status == STATUS_OK && *watched_s > 0.0 ? live_session_pass(session, live_session_ticks(session, *watched_s), error)
                                                 : status;
}

/* ---- real time ---- */

struct clock {
  double last_s, owed_ticks;
};

/* Lets pass what has passed on the wall. */
static enum status pass(struct live_session *session, struct clock *clock, struct error *error) {
  const double now = monotonic_s();
  double elapsed_s = now - clock->last_s;
  clock->last_s = now;
  if (session->paused) return STATUS_OK;
  session->behind = elapsed_s > LATEST_S;
  if (session->behind) elapsed_s = LATEST_S;
  clock->owed_ticks += elapsed_s * live_session_speeds[session->speed] * LIVE_BENCH_TICKS_PER_S;
  const long ticks = (long)clock->owed_ticks;
  clock->owed_ticks -= (double)ticks;
  return live_session_pass(session, ticks, error);
}

/* Keys for up to wait_s. *any: one came. */
static enum status read_keys(struct live_session *session, double wait_s, bool *any, struct error *error) {
  char keys[KEYS_SIZE];
  const int count = terminal_read(wait_s, keys, sizeof keys);
  enum status status = STATUS_OK;
  double watched_s;
  *any = count > 0;
  if (count < 0) session->ended = true; // nobody is there any more
  for (int i = 0; status == STATUS_OK && i < count && !session->ended; i++) status = press(session, keys[i], &watched_s, error);
  return status;
}

/* A stop, or what came after one. *again: the screen is to be drawn anew. */
static enum status follow_signals(struct clock *clock, bool *again, struct error *error) {
  enum status status = STATUS_OK;
  *again = terminal_resized();
  if (terminal_to_stop()) {
    status = terminal_stop(error);
    *again = true;
  } else if (terminal_continued()) {
    status = terminal_take_again(error);
    *again = true;
  }
  if (*again) clock->last_s = monotonic_s();
  return status;
}

/* ---- on a screen ---- */

struct screen {
  struct terminal_size size;
  struct strip_chart_size chart_size;
  bool has_chart, covered, clear;
  enum strip_chart_kind kind;
  double chart_asked_s;
};

static void measure(struct screen *screen, struct strip_chart *chart) {
  screen->size = terminal_size_now();
  screen->has_chart = live_screen_chart_size(&screen->size, &screen->chart_size);
  if (screen->has_chart) strip_chart_resize(chart, &screen->chart_size);
  screen->clear = true;
  screen->chart_asked_s = 0.0;
}

static bool draw(struct live_play *play, struct screen *screen) {
  const bool covered = play->session->help || play->session->pending_count > 0;
  const char *frame = NULL;
  size_t size = 0;
  if (covered != screen->covered) screen->clear = true;
  screen->covered = covered;
  const bool in_window = play->chart->kind == STRIP_CHART_window;
  bool fresh = strip_chart_poll(play->chart, 0.0, &frame, &size);
  if (play->chart->kind != screen->kind) screen->clear = true; // it has ended: what it drew last is the past
  screen->kind = play->chart->kind;
  if (in_window || covered || !screen->has_chart) fresh = false;
  if (screen->clear) screen->chart_asked_s = 0.0;
  if (monotonic_s() - screen->chart_asked_s >= CHART_EVERY_S && (screen->has_chart || in_window) && !covered) {
    strip_chart_draw(play->chart, play->session->bench, chart_span_s(play->session));
    screen->chart_asked_s = monotonic_s();
  }
  const bool clear = screen->clear;
  screen->clear = false;
  return live_screen_draw(play->session, play->chart, &screen->size, fresh ? frame : NULL, size, clear);
}

enum status live_play_on_screen(struct live_play *play, struct error *error) {
  struct screen screen = {.clear = true};
  struct clock clock = {.last_s = monotonic_s()};
  double drawn_s = 0.0;
  bool any, again;
  enum status status = STATUS_OK;
  measure(&screen, play->chart);
  while (status == STATUS_OK && !play->session->ended && !terminal_ended_by()) {
    const double left_s = FRAME_S - (monotonic_s() - drawn_s);
    status = read_keys(play->session, left_s > 0.0 ? left_s : 0.0, &any, error);
    if (status == STATUS_OK) status = follow_signals(&clock, &again, error);
    if (status == STATUS_OK) status = pass(play->session, &clock, error);
    if (status != STATUS_OK) break;
    if (again) measure(&screen, play->chart);
    if (!any && !again && monotonic_s() - drawn_s < FRAME_S) continue;
    drawn_s = monotonic_s();
    if (!draw(play, &screen)) return stdout_gone(error);
  }
  return status;
}

/* ---- line by line ---- */

/* What was said and what happened since. */
static void tell(struct live_play *play) {
  if (play->silent) return;
  if (play->session->help) live_screen_put_keys();
  play->session->help = false;
  live_screen_put_said(play->session);
  play->session->said[0] = '\0';
  live_screen_put_events(play->session, &play->told);
  if (play->session->why) live_screen_put_reasons(play->session);
  play->session->why = false;
}

/* The reasons where others count than before: aloud they take half a minute. */
static void tell_reasons(struct live_play *play) {
  const unsigned kind = live_words_kind(play->session) + 1;
  if (kind != play->kind) live_screen_put_reasons(play->session);
  play->kind = kind;
}

/* A line of state, and the chart below it where one is wanted. */
static void tell_state(struct live_play *play) {
  const char *frame;
  size_t size;
  if (!play->silent) {
    live_screen_put_line(play->session);
    tell_reasons(play);
  }
  strip_chart_draw(play->chart, play->session->bench, chart_span_s(play->session));
  const bool letters = play->chart->kind != STRIP_CHART_window;
  const bool fresh = strip_chart_poll(play->chart, letters ? CHART_WAIT_S : 0.0, &frame, &size);
  if (fresh && letters && !play->silent) fwrite(frame + (*frame == '\f'), 1, size - (*frame == '\f'), stdout);
  if (play->chart->said[0] && !play->silent) printf("%s\n", play->chart->said);
  play->chart->said[0] = '\0';
}

enum status live_play_in_lines(struct live_play *play, struct error *error) {
  struct clock clock = {.last_s = monotonic_s()};
  double told_s = 0.0;
  bool any, again;
  enum status status = STATUS_OK;
  while (status == STATUS_OK && !play->session->ended && !terminal_ended_by()) {
    status = read_keys(play->session, FRAME_S, &any, error);
    if (status == STATUS_OK) status = follow_signals(&clock, &again, error);
    if (status == STATUS_OK) status = pass(play->session, &clock, error);
    if (status != STATUS_OK) break;
    tell(play);
    const bool due = monotonic_s() - told_s >= play->every_s && !play->session->typing && play->session->pending_count == 0;
    if (due) {
      tell_state(play);
      told_s = monotonic_s();
    }
    if (fflush(stdout) != 0 || ferror(stdout)) return stdout_gone(error);
  }
  tell(play);
  return status;
}

/* ---- from a text of keys ---- */

/* The next keys: of the text all at once, of stdin as they come. 0 at the end. */
static size_t next_keys(struct live_play *play, char *buffer, size_t size, const char **keys) {
  if (play->keys) {
    *keys = play->keys;
    play->keys = "";
    return strlen(*keys);
  }
  *keys = buffer;
  ssize_t got;
  do got = read(STDIN_FILENO, buffer, size);
  while (got < 0 && !terminal_ended_by());
  return got > 0 ? (size_t)got : 0;
}

static enum status play_one(struct live_play *play, char letter, double *unsaid_s, struct error *error) {
  double watched_s;
  if (letter == ' ' && !play->session->typing) return STATUS_OK; // it parts words: no time passes that could be stopped
  enum status status = press(play->session, letter, &watched_s, error);
  if (status != STATUS_OK) return status;
  tell(play);
  *unsaid_s += watched_s;
  if (*unsaid_s >= play->every_s - 1e-6) {
    *unsaid_s = 0.0;
    tell_state(play);
  }
  return ferror(stdout) ? stdout_gone(error) : STATUS_OK;
}

enum status live_play_keys(struct live_play *play, struct error *error) {
  char buffer[KEYS_SIZE];
  const char *keys;
  double unsaid_s = 0.0;
  enum status status = STATUS_OK;
  const bool piped = !play->keys;
  tell_state(play);
  while (status == STATUS_OK && !play->session->ended && !terminal_ended_by()) {
    const size_t count = next_keys(play, buffer, sizeof buffer, &keys);
    if (count == 0) break;
    for (size_t i = 0; status == STATUS_OK && i < count && !play->session->ended && !terminal_ended_by(); i++)
      status = play_one(play, keys[i], &unsaid_s, error);
    if (status == STATUS_OK && piped && fflush(stdout) != 0) status = stdout_gone(error);
  }
  if (status == STATUS_OK && unsaid_s > 0.0) tell_state(play);
  return status;
}
