#include "io/config/costs_file.h"

#include "io/config/config_field.h"

#define HINT "bladegap list costs"

enum status costs_file_read(const char *path, struct remedy_costs *costs, struct error *error) {
  struct config *config;
  enum status status = config_open(path, &config, error);
  if (status != STATUS_OK) return status;
  const char *names[8];
  remedy_costs_default(costs);
  for (size_t i = 0; i < remedy_cost_group_count; i++) {
    names[i] = remedy_cost_groups[i].name;
    config_field_group(config, config_root(config), &remedy_cost_groups[i], HINT, costs);
  }
  config_field_check_known(config, config_root(config), names, remedy_cost_group_count, HINT);
  status = config_report(config, error);
  config_close(config);
  return status;
}
