/* The blocks of a lesson and the keys that each takes: a row each. What they do is in docs/lessons.md. */
#ifndef IO_LESSON_LESSON_KIND_H
#define IO_LESSON_LESSON_KIND_H

#include <stdbool.h>
#include <stddef.h>

/* KIND(first word of the fence, what the second word is) */
#define LESSON_KIND_LIST(KIND) \
  KIND(lesson, NOTHING) \
  KIND(run, NAME) \
  KIND(settle, NAME) \
  KIND(sweep, NAME) \
  KIND(estimate, NAME) \
  KIND(picture, NOTHING) \
  KIND(readings, NOTHING) \
  KIND(live, NOTHING) \
  KIND(caution, NOTHING) \
  KIND(table, NOTHING) \
  KIND(question, SORT) \
  KIND(say, NOTHING) \
  KIND(check, NOTHING)

enum lesson_kind {
#define KIND(name, second) LESSON_KIND_##name,
  LESSON_KIND_LIST(KIND)
#undef KIND
      LESSON_KIND_COUNT,
  LESSON_KIND_PROSE = LESSON_KIND_COUNT
};

enum lesson_kind_second { LESSON_KIND_SECOND_NOTHING, LESSON_KIND_SECOND_NAME, LESSON_KIND_SECOND_SORT };

struct lesson_kind_row {
  const char *name;
  enum lesson_kind_second second;
};
extern const struct lesson_kind_row lesson_kind_rows[LESSON_KIND_COUNT];

/* SORT(second word of a question) */
#define LESSON_SORT_LIST(SORT) SORT(choice) SORT(number) SORT(predict) SORT(text)
enum lesson_sort {
#define SORT(name) LESSON_SORT_##name,
  LESSON_SORT_LIST(SORT)
#undef SORT
      LESSON_SORT_COUNT
};
extern const char *const lesson_kind_sorts[LESSON_SORT_COUNT];

/* How often a key stands in a block. */
enum lesson_kind_count { LESSON_KIND_ONE, LESSON_KIND_MAYBE, LESSON_KIND_SOME, LESSON_KIND_ANY };

struct lesson_kind_key {
  enum lesson_kind kind;
  int sort; // of a question; -1: every
  const char *key;
  enum lesson_kind_count count;
};
extern const struct lesson_kind_key lesson_kind_keys[];
extern const size_t lesson_kind_key_count;

/* Whether the row is of such a block. */
bool lesson_kind_has(const struct lesson_kind_key *row, enum lesson_kind kind, int sort);

#endif
