#include "io/config/engine_good.h"

#include <math.h>

enum { PLACE_SIZE = ESTIMATE_READINGS_PLACE_SIZE };

static const struct config_setting_t *find(const struct config *config) {
  return config_member(config_root(config), ENGINE_GOOD_KEY);
}

void engine_good_check(struct config *config) {
  const struct config_setting_t *list = find(config);
  if (!list) return;
  if (config_value(list).kind != CONFIG_LIST) {
    config_fault_at(config, list, "must be a list of readings: (\"maf_gps=2.1@idle\", \"tp_pct=12.4@idle\")");
    return;
  }
  for (size_t i = 0; i < config_child_count(list); i++)
    if (config_value(config_child(list, i)).kind != CONFIG_TEXT)
      config_fault_at(config, config_child(list, i), "must be a reading as --reading takes it: \"maf_gps=2.1@idle\"");
}

static enum status add(const char *path, const struct config_setting_t *node, struct estimate_readings_input *input,
                       struct error *error) {
  char place[PLACE_SIZE];
  snprintf(place, sizeof place, "%.150s:%d: " ENGINE_GOOD_KEY, path, config_line(node));
  if (estimate_readings_add_text(input, place, config_value(node).text, error) == STATUS_OK) return STATUS_OK;
  if (error->line_count == 1) error->status = STATUS_BAD_CONFIG; // a file's fault, no word of the command line
  return error->status;
}

enum status engine_good_read(const char *path, struct estimate_readings_input *input, struct error *error) {
  struct config *config;
  enum status status = config_open(path, &config, error);
  if (status != STATUS_OK) return status;
  engine_good_check(config);
  status = config_report(config, error);
  const struct config_setting_t *list = status == STATUS_OK ? find(config) : NULL;
  for (size_t i = 0; list && i < config_child_count(list); i++)
    if (add(path, config_child(list, i), input, error) != STATUS_OK) status = error->status;
  config_close(config);
  return status;
}

/* A cold day's temperatures, which are no readings to be explained. */
static void print_cold(const struct estimate_readings *readings, const struct estimate_setting *setting, FILE *stream) {
  bool cold = false;
  for (size_t i = 0; i < readings->count; i++) cold = cold || readings->readings[i].condition == ESTIMATE_CONDITION_cold_idle;
  if (cold) fprintf(stream, ",\n  \"coolant_c=%.6g@cold_idle\"", setting->cold_coolant_c);
  if (cold && !isnan(setting->cold_intake_c)) fprintf(stream, ", \"intake_c=%.6g@cold_idle\"", setting->cold_intake_c);
}

void engine_good_print(const struct estimate_readings *readings, const struct estimate_setting *setting, FILE *stream) {
  if (readings->count == 0) return;
  fputs("\n// What this car read when it was good: an estimate takes from it what the model gets wrong on this "
        "car.\n" ENGINE_GOOD_KEY " = (",
        stream);
  for (size_t i = 0; i < readings->count; i++) {
    const struct estimate_reading *r = &readings->readings[i];
    fprintf(stream, "%s%s\"%s=%.9g+-%.4g@%s\"", i ? "," : "", i % 4 ? " " : "\n  ", estimate_quantities[r->quantity].name,
            r->value, r->sd, estimate_conditions[r->condition].name);
  }
  print_cold(readings, setting, stream);
  fputs("\n);\n", stream);
}
