/* Calls of the library that must fail, for the tests of bad input. */
#ifndef UNIT_LIBRARY_REFUSED_H
#define UNIT_LIBRARY_REFUSED_H

#include "library/bladegap.h"
#include "support/check.h"

#include <stdlib.h>
#include <string.h>

static char text[BLADEGAP_ERROR_SIZE];

/* A call that must fail: its code, and a text in which the word stands. */
static inline void refused(int line, int code, int expected, const char *says) {
  if (code != expected || !strstr(text, says))
    fail_msg("line %d: code %d, \"%s\"; wanted %d, \"%s\"", line, code, text, expected, says);
  memset(text, 'x', sizeof text - 1);
}
#define REFUSED(call, expected, says) refused(__LINE__, call, expected, says)
#define NOTHING(call, says)           refused(__LINE__, (call) == NULL ? BLADEGAP_USAGE : -1, BLADEGAP_USAGE, says)
#define TEXT                          text, sizeof text

static inline bladegap_engine *engine_of(const char *name) {
  bladegap_engine *engine = bladegap_engine_shipped(name, TEXT);
  assert_non_null(engine);
  assert_string_equal(text, "");
  return engine;
}

/* 200 kB of a name. */
static inline char *long_name(void) {
  enum { SIZE = 200000 };
  char *name = malloc(SIZE);
  assert_non_null(name);
  memset(name, 'f', SIZE - 1);
  name[SIZE - 1] = '\0';
  return name;
}

#endif
