#include "io/picture/gnuplot_live.h"

#include "base/attributes.h"
#include "io/format/monotonic.h"

#include <errno.h>
#include <fcntl.h>
#include <poll.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

enum { CHUNK_SIZE = 16384, ANSWER_MAX = 16 << 20, END_MS = 300 };

static const char mark[] = "\036whole\n";
static const char print_mark[] = "\nprint \"\\036whole\"\n";
static const char beginning[] = "set print \"-\"\nset encoding utf8\n";

static void close_pipes(struct gnuplot_live *live) {
  gnuplot_start_close(&live->gnuplot.to_stdin);
  gnuplot_start_close(&live->gnuplot.from_stdout);
  gnuplot_start_close(&live->gnuplot.from_stderr);
}

/* Waits so long for it to go; false if it is still there. */
static bool gone(struct gnuplot_live *live, int wait_ms, int *state) {
  for (int ms = 0; ms <= wait_ms; ms++) {
    const pid_t ended = waitpid(live->gnuplot.process, state, WNOHANG);
    if (ended == live->gnuplot.process || (ended < 0 && errno != EINTR)) return true;
    nanosleep(&(struct timespec){.tv_nsec = 1000000}, NULL);
  }
  return false;
}

static void reap(struct gnuplot_live *live, int wait_ms, int *state) {
  *state = 0;
  if (live->gnuplot.process <= 0) return;
  if (!gone(live, wait_ms, state)) {
    kill(live->gnuplot.process, SIGKILL);
    while (waitpid(live->gnuplot.process, state, 0) < 0 && errno == EINTR) {
    }
  }
  live->gnuplot.process = 0;
}

/* Its own words on one line. */
static void make_line(char *words) {
  size_t used = 0;
  for (const char *at = words; *at; at++) {
    const bool blank = (unsigned char)*at <= ' ';
    if (!blank) words[used++] = *at;
    if (blank && used > 0 && words[used - 1] != ' ') words[used++] = ' ';
  }
  while (used > 0 && words[used - 1] == ' ') used--;
  words[used] = '\0';
}

static void die(struct gnuplot_live *live, const char *why) {
  int state;
  close_pipes(live);
  reap(live, why ? 0 : END_MS, &state);
  live->alive = live->asked = false;
  live->complaint[live->complaint_size] = '\0';
  make_line(live->complaint);
  if (why)
    snprintf(live->said, sizeof live->said, "gnuplot %s", why);
  else if (WIFSIGNALED(state))
    snprintf(live->said, sizeof live->said, "gnuplot was ended by signal %d", WTERMSIG(state));
  else
    snprintf(live->said, sizeof live->said, "gnuplot has ended%s%.300s", live->complaint_size ? ": " : "", live->complaint);
}

bool gnuplot_live_start(struct gnuplot_live *live) {
  *live = (struct gnuplot_live){.gnuplot = {0, -1, -1, -1}};
  const int reason = gnuplot_start(&live->gnuplot, true);
  if (reason) {
    close_pipes(live);
    char why[GNUPLOT_START_WHY_SIZE];
    (void)gnuplot_start_why(reason, why);
    snprintf(live->said, sizeof live->said, "%s", why);
    return false;
  }
  fcntl(live->gnuplot.from_stdout, F_SETFL, O_NONBLOCK);
  fcntl(live->gnuplot.from_stderr, F_SETFL, O_NONBLOCK);
  live->alive = true;
  gnuplot_live_ask(live, beginning, sizeof beginning - 1);
  return true;
}

void gnuplot_live_ask(struct gnuplot_live *live, const char *script, size_t size) {
  if (!live->alive || live->asked) return;
  free(live->script);
  live->script_size = size + sizeof print_mark - 1;
  live->script = malloc(live->script_size);
  live->sent = live->answer_size = 0;
  if (!live->script) {
    die(live, "has no memory left for its script");
    return;
  }
  memcpy(live->script, script, size);
  memcpy(live->script + size, print_mark, sizeof print_mark - 1);
  live->asked = true;
  live->asked_s = monotonic_s();
}

static bool has_mark(const struct gnuplot_live *live) {
  const size_t size = sizeof mark - 1;
  return live->answer_size >= size && memcmp(live->answer + live->answer_size - size, mark, size) == 0;
}

static void send_script(struct gnuplot_live *live) {
  if (live->sent >= live->script_size) return;
  const ssize_t written = write(live->gnuplot.to_stdin, live->script + live->sent, live->script_size - live->sent);
  if (written > 0) live->sent += (size_t)written;
  if (written < 0 && errno != EAGAIN && errno != EINTR) die(live, NULL);
}

static bool make_room(struct gnuplot_live *live) {
  if (live->answer_size + CHUNK_SIZE < live->capacity) return true;
  const size_t capacity = 2 * live->capacity + 2 * (size_t)CHUNK_SIZE;
  char *answer = capacity <= ANSWER_MAX ? realloc(live->answer, capacity) : NULL;
  if (!answer) return false;
  live->answer = answer;
  live->capacity = capacity;
  return true;
}

/* Whether something came. */
static bool receive(struct gnuplot_live *live) {
  if (!make_room(live)) {
    die(live, "writes without end");
    return false;
  }
  const ssize_t got = read(live->gnuplot.from_stdout, live->answer + live->answer_size, CHUNK_SIZE);
  if (got > 0) live->answer_size += (size_t)got;
  if (got == 0 || (got < 0 && errno != EAGAIN && errno != EINTR)) die(live, NULL);
  return got > 0;
}

static void receive_complaint(struct gnuplot_live *live) {
  char chunk[512];
  const ssize_t got = read(live->gnuplot.from_stderr, chunk, sizeof chunk);
  const size_t room = sizeof live->complaint - 1 - live->complaint_size;
  if (got <= 0) return;
  const size_t kept = (size_t)got < room ? (size_t)got : room;
  memcpy(live->complaint + live->complaint_size, chunk, kept);
  live->complaint_size += kept;
}

bool gnuplot_live_poll(struct gnuplot_live *live, double wait_s) {
  const double until_s = monotonic_s() + wait_s;
  while (live->alive && live->asked) {
    receive_complaint(live);
    send_script(live);
    if (!live->alive) return false;
    while (!has_mark(live) && receive(live)) {
    }
    if (!live->alive) return false;
    if (has_mark(live)) {
      live->asked = false;
      live->complaint_size = 0; // notes beside a whole picture
      live->answer_size -= sizeof mark - 1;
      live->answer[live->answer_size] = '\0';
      return true;
    }
    const double now = monotonic_s();
    if (now - live->asked_s > GNUPLOT_LIVE_TIMEOUT_S) die(live, "does not answer");
    if (now >= until_s) return false;
    struct pollfd ends[] = {{live->gnuplot.from_stdout, POLLIN, 0},
                            {live->gnuplot.to_stdin, live->sent < live->script_size ? POLLOUT : 0, 0}};
    poll(ends, ARRAY_COUNT(ends), (int)((until_s - now) * 1e3) + 1);
  }
  return false;
}

void gnuplot_live_end(struct gnuplot_live *live) {
  int state;
  close_pipes(live);
  reap(live, END_MS, &state);
  free(live->script);
  free(live->answer);
  *live = (struct gnuplot_live){.gnuplot = {0, -1, -1, -1}};
}
