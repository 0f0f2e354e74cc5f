#include "commands/curve_reading.h"

#include "base/units.h"
#include "commands/curve_logs.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* True if somebody has said where, or in what air, the car stands. */
static bool is_day_given(const struct command_line *line) {
  static const char *const names[] = {"altitude_m=", "ambient_kpa="};
  for (size_t i = 0; i < options_given(line, "set"); i++)
    for (size_t k = 0; k < sizeof names / sizeof *names; k++)
      if (strncmp(options_text_at(line, "set", i), names[k], strlen(names[k])) == 0) return true;
  return false;
}

/* The clean log is of another day: of that one only the weather's spread is known. */
static struct opening_setting setting_of(const struct command_line *line, const struct engine *engine,
                                         const struct estimate_readings_input *input, const struct estimate_setting *setting) {
  struct opening_setting opening = {.intake_k = NAN, .stop_ratio = engine->plant.throttle.closed_position_ratio};
  opening.displacement_m3 = engine->plant.charge.displacement_m3;
  opening.ambient_pa = conditions_ambient_pa(&setting->conditions);
  opening.ambient_sd_pa = is_day_given(line) ? CURVE_LOGS_WEATHER_SD_PA : CURVE_LOGS_UNKNOWN_SD_PA;
  const struct estimate_reading *barometer =
      estimate_readings_find(&input->given, ESTIMATE_QUANTITY_barometer_kpa, ESTIMATE_CONDITION_key_on);
  if (!barometer) return opening;
  opening.ambient_pa = barometer->value * UNITS_PA_PER_KPA;
  opening.ambient_sd_pa = CURVE_LOGS_WEATHER_SD_PA; // the same place
  return opening;
}

enum status curve_reading_take(const struct command_line *line, const struct engine *engine,
                               struct estimate_readings_input *input, struct estimate_setting *setting,
                               struct estimate_curve *taken, struct error *error) {
  struct curve_logs logs = {
      .path = options_text(line, "curve", NULL), .clean_path = options_text(line, "curve-baseline", NULL), .at = "curve-at"};
  *taken = (struct estimate_curve){0};
  if (!logs.path && (logs.clean_path || options_given(line, logs.at)))
    return error_set(error, STATUS_USAGE, "--curve-baseline and --curve-at go with --curve LOG");
  if (!logs.path) return STATUS_OK;
  struct opening_setting opening = setting_of(line, engine, input, setting);
  opening.name = logs.path;
  struct opening_curve *curve = calloc(1, sizeof *curve);
  enum status status = curve ? STATUS_OK : error_set(error, STATUS_NO_MEMORY, "out of memory for a curve");
  if (status == STATUS_OK) status = curve_logs_read(line, &logs, error);
  if (status == STATUS_OK) status = curve_logs_find(&logs, &opening, false, curve, error);
  if (status == STATUS_OK) status = estimate_curve_take(curve, logs.path, logs.clean_path, input, setting, taken, error);
  curve_logs_destroy(&logs);
  free(curve);
  return status;
}
