#include "commands/day_setting.h"

#include "analysis/estimate/estimate_place.h"
#include "base/units.h"
#include "car/setting.h"

#include <stdio.h>
#include <string.h>

static bool is_place_told(const struct day_setting *day) {
  for (size_t i = 0; i < day->count; i++)
    if (estimate_place_tells(day->texts[i])) return true;
  return day->car && card_has(&day->car->card, CARD_altitude_m);
}

enum status day_setting_check(const char *text, struct error *error) {
  char name[SETTING_NAME_SIZE];
  snprintf(name, sizeof name, "%.*s", (int)strcspn(text, "="), text);
  const struct condition_row *row = condition_find(name);
  struct error what;
  error_clear(&what);
  if (!row || estimate_setting_check(row, &what) == STATUS_OK) return STATUS_OK;
  return error_set(error, what.status, "--set %s%s", text, what.text + strlen(name));
}

enum status day_setting_apply(const struct day_setting *day, struct engine *engine, struct conditions *conditions,
                              bool *place_unknown, struct error *error) {
  enum status status = STATUS_OK;
  *place_unknown = !is_place_told(day);
  if (*place_unknown) estimate_place_unknown(engine, conditions);
  for (size_t i = 0; status == STATUS_OK && i < day->count; i++) {
    status = day_setting_check(day->texts[i], error);
    if (status == STATUS_OK) status = setting_apply_text("set", day->texts[i], engine, conditions, error);
  }
  return status;
}

void day_setting_air(const struct conditions *conditions, bool place_unknown, struct estimate_readings_input *input) {
  input->ambient_kpa = conditions_ambient_pa(conditions) / UNITS_PA_PER_KPA;
  if (place_unknown) input->ambient_sd_kpa = ESTIMATE_PLACE_SD_PA / UNITS_PA_PER_KPA;
}
