#include "io/picture/gnuplot_start.h"

#include "base/attributes.h"

#include <errno.h>
#include <fcntl.h>
#include <signal.h>
#include <spawn.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

extern char **environ;

void gnuplot_start_close(int *end) {
  if (*end >= 0) close(*end);
  *end = -1;
}

/* Variables by which a user's settings would change what is drawn or which files are read. */
static bool is_unwanted(const char *variable) {
  static const char *const starts[] = {"GNUPLOT",     "GNUTERM=", "GNUHELP=", "GNUFITLOG=", "FIT_",
                                       "GDFONTPATH=", "LC_",      "LANG=",    "LANGUAGE="};
  for (size_t i = 0; i < ARRAY_COUNT(starts); i++)
    if (strncmp(variable, starts[i], strlen(starts[i])) == 0) return true;
  return false;
}

/* The environment without those; the strings are the process's own. */
static char **clean_environment(void) {
  static char utf8[] = "LC_ALL=C.UTF-8"; // the labels are UTF-8
  size_t count = 0, kept = 0;
  while (environ && environ[count]) count++;
  char **variables = calloc(count + 2, sizeof *variables);
  if (!variables) return NULL;
  for (size_t i = 0; i < count; i++)
    if (!is_unwanted(environ[i])) variables[kept++] = environ[i];
  variables[kept] = utf8;
  return variables;
}

/* Two pipe ends above the standard three, so that the moves in the child cannot clash. */
static bool make_pipe(int ends[2]) {
  int raw[2];
  if (pipe2(raw, O_CLOEXEC) != 0) return false;
  for (int i = 0; i < 2; i++) {
    ends[i] = fcntl(raw[i], F_DUPFD_CLOEXEC, 3);
    close(raw[i]);
  }
  if (ends[0] >= 0 && ends[1] >= 0) return true;
  gnuplot_start_close(&ends[0]);
  gnuplot_start_close(&ends[1]);
  return false;
}

/* posix_spawnp with the pipes as standard files and no signal blocked or ignored; 0 or an errno. */
static int spawn(struct gnuplot_start *started, const int theirs[3], bool apart) {
  static char program[] = "gnuplot", defaults_only[] = "-d";
  char *arguments[] = {program, defaults_only, NULL};
  char **variables = clean_environment();
  if (!variables) return ENOMEM;
  posix_spawn_file_actions_t moves;
  posix_spawnattr_t attributes;
  sigset_t none, all;
  sigemptyset(&none);
  sigfillset(&all);
  int reason = posix_spawn_file_actions_init(&moves);
  if (reason) {
    free(variables);
    return reason;
  }
  reason = posix_spawnattr_init(&attributes);
  if (!reason) {
    for (int i = 0; i < 3 && !reason; i++) reason = posix_spawn_file_actions_adddup2(&moves, theirs[i], i);
    posix_spawnattr_setsigmask(&attributes, &none);
    posix_spawnattr_setsigdefault(&attributes, &all);
    posix_spawnattr_setpgroup(&attributes, 0);
    posix_spawnattr_setflags(&attributes,
                             (short)(POSIX_SPAWN_SETSIGMASK | POSIX_SPAWN_SETSIGDEF | (apart ? POSIX_SPAWN_SETPGROUP : 0)));
    if (!reason) reason = posix_spawnp(&started->process, program, &moves, &attributes, arguments, variables);
    posix_spawnattr_destroy(&attributes);
  }
  posix_spawn_file_actions_destroy(&moves);
  free(variables);
  return reason;
}

int gnuplot_start(struct gnuplot_start *started, bool apart) {
  int in[2] = {-1, -1}, out[2] = {-1, -1}, err[2] = {-1, -1};
  int reason = 0;
  started->process = 0;
  if (!make_pipe(in) || !make_pipe(out) || !make_pipe(err)) reason = errno ? errno : EMFILE;
  if (!reason) reason = spawn(started, (const int[]){in[0], out[1], err[1]}, apart);
  if (reason) started->process = 0;
  gnuplot_start_close(&in[0]);
  gnuplot_start_close(&out[1]);
  gnuplot_start_close(&err[1]);
  started->to_stdin = in[1];
  started->from_stdout = out[0];
  started->from_stderr = err[0];
  if (!reason && fcntl(started->to_stdin, F_SETFL, O_NONBLOCK) != 0) reason = errno;
  return reason;
}

enum status gnuplot_start_why(int reason, char why[GNUPLOT_START_WHY_SIZE]) {
  const bool missing = reason == ENOENT || reason == EACCES || reason == ENOTDIR;
  if (missing)
    snprintf(why, GNUPLOT_START_WHY_SIZE, "gnuplot is not installed; apt-get install gnuplot-nox");
  else
    snprintf(why, GNUPLOT_START_WHY_SIZE, "gnuplot cannot be started: %s", strerror(reason));
  return missing ? STATUS_NO_HELPER : STATUS_INTERNAL;
}
