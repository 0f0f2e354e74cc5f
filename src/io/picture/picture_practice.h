/* Where a class lost its minutes: by test, beyond what the best plans spent on it. */
#ifndef IO_PICTURE_PICTURE_PRACTICE_H
#define IO_PICTURE_PICTURE_PRACTICE_H

#include "analysis/estimate/estimate_hypothesis.h"
#include "io/picture/picture.h"

enum { PICTURE_PRACTICE_MAX = 120, PICTURE_PRACTICE_SHOWN = 10 };

struct picture_practice_row {
  char test[ESTIMATE_NAME_SIZE];
  double minutes; // beyond the best plans, of all cases together; below 0: less than they
};

struct picture_practice {
  const char *title; // which class
  int cases;         // that were answered
  size_t count;
  struct picture_practice_row rows[PICTURE_PRACTICE_MAX]; // most first
};

/* The format of a path's ending; STATUS_USAGE for another. */
MUST_CHECK enum status picture_practice_format(const char *path, enum picture_format *format, struct error *error);

MUST_CHECK enum status picture_practice_draw(const struct picture_practice *class_of, const struct picture_target *target,
                                             struct error *error);

#endif
