/* A lesson as one HTML file that needs nothing else: for students, for the instructor, or as slides. */
#ifndef IO_LESSON_LESSON_PAGE_H
#define IO_LESSON_LESSON_PAGE_H

#include "io/lesson/lesson_text.h"

enum lesson_page_edition { LESSON_PAGE_STUDENTS, LESSON_PAGE_KEY, LESSON_PAGE_SLIDES };

/* What the writer of a live bench does; faults go to text. */
struct lesson_page_live {
  const char *policy; // what the page's own policy must allow for it
  void (*put)(const struct lesson_text *text, const struct lesson_item *item, void *user);
  void (*end)(FILE *stream, void *user); // once, after the last
  void *user;
};

/* Writes it. Every fault is a line of text->error with file and line; what was written is then worth nothing. */
MUST_CHECK enum status lesson_page_put(const struct lesson_text *text, enum lesson_page_edition edition,
                                       const struct lesson_page_live *live);

#endif
