/* Questions of a lesson: asked in every edition, answered in the instructor's. Answers come from the runs: the right option is the one whose condition
 * holds, the number is what its expression comes to. They are worked out, and refused where there is none, in every edition. */
#ifndef IO_LESSON_LESSON_QUESTION_H
#define IO_LESSON_LESSON_QUESTION_H

#include "io/lesson/lesson_text.h"

/* number: of the question in the lesson, from 1; key: with its answer; fields: to tick and to write in, which slides have not. */
void lesson_question_put(const struct lesson_text *text, const struct lesson_item *item, size_t number, bool key, bool fields);

#endif
