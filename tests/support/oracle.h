/* Answers of another program, for tests against the outside: a script prints rows "kind,a,b,c,d,value".
 *
 * Exit codes of the script: 0 good; 77 the library it asks is not installed, 127 there is no interpreter: then every test that
 * wants the answers is reported as skipped, with the reason. A skipped test says nothing about the code. Any other failure of the
 * script is a failure of the test. */
#ifndef SUPPORT_ORACLE_H
#define SUPPORT_ORACLE_H

#include <stddef.h>

enum { ORACLE_ROW_MAX = 4000, ORACLE_NOT_INSTALLED = 77, ORACLE_NO_COMMAND = 127 };

struct oracle_row {
  char kind[16];
  double a, b, c, d, value;
};

struct oracle {
  const char *command, *packages;
  int exit_code; // -1 if a row was not understood
  size_t count;
  struct oracle_row rows[ORACLE_ROW_MAX];
};

/* For the set-up of a group: runs the command from the source folder and leaves a struct oracle in *state. packages: Debian's names,
 * for the message of a skipped test. 0 if all went well, as cmocka wants it. */
int oracle_read(void **state, const char *command, const char *packages);
int oracle_free(void **state);

/* Skips the test where the packages are missing. */
const struct oracle *oracle_or_skip(void **state);

/* Calls check for each row of a kind, and wants exactly so many: an empty answer must not pass. */
void oracle_for_each(const struct oracle *oracle, const char *kind, size_t expected, void (*check)(const struct oracle_row *row));

#endif
