#include "analysis/fit/fit_engine.h"

#include "base/units.h"
#include "car/engine_check.h"
#include "plant/plant.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define FEED_ALONE_PCT 3.0 // how far what a computer expects is off where what it has learned was read; one and a half counts
#define HALF           0.5 // of a standard deviation, for slopes
#define LEAST_SD       1e-6

void fit_engine_loosen(struct engine *engine) {
  card_engine_widen(&engine->computer.air);
  engine->scatter.sd[SCATTER_learned_limit_pct] = 0.0;
  engine->scatter.sd[SCATTER_effort_limit_pct] = 0.0;
  engine->scatter.sd[SCATTER_feed_pct] = 0.0;
}

/* ---- What deviates by conditions, in the engine ---- */

static double amount(const struct fit *fit, enum scatter scatter) {
  return fit->mean[scatter] * fit->nominal.scatter.sd[scatter];
}

static void fold(const struct fit *fit, struct plant_params *plant) {
  const double nm_per_pa = plant->charge.displacement_m3 / (4.0 * UNITS_PI);
  plant->friction.constant_pa =
      fmax(plant->friction.constant_pa + amount(fit, SCATTER_accessory_nm) / nm_per_pa, 0.1 * UNITS_PA_PER_BAR);
  curve_raise(&plant->combustion.best_spark_rad, -amount(fit, SCATTER_spark_deg));
  plant->mixture.injector_ratio = amount(fit, SCATTER_injector_pct);
  plant->air_sensor.gain_ratio = amount(fit, SCATTER_maf_gain_pct);
  plant->intake.pressure_sensor_pa = amount(fit, SCATTER_map_offset_kpa);
}

/* ---- Its spread ---- */

/* Deviations that multiply, and so are shares of another value now. */
static bool multiplies(enum scatter scatter) {
  const char *key = scatter_rows[scatter].key;
  return scatter != SCATTER_track_pct && strcmp(key + strlen(key) - 4, "_pct") == 0;
}

static void set_spread(const struct fit *fit, struct scatter_params *scatter) {
  const struct scatter_params *road = &fit->question->nominal->scatter;
  memset(scatter, 0, sizeof *scatter);
  scatter->of_models = true;
  for (int i = 0; i < SCATTER_COUNT; i++) scatter->sd[i] = road->sd[i];
  scatter->sd[SCATTER_ambient_kpa] = UNITS_PA_PER_KPA * scatter_road[SCATTER_ambient_kpa]; // the file is for any place
  for (size_t i = 0; i < fit->count; i++) {
    const enum scatter si = fit->scatter[i];
    const double sd = sqrt(fit->covariance[i * fit->count + i]);
    scatter->sd[si] = sd * road->sd[si] / (multiplies(si) ? fmax(1.0 + amount(fit, si), 0.2) : 1.0);
    for (size_t k = 0; k < i; k++) {
      const double other = sqrt(fit->covariance[k * fit->count + k]);
      const double tie = fit->covariance[i * fit->count + k] / (sd * other);
      const enum scatter sk = fit->scatter[k];
      scatter->ties[scatter_tie(si, sk)] = (float)tie;
    }
  }
}

/* Written with few digits they must still be correlations. */
#define LOOSER 0.9995

static double tie_of(const struct scatter_params *scatter, enum scatter a, enum scatter b) {
  return a == b ? 1.0 : (double)scatter->ties[scatter_tie(a, b)];
}

/* ---- What its computer expects ---- */

struct room {
  struct engine engine, car;
  struct settle_query query;
  struct settle_point point;
};

/* Air that the idle controller learns, share of base, if it may; NaN where it does not idle. */
static double learned(struct settle *settle, const struct engine *engine, const double *z, struct room *room) {
  double amounts[SCATTER_COUNT];
  scatter_amounts(engine, z, amounts);
  scatter_make_car(engine, amounts, &room->car);
  settle_query_init(&room->query);
  room->query.conditions.warmth_held = 1.0;
  scatter_make_conditions(amounts, &room->query.conditions);
  settle_change_car(settle, &room->car);
  settle_solve(settle, &room->query, &room->point);
  return room->point.outcome == SETTLE_IDLES ? UNITS_RATIO_PER_PCT * room->point.values[CHANNEL_learned_pct] : NAN;
}

/* The feed-forward follows what the car needs, with a spread of its own: its row, and how it hangs together with the others. */
static void tie_feed(struct scatter_params *scatter, const double *slopes, double alone) {
  double covariance[SCATTER_COUNT] = {0}, variance = alone * alone;
  for (int i = 0; i < SCATTER_COUNT; i++)
    for (int k = 0; k < SCATTER_COUNT; k++)
      covariance[i] += tie_of(scatter, (enum scatter)i, (enum scatter)k) * slopes[k]; // in standard deviations of i
  for (int i = 0; i < SCATTER_COUNT; i++) variance += slopes[i] * covariance[i];
  scatter->sd[SCATTER_feed_pct] = sqrt(fmax(variance, LEAST_SD));
  for (int i = 0; i < SCATTER_COUNT; i++) {
    if (i == SCATTER_feed_pct) continue;
    const double tie = covariance[i] / scatter->sd[SCATTER_feed_pct];
    scatter->ties[scatter_tie((enum scatter)i, SCATTER_feed_pct)] = (float)tie;
  }
}

static bool expect_air(const struct fit *fit, struct settle *settle, double alone, struct room *room, struct engine *engine) {
  double slopes[SCATTER_COUNT] = {0}, z[SCATTER_COUNT] = {0};
  room->engine = *engine;
  fit_engine_loosen(&room->engine);
  settle_change_engine(settle, &room->engine);
  const double here = learned(settle, &room->engine, z, room);
  if (isnan(here)) return false;
  for (size_t i = 0; i < fit->count; i++) {
    const enum scatter scatter = fit->scatter[i];
    if (scatter_rows[scatter].kind != SCATTER_UNIT) continue;
    z[scatter] = HALF;
    double there = learned(settle, &room->engine, z, room), step = HALF;
    if (isnan(there)) {
      z[scatter] = step = -HALF;
      there = learned(settle, &room->engine, z, room);
    }
    slopes[scatter] = isnan(there) ? 0.0 : (there - here) / step;
    z[scatter] = 0.0;
  }
  tie_feed(&engine->scatter, slopes, alone);
  for (size_t i = 0; i < SCATTER_TIE_COUNT; i++) engine->scatter.ties[i] *= (float)LOOSER;
  return true;
}

/* ---- Numbers that can be read ---- */

#define DIGITS 1e5 // of a value in the user's unit: far finer than any is known

static double rounded(double value) {
  if (!(fabs(value) > 0.0)) return value;
  const double scale = DIGITS / pow(10.0, ceil(log10(fabs(value))));
  return round(value * scale) / scale;
}

static void round_curve(const struct field *field, struct curve *curve) {
  for (size_t i = 0; i < curve->count; i++) curve->y[i] = field_to_si(field, rounded(field_from_si(field, curve->y[i])));
  curve_renew(curve);
}

static void round_value(const struct field *field, char *base, const char *before) {
  if (field->kind == FIELD_REAL) {
    const double si = field_real(field, base);
    if (si < field_real(field, before) || si > field_real(field, before))
      field_set_real(field, base, field_to_si(field, rounded(field_from_si(field, si))));
  } else if (field->kind == FIELD_CURVE) {
    struct curve *curve = (void *)(base + field->offset);
    // any change of a bit is a change. NOLINTNEXTLINE(bugprone-suspicious-memory-comparison)
    if (curve->count > 0 && memcmp(curve, before + field->offset, sizeof *curve) != 0) round_curve(field, curve);
  }
}

/* What differs from the shipped engine. */
static void round_values(const struct engine *start, struct engine *engine) {
  for (size_t i = 0; i < ENGINE_PART_COUNT; i++)
    for (size_t j = 0; j < *engine_parts[i].count; j++) {
      const struct field_group *group = &engine_parts[i].groups[j];
      const size_t at = engine_parts[i].base + group->base;
      for (size_t k = 0; k < group->count; k++) round_value(&group->fields[k], (char *)engine + at, (const char *)start + at);
    }
}

/* ---- What an engine file may say ---- */

/* A curve that the readings push past its range ends there: a discharge coefficient is never above 1. */
static void bound_curve(const struct field *field, struct curve *curve) {
  for (size_t i = 0; i < curve->count; i++)
    curve->y[i] = fmin(fmax(curve->y[i], field_to_si(field, field->min)), field_to_si(field, field->max));
  curve_renew(curve);
}

/* Spreads grow as shares of a smaller value; no file takes more than the row's most. */
static void bound_spread(struct scatter_params *scatter) {
  for (int i = 0; i < SCATTER_COUNT; i++) {
    const struct field *field = &scatter_groups[0].fields[i];
    scatter->sd[i] = fmin(scatter->sd[i], field_to_si(field, field->max));
  }
}

static void bound_curves(struct engine *engine) {
  for (size_t i = 0; i < ENGINE_PART_COUNT; i++)
    for (size_t j = 0; j < *engine_parts[i].count; j++) {
      const struct field_group *group = &engine_parts[i].groups[j];
      char *base = (char *)engine + engine_parts[i].base + group->base;
      for (size_t k = 0; k < group->count; k++) {
        struct curve *curve = (void *)(base + group->fields[k].offset);
        if (group->fields[k].kind == FIELD_CURVE && curve->count > 0) bound_curve(&group->fields[k], curve);
      }
    }
}

/* The pedal cannot turn the blade past the bore's axis, wherever it shuts. */
static void bound_pedal(struct engine *engine) {
  struct curve *opening = &engine->computer.pedal.opening_rad;
  const double most = plant_travel_rad(&engine->plant.throttle);
  const double written = floor(most / UNITS_RAD_PER_DEG * 1e3) / 1e3 * UNITS_RAD_PER_DEG; // still so with few digits
  for (size_t i = 0; i < opening->count; i++) opening->y[i] = fmin(opening->y[i], written);
  curve_renew(opening);
}

static enum status check_group(const struct field_group *group, const char *base, const char *before, struct error *error) {
  for (size_t k = 0; k < group->count; k++) {
    const struct field *field = &group->fields[k];
    if (field->kind != FIELD_REAL || memcmp(base + field->offset, before + field->offset, sizeof(double)) == 0) continue;
    const double value = field_from_si(field, field_real(field, base));
    if (!(value >= field->min && value <= field->max))
      return error_set(error, STATUS_NO,
                       "the readings need %s.%s = %.4g, and it can be %g to %g (%s): that is not a good car of this card",
                       group->name, field->key, value, field->min, field->max, field->text);
  }
  return STATUS_OK;
}

/* What differs from the shipped engine. */
static enum status check_values(const struct engine *start, const struct engine *engine, struct error *error) {
  enum status status = STATUS_OK;
  for (size_t i = 0; i < ENGINE_PART_COUNT; i++)
    for (size_t j = 0; status == STATUS_OK && j < *engine_parts[i].count; j++) {
      const struct field_group *group = &engine_parts[i].groups[j];
      const size_t at = engine_parts[i].base + group->base;
      status = check_group(group, (const char *)engine + at, (const char *)start + at, error);
    }
  return status == STATUS_OK ? engine_check(engine, error) : status;
}

/* ---- The whole ---- */

/* What the computer of this very car has learned, idling; 0 where that was not read. */
static double learned_by_it(const struct fit *fit, bool *read) {
  *read = false;
  if (!fit->question->this_car || fit->question->car_count == 0) return 0.0;
  const struct estimate_readings *readings = &fit->question->readings[0];
  const struct estimate_reading *all = estimate_readings_find(readings, ESTIMATE_QUANTITY_idle_air_pct, ESTIMATE_CONDITION_idle);
  const struct estimate_reading *kept = estimate_readings_find(readings, ESTIMATE_QUANTITY_learned_pct, ESTIMATE_CONDITION_idle);
  *read = all || kept;
  return UNITS_RATIO_PER_PCT * (all ? all->value : kept ? kept->value : 0.0);
}

#define LEAST_REST_RAD (1.0 * UNITS_RAD_PER_DEG)
#define MOST_REST_RAD  (12.0 * UNITS_RAD_PER_DEG)

/* Where the springs leave the blade, if the position with the key on is that. */
static void set_rest_opening(const struct fit *fit, struct engine *engine) {
  const struct throttle_params *throttle = &engine->plant.throttle;
  if (engine->computer.scan.key_on_definition != COMPUTER_KEY_ON_REST || throttle->kind == THROTTLE_CABLE) return;
  const struct estimate_reading *read =
      fit->question->car_count
          ? estimate_readings_find(&fit->question->readings[0], ESTIMATE_QUANTITY_tp_pct, ESTIMATE_CONDITION_key_on)
          : NULL;
  const double stood = UNITS_RATIO_PER_PCT * (read ? read->value : fit->question->card->values[CARD_stop_pct]);
  if (isnan(stood)) return;
  const double rest_rad = plant_track_share(throttle, stood) * plant_travel_rad(throttle);
  engine->plant.drive.rest_opening_rad = fmin(fmax(rest_rad, LEAST_REST_RAD), MOST_REST_RAD);
}

static bool make(struct fit *fit, struct settle *settle, struct room *room) {
  struct engine *engine = &fit->engine;
  const struct idle_air_params *limits = &fit->question->nominal->computer.air;
  double amounts[SCATTER_COUNT];
  scatter_amounts(&fit->nominal, fit->mean, amounts);
  scatter_make_car(&fit->nominal, amounts, engine);
  engine->calibrated_on = NULL;
  fold(fit, &engine->plant);
  set_rest_opening(fit, engine);
  engine->computer.air.effort_least_ratio = limits->effort_least_ratio;
  engine->computer.air.effort_most_ratio = limits->effort_most_ratio;
  engine->computer.air.learned_least_ratio = limits->learned_least_ratio;
  engine->computer.air.learned_most_ratio = limits->learned_most_ratio;
  bound_curves(engine);
  bound_pedal(engine);
  round_values(fit->question->start, engine);
  bool read;
  const double shows = learned_by_it(fit, &read);
  if (!card_engine_calibrate(settle, shows, engine)) return false;
  set_spread(fit, &engine->scatter);
  const double alone = UNITS_RATIO_PER_PCT * (read ? FEED_ALONE_PCT : scatter_road[SCATTER_feed_pct]);
  bound_spread(&engine->scatter);
  if (!expect_air(fit, settle, alone, room, engine)) return false;
  bound_spread(&engine->scatter);
  round_values(fit->question->start, engine);
  return true;
}

enum status fit_engine_make(struct fit *fit, struct error *error) {
  struct settle *settle = NULL;
  struct room *room = calloc(1, sizeof *room);
  enum status status =
      room ? settle_create(&fit->nominal, &settle, error) : error_set(error, STATUS_NO_MEMORY, "out of memory for a fit");
  if (status == STATUS_OK && !make(fit, settle, room))
    status = error_set(
        error, STATUS_NO,
        "the engine that these readings give does not idle at its target: check displacement, idle target and readings");
  settle_destroy(settle);
  free(room);
  return status == STATUS_OK ? check_values(fit->question->start, &fit->engine, error) : status;
}
