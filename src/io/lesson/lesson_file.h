/* A lesson as its file has it: CommonMark, in which fenced blocks with our names stand. The only file that knows libcmark.
 *
 * Faults are collected, a line each with file and line: STATUS_BAD_CONFIG. Smart punctuation is off, raw HTML and images are refused. */
#ifndef IO_LESSON_LESSON_FILE_H
#define IO_LESSON_LESSON_FILE_H

#include "base/error.h"
#include "io/lesson/lesson_kind.h"

#include <stdio.h>

enum { LESSON_FILE_MOST = 1 << 20, LESSON_FILE_ITEM_MAX = 400, LESSON_FILE_FIELD_MAX = 40 };

struct lesson_field {
  const char *key;
  char *value; // owned; lines joined
  int line;
};

/* A block of ours, or a piece of text: paragraph, heading, list, quotation. */
struct lesson_item {
  enum lesson_kind kind;
  int line;
  char *name;   // owned; what the block is called, NULL for none
  int sort;     // of a question: enum lesson_sort
  int level;    // of a heading: 1 to 6, else 0
  void *markup; // of prose; of the file
  size_t field_count;
  struct lesson_field fields[LESSON_FILE_FIELD_MAX];
};

struct lesson_file {
  char *path; // owned
  char *text;
  void *document;
  char *title; // owned; of the heading that opens it
  size_t count;
  struct lesson_item *items; // owned; in the order of the file
};

/* Reads and checks it; lesson_file_destroy() in any case. STATUS_NO_INPUT if it cannot be read. */
MUST_CHECK enum status lesson_file_read(const char *path, struct lesson_file *file, struct error *error);
void lesson_file_destroy(struct lesson_file *file);

/* The value of a key, its first; NULL if it is not there. */
const struct lesson_field *lesson_file_field(const struct lesson_item *item, const char *key);
const char *lesson_file_value(const struct lesson_item *item, const char *key);

/* Replaces what stands in {{ }}: a new text, which the caller frees; NULL after a fault that has been told. */
typedef char *(*lesson_file_filler)(const char *text, int line, void *user);

/* A piece of text as HTML, its {{ }} filled. False after a fault of the filler. */
MUST_CHECK bool lesson_file_put_prose(const struct lesson_item *item, lesson_file_filler fill, void *user, FILE *stream);

#endif
