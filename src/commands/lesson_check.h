/* Every fault of a lesson, without a page: what `check` does with one. */
#ifndef COMMANDS_LESSON_CHECK_H
#define COMMANDS_LESSON_CHECK_H

#include "base/error.h"

/* Reads it, computes what it asks for, and tries all that its pages would say. STATUS_BAD_CONFIG with every fault; STATUS_NO_INPUT. */
MUST_CHECK enum status lesson_check_file(const char *path, struct error *error);

#endif
