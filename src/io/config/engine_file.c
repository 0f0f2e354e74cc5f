#include "io/config/engine_file.h"

#include "car/engine_check.h"
#include "io/config/config_field.h"

#include <assert.h>
#include <string.h>

#define HINT "bladegap list parameters"

enum { TOP_KEY_MAX = 64 };

static const struct config_setting_t *find_node(const struct config *config, const char *group, const char *key) {
  const struct config_setting_t *node = config_member(config_root(config), group);
  return node ? config_member(node, key) : NULL;
}

/* A contradiction between values becomes a fault at its line. */
static void note_contradiction(const struct engine_check_fault *fault, void *user) {
  struct config *config = user;
  const struct config_setting_t *node = find_node(config, fault->group, fault->key);
  if (!node || !find_node(config, fault->other_group, fault->other_key)) return; // noted as missing already
  if (fault->point)
    config_fault_at(config, config_child(node, fault->point - 1), "point %zu: %s", fault->point, fault->text);
  else
    config_fault_at(config, node, "%s", fault->text);
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
      config_field_group(config, config_root(config), &engine_parts[i].groups[j], HINT, (char *)engine + engine_parts[i].base);
  check_top_keys(config);
  engine_check_each(engine, note_contradiction, config);
  check_throttle_kind(config, engine);
}

enum status engine_file_read(const char *path, struct engine *engine, struct error *error) {
  struct config *config;
  enum status status = config_open(path, &config, error);
  if (status != STATUS_OK) return status;
  const bool scenario = config_member(config_root(config), "timeline") || config_member(config_root(config), "engine");
  if (scenario && !engine_file_recognises(config))
    config_fault(config, 1, "this is a scenario; an engine file is wanted here");
  else
    read_values(config, engine);
  status = config_report(config, error);
  config_close(config);
  return status;
}
