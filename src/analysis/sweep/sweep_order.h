/* The order in which the points of a sweep are computed, and the blocks in which workers take them.
 *
 * No result depends on it, the time does: gap tables cost more than settled points. So points of one bore, or else of one film, come
 * one after another and go to the same hand, whichever axis that is. */
#ifndef ANALYSIS_SWEEP_SWEEP_ORDER_H
#define ANALYSIS_SWEEP_SWEEP_ORDER_H

#include "analysis/sweep/sweep_grid.h"

struct sweep_order {
  size_t point_count, block_count;
  size_t *points; // [point_count], as they are to be computed; owned
  size_t *begins; // [block_count + 1], block i is points[begins[i]] to points[begins[i + 1] - 1]; owned
};

/* Orders points [first, first + count) for so many workers. sweep_order_forget() in any case. */
MUST_CHECK enum status sweep_order_make(const struct sweep *sweep, size_t first, size_t count, size_t worker_count,
                                        struct sweep_order *order, struct error *error);
void sweep_order_forget(struct sweep_order *order);

#endif
