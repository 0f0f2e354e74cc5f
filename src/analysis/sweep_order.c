#include "analysis/sweep_order.h"

#include <stdlib.h>
#include <string.h>

// Points a hand takes at a time: so many that a gap table which two hands both make weighs little, and so few that no hand idles long.
enum { BLOCK_LEAST = 16, BLOCK_MOST = 128 };

/* Whether the gap between blade and wall differs along an axis. */
static bool alters_gap(const struct sweep *sweep, const struct sweep_axis *axis) {
  if (axis->learned || axis->count < 2) return false;
  struct engine engines[2] = {sweep->engine, sweep->engine};
  struct conditions conditions[2] = {sweep->query.conditions, sweep->query.conditions};
  for (int i = 0; i < 2; i++) setting_apply(&axis->setting, axis->values[i], &engines[i], &conditions[i]);
  const struct throttle_params *a = &engines[0].plant.throttle, *b = &engines[1].plant.throttle;
  return !film_bore_is_of(&(struct film_bore){.bore = a->bore, .shape = a->film_shape}, &b->bore, &b->film_shape) ||
         conditions[0].film_m < conditions[1].film_m || conditions[0].edge_film_m < conditions[1].edge_film_m;
}

enum status sweep_order_make(const struct sweep *sweep, size_t first, size_t count, struct sweep_order *order,
                             struct error *error) {
  *order = (struct sweep_order){0};
  order->points = calloc(count + 1, sizeof *order->points);
  order->begins = calloc(count + 1, sizeof *order->begins);
  if (!order->points || !order->begins) return error_set(error, STATUS_NO_MEMORY, "out of memory for %zu points", count);
  const bool runs = sweep->scenario != NULL; // a run shares nothing with the next
  const bool slow_alters = !runs && alters_gap(sweep, &sweep->axes[0]);
  const bool quick_alters = !runs && sweep->axis_count == 2 && alters_gap(sweep, &sweep->axes[1]);
  const size_t quick_count = sweep->axis_count == 2 ? sweep->axes[1].count : 1;
  const size_t columns = quick_alters && !slow_alters ? quick_count : 1; // what is walked column by column
  for (size_t column = 0; column < columns; column++)
    for (size_t i = (column + columns - first % columns) % columns; i < count; i += columns)
      order->points[order->point_count++] = first + i;
  size_t size = 0;
  for (size_t i = 0; i < count; i++, size++) {
    const size_t slow = order->points[i] / quick_count, quick = order->points[i] % quick_count;
    const bool other_gap = i > 0 && ((slow_alters && slow != order->points[i - 1] / quick_count) ||
                                     (quick_alters && quick != order->points[i - 1] % quick_count));
    if (i > 0 && !runs && size < BLOCK_MOST && !(other_gap && size >= BLOCK_LEAST)) continue;
    order->begins[order->block_count++] = i;
    size = 0;
  }
  order->begins[order->block_count] = count;
  return STATUS_OK;
}

void sweep_order_forget(struct sweep_order *order) {
  free(order->points);
  free(order->begins);
  *order = (struct sweep_order){0};
}
