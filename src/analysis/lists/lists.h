/* The tables of this program as rows of text and numbers, for whoever lists them. */
#ifndef ANALYSIS_LISTS_LISTS_H
#define ANALYSIS_LISTS_LISTS_H

#include "base/grid.h"

/* LIST(C name, name at the edge): columns and rows are in lists.c. */
#define LISTS_LIST(LIST) \
  LIST(channels, "channels") \
  LIST(faults, "faults") \
  LIST(codes, "codes") \
  LIST(parameters, "parameters") \
  LIST(readings, "readings") \
  LIST(conditions, "conditions") \
  LIST(causes, "causes") \
  LIST(costs, "costs") \
  LIST(card, "card") \
  LIST(exit_codes, "exit-codes")

enum lists_kind {
#define LIST(name, edge) LISTS_##name,
  LISTS_LIST(LIST)
#undef LIST
      LISTS_COUNT
};
extern const char *const lists_names[LISTS_COUNT];

/* Fills an empty grid, columns first; grid->failed tells of memory that ran out. */
void lists_fill(enum lists_kind kind, struct grid *grid);

#endif
