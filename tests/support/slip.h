/* For tests of the settings readers: a good file in which one thing is changed, and the message that must
 * follow. */
#ifndef SUPPORT_SLIP_H
#define SUPPORT_SLIP_H

#include "base/error.h"

#include <stddef.h>

#define SLIP_MODEL "models/four-16.cfg" // tests run at the root of the sources
#define SLIP_DATA  "tests/unit/data/"

enum { SLIP_TEXT_SIZE = 1 << 16, SLIP_PATH_SIZE = 64 };

/* One slip: in a text, the first `find` becomes `replace`, which must give exactly this message, in the line
 * where `at` then stands (NULL: in the line where `find` began). */
struct slip {
  const char *find, *replace, *at, *message;
};

/* A folder of its own under /tmp, with the two names that tests write to. */
struct slip_folder {
  char path[SLIP_PATH_SIZE], engine_path[SLIP_PATH_SIZE], scenario_path[SLIP_PATH_SIZE];
  char model[SLIP_TEXT_SIZE]; // the text of SLIP_MODEL
};

/* The folder of a group of tests: there from slip_begin(), removed by slip_end(), which are made for cmocka_run_group_tests(). */
extern struct slip_folder slip_here;
int slip_begin(void **state);
int slip_end(void **state);

void slip_write(const char *path, const char *bytes, size_t size);

/* Writes the text with the slip in it. Returns the line that the message must name. */
int slip_make(const char *path, const char *text, const struct slip *slip);

/* Makes the slip and reads the file: STATUS_BAD_CONFIG and this one message must come. */
void slip_assert(const char *path, const char *text, const struct slip *slip,
                 enum status (*read)(const char *path, struct error *error));

/* Reads the scenario and forgets it: for what is told of it. */
enum status slip_read_scenario(const char *path, struct error *error);

/* Equal but for the rounding of one conversion of unit. */
void slip_assert_close(double value, double wanted);

#endif
