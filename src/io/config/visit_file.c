#include "io/config/visit_file.h"

#include "base/attributes.h"
#include "io/config/config.h"
#include "io/config/config_field.h"
#include "io/config/config_put.h"
#include "io/format/output_file.h"

#include <math.h>
#include <stddef.h>
#include <string.h>

/* What is kept as text. */
static const struct {
  const char *key;
  size_t offset, size;
  bool required;
} texts[] = {
    {"engine", offsetof(struct visit, engine), VISIT_TEXT_SIZE, true},
    {"vehicle", offsetof(struct visit, vehicle), VISIT_TEXT_SIZE, false},
    {"date", offsetof(struct visit, date), VISIT_TEXT_SIZE, false},
    {"complaint", offsetof(struct visit, complaint), VISIT_TEXT_SIZE, false},
    {"codes", offsetof(struct visit, codes), VISIT_TEXT_SIZE, false},
    {"freeze_frame", offsetof(struct visit, frame), VISIT_FRAME_SIZE, false},
    {"set", offsetof(struct visit, set), VISIT_FRAME_SIZE, false},
    {"skipped", offsetof(struct visit, skipped), VISIT_FRAME_SIZE, false},
    {"baseline", offsetof(struct visit, baseline), VISIT_TEXT_SIZE, false},
    {"costs", offsetof(struct visit, costs), VISIT_TEXT_SIZE, false},
    {"verdict", offsetof(struct visit, verdict), VISIT_TEXT_SIZE, false},
};
static const char *const known[] = {
    "format",   "engine", "vehicle", "date",   "complaint", "codes",          "codes_unknown", "freeze_frame", "set",  "skipped",
    "baseline", "costs",  "pairs",   "stands", "verdict",   "cold_coolant_c", "cold_intake_c", "readings",     "looks"};

/* ---- Reading ---- */

static double number_of(struct config *config, const struct config_setting_t *group, const char *key, bool required) {
  const struct config_setting_t *node = config_member(group, key);
  if (!node && required) config_fault(config, config_line(group), "key '%s' is missing: a number", key);
  if (!node) return NAN;
  const struct config_value value = config_value(node);
  if ((value.kind == CONFIG_REAL || value.kind == CONFIG_INTEGER) && isfinite(value.real)) return value.real;
  config_fault_at(config, node, "must be a number");
  return NAN;
}

static bool switch_of(struct config *config, const struct config_setting_t *group, const char *key) {
  const struct config_setting_t *node = config_member(group, key);
  if (node && config_value(node).kind != CONFIG_BOOLEAN) config_fault_at(config, node, "must be true or false");
  return node && config_value(node).integer;
}

/* Text of a key, "" where it is none. */
static const char *text_of(struct config *config, const struct config_setting_t *group, const char *key) {
  const struct config_setting_t *node = config_member(group, key);
  if (!node) {
    config_fault(config, config_line(group), "key '%s' is missing: a text", key);
    return "";
  }
  const struct config_value value = config_value(node);
  if (value.kind == CONFIG_TEXT) return value.text;
  config_fault_at(config, node, "must be a text");
  return "";
}

static void read_reading(struct config *config, const struct config_setting_t *node, struct visit *visit) {
  const char *name = text_of(config, node, "name"), *condition = text_of(config, node, "condition");
  const int quantity = estimate_quantity_find(name), at = estimate_condition_find(condition);
  struct estimate_reading reading = {.value = number_of(config, node, "value", true), .sd = number_of(config, node, "sd", true)};
  struct error full;
  if (name[0] && quantity < 0) config_fault_at(config, node, "has no reading '%s'; bladegap list readings shows all", name);
  if (condition[0] && at < 0) config_fault_at(config, node, "has no condition '%s'; bladegap list readings shows all", condition);
  if (!isnan(reading.sd) && !(reading.sd > 0.0)) config_fault_at(config, node, "has an sd that is not above 0");
  if (quantity < 0 || at < 0) return;
  reading.quantity = (enum estimate_quantity)quantity;
  reading.condition = (enum estimate_condition)at;
  error_clear(&full);
  if (visit_set_reading(visit, &reading, &full) != STATUS_OK) config_fault_at(config, node, "is too much: %s", full.text);
}

static void read_look(struct config *config, const struct config_setting_t *node, struct visit *visit) {
  char text[ESTIMATE_NAME_SIZE + VISIT_TEXT_SIZE];
  struct error one;
  error_clear(&one);
  snprintf(text, sizeof text, "%.80s=%.20s", text_of(config, node, "name"), text_of(config, node, "answer"));
  if (visit_set_look(visit, "look", text, &one) != STATUS_OK) config_fault_at(config, node, "cannot be taken: %s", one.text);
}

static void read_list(struct config *config, const char *key, struct visit *visit,
                      void (*read)(struct config *, const struct config_setting_t *, struct visit *)) {
  const struct config_setting_t *list = config_member(config_root(config), key);
  if (!list || !config_field_is_list(config, list)) return;
  for (size_t i = 0; i < config_child_count(list); i++) {
    const struct config_setting_t *child = config_child(list, i);
    if (config_field_is_group(config, child)) read(config, child, visit);
  }
}

static void read_all(struct config *config, struct visit *visit) {
  const struct config_setting_t *root = config_root(config);
  for (size_t i = 0; i < ARRAY_COUNT(texts); i++) {
    char *text = (char *)visit + texts[i].offset;
    if (texts[i].required || config_member(root, texts[i].key))
      (void)config_field_text(config, root, texts[i].key, texts[i].size, text);
    (void)visit_clear_text(text);
  }
  visit->codes_unknown = switch_of(config, root, "codes_unknown");
  visit->pairs = switch_of(config, root, "pairs");
  visit->stands = switch_of(config, root, "stands");
  visit->cold_coolant_c = number_of(config, root, "cold_coolant_c", false);
  visit->cold_intake_c = number_of(config, root, "cold_intake_c", false);
  read_list(config, "readings", visit, read_reading);
  read_list(config, "looks", visit, read_look);
  config_field_check_known(config, root, known, ARRAY_COUNT(known), NULL);
}

/* False if the rest is not to be read. */
static bool read_format(struct config *config) {
  const struct config_setting_t *node = config_member(config_root(config), "format");
  if (!node) {
    config_fault(config, 1, "key 'format' is missing: this is not the file of a visit, as bladegap jobcard --visit writes it");
    return false;
  }
  const struct config_value value = config_value(node);
  if (value.kind != CONFIG_INTEGER || value.integer < 1)
    config_fault_at(config, node, "must be a whole number from 1");
  else if (value.integer > VISIT_FORMAT)
    config_fault_at(config, node, "is %lld, and this program knows visits up to format %d: use the newer program that wrote it",
                    value.integer, (int)VISIT_FORMAT);
  else
    return true;
  return false;
}

enum status visit_file_read(const char *path, struct visit *visit, struct error *error) {
  struct config *config;
  visit_init(visit);
  enum status status = config_open(path, &config, error);
  if (status != STATUS_OK) return status;
  if (read_format(config)) read_all(config, visit);
  status = config_report(config, error);
  config_close(config);
  return status;
}

/* ---- Writing ---- */

static void put_text(FILE *stream, const char *key, const char *text) {
  fprintf(stream, "%s = ", key);
  config_put_text(text, stream);
}

static void put_number(FILE *stream, const char *key, double value) {
  char text[40];
  snprintf(text, sizeof text, "%.10g", value);
  fprintf(stream, "%s = %s%s", key, text, strpbrk(text, ".en") ? "" : ".0"); // else libconfig takes it for whole
}

static void put_all(const struct visit *visit, FILE *stream) {
  fprintf(stream, "# One visit, written by bladegap jobcard. Continue with: bladegap jobcard --resume THIS-FILE\nformat = %d;\n",
          (int)VISIT_FORMAT);
  for (size_t i = 0; i < ARRAY_COUNT(texts); i++) {
    const char *text = (const char *)visit + texts[i].offset;
    if (!text[0]) continue;
    put_text(stream, texts[i].key, text);
    fputs(";\n", stream);
  }
  if (visit->codes_unknown) fputs("codes_unknown = true;\n", stream);
  if (visit->pairs) fputs("pairs = true;\n", stream);
  if (visit->stands) fputs("stands = true;\n", stream);
  const char *cold[] = {"cold_coolant_c", "cold_intake_c"};
  const double cold_c[] = {visit->cold_coolant_c, visit->cold_intake_c};
  for (int i = 0; i < 2; i++) {
    if (isnan(cold_c[i])) continue;
    put_number(stream, cold[i], cold_c[i]);
    fputs(";\n", stream);
  }
  fputs("readings = (", stream);
  for (size_t i = 0; i < visit->readings.count; i++) {
    const struct estimate_reading *r = &visit->readings.readings[i];
    fputs(i ? ",\n  { " : "\n  { ", stream);
    put_text(stream, "name", estimate_quantities[r->quantity].name);
    fputs("; ", stream);
    put_text(stream, "condition", estimate_conditions[r->condition].name);
    fputs("; ", stream);
    put_number(stream, "value", r->value);
    fputs("; ", stream);
    put_number(stream, "sd", r->sd);
    fputs("; }", stream);
  }
  fputs(" );\nlooks = (", stream);
  for (size_t i = 0; i < visit->look_count; i++) {
    fputs(i ? ",\n  { " : "\n  { ", stream);
    put_text(stream, "name", visit->looks[i].name);
    fputs("; ", stream);
    put_text(stream, "answer", visit->looks[i].yes ? "yes" : "no");
    fputs("; }", stream);
  }
  fputs(" );\n", stream);
}

enum status visit_file_write(const struct visit *visit, const char *path, struct error *error) {
  struct output_file file = {0};
  enum status status = output_file_open(&file, path, error);
  if (status != STATUS_OK) return status;
  put_all(visit, file.stream);
  status = output_file_commit(&file, error);
  output_file_discard(&file);
  return status;
}
