#include "analysis/sweep/sweep_order.h"

#include "sim/film_bore.h"

#include <stdlib.h>

// A hand takes this part of its share of what is left: long blocks first, since where two meet both make the same gap tables, short ones
// at the end, so that all workers are done at about the same time.
enum { PART_OF_SHARE = 4, BLOCK_LEAST = 16 };

/* What another value of an axis costs beside the point itself: with another bore the computer's own table of the clean one is made anew
 * (0.1 ms, ten settled points), with another film some of its gap table (0.02 ms). */
enum cost { COST_NOTHING, COST_FILM, COST_BORE };

static enum cost cost_of(const struct sweep *sweep, const struct sweep_axis *axis, struct engine *tried) {
  if (axis->learned || axis->count < 2) return COST_NOTHING;
  *tried = sweep->engine;
  struct bore_geometry bores[2];
  struct bore_film_shape shapes[2];
  struct conditions conditions[2] = {sweep->query.conditions, sweep->query.conditions};
  for (int i = 0; i < 2; i++) {
    setting_apply(&axis->setting, axis->values[i], tried, &conditions[i]);
    bores[i] = tried->plant.throttle.bore;
    shapes[i] = tried->plant.throttle.film_shape;
  }
  if (!film_bore_alike(&bores[0], &shapes[0], &bores[1], &shapes[1])) return COST_BORE;
  const bool film = conditions[0].film_m < conditions[1].film_m || conditions[0].edge_film_m < conditions[1].edge_film_m;
  return film ? COST_FILM : COST_NOTHING;
}

static void order_points(const struct sweep *sweep, size_t first, size_t count, struct engine *tried, struct sweep_order *order) {
  const bool two = sweep->axis_count == 2;
  const bool by_column = two && cost_of(sweep, &sweep->axes[1], tried) > cost_of(sweep, &sweep->axes[0], tried);
  const size_t columns = by_column ? sweep->axes[1].count : 1;
  for (size_t column = 0; column < columns; column++)
    for (size_t i = (column + columns - first % columns) % columns; i < count; i += columns)
      order->points[order->point_count++] = first + i;
}

static void cut_into_blocks(size_t block_least, size_t worker_count, struct sweep_order *order) {
  size_t next = 0;
  while (next < order->point_count) {
    const size_t left = order->point_count - next, part = left / (PART_OF_SHARE * worker_count);
    const size_t size = part > block_least ? part : block_least;
    order->begins[order->block_count++] = next;
    next += size < left ? size : left;
  }
  order->begins[order->block_count] = order->point_count;
}

enum status sweep_order_make(const struct sweep *sweep, size_t first, size_t count, size_t worker_count,
                             struct sweep_order *order, struct error *error) {
  *order = (struct sweep_order){0};
  order->points = calloc(count + 1, sizeof *order->points);
  order->begins = calloc(count + 1, sizeof *order->begins);
  struct engine *tried = malloc(sizeof *tried); // as large as a stack frame may be
  if (!order->points || !order->begins || !tried) {
    free(tried);
    return error_set(error, STATUS_NO_MEMORY, "out of memory for %zu points", count);
  }
  order_points(sweep, first, count, tried, order);
  free(tried);
  cut_into_blocks(sweep->scenario ? 1 : BLOCK_LEAST, worker_count, order);
  return STATUS_OK;
}

void sweep_order_forget(struct sweep_order *order) {
  free(order->points);
  free(order->begins);
  *order = (struct sweep_order){0};
}
