#include "analysis/estimate/estimate_forward.h"

#include "analysis/estimate/estimate_scan.h"
#include "base/units.h"
#include "sim/driver.h"
#include "sim/simulation.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define COLD_IDLE_C    20.0
#define COLD_RISE_K    7.3   // of coolant since the start, a minute before; 5.5 to 10 in runs of all four kinds from -10 to 30 C
#define COLD_OIL_K     1.6   // by which oil lags behind coolant then; 0.5 to 2 in the same runs
#define VAPOUR_RATIO   0.064 // of a canister that nobody has looked into: as much fuel as burns, from where it may be empty or full
#define STEP_WATCHED_S 2.0
#define RECOVERED_S    0.25 // after so long above its lowest by so much, the speed will not go lower
#define RECOVERED_RPM  2.0
#define ON_TARGET_RPM  15.0
#define RESTING_RATIO  0.003 // learned offset moves less than this while ...
#define WATCHED_S      10.0  // ... it is watched for so long

struct estimate_forward {
  const struct engine *nominal;
  struct engine car;
  struct settle *settle;
  struct scenario nothing_happens;
  struct simulation *run; // for load steps
  struct monitor_measures measures;
  struct estimate_discrepancy room;
  double matrices[2][SCATTER_COUNT * SCATTER_COUNT];
};

struct estimate_fault estimate_forward_without(const struct estimate_fault *fault, enum cause cause) {
  struct estimate_fault left = {.fresh = fault->fresh};
  for (size_t i = 0; i < fault->count; i++) {
    if (fault->cause[i] == cause) continue;
    left.cause[left.count] = fault->cause[i];
    left.severity[left.count++] = fault->severity[i];
  }
  return left;
}

void estimate_forward_amounts(const struct engine *engine, const double *z, const struct estimate_fault *fault,
                              double amounts[SCATTER_COUNT]) {
  scatter_amounts(engine, z, amounts);
  for (size_t i = 0; i < fault->count; i++) cause_add(fault->cause[i], fault->severity[i], amounts);
}

void estimate_setting_init(struct estimate_setting *setting) {
  *setting = (struct estimate_setting){.cold_coolant_c = COLD_IDLE_C, .cold_intake_c = NAN};
  conditions_init(&setting->conditions);
  setting->conditions.faults.purge_vapour_ratio = VAPOUR_RATIO;
}

enum status estimate_setting_check(const struct condition_row *row, struct error *error) {
  const char *name = row->field.key;
  if (row->kind == CONDITION_FAULT)
    return error_set(error, STATUS_USAGE, "%s: a fault is what estimate looks for; --set tells it the day and the engine", name);
  if (row->kind == CONDITION_DRIVER || row->kind == CONDITION_TEACHING || strcmp(name, "drive") == 0 ||
      strcmp(name, "air_conditioning") == 0 || strcmp(name, "warmth_held") == 0)
    return error_set(error, STATUS_USAGE, "%s: the condition of each reading (idle, idle_ac, drive, hold_2500) says that", name);
  return STATUS_OK;
}

enum status estimate_forward_create(const struct engine *engine, struct estimate_forward **result, struct error *error) {
  struct estimate_forward *f = calloc(1, sizeof *f);
  if (!f) return error_set(error, STATUS_NO_MEMORY, "out of memory for an estimate");
  f->nominal = engine;
  scenario_init(&f->nothing_happens);
  const struct solver_options options = solver_options_default();
  enum status status = settle_create(engine, &f->settle, error);
  if (status == STATUS_OK)
    status = simulation_create_resting(settle_rest(f->settle), &f->nothing_happens, &solver_fast, &options, &f->run, error);
  if (status == STATUS_OK) {
    f->run->settling = true; // no cycle scatter, nothing noted
    *result = f;
  } else {
    estimate_forward_destroy(f);
  }
  return status;
}

void estimate_forward_destroy(struct estimate_forward *f) {
  if (!f) return;
  simulation_destroy(f->run);
  settle_destroy(f->settle);
  free(f);
}

struct estimate_discrepancy *estimate_forward_room(struct estimate_forward *f) {
  return &f->room;
}

const struct monitor_measures *estimate_forward_measures(const struct estimate_forward *f) { return &f->measures; }

bool estimate_forward_has(const struct engine *engine, enum estimate_condition condition) {
  return engine_has(engine, estimate_conditions[condition].needs);
}

double *estimate_forward_matrix(struct estimate_forward *f, int number) { return f->matrices[number]; }

static bool has(const struct estimate_fault *fault, enum cause cause) {
  for (size_t i = 0; i < fault->count; i++)
    if (fault->cause[i] == cause) return true;
  return false;
}

bool estimate_forward_feels(enum scatter scatter, const struct estimate_fault *fault, enum estimate_condition condition) {
  const bool standing = condition == ESTIMATE_CONDITION_key_on;
  switch (scatter) {
  case SCATTER_compressor_pct:
    return condition == ESTIMATE_CONDITION_idle_ac || condition == ESTIMATE_CONDITION_ac_step;
  case SCATTER_converter_pct:
    return condition == ESTIMATE_CONDITION_drive || condition == ESTIMATE_CONDITION_gear_step;
  case SCATTER_coolant_c:
    return !standing && condition != ESTIMATE_CONDITION_cold_idle;
  case SCATTER_intake_c:
    return condition != ESTIMATE_CONDITION_cold_idle;
  case SCATTER_target_rpm:
    return !standing && condition != ESTIMATE_CONDITION_hold_2500;
  case SCATTER_target_loaded_rpm:
    return !standing && condition != ESTIMATE_CONDITION_hold_2500 && condition != ESTIMATE_CONDITION_cold_idle;
  case SCATTER_filling_2500_pct:
  case SCATTER_spark_2500_deg:
    return condition == ESTIMATE_CONDITION_hold_2500 || condition == ESTIMATE_CONDITION_cold_idle; // that may idle fast
  case SCATTER_band_pct:
    return has(fault, CAUSE_film);
  case SCATTER_vapour_pct:
    return !standing && has(fault, CAUSE_purge_stuck);
  case SCATTER_exhaust_valve_pct:
    return !standing && has(fault, CAUSE_cylinder_compression);
  case SCATTER_stop_kept_pct:
    return has(fault, CAUSE_track_shifted_up);
  case SCATTER_cold_target_pct:
  case SCATTER_cold_fuel_pct:
    return condition == ESTIMATE_CONDITION_cold_idle ||
           (!standing && (has(fault, CAUSE_coolant_low) || has(fault, CAUSE_not_warm)));
  case SCATTER_bore_pct:
  case SCATTER_land_pct:
  case SCATTER_closed_deg:
  case SCATTER_clearance_um:
  case SCATTER_track_pct:
  case SCATTER_map_offset_kpa:
  case SCATTER_ambient_kpa:
    return true;
  default:
    return !standing;
  }
}

enum scatter estimate_forward_own(enum cause cause) {
  switch (cause) {
  case CAUSE_purge_stuck:
    return SCATTER_vapour_pct;
  case CAUSE_cylinder_compression:
    return SCATTER_exhaust_valve_pct;
  case CAUSE_track_shifted_up:
    return SCATTER_stop_kept_pct;
  default:
    return SCATTER_COUNT;
  }
}

static bool is_step(enum estimate_condition condition) {
  return condition == ESTIMATE_CONDITION_ac_step || condition == ESTIMATE_CONDITION_gear_step;
}

/* What the computer keeps from idling warm to the other conditions. */
struct kept {
  double learned_ratio;
  double long_trim[PLANT_BANK_MAX];
};

/* A learned offset that is not what long use would bring: as the setting says, forgotten, or that of before. False: there is none. */
static bool remembers(const struct estimate_setting *setting, const struct estimate_fault *fault, struct kept *kept) {
  *kept = (struct kept){.learned_ratio = setting->learned_ratio};
  for (size_t i = 0; i < fault->count; i++)
    if (cause_place(fault->cause[i]) == CAUSE_IN_MEMORY) {
      kept->learned_ratio = fault->severity[i] * UNITS_RATIO_PER_PCT;
      return true;
    }
  if (setting->stale) return true;
  kept->learned_ratio = 0.0;
  return fault->fresh;
}

/* The day, the fault, the car's own deviations, and what the condition asks. */
static void set_conditions(const struct estimate_setting *setting, const double *amounts, const struct estimate_fault *fault,
                           enum estimate_condition condition, struct conditions *c) {
  *c = setting->conditions;
  for (size_t i = 0; i < fault->count; i++) cause_apply(fault->cause[i], fault->severity[i], c);
  scatter_make_conditions(amounts, c);
  c->warmth_held = 1.0;
  if (condition == ESTIMATE_CONDITION_idle_ac) c->compressor_request = 1.0;
  if (condition == ESTIMATE_CONDITION_drive) c->drive_selected = 1.0;
  if (condition == ESTIMATE_CONDITION_hold_2500) c->hold_speed_rad_s = DRIVER_TEST_RPM * UNITS_RAD_S_PER_RPM;
  if (condition != ESTIMATE_CONDITION_cold_idle) return;
  // a car that stood for hours was as cold all through as its sensors say, less what they are wrong by
  c->coolant_k = setting->cold_coolant_c + UNITS_KELVIN_AT_ZERO_C - c->sensor_faults.coolant_bias_k;
  c->oil_k = c->coolant_k - COLD_OIL_K;
  c->intake_k = isnan(setting->cold_intake_c) ? c->coolant_k - COLD_RISE_K
                                              : setting->cold_intake_c + UNITS_KELVIN_AT_ZERO_C - c->sensor_faults.intake_bias_k;
}

static bool does_what_it_should(enum estimate_condition condition, enum settle_outcome outcome) {
  if (condition == ESTIMATE_CONDITION_key_on) return outcome == SETTLE_STANDS;
  if (condition == ESTIMATE_CONDITION_hold_2500) return outcome == SETTLE_HELD;
  return outcome == SETTLE_IDLES || outcome == SETTLE_DROOPS || outcome == SETTLE_RACES;
}

static void settle_at(struct estimate_forward *f, const struct estimate_setting *setting, const double *amounts,
                      const struct estimate_fault *fault, enum estimate_condition condition, const struct kept *kept,
                      struct estimate_point *point) {
  struct settle_query query = {0};
  set_conditions(setting, amounts, fault, condition, &query.conditions);
  query.engine_off = condition == ESTIMATE_CONDITION_key_on;
  query.learning = kept ? SETTLE_STALE : SETTLE_LEARNED;
  if (kept) query.learned_ratio = kept->learned_ratio;
  query.stop_kept_ratio = fmin(fmax(amounts[SCATTER_stop_kept_pct], 0.0), 1.0);
  if (condition == ESTIMATE_CONDITION_cold_idle) memcpy(query.long_trim, kept->long_trim, sizeof query.long_trim);
  struct settle_point settled;
  settle_solve(f->settle, &query, &settled);
  f->measures = settled.measures;
  *point = (struct estimate_point){.runs = does_what_it_should(condition, settled.outcome),
                                   .outcome = settled.outcome,
                                   .ambient_kpa = conditions_ambient_pa(&query.conditions) / UNITS_PA_PER_KPA};
  for (int i = 0; i < CHANNEL_COUNT; i++) point->values[i] = settled.values[i];
  point->area_lost_pct = NAN;
  if (condition == ESTIMATE_CONDITION_idle && point->runs)
    point->area_lost_pct = 100.0 * estimate_lost_ratio(settle_rest(f->settle),
                                                       UNITS_RATIO_PER_PCT * point->values[CHANNEL_tp_pct], setting->lost_air);
  estimate_scan_show(&f->car, settle_rest(f->settle)->computer.memory.closed_ratio[0], condition, point);
}

/* The lowest speed after a load came on, from idling as settle_at() has just left it. */
static void step_from_idle(struct estimate_forward *f, const struct estimate_point *idle, enum estimate_condition condition,
                           struct estimate_point *point) {
  *point = *idle;
  simulation_adopt(f->run, settle_rest(f->settle));
  if (condition == ESTIMATE_CONDITION_ac_step)
    f->run->vehicle.conditions.compressor_request = 1.0;
  else
    f->run->vehicle.conditions.drive_selected = 1.0;
  double lowest = f->run->vehicle.state.crank_speed_rad_s;
  int lowest_at = 0;
  struct error ignored = {0};
  for (int i = 0; i < (int)(STEP_WATCHED_S / COMPUTER_PERIOD_S); i++) {
    if (simulation_tick(f->run, &ignored) != STATUS_OK || f->run->vehicle.computer.mode != COMPUTER_RUNNING) {
      point->runs = false; // it stalled
      return;
    }
    const double speed = f->run->vehicle.state.crank_speed_rad_s;
    if (speed < lowest) {
      lowest = speed;
      lowest_at = i;
    }
    if (i - lowest_at > (int)(RECOVERED_S / COMPUTER_PERIOD_S) && speed > lowest + RECOVERED_RPM * UNITS_RAD_S_PER_RPM) break;
  }
  point->lowest_rpm = lowest / UNITS_RAD_S_PER_RPM;
}

static void change_car(struct estimate_forward *f, const double *z, const struct estimate_fault *fault,
                       double amounts[SCATTER_COUNT]) {
  estimate_forward_amounts(f->nominal, z, fault, amounts);
  scatter_make_car(f->nominal, amounts, &f->car);
  settle_change_car(f->settle, &f->car);
}

void estimate_forward_predict(struct estimate_forward *f, const struct estimate_setting *setting, const double *z,
                              const struct estimate_fault *fault, unsigned conditions,
                              struct estimate_point points[ESTIMATE_CONDITION_COUNT]) {
  double amounts[SCATTER_COUNT];
  change_car(f, z, fault, amounts);
  struct kept kept;
  const bool kept_so = remembers(setting, fault, &kept);
  if (conditions & ~ESTIMATE_AT_REST) {
    struct estimate_point idle;
    settle_at(f, setting, amounts, fault, ESTIMATE_CONDITION_idle, kept_so ? &kept : NULL, &idle);
    const struct computer_memory *memory = &settle_rest(f->settle)->computer.memory;
    kept.learned_ratio = memory->learned_ratio;
    for (int bank = 0; bank < PLANT_BANK_MAX; bank++) kept.long_trim[bank] = memory->long_trim[bank][COMPUTER_CELL_IDLE];
    for (int i = 0; i < ESTIMATE_CONDITION_COUNT; i++) {
      const enum estimate_condition condition = (enum estimate_condition)i;
      if (!is_step(condition) || !(conditions & (1u << i))) continue;
      points[i] = idle;
      if (idle.runs) step_from_idle(f, &idle, condition, &points[i]);
    }
    if (conditions & ESTIMATE_AT(idle)) points[ESTIMATE_CONDITION_idle] = idle;
  }
  for (int i = 0; i < ESTIMATE_CONDITION_COUNT; i++) {
    const enum estimate_condition condition = (enum estimate_condition)i;
    if (!(conditions & (1u << i)) || condition == ESTIMATE_CONDITION_idle || is_step(condition)) continue;
    settle_at(f, setting, amounts, fault, condition, &kept, &points[i]);
  }
}

bool estimate_forward_idles(struct estimate_forward *f, const struct estimate_setting *setting, const double *z,
                            const struct estimate_fault *fault) {
  struct estimate_point points[ESTIMATE_CONDITION_COUNT];
  estimate_forward_predict(f, setting, z, fault, ESTIMATE_AT(idle), points);
  return points[ESTIMATE_CONDITION_idle].outcome == SETTLE_IDLES;
}

double estimate_forward_rest_s(struct estimate_forward *f, const struct estimate_setting *setting, const double *z,
                               const struct estimate_fault *fault, double most_s) {
  double amounts[SCATTER_COUNT];
  change_car(f, z, fault, amounts);
  struct estimate_point idle;
  const struct kept kept = {.learned_ratio = setting->learned_ratio};
  settle_at(f, setting, amounts, fault, ESTIMATE_CONDITION_idle, &kept, &idle);
  if (!idle.runs) return NAN;
  simulation_adopt(f->run, settle_rest(f->settle));
  const long watched = lround(WATCHED_S / COMPUTER_PERIOD_S), most = lround(most_s / COMPUTER_PERIOD_S);
  struct error ignored = {0};
  double learned_before = setting->learned_ratio, furthest = 0.0;
  for (long i = 1; i <= most; i++) {
    if (simulation_tick(f->run, &ignored) != STATUS_OK || f->run->vehicle.computer.mode != COMPUTER_RUNNING) return NAN;
    furthest = fmax(furthest, fabs(f->run->vehicle.state.crank_speed_rad_s - f->run->vehicle.computer.target_rad_s));
    if (i % watched != 0) continue;
    const double learned = f->run->vehicle.computer.memory.learned_ratio;
    if (furthest < ON_TARGET_RPM * UNITS_RAD_S_PER_RPM && fabs(learned - learned_before) < RESTING_RATIO)
      return (double)(i - watched) * COMPUTER_PERIOD_S; // it has been at rest since the watch began
    learned_before = learned;
    furthest = 0.0;
  }
  return NAN;
}
