#include "car/conditions.h"

#include "base/attributes.h"
#include "base/near_miss.h"
#include "base/units.h"
#include "car/former.h"
#include "physics/atmosphere.h"

#include <math.h>
#include <string.h>

#define UM  UNITS_M_PER_UM
#define MM2 UNITS_M2_PER_MM2
#define RPM UNITS_RAD_S_PER_RPM
#define PCT UNITS_RATIO_PER_PCT

#define REAL(member, key, factor, min, max, text) FIELD_ROW_REAL(struct conditions, member, key, factor, min, max, text)
#define CELSIUS(member, key, min, max, text)      FIELD_ROW_CELSIUS(struct conditions, member, key, min, max, text)
#define SWITCH(member, key, text)                 FIELD_ROW_SWITCH(struct conditions, member, key, text)

/* Columns: kind, what an engine must have for it, value at the start in the user's unit, then the row of field.h. */
// clang-format off
const struct condition_row condition_rows[] = {
#define FAULT(needs, initial, ...) {CONDITION_FAULT, needs, initial, __VA_ARGS__},
#include "car/fault_rows.h"
    {CONDITION_LOAD, FEATURE_compressor, 0, SWITCH(compressor_request, "air_conditioning", "compressor asked for")},
    {CONDITION_LOAD, FEATURE_converter, 0, SWITCH(drive_selected, "drive", "in gear, brakes on")},
    {CONDITION_LOAD, 0, 0, REAL(steering_ratio, "steering_pct", PCT, 0, 100, "power steering; 100 is the wheel held at its stop")},
    {CONDITION_LOAD, 0, 300, REAL(electrical_load_w, "electrical_load_w", 1.0, 0, 3000, "what the alternator has to deliver")},
    {CONDITION_DRIVER, 0, 0, REAL(pedal_ratio, "pedal_pct", PCT, 0, 100, "pedal travel")},
    {CONDITION_DRIVER, FEATURE_electronic, 0, REAL(hand_nm, "hand_nm", 1.0, -3, 3, "a hand pushes the blade of an electronic throttle; positive opens")},
    {CONDITION_DRIVER, 0, 0, REAL(hold_speed_rad_s, "hold_rpm", RPM, 0, 6000,
                               "speed that the driver holds with the pedal; 0: none")},
    {CONDITION_WORLD, 0, 90, CELSIUS(coolant_k, "coolant_c", -40, 120, "coolant temperature, at the start or from the time when it is set")},
    {CONDITION_WORLD, 0, 90, CELSIUS(oil_k, "oil_c", -40, 150, "oil temperature, at the start or from the time when it is set")},
    {CONDITION_WORLD, 0, 1, SWITCH(warmth_held, "warmth_held", "coolant and oil keep their temperature")},
    {CONDITION_WORLD, 0, 20, CELSIUS(intake_k, "intake_c", -40, 80, "temperature of the intake air")},
    {CONDITION_WORLD, 0, 0, REAL(altitude_m, "altitude_m", 1.0, -500, 4500, "altitude for the standard atmosphere's pressure")},
    {CONDITION_WORLD, 0, 0, REAL(ambient_pa, "ambient_kpa", UNITS_PA_PER_KPA, 0, 110, "ambient pressure; 0: from altitude_m")},
    {CONDITION_TEACHING, 0, 0, SWITCH(controller_frozen, "controller_frozen", "idle air, spark and trims are frozen")},
    {CONDITION_TEACHING, 0, 0, SWITCH(learned_frozen, "learned_frozen", "the learned idle-air offset is frozen")},
    {CONDITION_TEACHING, 0, 0, SWITCH(spark_frozen, "spark_frozen", "idle spark is frozen")},
};
// clang-format on
const size_t condition_count = ARRAY_COUNT(condition_rows);
_Static_assert(ARRAY_COUNT(condition_rows) <= CONDITION_MOST, "raise CONDITION_MOST");

const char *const condition_kind_names[] = {"fault", "load", "driver", "world", "teaching"};

const struct condition_row *condition_find(const char *key) {
  for (size_t i = 0; i < condition_count; i++)
    if (strcmp(condition_rows[i].field.key, key) == 0) return &condition_rows[i];
  return NULL;
}

enum status condition_find_or_say(const char *key, const struct condition_row **row, struct error *error) {
  *row = condition_find(key);
  if (*row) return STATUS_OK;
  const char *now = former_name_now(key);
  if (now) return error_set(error, STATUS_USAGE, "there is no condition '%.60s' any more; %s", key, now);
  const char *names[CONDITION_MOST];
  for (size_t i = 0; i < condition_count; i++) names[i] = condition_rows[i].field.key;
  const char *near = near_miss_best(key, names, condition_count);
  if (near) return error_set(error, STATUS_USAGE, "there is no condition '%.60s'; did you mean '%s'?", key, near);
  return error_set(error, STATUS_USAGE, "there is no condition '%.60s'; bladegap list faults shows all", key);
}

bool condition_is_ambient(const struct condition_row *row) {
  return row->field.offset == offsetof(struct conditions, ambient_pa);
}

enum status condition_check(const struct condition_row *row, double value, struct error *error) {
  const struct field *field = &row->field;
  if (!isfinite(value) || value < field->min || value > field->max)
    return error_set(error, STATUS_USAGE, "%s is %.10g; allowed: %.10g to %.10g (%s)", field->key, value, field->min, field->max,
                     field->text);
  if (field->kind == FIELD_SWITCH && value > 0.0 && value < 1.0)
    return error_set(error, STATUS_USAGE, "%s is %.10g; it is a switch, 0 or 1 (%s)", field->key, value, field->text);
  if (condition_is_ambient(row) && value > 0.0 && value < CONDITION_AMBIENT_LEAST_PA / UNITS_PA_PER_KPA)
    return error_set(error, STATUS_USAGE, "%s is %.10g; allowed: %.10g to %.10g, or 0 to take it from altitude_m", field->key,
                     value, CONDITION_AMBIENT_LEAST_PA / UNITS_PA_PER_KPA, field->max);
  return STATUS_OK;
}

void conditions_init(struct conditions *conditions) {
  *conditions = (struct conditions){0};
  for (size_t i = 0; i < condition_count; i++) {
    const struct condition_row *row = &condition_rows[i];
    conditions_set(conditions, &row->field, field_to_si(&row->field, row->initial));
  }
}

/* What acts on what: condition += share * fault, SI. */
static const struct {
  enum conditions_composed fault;
  const char *condition;
  double share;
} acts[CONDITIONS_ACT_COUNT] = {
#define ACTS(key, condition, share) {CONDITIONS_##key, #condition, share},
#include "car/fault_rows.h"
};

static bool acts_on(size_t act, const struct field *field) { return strcmp(acts[act].condition, field->key) == 0; }

/* Keeps what the condition was set to, and lets hold what the faults make of it. */
static void set_and_add(struct conditions *conditions, const struct field *field, double si) {
  double holds = si;
  for (size_t i = 0; i < CONDITIONS_ACT_COUNT; i++) {
    if (!acts_on(i, field)) continue;
    const double moved = holds + acts[i].share * conditions->composed[acts[i].fault];
    holds = fmin(fmax(moved, field_to_si(field, field->min)), field_to_si(field, field->max));
    conditions->set[i] = si;
  }
  field_set_real(field, conditions, holds);
}

double conditions_value(const struct conditions *conditions, const struct field *field) {
  for (size_t i = 0; i < CONDITIONS_ACT_COUNT; i++)
    if (acts_on(i, field)) return conditions->set[i];
  return field_real(field, conditions);
}

void conditions_set(struct conditions *conditions, const struct field *field, double si) {
  set_and_add(conditions, field, si);
  for (size_t i = 0; i < CONDITIONS_ACT_COUNT; i++) {
    if (field->offset != offsetof(struct conditions, composed) + sizeof(double) * acts[i].fault) continue;
    const struct field *other = &condition_find(acts[i].condition)->field; // there is one: tests/unit/car/test_fault_rows.c
    set_and_add(conditions, other, conditions_value(conditions, other));
  }
}

double conditions_ambient_pa(const struct conditions *conditions) {
  return conditions->ambient_pa > 0.0 ? conditions->ambient_pa : atmosphere_pressure_pa(conditions->altitude_m);
}
