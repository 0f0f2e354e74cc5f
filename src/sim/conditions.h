/* What the world and the driver do to the engine at a moment: the quantities a scenario can set, step and ramp.
 *
 * One row each in condition_rows: name at the edge, unit, range, sentence, value at the start. The same names serve
 * timelines, `--set` and `list faults`. */
#ifndef SIM_CONDITIONS_H
#define SIM_CONDITIONS_H

#include "base/field.h"

struct conditions {
  double film_m, edge_film_m;
  double leak_area_m2;
  double drag_nm;
  double compressor_request;      // switch
  double drive_selected;          // switch
  double electrical_load_w;
  double pedal_ratio;
  double hold_speed_rad_s;        // 0: nobody; else the driver's foot holds this speed with the pedal
  double coolant_k, intake_k;
  double altitude_m;
  double ambient_pa;              // 0: from the altitude
  double controller_frozen;       // switch
};

enum condition_kind { CONDITION_FAULT, CONDITION_LOAD, CONDITION_DRIVER, CONDITION_WORLD, CONDITION_TEACHING };

struct condition_row {
  enum condition_kind kind;
  double initial;                 // user's unit
  struct field field;             // name, unit, range, sentence; all FIELD_REAL or FIELD_SWITCH
};
extern const struct condition_row condition_rows[];
extern const size_t condition_count;
extern const char *const condition_kind_names[];

/* The row with this key, NULL if none. */
const struct condition_row *condition_find(const char *key);

void conditions_init(struct conditions *conditions);

/* Ambient pressure, Pa: the one given, or ISO 2533's at the altitude. */
double conditions_ambient_pa(const struct conditions *conditions);

#endif
