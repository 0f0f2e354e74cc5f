/* What a block of a lesson shows, that is no question: pictures, tables, estimates, cautions, what the instructor says. */
#ifndef IO_LESSON_LESSON_BLOCK_H
#define IO_LESSON_LESSON_BLOCK_H

#include "io/lesson/lesson_text.h"

/* part: 0 for all; from 1 one of its panels alone, for a slide. */
void lesson_block_picture(const struct lesson_text *text, const struct lesson_item *item, size_t part);
size_t lesson_block_picture_parts(const struct lesson_item *item);

void lesson_block_readings(const struct lesson_text *text, const struct lesson_item *item);
void lesson_block_table(const struct lesson_text *text, const struct lesson_item *item);
void lesson_block_estimate(const struct lesson_text *text, const struct lesson_item *item);
void lesson_block_caution(const struct lesson_text *text, const struct lesson_item *item);
void lesson_block_say(const struct lesson_text *text, const struct lesson_item *item);

/* Tries every claim; show: the sentences too, with the numbers they were tried with. */
void lesson_block_check(const struct lesson_text *text, const struct lesson_item *item, bool show);

#endif
