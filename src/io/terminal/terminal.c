#include "io/terminal/terminal.h"

#include "io/format/monotonic.h"

#include <errno.h>
#include <poll.h>
#include <signal.h>
#include <stdatomic.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/ioctl.h>
#include <termios.h>
#include <unistd.h>

enum { SIXEL_WAIT_MS = 200, REPLY_SIZE = 128 };

/* ---- what a signal handler has to know ---- */

static struct termios before;
static atomic_int taken, on_screen; // the terminal is not as it was
static atomic_int ended_by, resized, to_stop, continued;
static char pushed_back[REPLY_SIZE]; // keys that came while the terminal was asked something
static size_t pushed_back_size;
static bool in_sequence; // of a cursor key

static const int ending[] = {SIGINT, SIGTERM, SIGHUP, SIGQUIT};
static const int breaking[] = {SIGSEGV, SIGABRT, SIGBUS, SIGFPE, SIGILL};
static const int changing[] = {SIGTSTP, SIGCONT, SIGWINCH};
enum { ENDING_COUNT = ARRAY_COUNT(ending), BREAKING_COUNT = ARRAY_COUNT(breaking), CHANGING_COUNT = ARRAY_COUNT(changing) };
static struct sigaction ending_before[ENDING_COUNT], breaking_before[BREAKING_COUNT], changing_before[CHANGING_COUNT];
static bool caught;

static const char screen_on[] = "\x1b[?1049h\x1b[?25l\x1b[?7l", screen_off[] = "\x1b[?7h\x1b[?25h\x1b[?1049l";

/* In one piece or not at all; only what POSIX allows in a handler. */
static void put(const char *text, size_t size) {
  while (size > 0) {
    const ssize_t written = write(STDOUT_FILENO, text, size);
    if (written < 0 && errno != EINTR) return;
    if (written > 0) {
      text += written;
      size -= (size_t)written;
    }
  }
}

void terminal_give_back(void) {
  const int kept = errno;
  if (atomic_exchange(&on_screen, 0)) put(screen_off, sizeof screen_off - 1);
  if (atomic_exchange(&taken, 0)) tcsetattr(STDIN_FILENO, TCSANOW, &before);
  errno = kept;
}

static void note_end(int signal_number) { atomic_store(&ended_by, signal_number); }

/* Our own fault, or somebody's kill: the terminal first, then what the signal does anyway. */
static void note_break(int signal_number) {
  terminal_give_back();
  raise(signal_number);
}

static void note_change(int signal_number) {
  if (signal_number == SIGTSTP) atomic_store(&to_stop, 1);
  if (signal_number == SIGCONT) atomic_store(&continued, 1);
  if (signal_number == SIGWINCH) atomic_store(&resized, 1);
}

static void catch_these(const int *signals, size_t count, void (*handler)(int), int flags, struct sigaction *was) {
  struct sigaction action = {.sa_handler = handler, .sa_flags = flags};
  sigemptyset(&action.sa_mask);
  for (size_t i = 0; i < count; i++) {
    sigaction(signals[i], NULL, &was[i]);
    if (was[i].sa_handler == SIG_IGN) continue;
    if (handler == note_break && was[i].sa_handler != SIG_DFL) continue; // a sanitizer's
    sigaction(signals[i], &action, NULL);
  }
}

void terminal_catch(void) {
  if (caught) return;
  caught = true;
  atexit(terminal_give_back);
  catch_these(ending, ENDING_COUNT, note_end, 0, ending_before);
  catch_these(breaking, BREAKING_COUNT, note_break, (int)SA_RESETHAND | SA_NODEFER, breaking_before);
  catch_these(changing, CHANGING_COUNT, note_change, 0, changing_before);
}

static void release_these(const int *signals, size_t count, const struct sigaction *was) {
  for (size_t i = 0; i < count; i++) sigaction(signals[i], &was[i], NULL);
}

void terminal_release(void) {
  if (!caught) return;
  caught = false;
  release_these(ending, ENDING_COUNT, ending_before);
  release_these(breaking, BREAKING_COUNT, breaking_before);
  release_these(changing, CHANGING_COUNT, changing_before);
}

int terminal_ended_by(void) { return atomic_load(&ended_by); }
bool terminal_resized(void) { return atomic_exchange(&resized, 0) != 0; }
bool terminal_to_stop(void) { return atomic_exchange(&to_stop, 0) != 0; }
bool terminal_continued(void) { return atomic_exchange(&continued, 0) != 0; }

/* ---- taking it ---- */

bool terminal_has_keys(void) { return isatty(STDIN_FILENO) == 1; }

bool terminal_has_screen(void) {
  const char *kind = getenv("TERM");
  return isatty(STDOUT_FILENO) == 1 && kind && kind[0] && strcmp(kind, "dumb") != 0;
}

static bool wants_screen; // as terminal_take() was told

enum status terminal_take(bool screen, struct error *error) {
  struct termios now;
  if (tcgetattr(STDIN_FILENO, &before) != 0)
    return error_set(error, STATUS_IO, "the terminal cannot be read: %s", strerror(errno));
  now = before;
  now.c_lflag &= ~(tcflag_t)(ICANON | ECHO | IEXTEN); // ISIG stays: control-C and control-Z do what they do everywhere
  now.c_iflag &= ~(tcflag_t)(IXON | ICRNL | INLCR);
  now.c_cc[VMIN] = 0;
  now.c_cc[VTIME] = 0;
  atomic_store(&taken, 1);
  wants_screen = screen;
  if (tcsetattr(STDIN_FILENO, TCSANOW, &now) != 0) {
    atomic_store(&taken, 0);
    return error_set(error, STATUS_IO, "the terminal cannot be set: %s", strerror(errno));
  }
  if (screen) {
    atomic_store(&on_screen, 1);
    put(screen_on, sizeof screen_on - 1);
  }
  return STATUS_OK;
}

enum status terminal_take_again(struct error *error) {
  terminal_give_back();
  return terminal_take(wants_screen, error);
}

enum status terminal_stop(struct error *error) {
  terminal_give_back();
  raise(SIGSTOP);
  atomic_store(&continued, 0);
  return terminal_take(wants_screen, error);
}

struct terminal_size terminal_size_now(void) {
  struct winsize size;
  if (ioctl(STDOUT_FILENO, TIOCGWINSZ, &size) != 0 || size.ws_col == 0 || size.ws_row == 0)
    return (struct terminal_size){.columns = 80, .rows = 24};
  return (struct terminal_size){size.ws_col, size.ws_row, size.ws_xpixel, size.ws_ypixel};
}

/* ---- asking it, reading it ---- */

static bool ready(double wait_s) {
  struct pollfd end = {STDIN_FILENO, POLLIN, 0};
  return poll(&end, 1, wait_s > 0.0 ? (int)(wait_s * 1e3) + 1 : 0) > 0;
}

/* Its primary device attributes: ESC [ ? 62 ; 4 ; ... c, of which 4 means sixel (DEC VT340 and after, from memory). What else comes
 * meanwhile are keys. */
bool terminal_shows_sixel(void) {
  static const char ask[] = "\x1b[c";
  char reply[REPLY_SIZE] = "";
  size_t size = 0;
  char *begin = NULL, *end = NULL;
  const double until_s = monotonic_s() + 1e-3 * SIXEL_WAIT_MS;
  put(ask, sizeof ask - 1);
  while (!end && size + 1 < sizeof reply && monotonic_s() < until_s) {
    if (!ready(until_s - monotonic_s())) break;
    const ssize_t got = read(STDIN_FILENO, reply + size, sizeof reply - 1 - size);
    if (got <= 0) break;
    size += (size_t)got;
    reply[size] = '\0';
    begin = memmem(reply, size, "\x1b[?", 3);
    end = begin ? memchr(begin, 'c', size - (size_t)(begin - reply)) : NULL;
  }
  bool sixel = false;
  if (end) {
    for (char *at = begin + 3; at && at < end; at = memchr(at, ';', (size_t)(end - at)) ? strchr(at, ';') + 1 : NULL)
      if (strtol(at, NULL, 10) == 4) sixel = true;
    memmove(begin, end + 1, size - (size_t)(end + 1 - reply));
    size -= (size_t)(end + 1 - begin);
  }
  memcpy(pushed_back, reply, size);
  pushed_back_size = size;
  return sixel;
}

/* Leaves out cursor keys and the like: ESC [ or ESC O, up to a letter. An escape by itself stays. */
static size_t without_sequences(char *keys, size_t count) {
  size_t kept = 0;
  for (size_t i = 0; i < count; i++) {
    const char letter = keys[i];
    if (in_sequence) {
      if (letter >= 0x40 && letter <= 0x7E) in_sequence = false;
    } else if (letter == '\x1b' && i + 1 < count && (keys[i + 1] == '[' || keys[i + 1] == 'O')) {
      in_sequence = true;
      i++;
    } else {
      keys[kept++] = letter;
    }
  }
  return kept;
}

int terminal_read(double wait_s, char *keys, size_t size) {
  if (pushed_back_size > 0) {
    const size_t count = pushed_back_size < size ? pushed_back_size : size;
    memcpy(keys, pushed_back, count);
    pushed_back_size = 0;
    return (int)without_sequences(keys, count);
  }
  if (!ready(wait_s)) return 0;
  const ssize_t got = read(STDIN_FILENO, keys, size);
  if (got < 0 && (errno == EINTR || errno == EAGAIN)) return 0;
  if (got <= 0) return -1;
  return (int)without_sequences(keys, (size_t)got);
}
