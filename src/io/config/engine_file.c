#include "io/config/engine_file.h"

#include "car/engine_check.h"
#include "io/config/config_field.h"
#include "io/config/engine_good.h"
#include "io/config/engine_like.h"
#include "io/config/engine_ties.h"

#include <assert.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define HINT "bladegap list parameters"

enum { TOP_KEY_MAX = 64 };

static const struct config_setting_t *find_node(const struct config *config, const char *group, const char *key) {
  const struct config_setting_t *node = config_member(config_root(config), group);
  return node ? config_member(node, key) : NULL;
}

static bool is_like(const struct config *config) { return config_member(config_root(config), ENGINE_LIKE_KEY) != NULL; }

/* A value given here, or its factor; NULL if the file says nothing of it. */
static const struct config_setting_t *find_own(const struct config *config, const char *group, const char *key) {
  const struct config_setting_t *node = find_node(config, group, key);
  const struct config_setting_t *scale = config_member(config_root(config), ENGINE_SCALE_KEY);
  const struct config_setting_t *factors = !node && scale ? config_member(scale, group) : NULL;
  return factors ? config_member(factors, key) : node;
}

/* Of a file that starts from another engine: at the line of whichever of the two values stands here. */
static void note_own_contradiction(const struct engine_check_fault *fault, struct config *config) {
  const struct config_setting_t *node = find_own(config, fault->group, fault->key);
  const struct config_setting_t *other = find_own(config, fault->other_group, fault->other_key);
  char point[40] = "";
  if (fault->point) snprintf(point, sizeof point, "%spoint %zu: ", node ? "" : "has ", fault->point);
  if (node)
    config_fault_at(config, node, "%s%s", point, fault->text);
  else
    config_fault(config, other ? config_line(other) : 1, "with this, key '%s.%s' of the engine named by like %s%s", fault->group,
                 fault->key, point, fault->text);
}

/* A contradiction between values becomes a fault at its line. */
static void note_contradiction(const struct engine_check_fault *fault, void *user) {
  struct config *config = user;
  if (is_like(config)) {
    note_own_contradiction(fault, config);
    return;
  }
  const struct config_setting_t *node = find_node(config, fault->group, fault->key);
  if (!node || !find_node(config, fault->other_group, fault->other_key)) return; // noted as missing already
  if (fault->point)
    config_fault_at(config, config_child(node, fault->point - 1), "point %zu: %s", fault->point, fault->text);
  else if (strcmp(fault->key, "kind") != 0) // check_throttle_kind() has better words for a whole file
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
    assert(count + *engine_parts[i].count + 5 <= TOP_KEY_MAX);
    for (size_t j = 0; j < *engine_parts[i].count; j++) names[count++] = engine_parts[i].groups[j].name;
  }
  names[count++] = ENGINE_LIKE_KEY;
  names[count++] = ENGINE_SCALE_KEY;
  names[count++] = ENGINE_TIES_KEY;
  names[count++] = ENGINE_TIES_OF_KEY;
  names[count++] = ENGINE_GOOD_KEY;
  config_field_check_known(config, config_root(config), names, count, HINT);
}

bool engine_file_recognises(const struct config *config) {
  if (is_like(config)) return true;
  for (size_t i = 0; i < ENGINE_PART_COUNT; i++)
    for (size_t j = 0; j < *engine_parts[i].count; j++)
      if (config_member(config_root(config), engine_parts[i].groups[j].name)) return true;
  return false;
}

/* A whole file: every key is wanted. */
static void read_whole(struct config *config, struct engine *engine) {
  const struct config_setting_t *scale = config_member(config_root(config), ENGINE_SCALE_KEY);
  *engine = (struct engine){0};
  config_field_text(config, config_root(config), "title", sizeof engine->title, engine->title);
  for (size_t i = 0; i < ENGINE_PART_COUNT; i++)
    for (size_t j = 0; j < *engine_parts[i].count; j++)
      config_field_group(config, config_root(config), &engine_parts[i].groups[j], HINT, (char *)engine + engine_parts[i].base);
  if (scale)
    config_fault_at(config, scale, "multiplies values of the engine named by '" ENGINE_LIKE_KEY "'; this file names none");
}

/* What differs from the engine that *engine holds. */
static void read_over(struct config *config, struct engine *engine) {
  char base[sizeof engine->name], own[sizeof engine->name];
  snprintf(base, sizeof base, "%s", engine->name);
  config_stem(config, sizeof own, own);
  snprintf(engine->title, sizeof engine->title, "%.70s, like %.70s", own, base); // it is not the engine whose title that was
  if (config_member(config_root(config), "title"))
    config_field_text(config, config_root(config), "title", sizeof engine->title, engine->title);
  for (size_t i = 0; i < ENGINE_PART_COUNT; i++)
    for (size_t j = 0; j < *engine_parts[i].count; j++)
      config_field_group_over(config, config_root(config), &engine_parts[i].groups[j], HINT,
                              (char *)engine + engine_parts[i].base);
  engine_like_scale(config, engine, HINT);
}

static enum status read_chain(const char *path, const struct engine_like_link *before, struct engine *engine,
                              struct error *error);

/* The engine that the file starts from. Its own faults are told with its own lines; that it has some is a fault here. */
static enum status read_base(struct config *config, const struct engine_like_link *chain, struct engine *engine,
                             struct error *error) {
  char *path = malloc(FIND_FILE_PATH_SIZE); // not on the stack: files may be like files
  if (!path) return error_append(error, STATUS_NO_MEMORY, "%s: out of memory", chain->path);
  enum status status = STATUS_BAD_CONFIG;
  if (engine_like_find(config, chain, path)) {
    status = read_chain(path, chain, engine, error);
    if (status != STATUS_OK)
      config_fault_at(config, config_member(config_root(config), ENGINE_LIKE_KEY), "names %.200s, which is faulty", path);
  }
  free(path);
  return status;
}

static enum status read_values(struct config *config, const struct engine_like_link *chain, struct engine *engine,
                               struct error *error) {
  if (!is_like(config)) {
    read_whole(config, engine);
  } else {
    const enum status status = read_base(config, chain, engine, error);
    if (status != STATUS_OK) return status;
    read_over(config, engine);
  }
  config_stem(config, sizeof engine->name, engine->name);
  engine_ties_read(config, engine);
  engine_good_check(config);
  check_top_keys(config);
  engine_check_each(engine, note_contradiction, config);
  if (!is_like(config)) check_throttle_kind(config, engine);
  return STATUS_OK;
}

static enum status read_chain(const char *path, const struct engine_like_link *before, struct engine *engine,
                              struct error *error) {
  const struct engine_like_link chain = {path, before};
  struct config *config;
  enum status status = config_open(path, &config, error);
  if (status != STATUS_OK) return status;
  enum status of_base = STATUS_OK;
  const bool scenario = config_member(config_root(config), "timeline") || config_member(config_root(config), "engine");
  if (scenario && !engine_file_recognises(config))
    config_fault(config, 1, "this is a scenario; an engine file is needed here");
  else
    of_base = read_values(config, &chain, engine, error);
  status = config_report(config, error);
  config_close(config);
  return of_base != STATUS_OK ? of_base : status;
}

enum status engine_file_read(const char *path, struct engine *engine, struct error *error) {
  return read_chain(path, NULL, engine, error);
}
