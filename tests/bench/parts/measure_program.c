/* Whole programs: ours with all it writes, how much memory it takes, and the same engine in Python. */
#include "parts/measure.h"

#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>
#include <sys/wait.h>
#include <unistd.h>

struct command {
  const char *arguments[12];
  double peak_mb;
};

/* Runs it with its output thrown away. */
static bool execute(void *user) {
  struct command *command = user;
  const pid_t child = fork();
  if (child == 0) {
    const int nowhere = open("/dev/null", O_WRONLY);
    if (nowhere >= 0) dup2(nowhere, STDOUT_FILENO);
    execv(command->arguments[0], (char *const *)command->arguments);
    _exit(127);
  }
  int state = 0;
  struct rusage usage;
  if (child < 0 || wait4(child, &state, 0, &usage) < 0) return false;
  command->peak_mb = (double)usage.ru_maxrss / 1024.0;
  if (WIFEXITED(state) && WEXITSTATUS(state) == 0) return true;
  fprintf(stderr, "%s failed\n", command->arguments[0]);
  return false;
}

static void memory_row(const char *program, const char *folder, double duration_s) {
  char path[MEASURE_TEXT], here[MEASURE_TEXT], what[MEASURE_TEXT];
  snprintf(path, sizeof path, "%s/idle.cfg", folder);
  FILE *stream = fopen(path, "w");
  if (!stream || !getcwd(here, sizeof here)) return;
  fprintf(
      stream,
      "title = \"idle\"; engine = \"%s/models/four-16.cfg\"; duration_s = %.1f; record_s = 0.1; seed = 1;\nstart = \"idling\";\n",
      here, duration_s);
  fclose(stream);
  struct command command = {{program, "run", path, "--solver", "fast", "--format", "none", "--quiet", "--out", folder, NULL},
                            0.0};
  const double taken_s = measure_median_s(measure_wall_s, execute, &command);
  snprintf(what, sizeof what, "idle, %.0f s, a row every 0.1 s", duration_s);
  measure_row(what, "%.1f MB at most, %.3f s wall", command.peak_mb, taken_s);
  (void)remove(path);
}

void measure_program(const char *program, const char *folder) {
  measure_heading("the program");
  struct command whole = {{program, "run", MEASURE_DROOP, "--solver", "fast", "--quiet", "--out", folder, NULL}, 0.0};
  const double taken_s = measure_median_s(measure_wall_s, execute, &whole);
  measure_row("run " MEASURE_DROOP " --solver fast", "%.3f s wall with CSV, summary and pictures, %.1f MB", taken_s,
              whole.peak_mb);
  struct command list = {{program, "list", "engines", NULL}, 0.0};
  measure_row("list engines", "%.1f ms wall", 1e3 * measure_median_s(measure_wall_s, execute, &list));
  struct command scenarios = {{program, "list", "scenarios", NULL}, 0.0};
  measure_row("list scenarios", "%.1f ms wall", 1e3 * measure_median_s(measure_wall_s, execute, &scenarios));
  struct command sheet = {{program, "testsheet", "four-16", NULL}, 0.0};
  measure_row("testsheet four-16", "%.3f s wall on all cores", measure_median_s(measure_wall_s, execute, &sheet));
  memory_row(program, folder, 1000.0);
  memory_row(program, folder, 8000.0);
  struct command twin = {{"/usr/bin/python3", "tests/reference/twin.py", "models/four-16.cfg", NULL}, 0.0};
  measure_heading(
      "the same engine with scipy's LSODA: tests/reference/twin.py, 145 s and its settling in, where scipy is installed");
  const double start_s = measure_wall_s();
  if (execute(&twin)) {
    const double python_s = measure_wall_s() - start_s;
    measure_row("once, Python's start included", "%.1f s wall, %.1f times real time", python_s, 145.0 / python_s);
  }
}
