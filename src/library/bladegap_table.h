/* What is behind a bladegap_table. */
#ifndef LIBRARY_BLADEGAP_TABLE_H
#define LIBRARY_BLADEGAP_TABLE_H

#include "base/grid.h"
#include "library/bladegap.h"
#include "library/edge.h"

struct bladegap_table {
  struct grid grid;
};

/* An empty one; NULL and a text if there is no memory. */
bladegap_table *bladegap_table_create(struct edge edge);

/* When it is filled: the table, or NULL and a text if memory ran out. */
bladegap_table *bladegap_table_finish(bladegap_table *table, struct edge edge);

#endif
