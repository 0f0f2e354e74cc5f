/* What the world and the driver do to the engine at a moment, and what is wrong with it: the quantities a scenario can set,
 * step and ramp.
 *
 * One row each in condition_rows: name at the edge, unit, range, sentence, value at the start; those of faults come from
 * car/fault_rows.h. The same names serve timelines, `--set` and `list faults`. */
#ifndef CAR_CONDITIONS_H
#define CAR_CONDITIONS_H

#include "base/error.h"
#include "base/field.h"
#include "car/circuits.h"
#include "car/sensors.h"
#include "control/features.h"
#include "plant/faults.h"

/* Faults that act through other conditions, COMPOSED in car/fault_rows.h, and each of their ACTS. */
enum conditions_composed {
#define COMPOSED(key, needs, factor, min, max, text) CONDITIONS_##key,
#include "car/fault_rows.h"
  CONDITIONS_COMPOSED_COUNT
};
enum conditions_act {
#define ACTS(key, condition, share) CONDITIONS_ACT_##key##_##condition,
#include "car/fault_rows.h"
  CONDITIONS_ACT_COUNT
};

/* Members are what holds, all faults included; conditions_set() and conditions_value() part that from what was set. Those that faults
 * act on are therefore set by conditions_set() alone. */
struct conditions {
  double film_m, edge_film_m;
  struct plant_faults faults;
  struct sensor_faults sensor_faults;
  struct circuit_faults circuit_faults;
  double blade_stick_rad;     // the blade moves only when the command has gone further than this
  double blade_jammed;        // switch: it does not move at all
  double hand_nm;             // somebody pushes the blade
  double motor_supply_lost;   // switch
  double position_offset_rad; // error of the learned closed position
  double battery_v;           // at rest
  double charging_v;          // what the generator charges to
  double compressor_request;  // switch
  double drive_selected;      // switch
  double steering_ratio;      // 1: wheel held at its stop
  double electrical_load_w;
  double pedal_ratio;
  double hold_speed_rad_s; // 0: nobody; else the driver's foot holds this speed with the pedal
  double coolant_k, oil_k; // at the start, and whenever they are set; then they warm up unless held
  double warmth_held;      // switch
  double intake_k;
  double altitude_m;
  double ambient_pa;                                      // 0: from the altitude
  double controller_frozen, learned_frozen, spark_frozen; // switches
  double composed[CONDITIONS_COMPOSED_COUNT];
  double set[CONDITIONS_ACT_COUNT]; // what each act's condition was set to, SI
};

enum condition_kind { CONDITION_FAULT, CONDITION_LOAD, CONDITION_DRIVER, CONDITION_WORLD, CONDITION_TEACHING };

struct condition_row {
  enum condition_kind kind;
  unsigned needs;     // bits of enum feature without which it changes nothing, or nothing worth a word
  double initial;     // user's unit
  struct field field; // name, unit, range, sentence; all FIELD_REAL or FIELD_SWITCH
};
extern const struct condition_row condition_rows[];
extern const size_t condition_count;
enum { CONDITION_MOST = 128 }; // there are never more rows: checked where they stand
extern const char *const condition_kind_names[];

/* The row with this key, NULL if none. */
const struct condition_row *condition_find(const char *key);

/* The row with this key; STATUS_USAGE with the nearest key if there is none. */
MUST_CHECK enum status condition_find_or_say(const char *key, const struct condition_row **row, struct error *error);

/* Checks a value in the user's unit; STATUS_USAGE names it and what is allowed. */
MUST_CHECK enum status condition_check(const struct condition_row *row, double value, struct error *error);

/* Whether it is ambient_kpa, whose 0 means "from the altitude": no place for a ramp to begin or end. */
bool condition_is_ambient(const struct condition_row *row);

/* Ambient pressure at 4500 m, the greatest altitude, is 58 kPa; what lies below 50 is a slip of the unit. */
#define CONDITION_AMBIENT_LEAST_PA 50e3

void conditions_init(struct conditions *conditions);

/* Sets a condition, SI; field: of a row in condition_rows. A fault that acts through other conditions moves them by its share, within
 * their ranges, and they keep that when they are set themselves. */
void conditions_set(struct conditions *conditions, const struct field *field, double si);

/* What a condition was set to, SI, to the last bit: without what other faults add to it. */
double conditions_value(const struct conditions *conditions, const struct field *field);

/* Ambient pressure, Pa: the one given, or ISO 2533's at the altitude. */
double conditions_ambient_pa(const struct conditions *conditions);

#endif
