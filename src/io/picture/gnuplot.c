#include "io/picture/gnuplot.h"

#include "io/format/monotonic.h"
#include "io/picture/gnuplot_start.h"

#include <errno.h>
#include <poll.h>
#include <signal.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

enum {
  COMPLAINT_SIZE = 2048,
  CHUNK_SIZE = 65536,
  EDGE_SIZE = 64,
  FLOOD_MB = 64, // both pipes together; our largest picture has 3 MB
};

/* One run of gnuplot. */
struct helper {
  struct gnuplot_start gnuplot;
  size_t picture_size, received_size; // received: of both pipes
  size_t head_size, tail_size, complaint_size;
  char head[EDGE_SIZE], tail[EDGE_SIZE]; // the picture's first and last bytes
  char complaint[COMPLAINT_SIZE];
};

/* ---- Talking ---- */

/* One write as far as the pipe takes it; closes the pipe after the last byte or when the reader is gone. */
static void feed(struct helper *helper, const char *script, size_t size, size_t *sent) {
  const ssize_t written = write(helper->gnuplot.to_stdin, script + *sent, size - *sent);
  if (written > 0) *sent += (size_t)written;
  const bool gone = written < 0 && errno != EAGAIN && errno != EINTR;
  if (gone || *sent == size) gnuplot_start_close(&helper->gnuplot.to_stdin);
}

/* One read; closes the pipe at its end. */
static size_t drain(struct helper *helper, int *end, char *chunk) {
  const ssize_t got = read(*end, chunk, CHUNK_SIZE);
  if (got > 0) helper->received_size += (size_t)got;
  if (got > 0) return (size_t)got;
  if (got == 0 || (errno != EAGAIN && errno != EINTR)) gnuplot_start_close(end);
  return 0;
}

/* Keeps the last bytes of what comes in pieces. */
static size_t keep_end(char *kept, size_t kept_size, size_t space, const char *chunk, size_t size) {
  if (size > space) {
    chunk += size - space;
    size = space;
  }
  const size_t excess = kept_size + size > space ? kept_size + size - space : 0;
  memmove(kept, kept + excess, kept_size - excess);
  memcpy(kept + kept_size - excess, chunk, size);
  return kept_size - excess + size;
}

/* The end of what it says matters: first it repeats the script's block in which it stumbled. */
static void keep_complaint(struct helper *helper, const char *chunk, size_t size) {
  helper->complaint_size = keep_end(helper->complaint, helper->complaint_size, sizeof helper->complaint - 1, chunk, size);
}

static void keep_picture(struct helper *helper, const char *chunk, size_t size, FILE *picture) {
  for (size_t i = 0; i < size && helper->head_size < sizeof helper->head; i++) helper->head[helper->head_size++] = chunk[i];
  helper->tail_size = keep_end(helper->tail, helper->tail_size, sizeof helper->tail, chunk, size);
  helper->picture_size += fwrite(chunk, 1, size, picture);
}

static bool floods(const struct helper *helper) { return helper->received_size > (size_t)FLOOD_MB << 20; }

/* Feeds and drains all pipes as they are ready, so that neither side waits for the other; false after the
 * deadline, or if it writes without end. */
static bool talk(struct helper *helper, const char *script, size_t size, FILE *picture, double deadline_s) {
  char *chunk = malloc(CHUNK_SIZE);
  size_t sent = 0;
  if (!chunk) return false;
  if (size == 0) gnuplot_start_close(&helper->gnuplot.to_stdin);
  while ((helper->gnuplot.from_stdout >= 0 || helper->gnuplot.from_stderr >= 0) && !floods(helper)) {
    struct pollfd ends[] = {{helper->gnuplot.to_stdin, POLLOUT, 0},
                            {helper->gnuplot.from_stdout, POLLIN, 0},
                            {helper->gnuplot.from_stderr, POLLIN, 0}};
    const double left_s = deadline_s - monotonic_s();
    if (left_s <= 0.0) break;
    if (poll(ends, ARRAY_COUNT(ends), (int)(left_s * 1e3) + 1) < 0 && errno != EINTR) break;
    if (ends[0].revents) feed(helper, script, size, &sent);
    if (ends[1].revents) keep_picture(helper, chunk, drain(helper, &helper->gnuplot.from_stdout, chunk), picture);
    if (ends[2].revents) keep_complaint(helper, chunk, drain(helper, &helper->gnuplot.from_stderr, chunk));
  }
  free(chunk);
  return helper->gnuplot.from_stdout < 0 && helper->gnuplot.from_stderr < 0;
}

/* A write to a helper that died raises SIGPIPE. It is held back in this thread and taken out of the queue,
 * unless it was there before: then it is somebody else's. */
static bool hold_pipe_signal(sigset_t *before) {
  sigset_t pipe_only, pending;
  sigemptyset(&pipe_only);
  sigaddset(&pipe_only, SIGPIPE);
  sigpending(&pending);
  pthread_sigmask(SIG_BLOCK, &pipe_only, before);
  return sigismember(&pending, SIGPIPE) == 1;
}

static void release_pipe_signal(const sigset_t *before, bool was_pending) {
  sigset_t pipe_only;
  sigemptyset(&pipe_only);
  sigaddset(&pipe_only, SIGPIPE);
  if (!was_pending)
    while (sigtimedwait(&pipe_only, NULL, &(struct timespec){0}) < 0 && errno == EINTR) {
    }
  pthread_sigmask(SIG_SETMASK, before, NULL);
}

/* ---- Ending ---- */

/* Waits for the process, which is ended first unless it closed its pipes by itself; its exit status, -1 if
 * it had none. */
static int finish(struct helper *helper, bool in_time, double deadline_s) {
  int state = 0;
  gnuplot_start_close(&helper->gnuplot.to_stdin);
  gnuplot_start_close(&helper->gnuplot.from_stdout);
  gnuplot_start_close(&helper->gnuplot.from_stderr);
  if (!in_time) kill(helper->gnuplot.process, SIGKILL);
  for (;;) {
    const pid_t ended = waitpid(helper->gnuplot.process, &state, WNOHANG);
    if (ended == helper->gnuplot.process) return WIFEXITED(state) ? WEXITSTATUS(state) : -1;
    if (ended < 0 && errno != EINTR) return -1;
    if (monotonic_s() > deadline_s) kill(helper->gnuplot.process, SIGKILL);
    nanosleep(&(struct timespec){.tv_nsec = 1000000}, NULL);
  }
}

/* Its own words on one line. */
static char *words_of(struct helper *helper) {
  size_t used = 0;
  for (size_t i = 0; i < helper->complaint_size; i++) {
    const char letter = helper->complaint[i];
    const bool blank = letter == '\n' || letter == '\t' || letter == '\r' || letter == ' ' || letter == '\0';
    if (!blank)
      helper->complaint[used++] = letter;
    else if (used > 0 && helper->complaint[used - 1] != ' ')
      helper->complaint[used++] = ' ';
  }
  while (used > 0 && helper->complaint[used - 1] == ' ') used--;
  helper->complaint[used] = '\0';
  return helper->complaint;
}

/* The same from the last `line N: ...` on if there is one. */
static const char *complaint_of(struct helper *helper) {
  char *reason = words_of(helper);
  for (char *next = reason; (next = strstr(next, " line ")); next++) reason = next + 1;
  return reason;
}

static enum status missing(int reason, const char *data_path, struct error *error) {
  char why[GNUPLOT_START_WHY_SIZE];
  const enum status status = gnuplot_start_why(reason, why);
  return error_set(error, status, "%s%s%s", why, data_path ? "; the data is in " : "", data_path ? data_path : "");
}

static bool ends_with(const char *tail, size_t size, const char *mark) {
  while (size > 0 && strchr(" \t\r\n", tail[size - 1])) size--;
  const size_t length = strlen(mark);
  return size >= length && memcmp(tail + size - length, mark, length) == 0;
}

bool gnuplot_picture_is_whole(const char *head, size_t head_size, const char *tail, size_t tail_size) {
  static const char png[] = "\x89PNG", png_end[] = "IEND\xAE\x42\x60\x82";
  if (head_size == 0) return false;
  if (head_size >= 4 && memcmp(head, png, 4) == 0) return ends_with(tail, tail_size, png_end);
  if (head_size >= 5 && memcmp(head, "%PDF-", 5) == 0) return ends_with(tail, tail_size, "%%EOF");
  if (memmem(head, head_size, "<?xml", 5) || memmem(head, head_size, "<svg", 4)) return ends_with(tail, tail_size, "</svg>");
  return true;
}

enum status gnuplot_draw(const char *script, size_t size, FILE *picture, const char *data_path, double timeout_s,
                         char note[GNUPLOT_NOTE_SIZE], struct error *error) {
  struct helper helper = {.gnuplot = {0, -1, -1, -1}};
  const double deadline_s = monotonic_s() + timeout_s;
  const int reason = gnuplot_start(&helper.gnuplot, false);
  if (reason && helper.gnuplot.process == 0) {
    gnuplot_start_close(&helper.gnuplot.to_stdin);
    gnuplot_start_close(&helper.gnuplot.from_stdout);
    gnuplot_start_close(&helper.gnuplot.from_stderr);
    return missing(reason, data_path, error);
  }
  sigset_t before;
  const bool was_pending = hold_pipe_signal(&before);
  const bool in_time = reason == 0 && talk(&helper, script, size, picture, deadline_s);
  release_pipe_signal(&before, was_pending);
  const int exit_status = finish(&helper, in_time, deadline_s);

  const char *tail = data_path ? "; the data is in " : "";
  const char *data = data_path ? data_path : "";
  if (floods(&helper)) return error_set(error, STATUS_INTERNAL, "gnuplot wrote more than %d MB%s%s", FLOOD_MB, tail, data);
  if (!in_time) return error_set(error, STATUS_INTERNAL, "gnuplot did not finish within %.0f s%s%s", timeout_s, tail, data);
  const bool whole = gnuplot_picture_is_whole(helper.head, helper.head_size, helper.tail, helper.tail_size);
  if ((exit_status != 0 || !whole) && helper.complaint_size > 0)
    return error_set(error, STATUS_INTERNAL, "gnuplot failed: %s%s%s", complaint_of(&helper), tail, data);
  if (exit_status != 0) return error_set(error, STATUS_INTERNAL, "gnuplot ended with status %d%s%s", exit_status, tail, data);
  if (helper.picture_size == 0) return error_set(error, STATUS_INTERNAL, "gnuplot drew nothing%s%s", tail, data);
  if (!whole) return error_set(error, STATUS_INTERNAL, "gnuplot stopped in the middle of the picture%s%s", tail, data);
  if (note) snprintf(note, GNUPLOT_NOTE_SIZE, "%s", helper.complaint_size > 0 ? words_of(&helper) : "");
  return STATUS_OK;
}
