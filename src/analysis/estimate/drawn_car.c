#include "analysis/estimate/drawn_car.h"

#include "analysis/estimate/estimate_discrepancy.h"
#include "base/random.h"
#include "car/engine.h"

#include <assert.h>
#include <math.h>

#define COLDEST_C    (-10.0)
#define LEAST_COLD_C 30.0

/* Quantities that are drawn: all but what comes of logs, which stands last, so that it shifts nobody's numbers. */
enum { DRAWN_COUNT = ESTIMATE_QUANTITY_area_lost_pct };

/* Random numbers of one car, by what they are for. */
enum {
  NUMBER_CAUSE,
  NUMBER_SHARE,
  NUMBER_COLD,
  NUMBER_COLD_THEN,
  NUMBER_Z,
  NUMBER_Z_THEN = NUMBER_Z + SCATTER_COUNT,
  NUMBER_READING = NUMBER_Z_THEN + SCATTER_COUNT,
  NUMBER_COMMON = NUMBER_READING + 2 * DRAWN_COUNT * ESTIMATE_CONDITION_COUNT,
  NUMBER_OWN = NUMBER_COMMON + DRAWN_COUNT,
  NUMBER_DAY = NUMBER_OWN + DRAWN_COUNT * ESTIMATE_CONDITION_COUNT,
  NUMBER_COUNT = NUMBER_DAY + 2 * DRAWN_COUNT,
};

const struct estimate_fault drawn_car_good = {0};

/* What is not listed cannot be drawn, and what a computer remembers wrongly it unlearns while it is read. */
static bool can_be_drawn(enum cause cause) { return cause != CAUSE_unlisted && cause_place(cause) != CAUSE_IN_MEMORY; }

static enum cause draw_cause(const struct engine *engine, double u) {
  double all = 0.0, below = 0.0;
  for (int i = 0; i < CAUSE_COUNT; i++)
    if (can_be_drawn((enum cause)i)) all += cause_prior(engine, (enum cause)i);
  enum cause last = CAUSE_nothing;
  for (int i = 0; i < CAUSE_COUNT; i++) {
    const double prior = cause_prior(engine, (enum cause)i);
    if (!(prior > 0.0) || !can_be_drawn((enum cause)i)) continue;
    last = (enum cause)i;
    below += prior / all;
    if (u < below) break;
  }
  return last;
}

static double uniform(const struct drawn_car *car, uint64_t number) {
  return random_uniform(car->seed, RANDOM_STREAM_CASE, car->key + number);
}

static double normal(const struct drawn_car *car, uint64_t number) {
  return random_normal(car->seed, RANDOM_STREAM_CASE, car->key + number);
}

void drawn_car_draw(const struct engine *engine, uint64_t seed, uint64_t number, uint64_t attempt, struct drawn_car *car) {
  assert(attempt < DRAWN_CAR_ATTEMPT_MAX);
  *car = (struct drawn_car){.seed = seed, .key = (number * DRAWN_CAR_ATTEMPT_MAX + attempt) * NUMBER_COUNT};
  car->cause = draw_cause(engine, uniform(car, NUMBER_CAUSE));
  car->share = uniform(car, NUMBER_SHARE);
  if (car->cause != CAUSE_nothing)
    car->fault = (struct estimate_fault){.count = 1, .cause = {car->cause}, .severity = {cause_severity(car->cause, car->share)}};
  for (int i = 0; i < SCATTER_COUNT; i++) {
    car->z[i] = normal(car, (uint64_t)NUMBER_Z + (uint64_t)i);
    car->z_then[i] = scatter_rows[i].kind == SCATTER_UNIT ? car->z[i] : normal(car, (uint64_t)NUMBER_Z_THEN + (uint64_t)i);
  }
  car->cold_c = COLDEST_C + (LEAST_COLD_C - COLDEST_C) * uniform(car, NUMBER_COLD);
  car->cold_then_c = COLDEST_C + (LEAST_COLD_C - COLDEST_C) * uniform(car, NUMBER_COLD_THEN);
}

/* The same car is off by as much today as then, but for what goes with the day. */
static double model_error(const struct drawn_car *car, enum estimate_quantity quantity, enum estimate_condition condition,
                          bool then, double value) {
  const struct estimate_discrepancy_row *row = &estimate_discrepancy_rows[quantity];
  const int place = (int)condition * DRAWN_COUNT + (int)quantity;
  const double error = row->common * normal(car, (uint64_t)(NUMBER_COMMON + (int)quantity)) +
                       row->own * normal(car, (uint64_t)(NUMBER_OWN + place)) +
                       row->day * normal(car, (uint64_t)(NUMBER_DAY + 2 * (int)quantity + then));
  return error * estimate_discrepancy_scale(row, value);
}

void drawn_car_add_reading(const struct drawn_car *car, enum estimate_quantity quantity, enum estimate_condition condition,
                           bool then, const struct estimate_point *point, double spread, struct estimate_readings *readings) {
  const struct estimate_quantity_row *row = &estimate_quantities[quantity];
  const double value = row->value(point);
  if (isnan(value)) return;
  assert(readings->count < ESTIMATE_READING_MAX && (int)quantity < (int)DRAWN_COUNT);
  const int place = ((then ? 1 : 0) * ESTIMATE_CONDITION_COUNT + (int)condition) * DRAWN_COUNT + (int)quantity;
  const double flicker = hypot(row->flicker, row->flicker_share * value);
  const double added = sqrt(fmax(flicker * flicker - spread * spread, 0.0));
  const double flickers = added * normal(car, (uint64_t)(NUMBER_READING + place));
  const double read =
      row->resolution * round((value + model_error(car, quantity, condition, then, value) + flickers) / row->resolution);
  readings->readings[readings->count++] =
      (struct estimate_reading){quantity, condition, read, estimate_reading_sd(quantity, read, NAN, NAN)};
}
