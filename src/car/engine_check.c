#include "car/engine_check.h"

#include "base/attributes.h"
#include "base/units.h"

#include <assert.h>
#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

/* Where contradictions go. */
struct listener {
  void (*tell)(const struct engine_check_fault *fault, void *user);
  void *user;
};

PRINTF_LIKE(3, 4)
static void contradict(const struct listener *listener, struct engine_check_fault fault, const char *format, ...) {
  va_list arguments;
  va_start(arguments, format);
  vsnprintf(fault.text, sizeof fault.text, format, arguments);
  va_end(arguments);
  listener->tell(&fault, listener->user);
}

static bool always(const struct engine *engine) {
  (void)engine;
  return true;
}
static bool is_electronic(const struct engine *engine) { return engine->plant.throttle.kind == THROTTLE_ELECTRONIC; }

/* Two values of which one must lie below the other.
 * Columns: group and key of the lower; how it must lie to the upper, and the factor on that; group and key of the upper; which engines;
 * why. */
enum relation { BELOW, NOT_ABOVE };
struct order {
  const char *low_group, *low_key;
  enum relation relation;
  double factor;
  const char *high_group, *high_key;
  bool (*applies)(const struct engine *engine);
  const char *why;
};
static const struct order orders[] = {
    {"drive", "slide_nm", NOT_ABOVE, 1, "drive", "stick_nm", always,
     "what holds a blade at rest is not less than what brakes a moving one"},
    {"throttle", "shaft_mm", BELOW, 2, "throttle", "bore_radius_mm", always, "the shaft would fill the bore"},
    {"throttle", "closed_position_pct", BELOW, 1, "throttle", "open_position_pct", always,
     "the reading rises as the blade opens"},
    {"throttle", "pedal1_released_pct", BELOW, 1, "throttle", "pedal1_floored_pct", is_electronic,
     "the reading rises with the pedal"},
    {"throttle", "pedal2_released_pct", BELOW, 1, "throttle", "pedal2_floored_pct", is_electronic,
     "the reading rises with the pedal"},
    {"loads", "alternator_fade_low_rpm", BELOW, 1, "loads", "alternator_fade_high_rpm", always,
     "the alternator's output rises between the two"},
    {"warmth", "thermostat_opens_c", BELOW, 1, "warmth", "thermostat_open_c", always, "it opens as the coolant warms up"},
    {"crank", "stall_rpm", BELOW, 1, "supervision", "running_rpm", always, "an engine that counts as started must keep running"},
    {"supervision", "running_rpm", BELOW, 1, "idle_target", "drive_rpm", always, "an idling engine must count as started"},
    {"supervision", "running_rpm", BELOW, 1, "idle_target", "compressor_rpm", always, "an idling engine must count as started"},
};

/* A value in the user's unit. */
static double user_value(const struct engine *engine, const char *group, const char *key) {
  for (size_t i = 0; i < ENGINE_PART_COUNT; i++)
    for (size_t j = 0; j < *engine_parts[i].count; j++) {
      const struct field_group *candidate = &engine_parts[i].groups[j];
      if (strcmp(candidate->name, group) != 0) continue;
      const struct field *row = field_find(candidate->fields, candidate->count, key);
      if (row) return field_from_si(row, field_real(row, (const char *)engine + engine_parts[i].base + candidate->base));
    }
  assert(false && "a row of `orders` that names no parameter");
  return 0.0;
}

static void check_order(const struct engine *engine, const struct order *order, const struct listener *listener) {
  const double low = user_value(engine, order->low_group, order->low_key);
  const double high = user_value(engine, order->high_group, order->high_key);
  const double limit = order->factor * high;
  if (!order->applies(engine) || !(order->relation == BELOW ? low >= limit : low > limit)) return;
  contradict(listener, (struct engine_check_fault){order->low_group, order->low_key, 0, order->high_group, order->high_key, ""},
             "is %.10g; it must %s %s'%s.%s', which is %.10g: %s", low, order->relation == BELOW ? "be below" : "not be above",
             order->factor > 1.0 ? "twice " : "", order->high_group, order->high_key, high, order->why);
}

/* Every idle target above the speed at which the engine counts as started. */
static void check_targets(const struct engine *engine, const struct listener *listener) {
  const struct curve *target = &engine->computer.target.by_coolant;
  const double running = engine->computer.supervision.running_rad_s;
  for (size_t i = 0; i < target->count; i++)
    if (target->y[i] <= running)
      contradict(listener, (struct engine_check_fault){"idle_target", "by_coolant_c", i + 1, "supervision", "running_rpm", ""},
                 "y is %.10g; it must be above 'supervision.running_rpm', which is %.10g: an idling engine must count as started",
                 target->y[i] / UNITS_RAD_S_PER_RPM, running / UNITS_RAD_S_PER_RPM);
}

/* A cable throttle has a bypass valve and no motor; an electronic one has no bypass valve. */
static void check_kind(const struct engine *engine, const struct listener *listener) {
  const bool bypass = engine->plant.bypass.step_count > 0, drive = engine->plant.drive.gear_ratio > 0.0;
  if (is_electronic(engine) && bypass)
    contradict(listener, (struct engine_check_fault){"throttle", "kind", 0, "bypass", "step_count", ""},
               "is \"electronic\"; an engine with an idle bypass valve (group bypass) has a cable throttle");
  if (!is_electronic(engine) && !bypass)
    contradict(listener, (struct engine_check_fault){"throttle", "kind", 0, "bypass", "step_count", ""},
               "is \"cable\"; an engine without an idle bypass valve (group bypass) has an electronic throttle");
  if (!is_electronic(engine) && drive)
    contradict(listener, (struct engine_check_fault){"throttle", "kind", 0, "drive", "gear_ratio", ""},
               "is \"cable\"; an engine with a motor at the blade (group drive) has an electronic throttle");
}

#define ANGLE_SLACK_DEG 1e-9 // rounding of 83 + 7 degrees through radians is some 1e-14

/* The pedal cannot turn the blade past the bore's axis. */
static void check_wide_open(const struct engine *engine, const struct listener *listener) {
  const struct curve *opening = &engine->computer.pedal.opening_rad;
  const double closed_deg = engine->plant.throttle.bore.closed_angle_rad / UNITS_RAD_PER_DEG;
  for (size_t i = 0; i < opening->count; i++) {
    const double opening_deg = opening->y[i] / UNITS_RAD_PER_DEG;
    if (opening_deg + closed_deg > 90.0 + ANGLE_SLACK_DEG)
      contradict(listener, (struct engine_check_fault){"pedal", "opening_deg_by_pct", i + 1, "throttle", "closed_deg", ""},
                 "y is %.10g; with 'throttle.closed_deg', %.10g, the blade would open past 90 degrees", opening_deg, closed_deg);
  }
}

static void check_rest_opening(const struct engine *engine, const struct listener *listener) {
  if (is_electronic(engine) && engine->plant.throttle.rest_opening_rad > 0.0)
    contradict(listener, (struct engine_check_fault){"throttle", "rest_opening_deg", 0, "throttle", "kind", ""},
               "is for a cable throttle; with 'throttle.kind' \"electronic\" it must be 0");
}

/* As the blade opens its edge must leave the wall, square to the shaft at least: it goes inwards by R tan(psi0) per radian, less half a
 * land since it leans, less R times the steepest rise of the contour, pi times its height over its length. */
static void check_opens(const struct engine *engine, const struct listener *listener) {
  const struct bore_geometry *bore = &engine->plant.throttle.bore;
  const double closes = tan(bore->closed_angle_rad), land_mm = bore->edge_land_m / UNITS_M_PER_MM;
  const double most_mm = 2.0 * bore->radius_m * closes / UNITS_M_PER_MM;
  if (land_mm >= most_mm) {
    contradict(
        listener, (struct engine_check_fault){"throttle", "edge_land_mm", 0, "throttle", "closed_deg", ""},
        "is %.10g; with this bore and 'throttle.closed_deg' it must be below %.3g: the edge would strike the wall as the blade "
        "opens",
        land_mm, most_mm);
    return;
  }
  if (bore->contour_m <= 0.0) return;
  const double left = closes - 0.5 * bore->edge_land_m / bore->radius_m;
  const double most_um = left * bore->contour_length_m / UNITS_PI / UNITS_M_PER_UM;
  if (bore->contour_m / UNITS_M_PER_UM >= most_um)
    contradict(
        listener, (struct engine_check_fault){"throttle", "contour_um", 0, "throttle", "closed_deg", ""},
        "is %.10g; over 'throttle.contour_mm', which is %.10g, it must be below %.3g: the gap would narrow as the blade opens",
        bore->contour_m / UNITS_M_PER_UM, bore->contour_length_m / UNITS_M_PER_MM, most_um);
}

void engine_check_each(const struct engine *engine, void (*tell)(const struct engine_check_fault *fault, void *user),
                       void *user) {
  const struct listener listener = {tell, user};
  for (size_t i = 0; i < ARRAY_COUNT(orders); i++) check_order(engine, &orders[i], &listener);
  check_targets(engine, &listener);
  check_kind(engine, &listener);
  check_wide_open(engine, &listener);
  check_rest_opening(engine, &listener);
  check_opens(engine, &listener);
}

static void add_line(const struct engine_check_fault *fault, void *user) {
  struct error *error = user;
  char point[32] = "";
  if (fault->point) snprintf(point, sizeof point, "point %zu: ", fault->point);
  (void)error_append(error, STATUS_USAGE, "%s.%s %s%s", fault->group, fault->key, point, fault->text);
}

enum status engine_check(const struct engine *engine, struct error *error) {
  error_clear(error);
  engine_check_each(engine, add_line, error);
  return error->line_count ? error->status : STATUS_OK;
}
