/* sim/causes and sim/scatter: the tables name what there is, on every engine that is shipped. */
#include "support/check.h"

#include "base/attributes.h"
#include "base/units.h"
#include "car/causes.h"
#include "car/scatter.h"
#include "io/config/engine_file.h"

#include <string.h>

static const char *const engines[] = {"models/four-16.cfg", "models/four-18-cable.cfg", "models/three-10.cfg",
                                      "models/six-30.cfg", "models/four-15-turbo.cfg"};

static void read_engine(const char *path, struct engine *engine) {
  struct error error = {0};
  assert_int_equal(engine_file_read(path, engine, &error), STATUS_OK);
}

/* A severity at either end of the row is one that a scenario could set, or a deviation that an engine may have; so is the furthest of the
 * tails. */
static void severities_are_conditions(void **state) {
  (void)state;
  for (int i = 0; i < CAUSE_COUNT; i++) {
    const struct cause_row *cause = &cause_rows[i];
    assert_int_equal(cause_find(cause->name), i);
    const struct condition_row *row = condition_find(cause->condition);
    assert_int_equal(row != NULL, cause_place((enum cause)i) == CAUSE_IN_CONDITIONS);
    if (cause_place((enum cause)i) == CAUSE_IN_CAR) assert_true(scatter_find(cause->condition) >= 0);
    if (!row) continue;
    const double shares[] = {0.0, CAUSE_LEAST_SHARE, 0.5, CAUSE_MOST_SHARE, 1.0};
    for (size_t k = 0; k < ARRAY_COUNT(shares); k++) {
      const double severity = cause_severity((enum cause)i, shares[k]);
      const double slack = 1e-9 * fabs(row->field.max); // a logarithm there and back
      if (severity < row->field.min - slack || severity > row->field.max + slack) fail_msg("%s: %g", cause->name, severity);
    }
  }
}

/* The prior is uniform in the share between the row's ends, its least and most at their shares; beyond, it goes on without a step, the one
 * way to the condition's range, the other towards what is sound. */
static void shares(void **state) {
  (void)state;
  check_relative(cause_severity(CAUSE_film, 0.5), 57.5, 1e-12);
  check_relative(cause_severity(CAUSE_vacuum_leak, 0.5), sqrt(0.7 * 25.0), 1e-12); // geometric mean
  check_relative(cause_severity(CAUSE_air_flow_low, CAUSE_MOST_SHARE), 0.65, 1e-12);
  check_relative(cause_severity(CAUSE_film, 1.0), 300.0, 1e-12);
  check_relative(cause_severity(CAUSE_film, 0.0), 1.0, 1e-12);               // a fifth of the least
  check_relative(cause_severity(CAUSE_air_flow_low, 0.0), 0.99, 1e-12);      // a fifth of the way from sound to the least
  check_relative(cause_severity(CAUSE_compressor_left_on, 0.0), 1.0, 1e-12); // on or off
  for (int i = 0; i < CAUSE_COUNT; i++) {
    const struct condition_row *row = condition_find(cause_rows[i].condition);
    const bool goes_on = !row || (cause_rows[i].most != row->field.max && cause_rows[i].most != row->field.min);
    if (cause_rows[i].least == cause_rows[i].most) continue;
    const double direction = cause_rows[i].most > cause_rows[i].least ? 1.0 : -1.0;
    for (double share = 0.0; share < (goes_on ? 1.0 : CAUSE_MOST_SHARE - 1.0 / 64.0); share += 1.0 / 64.0)
      if (direction * (cause_severity((enum cause)i, share + 1.0 / 64.0) - cause_severity((enum cause)i, share)) <= 0.0)
        fail_msg("%s does not go one way at %g", cause_rows[i].name, share);
    check_close(cause_severity((enum cause)i, CAUSE_LEAST_SHARE - 1e-12), cause_rows[i].least,
                1e-6 * fabs(cause_rows[i].least) + 1e-6);
    check_close(cause_severity((enum cause)i, CAUSE_MOST_SHARE + 1e-12), cause_rows[i].most,
                1e-6 * fabs(cause_rows[i].most) + 1e-6);
  }
}

/* A cause of the car moves one deviation and no condition; an engine that is not warm has cold oil too. */
static void other_places(void **state) {
  (void)state;
  struct conditions before, after;
  conditions_init(&before);
  after = before;
  double amounts[SCATTER_COUNT] = {0};
  cause_apply(CAUSE_stop_other, 0.5, &after);
  cause_add(CAUSE_stop_other, 0.5, amounts);
  assert_memory_equal(&after, &before, sizeof after);
  for (int i = 0; i < SCATTER_COUNT; i++) check_close(amounts[i], i == SCATTER_track_pct ? 0.005 : 0.0, 1e-12);
  cause_apply(CAUSE_offset_stale, 20.0, &after);
  assert_memory_equal(&after, &before, sizeof after);
  cause_apply(CAUSE_not_warm, 40.0, &after);
  check_relative(after.coolant_k, 313.15, 1e-12);
  check_relative(after.oil_k, 313.15, 1e-12);
}

/* Applied, the condition has the severity in SI and nothing else has changed. */
static void apply(void **state) {
  (void)state;
  struct conditions before, after;
  conditions_init(&before);
  after = before;
  cause_apply(CAUSE_film, 40.0, &after);
  check_relative(after.film_m, 40e-6, 1e-12);
  after.film_m = before.film_m;
  assert_memory_equal(&after, &before, sizeof after);
}

/* Rates are shares of a whole on each engine; what it cannot have has none. */
static void rates(void **state) {
  (void)state;
  for (size_t e = 0; e < ARRAY_COUNT(engines); e++) {
    struct engine engine;
    read_engine(engines[e], &engine);
    double sum = 0.0;
    for (int i = 0; i < CAUSE_COUNT; i++) sum += cause_prior(&engine, (enum cause)i);
    check_close_at((double)e, sum, 1.0, 1e-12);
    const bool cable = engine.plant.throttle.kind == THROTTLE_CABLE;
    assert_int_equal(cause_prior(&engine, CAUSE_bypass_film) > 0.0, cable);
    assert_int_equal(cause_prior(&engine, CAUSE_position_lost) > 0.0, !cable);
  }
}

/* A car of zero standard deviations is the engine itself; its computer stays calibrated on the nominal one whatever it is. */
static void nominal_car(void **state) {
  (void)state;
  struct engine engine, car;
  read_engine(engines[0], &engine);
  const double none[SCATTER_COUNT] = {0};
  scatter_make_car(&engine, none, &car);
  assert_memory_equal(&car.plant, &engine.plant, sizeof car.plant);
  assert_memory_equal(&car.computer, &engine.computer, sizeof car.computer);
  assert_ptr_equal(engine_calibrated_on(&car), &engine.plant);
}

/* Deviations of models are what the computer was calibrated on. */
static void of_models(void **state) {
  (void)state;
  struct engine engine, car;
  read_engine(engines[0], &engine);
  engine.scatter.of_models = true;
  double amounts[SCATTER_COUNT] = {0};
  amounts[SCATTER_bore_pct] = 0.05;
  scatter_make_car(&engine, amounts, &car);
  check_relative(engine_calibrated_on(&car)->throttle.bore.radius_m, 1.05 * engine.plant.throttle.bore.radius_m, 1e-12);
}

/* Every deviation that applies, with the width of cars on the road, changes the car or its day, and each by its own standard deviation. */
static void deviations(void **state) {
  (void)state;
  for (size_t e = 0; e < ARRAY_COUNT(engines); e++) {
    struct engine engine, car;
    read_engine(engines[e], &engine);
    for (int i = 0; i < SCATTER_COUNT; i++) engine.scatter.sd[i] = scatter_road[i] * scatter_rows[i].factor;
    for (int i = 0; i < SCATTER_COUNT; i++) {
      if (!scatter_applies(&engine, (enum scatter)i)) continue;
      if (i == SCATTER_stop_kept_pct) continue; // what the computer remembers: struct settle_query has it
      double z[SCATTER_COUNT] = {0};
      z[i] = 1.0;
      struct conditions day, moved;
      conditions_init(&day);
      moved = day;
      double amounts[SCATTER_COUNT];
      scatter_amounts(&engine, z, amounts);
      scatter_make_car(&engine, amounts, &car);
      scatter_make_conditions(amounts, &moved);
      moved.ambient_pa = i == SCATTER_ambient_kpa ? moved.ambient_pa : day.ambient_pa; // it is written out in any case
      const bool changed = memcmp(&car.plant, &engine.plant, sizeof car.plant) != 0 ||
                           memcmp(&car.computer, &engine.computer, sizeof car.computer) != 0 ||
                           memcmp(&moved, &day, sizeof day) != 0;
      if (!changed) fail_msg("%s of %s changes nothing", scatter_rows[i].key, engine.name);
    }
  }
  struct engine engine, car;
  read_engine(engines[0], &engine);
  double z[SCATTER_COUNT] = {0};
  z[SCATTER_closed_deg] = -2.0;
  z[SCATTER_friction_pct] = 1.5;
  double amounts[SCATTER_COUNT];
  scatter_amounts(&engine, z, amounts);
  scatter_make_car(&engine, amounts, &car);
  check_close(car.plant.throttle.bore.closed_angle_rad - engine.plant.throttle.bore.closed_angle_rad,
              -2.0 * engine.scatter.sd[SCATTER_closed_deg], 1e-15);
  check_relative(car.plant.friction.constant_pa,
                 engine.plant.friction.constant_pa * (1.0 + 1.5 * engine.scatter.sd[SCATTER_friction_pct]), 1e-12);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(severities_are_conditions),
      cmocka_unit_test(shares),
      cmocka_unit_test(apply),
      cmocka_unit_test(rates),
      cmocka_unit_test(nominal_car),
      cmocka_unit_test(deviations),
      cmocka_unit_test(of_models),
      cmocka_unit_test(other_places),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
