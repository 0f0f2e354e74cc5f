/* control/misfire on crank speeds made by hand, on every engine of models/.
 *
 * Truth: the share of firings that were left out; J dw/dt = T over a firing interval. A firing without work lets the crank lose T t_f/J,
 * which its neighbours give back over the whole cycle. A hunting or changing speed leaves out none. */
#include "support/check.h"
#include "support/fault_table.h"

#include "base/random.h"
#include "base/units.h"
#include "control/misfire.h"
#include "io/config/engine_file.h"

#include <stdio.h>

#define TORQUE_NM 30.0
#define RPM       UNITS_RAD_S_PER_RPM
enum { MODELS_MOST = 16, RUN_TICKS = 6000, FINE = 100 }; // one minute; steps within a tick

struct rig {
  struct engine engine;
  struct computer_design design;
  struct computer_state state;
  double crank_rad, speed_rad_s;
};

static void rig_init(struct rig *rig, const char *model, double speed_rad_s) {
  struct error error;
  char path[128];
  snprintf(path, sizeof path, "models/%s.cfg", model);
  *rig = (struct rig){.speed_rad_s = speed_rad_s};
  error_clear(&error);
  assert_int_equal(engine_file_read(path, &rig->engine, &error), STATUS_OK);
  rig->design = (struct computer_design){.params = &rig->engine.computer, .plant = &rig->engine.plant};
  rig->state.mode = COMPUTER_RUNNING;
  rig->state.spark_rad = curve_value(&rig->engine.plant.combustion.best_spark_rad, speed_rad_s);
  const struct combustion_params *combustion = &rig->engine.plant.combustion; // fuel for TORQUE_NM, all in bank 1
  rig->state.fuel_per_cycle_kg[0] =
      TORQUE_NM * 4.0 * UNITS_PI / (combustion->heating_value_j_kg * curve_value(&combustion->efficiency, speed_rad_s));
}

static void tick(struct rig *rig) {
  const struct computer_sensors sensors = {.key = KEY_ON, .speed_rad_s = rig->speed_rad_s};
  misfire_tick(&rig->design, &sensors, &rig->state);
}

/* One tick of a crank against a constant load, every firing of which does its work evenly over its interval; share: of that work that firing
 * number n does. */
static void turn(struct rig *rig, double (*work)(long firing)) {
  const double interval = 4.0 * UNITS_PI / rig->engine.plant.charge.cylinder_count;
  const double step_s = COMPUTER_PERIOD_S / FINE;
  double mean = 0.0;
  for (long n = 0; n < 1000; n++) mean += work(n) / 1000.0;
  for (int i = 0; i < FINE; i++) {
    rig->speed_rad_s +=
        TORQUE_NM * (work((long)(rig->crank_rad / interval)) - mean) / rig->engine.plant.crank.inertia_kg_m2 * step_s;
    rig->crank_rad += rig->speed_rad_s * step_s;
  }
}

static double all(long firing) {
  (void)firing;
  return 1.0;
}
static double one_dead_in_four(long firing) { return firing % 4 == 0 ? 0.0 : 1.0; }
static double now_and_then(long firing) {
  return random_uniform(1, RANDOM_STREAM_CASE, (uint64_t)firing % 1000) < 0.04 ? 0.0 : 1.0;
}
static double uneven(long firing) { return 1.0 + 0.05 * random_normal(1, RANDOM_STREAM_CASE, (uint64_t)firing % 1000); }

static double ratio_of(const char *model, double (*work)(long firing)) {
  struct rig rig;
  rig_init(&rig, model, 800.0 * RPM);
  for (int i = 0; i < RUN_TICKS; i++) {
    turn(&rig, work);
    tick(&rig);
  }
  return rig.state.misfire.ratio;
}

static void lost_firings_are_counted(void **state) {
  (void)state;
  char models[MODELS_MOST][FAULT_MODEL_SIZE];
  const size_t count = fault_models(models, MODELS_MOST);
  assert_true(count >= 4);
  for (size_t i = 0; i < count; i++) {
    check_close_at((double)i, ratio_of(models[i], all), 0.0, 0.0);
    check_close_at((double)i, ratio_of(models[i], uneven), 0.0, 0.0); // cycles of a sound idle scatter by less
    check_close_at((double)i, ratio_of(models[i], now_and_then), 0.04, 0.015);
  }
  check_close(ratio_of("four-16", one_dead_in_four), 0.25 * (1.0 - exp(-60.0 * 800.0 / 60.0 / 200.0)),
              0.01); // mean of 200 revolutions
}

/* 120 rpm up and down once a second, a race by 500 rpm and back within a second: no firing is missing. */
static void slow_changes_are_none(void **state) {
  (void)state;
  char models[MODELS_MOST][FAULT_MODEL_SIZE];
  const size_t count = fault_models(models, MODELS_MOST);
  for (size_t i = 0; i < count; i++) {
    struct rig rig;
    rig_init(&rig, models[i], 800.0 * RPM);
    for (int k = 0; k < RUN_TICKS; k++) {
      const double t = k * COMPUTER_PERIOD_S;
      rig.speed_rad_s =
          (800.0 + 60.0 * sin(2.0 * UNITS_PI * t) + (fmod(t, 10.0) < 1.0 ? 500.0 * pow(sin(UNITS_PI * t), 2.0) : 0.0)) * RPM;
      tick(&rig);
    }
    check_close_at((double)i, rig.state.misfire.ratio, 0.0, 0.0);
  }
}

/* Firings closer than two ticks are not seen: what was found before stands. A stopped engine forgets. */
static void too_fast_is_not_judged(void **state) {
  (void)state;
  struct rig rig;
  rig_init(&rig, "four-16", 800.0 * RPM);
  rig.state.misfire.ratio = 0.1;
  rig.speed_rad_s = 1600.0 * RPM;
  for (int k = 0; k < 1000; k++) tick(&rig);
  check_close(rig.state.misfire.ratio, 0.1, 0.0);
  rig.speed_rad_s = 1400.0 * RPM;
  for (int k = 0; k < 1000; k++) tick(&rig);
  check_below(rig.state.misfire.ratio, 0.05);
  rig.state.mode = COMPUTER_KEY_ON;
  tick(&rig);
  check_close(rig.state.misfire.ratio, 0.0, 0.0);
}

int main(void) {
  const struct CMUnitTest tests[] = {cmocka_unit_test(lost_firings_are_counted), cmocka_unit_test(slow_changes_are_none),
                                     cmocka_unit_test(too_fast_is_not_judged)};
  return cmocka_run_group_tests(tests, NULL, NULL);
}
