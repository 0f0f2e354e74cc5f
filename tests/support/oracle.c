#include "support/oracle.h"

#include "support/check.h"

#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>

int oracle_read(void **state, const char *command, const char *packages) {
  struct oracle *oracle = calloc(1, sizeof *oracle);
  FILE *pipe = oracle ? popen(command, "r") : NULL;
  if (!pipe) {
    free(oracle);
    return -1;
  }
  oracle->command = command;
  oracle->packages = packages;
  char line[256];
  bool good = true;
  while (good && fgets(line, sizeof line, pipe)) {
    struct oracle_row row;
    good = oracle->count < ORACLE_ROW_MAX &&
           sscanf(line, "%15[a-z],%lf,%lf,%lf,%lf,%lf", row.kind, &row.a, &row.b, &row.c, &row.d, &row.value) == 6;
    if (good)
      oracle->rows[oracle->count++] = row;
    else
      print_error("%s: row %zu is not understood: %s", command, oracle->count + 1, line);
  }
  const int status = pclose(pipe);
  oracle->exit_code = good && WIFEXITED(status) ? WEXITSTATUS(status) : -1;
  *state = oracle;
  return 0;
}

int oracle_free(void **state) {
  free(*state);
  return 0;
}

const struct oracle *oracle_or_skip(void **state) {
  const struct oracle *oracle = *state;
  if (oracle->exit_code == ORACLE_NOT_INSTALLED || oracle->exit_code == ORACLE_NO_COMMAND) {
    print_message("SKIPPED: no %s for /usr/bin/python3 (exit code %d); apt-get install %s\n", oracle->packages, oracle->exit_code,
                  oracle->packages);
    skip();
  }
  if (oracle->exit_code != 0) fail_msg("\"%s\" failed with exit code %d", oracle->command, oracle->exit_code);
  return oracle;
}

void oracle_for_each(const struct oracle *oracle, const char *kind, size_t expected,
                     void (*check)(const struct oracle_row *row)) {
  size_t count = 0;
  for (size_t i = 0; i < oracle->count; i++) {
    if (strcmp(oracle->rows[i].kind, kind) != 0) continue;
    count++;
    check(&oracle->rows[i]);
  }
  assert_int_equal(count, expected);
}
