/* The terminal of practice: the only file that knows libedit. */
#include "commands/practice_desk.h"

#include <histedit.h>
#include <stdlib.h>
#include <string.h>
#include <sys/ioctl.h>
#include <unistd.h>

enum { LINE_MOST = 1000, WORDS_MOST = 8, NARROW = 60 };

static const char prompt_text[] = "practice> ";
static char *prompt(EditLine *editor) {
  (void)editor;
  return (char *)(size_t)prompt_text; // libedit wants it without const and leaves it alone
}

struct terminal {
  EditLine *editor; // NULL: stdin is no terminal
  History *history;
};

static struct terminal terminal_begin(void) {
  struct terminal t = {NULL, NULL};
  HistEvent event;
  if (!isatty(STDIN_FILENO) || !isatty(STDOUT_FILENO)) return t;
  t.editor = el_init("bladegap", stdin, stdout, stderr);
  t.history = history_init();
  if (!t.editor || !t.history) return t;
  history(t.history, &event, H_SETSIZE, 200);
  el_set(t.editor, EL_PROMPT, prompt);
  el_set(t.editor, EL_EDITOR, "emacs");
  el_set(t.editor, EL_SIGNAL, 1);
  el_set(t.editor, EL_HIST, history, t.history);
  struct winsize size;
  if (ioctl(STDOUT_FILENO, TIOCGWINSZ, &size) == 0 && size.ws_col > 0 && size.ws_col < NARROW)
    printf("This window has %d columns; tables are made for 100, so they will wrap.\n", size.ws_col);
  return t;
}

static void terminal_end(struct terminal *t) {
  if (t->history) history_end(t->history);
  if (t->editor) el_end(t->editor);
}

/* False at the end. */
static bool next_line(struct terminal *t, const char *ask, char line[LINE_MOST]) {
  line[0] = '\0';
  if (!t->editor) {
    if (!fgets(line, LINE_MOST, stdin)) return false;
  } else {
    int length = 0;
    HistEvent event;
    if (ask) fputs(ask, stdout);
    const char *read = el_gets(t->editor, &length);
    if (!read || length <= 0) return false;
    snprintf(line, LINE_MOST, "%s", read);
    if (t->history && !ask) history(t->history, &event, H_ENTER, read);
  }
  line[strcspn(line, "\r\n")] = '\0';
  return true;
}

/* A note keeps its blanks. */
static size_t split(char *line, char *words[WORDS_MOST]) {
  size_t count = 0;
  for (char *at = line + strspn(line, " \t"); *at && count < WORDS_MOST;) {
    words[count++] = at;
    if (count == 2 && strcmp(words[0], "note") == 0) break;
    at += strcspn(at, " \t");
    if (*at) *at++ = '\0';
    at += strspn(at, " \t");
  }
  return count;
}

/* Cautions were shown: does whoever plays mind them? */
static enum status ask_and_do(struct practice_desk *desk, struct terminal *t, size_t count, char *const *words,
                              struct error *error) {
  char line[LINE_MOST];
  if (!next_line(t, "Read, and will you follow them? yes or no\n", line) || strcmp(line, "yes") != 0) {
    puts("Nothing was done.");
    return STATUS_OK;
  }
  desk->careful = true;
  error_clear(error);
  const enum status status = practice_desk_do(desk, count, words, error);
  desk->careful = false;
  return status;
}

enum status practice_play(struct practice_desk *desk, struct error *error) {
  struct terminal t = terminal_begin();
  char line[LINE_MOST], *show[] = {(char[]){"show"}};
  enum status status = practice_desk_do(desk, 1, show, error);
  puts("help lists what can be done; quit ends it. Minutes cannot be won back.");
  while (status == STATUS_OK && next_line(&t, NULL, line)) {
    char *words[WORDS_MOST];
    const size_t count = split(line, words);
    if (count == 0) continue;
    if (strcmp(words[0], "quit") == 0) break;
    if (strcmp(words[0], "help") == 0) {
      fputs(practice_desk_help, stdout);
      continue;
    }
    status = practice_desk_do(desk, count, words, error);
    if (status == STATUS_NO) status = ask_and_do(desk, &t, count, words, error);
    if (status == STATUS_USAGE || status == STATUS_BAD_DATA) { // said, and it goes on
      printf("%s\n", error->text);
      error_clear(error);
      status = STATUS_OK;
    }
    fflush(stdout);
  }
  terminal_end(&t);
  return status;
}
