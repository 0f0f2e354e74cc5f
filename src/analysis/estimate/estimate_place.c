#include "analysis/estimate/estimate_place.h"

#include "base/attributes.h"
#include "base/units.h"

#include <math.h>
#include <string.h>

static double weather_pa(void) { return scatter_road[SCATTER_ambient_kpa] * UNITS_PA_PER_KPA; }

void estimate_place_unknown(struct engine *engine, struct conditions *conditions) {
  conditions->altitude_m = ESTIMATE_PLACE_ALTITUDE_M;
  engine->scatter.sd[SCATTER_ambient_kpa] = hypot(ESTIMATE_PLACE_SD_PA, weather_pa());
}

bool estimate_place_tells(const char *setting) {
  static const char *const names[] = {"altitude_m", "ambient_kpa", "scatter.ambient_kpa"};
  const size_t length = strcspn(setting, "=");
  for (size_t i = 0; i < ARRAY_COUNT(names); i++)
    if (strlen(names[i]) == length && strncmp(setting, names[i], length) == 0) return true;
  return false;
}

double estimate_place_lasts(const struct engine *engine, enum scatter scatter) {
  if (scatter_rows[scatter].kind == SCATTER_UNIT) return 1.0;
  if (scatter != SCATTER_ambient_kpa) return 0.0;
  const double sd = engine->scatter.sd[scatter], changes = weather_pa();
  return sd > changes ? 1.0 - changes * changes / (sd * sd) : 0.0;
}
