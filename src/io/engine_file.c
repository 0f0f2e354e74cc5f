#include "io/engine_file.h"

#include "base/units.h"
#include "io/config_field.h"

#include <assert.h>
#include <string.h>

#define HINT "bladegap list parameters"

enum { TOP_KEY_MAX = 64 };

/* Two values of which one must lie below the other.
 * Columns: group and key of the lower, factor on the upper, group and key of the upper, why. */
struct order {
  const char *low_group, *low_key;
  double factor;
  const char *high_group, *high_key;
  const char *why;
};
static const struct order orders[] = {
    {"drive", "slide_nm", 1.0000001, "drive", "stick_nm", "what holds a blade at rest is not less than what brakes a moving one"},
    {"throttle", "shaft_mm", 2, "throttle", "bore_radius_mm", "the shaft would fill the bore"},
    {"throttle", "closed_position_pct", 1, "throttle", "open_position_pct",
     "the reading rises as the blade opens"},
    {"loads", "alternator_fade_low_rpm", 1, "loads", "alternator_fade_high_rpm",
     "the alternator's output rises between the two"},
    {"crank", "stall_rpm", 1, "supervision", "running_rpm",
     "an engine that counts as started must keep running"},
    {"supervision", "running_rpm", 1, "idle_target", "drive_rpm", "an idling engine must count as started"},
    {"supervision", "running_rpm", 1, "idle_target", "compressor_rpm",
     "an idling engine must count as started"},
};

/* A group's row and its struct within the engine. */
static const struct field *find_row(const struct engine *engine, const char *group, const char *key,
                                    const void **base) {
  for (size_t i = 0; i < ENGINE_PART_COUNT; i++) {
    for (size_t j = 0; j < *engine_parts[i].count; j++) {
      const struct field_group *candidate = &engine_parts[i].groups[j];
      if (strcmp(candidate->name, group) != 0) continue;
      *base = (const char *)engine + engine_parts[i].base + candidate->base;
      return field_find(candidate->fields, candidate->count, key);
    }
  }
  return NULL;
}

static const struct config_setting_t *find_node(const struct config *config, const char *group,
                                                const char *key) {
  const struct config_setting_t *node = config_member(config_root(config), group);
  return node ? config_member(node, key) : NULL;
}

/* A value in the user's unit; NaN if it was faulty. */
static double user_value(const struct engine *engine, const char *group, const char *key) {
  const void *base;
  const struct field *row = find_row(engine, group, key, &base);
  assert(row); // a row of `orders` that names no parameter is our own mistake
  return field_from_si(row, field_real(row, base));
}

static void check_order(struct config *config, const struct engine *engine, const struct order *order) {
  const struct config_setting_t *node = find_node(config, order->low_group, order->low_key);
  if (!node || !find_node(config, order->high_group, order->high_key)) return; // noted as missing already
  const double low = user_value(engine, order->low_group, order->low_key);
  const double high = user_value(engine, order->high_group, order->high_key);
  if (!(low >= order->factor * high)) return; // also when one of them is faulty, hence NaN
  config_fault_at(config, node, "is %.10g; it must be below %s'%s.%s', which is %.10g: %s", low,
                  order->factor > 1.0 ? "twice " : "", order->high_group, order->high_key, high, order->why);
}

/* Every idle target above the speed at which the engine counts as started. */
static void check_targets(struct config *config, const struct engine *engine) {
  const struct config_setting_t *list = find_node(config, "idle_target", "by_coolant_c");
  const struct curve *target = &engine->computer.target.by_coolant;
  for (size_t i = 0; i < target->count; i++) {
    if (!(target->y[i] <= engine->computer.supervision.running_rad_s)) continue;
    if (!find_node(config, "supervision", "running_rpm")) continue;
    config_fault_at(
        config, config_child(list, i),
        "point %zu: y is %.10g; it must be above 'supervision.running_rpm', which is %.10g: an idling "
        "engine must count as started",
        i + 1, target->y[i] / UNITS_RAD_S_PER_RPM,
        engine->computer.supervision.running_rad_s / UNITS_RAD_S_PER_RPM);
  }
}

#define ANGLE_SLACK_DEG 1e-9 // rounding of 83 + 7 degrees through radians is some 1e-14

/* The pedal cannot turn the blade past the bore's axis. */
static void check_wide_open(struct config *config, const struct engine *engine) {
  const struct config_setting_t *list = find_node(config, "pedal", "opening_deg_by_pct");
  const struct curve *opening = &engine->computer.pedal.opening_rad;
  const double closed_deg = engine->plant.throttle.bore.closed_angle_rad / UNITS_RAD_PER_DEG;
  for (size_t i = 0; i < opening->count; i++) {
    const double opening_deg = opening->y[i] / UNITS_RAD_PER_DEG;
    if (!(opening_deg + closed_deg > 90.0 + ANGLE_SLACK_DEG)) continue;
    config_fault_at(
        config, config_child(list, i),
        "point %zu: y is %.10g; with 'throttle.closed_deg', %.10g, the blade would open past 90 degrees",
        i + 1, opening_deg, closed_deg);
  }
}

/* A cable throttle has a bypass valve and a stop screw, an electronic one has neither; air metered by pressure needs no more. */
static void check_throttle_kind(struct config *config, const struct engine *engine) {
  const struct config_setting_t *root = config_root(config);
  const struct config_setting_t *bypass = config_member(root, "bypass");
  if (!find_node(config, "throttle", "kind")) return; // noted as missing already
  const bool cable = engine->plant.throttle.kind == THROTTLE_CABLE;
  if (cable && !bypass)
    config_fault_at(config, find_node(config, "throttle", "kind"),
                    "is \"cable\": the file must have a group 'bypass' for the idle bypass valve");
  if (!cable && bypass)
    config_fault_at(config, bypass, "is for a cable throttle; 'throttle.kind' is \"electronic\": leave the group out");
  const struct config_setting_t *drive = config_member(root, "drive");
  if (cable && drive)
    config_fault_at(config, drive, "is for an electronic throttle; 'throttle.kind' is \"cable\": leave the group out");
  if (!cable && engine->plant.throttle.rest_opening_rad > 0.0)
    config_fault_at(config, find_node(config, "throttle", "rest_opening_deg"),
                    "is for a cable throttle; with 'throttle.kind' \"electronic\" it must be 0");
}

static void check_top_keys(struct config *config) {
  const char *names[TOP_KEY_MAX] = {"title"};
  size_t count = 1;
  for (size_t i = 0; i < ENGINE_PART_COUNT; i++) {
    assert(count + *engine_parts[i].count <= TOP_KEY_MAX);
    for (size_t j = 0; j < *engine_parts[i].count; j++) names[count++] = engine_parts[i].groups[j].name;
  }
  config_field_check_known(config, config_root(config), names, count, HINT);
}

bool engine_file_recognises(const struct config *config) {
  for (size_t i = 0; i < ENGINE_PART_COUNT; i++)
    for (size_t j = 0; j < *engine_parts[i].count; j++)
      if (config_member(config_root(config), engine_parts[i].groups[j].name)) return true;
  return false;
}

static void read_values(struct config *config, struct engine *engine) {
  *engine = (struct engine){0};
  config_stem(config, sizeof engine->name, engine->name);
  config_field_text(config, config_root(config), "title", sizeof engine->title, engine->title);
  for (size_t i = 0; i < ENGINE_PART_COUNT; i++)
    for (size_t j = 0; j < *engine_parts[i].count; j++)
      config_field_group(config, config_root(config), &engine_parts[i].groups[j], HINT,
                         (char *)engine + engine_parts[i].base);
  check_top_keys(config);
  for (size_t i = 0; i < ARRAY_COUNT(orders); i++) check_order(config, engine, &orders[i]);
  check_targets(config, engine);
  check_wide_open(config, engine);
  check_throttle_kind(config, engine);
}

enum status engine_file_read(const char *path, struct engine *engine, struct error *error) {
  struct config *config;
  enum status status = config_open(path, &config, error);
  if (status != STATUS_OK) return status;
  const bool scenario =
      config_member(config_root(config), "timeline") || config_member(config_root(config), "engine");
  if (scenario && !engine_file_recognises(config))
    config_fault(config, 1, "this is a scenario; an engine file is wanted here");
  else
    read_values(config, engine);
  status = config_report(config, error);
  config_close(config);
  return status;
}
