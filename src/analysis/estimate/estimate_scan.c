#include "analysis/estimate/estimate_scan.h"

#include "base/units.h"
#include "control/position.h"
#include "plant/blade.h"
#include "plant/plant.h"

#include <math.h>

const struct estimate_scan_row estimate_scan_rows[ESTIMATE_SCAN_COUNT] = {
    [ESTIMATE_SCAN_load] = {"load_pct", "load_definition", offsetof(struct scan_params, load_definition), COMPUTER_LOAD_UNKNOWN},
    [ESTIMATE_SCAN_relative] = {"blade_pct", "relative_definition", offsetof(struct scan_params, relative_definition),
                                COMPUTER_RELATIVE_UNKNOWN},
    [ESTIMATE_SCAN_key_on] = {"tp_pct@key_on", "key_on_definition", offsetof(struct scan_params, key_on_definition),
                              COMPUTER_KEY_ON_UNKNOWN},
};

enum estimate_scan_item estimate_scan_of(enum estimate_quantity quantity, enum estimate_condition condition) {
  if (quantity == ESTIMATE_QUANTITY_load_pct) return ESTIMATE_SCAN_load;
  if (quantity == ESTIMATE_QUANTITY_blade_pct) return ESTIMATE_SCAN_relative;
  const bool position =
      quantity == ESTIMATE_QUANTITY_tp_pct || quantity == ESTIMATE_QUANTITY_tps1_v || quantity == ESTIMATE_QUANTITY_tps2_v;
  return position && condition == ESTIMATE_CONDITION_key_on ? ESTIMATE_SCAN_key_on : ESTIMATE_SCAN_COUNT;
}

bool estimate_scan_known(const struct engine *engine, enum estimate_quantity quantity, enum estimate_condition condition) {
  const struct scan_params *scan = &engine->computer.scan;
  switch (estimate_scan_of(quantity, condition)) {
  case ESTIMATE_SCAN_load:
    return scan->load_definition != COMPUTER_LOAD_UNKNOWN;
  case ESTIMATE_SCAN_relative:
    return scan->relative_definition != COMPUTER_RELATIVE_UNKNOWN;
  case ESTIMATE_SCAN_key_on:
    return scan->key_on_definition != COMPUTER_KEY_ON_UNKNOWN;
  default:
    return true;
  }
}

/* Share of the travel at which the springs leave the blade. */
static double rest_share(const struct engine *car) {
  const struct throttle_params *throttle = &car->plant.throttle;
  return (plant_rest_angle_rad(&car->plant) - throttle->bore.closed_angle_rad) / plant_travel_rad(throttle);
}

static double position_pct(const struct engine *car, double share) {
  const struct throttle_params *throttle = &car->plant.throttle;
  return 100.0 * (throttle->closed_position_ratio + share * (throttle->open_position_ratio - throttle->closed_position_ratio));
}

/* learned: what track 1 read where the computer took the blade for closed. */
static void show_relative(const struct engine *car, double learned, struct estimate_point *point) {
  const struct scan_params *scan = &car->computer.scan;
  const bool at_rest = scan->relative_definition == COMPUTER_RELATIVE_ABOVE_REST;
  if (scan->relative_definition != COMPUTER_RELATIVE_ABOVE_STOP && !at_rest) return;
  const double given_pct = 100.0 * scan->relative_zero_ratio;
  const double shift_pct = blade_has_drive(&car->plant) ? 100.0 * learned - position_pct(car, 0.0) : 0.0;
  const double zero_pct = given_pct > 0.0 ? given_pct : shift_pct + position_pct(car, at_rest ? rest_share(car) : 0.0);
  point->values[CHANNEL_blade_pct] = fmax(point->values[CHANNEL_tp_pct] - zero_pct, 0.0);
}

/* The blade that the drive has let go: by as much further open than the computer would have it. */
static void show_rest(const struct engine *car, struct estimate_point *point) {
  const struct throttle_params *throttle = &car->plant.throttle;
  const double share = rest_share(car), moved = share - UNITS_RATIO_PER_PCT * point->values[CHANNEL_blade_pct];
  const double span = throttle->open_position_ratio - throttle->closed_position_ratio;
  const double span2 = throttle->open2_position_ratio - throttle->closed2_position_ratio;
  point->values[CHANNEL_tp_pct] += 100.0 * moved * span;
  point->values[CHANNEL_tps1_v] += moved * span * POSITION_SUPPLY_V;
  point->values[CHANNEL_tps2_v] += moved * span2 * POSITION_SUPPLY_V;
  point->values[CHANNEL_blade_pct] = 100.0 * share;
}

void estimate_scan_know_all(struct engine *engine) {
  for (int i = 0; i < ESTIMATE_SCAN_COUNT; i++) {
    int *choice = (int *)((char *)&engine->computer.scan + estimate_scan_rows[i].offset);
    if (*choice >= estimate_scan_rows[i].known_count) *choice = 0;
  }
}

void estimate_scan_show(const struct engine *car, double learned_ratio, enum estimate_condition condition,
                        struct estimate_point *point) {
  if (condition == ESTIMATE_CONDITION_key_on && car->computer.scan.key_on_definition == COMPUTER_KEY_ON_REST)
    show_rest(car, point);
  show_relative(car, learned_ratio, point);
}

#define REST_DEG 1.0 // how far the place where springs leave a blade differs from car to car: our own choice

/* Where the springs leave the blade is less sure than the instrument. */
static struct estimate_reading as_sure_as_rest(const struct engine *engine, struct estimate_reading reading) {
  if (estimate_scan_of(reading.quantity, reading.condition) != ESTIMATE_SCAN_key_on ||
      engine->computer.scan.key_on_definition != COMPUTER_KEY_ON_REST)
    return reading;
  const struct throttle_params *throttle = &engine->plant.throttle;
  const double share = (throttle->open_position_ratio - throttle->closed_position_ratio) * REST_DEG * UNITS_RAD_PER_DEG /
                       plant_travel_rad(throttle);
  reading.sd = hypot(reading.sd, share * (reading.quantity == ESTIMATE_QUANTITY_tp_pct ? 100.0 : POSITION_SUPPLY_V));
  return reading;
}

void estimate_scan_leave_out(const struct engine *engine, struct estimate_readings *readings) {
  size_t kept = 0;
  for (size_t i = 0; i < readings->count; i++)
    if (estimate_scan_known(engine, readings->readings[i].quantity, readings->readings[i].condition))
      readings->readings[kept++] = as_sure_as_rest(engine, readings->readings[i]);
  readings->left_out += readings->count - kept;
  readings->count = kept;
}

bool estimate_scan_leave_some(const struct engine *engine, const char *place, struct estimate_readings *readings,
                              struct error *error) {
  const size_t given = readings->count;
  estimate_scan_leave_out(engine, readings);
  if (given == 0 || readings->count > 0) return true;
  (void)error_append(
      error, STATUS_BAD_DATA,
      "%s: what this scan tool means by it is not known for %s (group 'scan' of the engine file), and nothing else was "
      "read",
      place, engine->name);
  return false;
}
