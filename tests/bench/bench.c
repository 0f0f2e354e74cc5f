/* How fast it all is, in one table of Markdown on stdout. It measures and never fails on a time.
 *
 *   bench_bench PROGRAM          from the top of the source tree; PROGRAM: the built bladegap
 *
 * Medians of five, all from this one run on this one machine; what is measured stands in parts/. */
#include "base/attributes.h"
#include "io/picture/picture.h"
#include "parts/measure.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

static void print_machine(void) {
  char line[MEASURE_TEXT], model[MEASURE_TEXT] = "unknown processor";
  int count = 0;
  FILE *stream = fopen("/proc/cpuinfo", "r");
  while (stream && fgets(line, sizeof line, stream)) {
    const char *colon = strchr(line, ':');
    if (strncmp(line, "model name", 10) != 0 || !colon) continue;
    snprintf(model, sizeof model, "%s", colon + 2);
    model[strcspn(model, "\n")] = '\0';
    count++;
  }
  if (stream) fclose(stream);
  double load = 0.0;
  getloadavg(&load, 1);
  printf("Machine: %s, %d processors, %.1f jobs on them at the start; compiler %s. Medians of %d.\n\n", model, count, load,
         __VERSION__, MEASURE_REPEATS);
}

/* The folder and the files that the parts leave in it. */
static void remove_folder(const char *folder) {
  static const char *const others[] = {"run.csv", "events.csv", "summary.txt"};
  char path[2 * MEASURE_TEXT];
  for (size_t i = 0; i < ARRAY_COUNT(others); i++) {
    snprintf(path, sizeof path, "%s/%s", folder, others[i]);
    (void)remove(path);
  }
  for (int i = 0; i < PICTURE_COUNT; i++) {
    snprintf(path, sizeof path, "%s/%s.png", folder, picture_rows[i].name);
    (void)remove(path);
  }
  if (rmdir(folder) != 0) fprintf(stderr, "%s is not empty and stays\n", folder);
}

int main(int argument_count, char **arguments) {
  char folder[] = "/tmp/bladegap-bench-XXXXXX";
  if (argument_count != 2 || !mkdtemp(folder)) {
    fprintf(stderr, "usage: bench_bench PROGRAM, from the top of the source tree\n");
    return 2;
  }
  print_machine();
  printf("| what | measured |\n|---|---|\n");
  measure_solvers();
  measure_equal_error();
  measure_settled();
  measure_live();
  measure_output(folder);
  measure_program(arguments[1], folder);
  remove_folder(folder);
  return 0;
}
