/* Is `estimate` right? Simulated cars, drawn from its priors and driven by the model that runs, are put before it.
 *
 *   bench_calibration compare MODEL CARS      dynamic readings against the forward model's */
#include "compare.h"

#include "commands/threads.h"
#include "io/engine_file.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { PATH_SIZE = 256, THREADS = 2 };
#define SEED 6 // any; results in docs/ were made with this one

int main(int argc, char **argv) {
  struct error error;
  error_clear(&error);
  struct engine *engine = calloc(1, sizeof *engine);
  if (argc != 4 || strcmp(argv[1], "compare") != 0 || !engine) {
    fprintf(stderr, "usage: bench_calibration compare MODEL CARS\n");
    free(engine);
    return EXIT_FAILURE;
  }
  char path[PATH_SIZE];
  snprintf(path, sizeof path, "models/%s.cfg", argv[2]);
  const struct for_each for_each = threads_for_each(THREADS);
  enum status status = engine_file_read(path, engine, &error);
  if (status == STATUS_OK) status = compare_print(engine, (size_t)strtoul(argv[3], NULL, 10), SEED, &for_each, &error);
  if (status != STATUS_OK) fprintf(stderr, "%s\n", error.text);
  free(engine);
  return status == STATUS_OK ? EXIT_SUCCESS : EXIT_FAILURE;
}
