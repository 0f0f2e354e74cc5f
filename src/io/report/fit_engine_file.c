#include "io/report/fit_engine_file.h"

#include "base/attributes.h"
#include "io/config/engine_file_write.h"
#include "io/config/engine_good.h"

#include <math.h>
#include <string.h>

/* Columns: what stands in an engine file, and the deviation that moves it. */
static const struct {
  const char *group, *key; // key NULL: all of the group
  enum scatter scatter;
} moved[] = {
    {"friction", "constant_bar", SCATTER_friction_pct},
    {"friction", NULL, SCATTER_friction_slope_pct},
    {"charge", "pressure_slope_ratio", SCATTER_filling_pct},
    {"charge", "speed_factor_by_rpm", SCATTER_filling_2500_pct},
    {"combustion", "efficiency_by_rpm", SCATTER_efficiency_pct},
    {"combustion", "best_spark_by_rpm", SCATTER_spark_deg},
    {"throttle", "bore_radius_mm", SCATTER_bore_pct},
    {"throttle", "closed_deg", SCATTER_closed_deg},
    {"throttle", "clearance_um", SCATTER_clearance_um},
    {"throttle", "edge_land_mm", SCATTER_land_pct},
    {"throttle", "discharge_by_opening_deg", SCATTER_discharge_pct},
    {"throttle", "closed_position_pct", SCATTER_track_pct},
    {"film", "band_mm", SCATTER_band_pct},
    {"intake", "ventilation_mm2", SCATTER_ventilation_pct},
    {"intake", "pressure_sensor_kpa", SCATTER_map_offset_kpa},
    {"mixture", "injector_pct", SCATTER_injector_pct},
    {"air_sensor", "gain_pct", SCATTER_maf_gain_pct},
    {"loads", "compressor_nm", SCATTER_compressor_pct},
    {"loads", "converter_nm", SCATTER_converter_pct},
    {"idle_target", "drive_rpm", SCATTER_target_loaded_rpm},
    {"idle_target", "compressor_rpm", SCATTER_target_loaded_rpm},
    {"idle_target", NULL, SCATTER_target_rpm},
    {"idle_spark", "base_deg", SCATTER_spark_map_deg},
    {"idle_spark", "running_deg_by_rpm", SCATTER_spark_2500_deg},
};

/* Columns: group, key, the same for all of the group if NULL; where such a value comes from. */
static const struct {
  const char *group, *key, *from;
} others[] = {
    {"charge", "displacement_l", "card"},
    {"charge", "cylinder_count", "card"},
    {"charge", "bank_count", "card"},
    {"charge", "compression_ratio", "card"},
    {"combustion", "heating_value_mj_kg", "card: fuel"},
    {"combustion", "stoichiometric_ratio", "card: fuel"},
    {"throttle", "open_position_pct", "card"},
    {"throttle", "closed2_position_pct", "as track 1"},
    {"throttle", "open2_position_pct", "as track 1"},
    {"drive", "rest_opening_deg", "from the position with the key on"},
    {"pedal", NULL, "what the closed angle leaves of a right angle"},
    {"fuel", "metering", "card"},
    {"scan", NULL, "from card or readings; if unknown, such readings are left out"},
    {"idle_air", NULL, "calibrated on these values"},
    {"scatter", NULL, "sd left"},
};

struct note {
  const struct fit *fit;
  char text[120];
};

static const char *deviation_note(const struct fit *fit, enum scatter s, char text[120]) {
  const char *key = scatter_rows[s].key, *unit = strrchr(key, '_') + 1;
  const double sd = fit->left[s] * fit->nominal.scatter.sd[s] / scatter_rows[s].factor;
  snprintf(text, 120, "+- %.2g %s, from the %s", sd, strcmp(unit, "pct") == 0 ? "%" : unit,
           fit_determined(fit, s) ? "readings"
           : fit_said(fit, s)     ? "card"
                                  : "kind and size: not determined by readings");
  return text;
}

static const char *note_of(const char *group, const char *key, void *user) {
  struct note *note = user;
  for (size_t i = 0; i < ARRAY_COUNT(moved); i++)
    if (strcmp(group, moved[i].group) == 0 && (!moved[i].key || strcmp(key, moved[i].key) == 0))
      return deviation_note(note->fit, moved[i].scatter, note->text);
  for (size_t i = 0; i < ARRAY_COUNT(others); i++)
    if (strcmp(group, others[i].group) == 0 && (!others[i].key || strcmp(key, others[i].key) == 0)) return others[i].from;
  return "by its size";
}

/* The very car's readings, those that the fit has used. */
static void put_good(FILE *stream, void *user) {
  const struct fit *fit = ((const struct note *)user)->fit;
  if (fit->question->this_car) engine_good_print(&fit->cars[0].readings, &fit->question->settings[0], stream);
}

enum status fit_engine_file_write(const struct fit_report *report, const char *path, struct error *error) {
  const struct fit *fit = report->fit;
  char heading[700];
  snprintf(heading, sizeof heading,
           "Made by bladegap fit from %.200s and readings of %zu good car%s%s.\n"
           "+-: remaining standard deviation. The group scatter and the ties contain what is not determined.\n"
           "If a car given as clean has a film, closed angle and clearance absorb it.",
           report->card, fit->question->car_count, fit->question->car_count == 1 ? "" : "s",
           fit->question->car_count == 0 ? ""
           : fit->question->this_car     ? ", the first of them this car"
                                         : ", for another car of the model");
  struct note note = {fit, ""};
  const struct engine_file_form form = {.like = fit->question->start->name,
                                        .heading = heading,
                                        .base = fit->question->start,
                                        .note = note_of,
                                        .user = &note,
                                        .after = put_good};
  return engine_file_write(path, &form, &fit->engine, error);
}
