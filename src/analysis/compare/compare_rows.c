#include "analysis/compare/compare_rows.h"

#include <math.h>

// Where a condition is not known it may have changed as on the real car of docs/compare.md: intake air 8 C, barometer 0.4 kPa, day to day.
#define UNKNOWN_INTAKE_K    8.0
#define UNKNOWN_AMBIENT_KPA 0.4
// Speed of an engine whose idle control is at its end: nothing holds it, and a day's loads move it. Shipped engines with a film of 35 to 80 um
// on two drawn days each differ by some 50 rpm, one from the other.
#define UNGOVERNED_RPM 35.0
#define COOLANT_FREE_K 3.0 // a thermostat's play

/* One row per quantity that is compared.
 *
 * day, day_share: sd from day to day, in its unit and as share of the reading. Speed, position, pressure, spark, trims, air: 24 days of
 *   one production car (public data set of the thesis named in docs/compare.md). Steps, idle air: as its air, 3.1 % of it (a step 3 % of idle air, invented).
 * coolant: per K of the coolant between 72 and 90 C, the same car's warm-up. intake, ambient: as the throttle's area must follow the air
 *   that is drawn in, sqrt(T) / p0, with 0.018 % of position per 1 % of area, the same car's curve at idle.
 * load: what 100 W of lamps, blower or battery to charge do to an idling engine, about what one day differs from another by
 *   (electrical_w of the group scatter): settled points of the shipped engines. Idle air added: fed forward.
 * per_air: how far the opening follows 1 % of air, the same points: 0.022 for 1.6 and 3.0 l, 0.036 for 1.0 l; 0.018 on the real car.
 * held: what load is at 2500 rpm, as share of that. by_speed, by_speed_share: per rpm by which the speed that is held there differs, in its
 *   unit and as share of the reading. Settled points of the same four engines.
 * least: change that is worth a word, about 5 % of an idle's air area; common practice, no source. */
struct row {
  enum estimate_quantity quantity;
  double day, day_share, coolant, intake, ambient, load, load_share, per_air, least, held, by_speed, by_speed_share;
};

// clang-format off
static const struct row rows[] = {
    {ESTIMATE_QUANTITY_speed_rpm,    1.3,  0.0,   2.0,   0.0,   0.0, 0.0, 0.0, 0.0, 0.0, 1.0, 0.0, 0.0},
    {ESTIMATE_QUANTITY_target_rpm,   1.0,  0.0,   2.0,   0.0,   0.0, 0.0, 0.0, 0.0, 0.0, 1.0, 0.0, 0.0},
    {ESTIMATE_QUANTITY_tp_pct,       0.1,  0.0,   0.022, 0.003, 0.018, 0.2, 0.0, 0.024, 0.15, 0.65, 0.0022, 0.0},
    {ESTIMATE_QUANTITY_blade_pct,    0.12, 0.0,   0.025, 0.004, 0.022, 0.25, 0.0, 0.03, 0.18, 0.65, 0.0027, 0.0},
    {ESTIMATE_QUANTITY_maf_gps,      0.0,  0.031, 0.012, 0.001, 0.0, 0.0, 0.08, 0.0, 0.0, 0.3, 0.0, 0.00046},
    {ESTIMATE_QUANTITY_map_kpa,      0.4,  0.0,   0.06,  0.05,  0.1, 1.4, 0.0, 0.0, 0.0, 0.35, 0.0, 0.0},
    {ESTIMATE_QUANTITY_manifold_kpa, 0.4,  0.0,   0.06,  0.05,  0.1, 1.4, 0.0, 0.0, 0.0, 0.35, 0.0, 0.0},
    {ESTIMATE_QUANTITY_load_pct,     0.0,  0.031, 0.06,  0.05,  0.1, 1.5, 0.0, 0.0, 0.0, 0.35, 0.0, 0.0},
    {ESTIMATE_QUANTITY_spark_deg,    0.9,  0.0,   0.06,  0.02,  0.0, 0.0, 0.0, 0.0, 0.0, 1.0, 0.0, 0.0},
    {ESTIMATE_QUANTITY_trim_pct,     1.7,  0.0,   0.05,  0.05,  0.1, 0.0, 0.0, 0.0, 0.0, 1.0, 0.0, 0.0},
    {ESTIMATE_QUANTITY_trim2_pct,    1.7,  0.0,   0.05,  0.05,  0.1, 0.0, 0.0, 0.0, 0.0, 1.0, 0.0, 0.0},
    {ESTIMATE_QUANTITY_stft_pct,     1.7,  0.0,   0.05,  0.05,  0.1, 0.0, 0.0, 0.0, 0.0, 1.0, 0.0, 0.0},
    {ESTIMATE_QUANTITY_ltft_pct,     1.7,  0.0,   0.05,  0.05,  0.1, 0.0, 0.0, 0.0, 0.0, 1.0, 0.0, 0.0},
    {ESTIMATE_QUANTITY_idle_air_pct, 3.1,  0.0,   0.6,   0.17,  1.0, 0.0, 0.0, 0.0, 5.0, 1.0, 0.0, 0.0},
    {ESTIMATE_QUANTITY_learned_pct,  3.1,  0.0,   0.6,   0.17,  1.0, 0.0, 0.0, 0.0, 0.0, 1.0, 0.0, 0.0},
    {ESTIMATE_QUANTITY_effort_pct,   3.1,  0.0,   0.6,   0.17,  1.0, 0.0, 0.0, 0.0, 0.0, 1.0, 0.0, 0.0},
    {ESTIMATE_QUANTITY_bypass_steps, 1.0,  0.0,   0.3,   0.05,  0.4, 8.0, 0.0, 0.9, 3.0, 1.0, 0.0, 0.0},
};
// clang-format on

static const struct row *row_of(enum estimate_quantity quantity) {
  for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++)
    if (rows[i].quantity == quantity) return &rows[i];
  return NULL;
}

double compare_rows_day_sd(enum estimate_quantity quantity, double value, bool on_target) {
  const struct row *row = row_of(quantity);
  if (quantity == ESTIMATE_QUANTITY_speed_rpm && !on_target) return UNGOVERNED_RPM;
  return row ? hypot(row->day, row->day_share * value) : 0.0;
}

double compare_rows_load_sd(enum estimate_condition condition, enum estimate_quantity quantity, double value) {
  const struct row *row = row_of(quantity);
  const double share = row && condition == ESTIMATE_CONDITION_hold_2500 ? row->held : 1.0;
  return row ? share * hypot(row->load, row->load_share * value) : 0.0;
}

double compare_rows_by_speed(enum estimate_quantity quantity, double value) {
  const struct row *row = row_of(quantity);
  return row ? row->by_speed + row->by_speed_share * value : 0.0;
}

double compare_rows_per_air(enum estimate_quantity quantity) {
  const struct row *row = row_of(quantity);
  return row ? row->per_air : 0.0;
}

double compare_rows_unequal_sd(enum estimate_quantity quantity, double value, const struct compare_unlike *unlike) {
  const struct row *row = row_of(quantity);
  if (!row) return 0.0;
  const double coolant = fmax(fabs(unlike->coolant_k) - COOLANT_FREE_K, 0.0);
  const double intake = unlike->intake_known ? unlike->intake_k : UNKNOWN_INTAKE_K;
  const double ambient = unlike->ambient_known ? unlike->ambient_kpa : UNKNOWN_AMBIENT_KPA;
  const double scale = quantity == ESTIMATE_QUANTITY_maf_gps ? fabs(value) / 2.0 : 1.0; // the row's are those of 2 g/s
  return scale * sqrt(pow(row->coolant * coolant, 2.0) + pow(row->intake * intake, 2.0) + pow(row->ambient * ambient, 2.0));
}

double compare_rows_opening_least(enum estimate_quantity quantity) {
  const struct row *row = row_of(quantity);
  return row ? row->least : 0.0;
}
