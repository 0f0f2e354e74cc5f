#include "reference/validation/real_car.h"

#include "analysis/run/window.h"
#include "base/units.h"
#include "physics/orifice.h"
#include "support/check.h"
#include "support/scene.h"

#include <math.h>
#include <stdlib.h>

#define BAROMETER_KPA 98.8  // manifold over calculated load, which on this car is 100 times their ratio
#define WARM_INTAKE_C 53.0  // 41 to 65 standing
#define COLD_INTAKE_C 30.0  // assumed, at 32 C of coolant; in a straight line to the warm one at 90 C
#define BASE_LOAD_W   250.0 // pump, injectors, coils, computer, lamps: assumed
#define FAN_W         250.0 // a radiator fan: assumed (common practice, no source: 15 to 25 A)
#define SAMPLE_S      1.8   // each reading of the logs is polled once in so long
#define IDLING_S      120.0
#define CUT_IN_S      60.0
#define LOOKED_AT_KPA 40.0 // choked, as most of the curve's points were

const struct real_car_idle real_car_idles[REAL_CAR_IDLE_COUNT] = {
    {false, 651.4, 15.69, 25.00, 0.08, 1.2, 25.3},
    {true, 853.5, 18.23, 36.3, 0.2, 0.6, 36.3},
};

const struct real_car_warm_up real_car_warm_ups[REAL_CAR_WARM_UP_COUNT] = {
    {32, 1284, 19.2, 27, 6}, {37, 986, 18.4, 29, 2}, {42, 944, 18.0, 29, 2}, {47, 904, 17.3, 27, 4},
    {52, 857, 16.9, 26, 5},  {62, 776, 16.5, 26, 3}, {72, 688, 16.1, 26, 0}, {90, 652, 15.7, 25, 1},
};

/* ---- settled points ---- */

void real_car_conditions(struct plant_probe *probe, bool compressor) {
  plant_probe_set(probe, "ambient_kpa", BAROMETER_KPA);
  plant_probe_set(probe, "intake_c", WARM_INTAKE_C);
  plant_probe_set(probe, "electrical_load_w", BASE_LOAD_W);
  plant_probe_set(probe, "warmth_held", 1.0);
  plant_probe_set(probe, "air_conditioning", compressor ? 1.0 : 0.0);
}

static double intake_c(double coolant_c) {
  const double share = (coolant_c - 32.0) / (90.0 - 32.0);
  return COLD_INTAKE_C + share * (WARM_INTAKE_C - COLD_INTAKE_C);
}

static struct plant_probe *warm(const char *path, bool compressor, double load_w) {
  struct plant_probe *probe = plant_probe_create(path);
  real_car_conditions(probe, compressor);
  plant_probe_set(probe, "electrical_load_w", load_w);
  plant_probe_settle(probe);
  return probe;
}

static struct plant_probe *warming_up(const char *path, double coolant_c) {
  struct plant_probe *probe = plant_probe_create(path);
  real_car_conditions(probe, false);
  plant_probe_set(probe, "coolant_c", coolant_c);
  plant_probe_set(probe, "oil_c", coolant_c);
  plant_probe_set(probe, "intake_c", intake_c(coolant_c));
  plant_probe_settle(probe);
  return probe;
}

double real_car_cda_mm2(const struct real_car *car, double position_pct) {
  struct plant_probe asked = *car->idle[0];
  const struct throttle_params *throttle = &asked.engine.plant.throttle;
  const double span = throttle->open_position_ratio - throttle->closed_position_ratio;
  const double travel = (UNITS_RATIO_PER_PCT * position_pct - throttle->closed_position_ratio) / span;
  const double closed_rad = throttle->bore.closed_angle_rad;
  asked.vehicle.state.blade_rad = closed_rad + fmax(travel, 0.0) * (0.5 * UNITS_PI - closed_rad);
  asked.vehicle.state.manifold_pressure_pa = LOOKED_AT_KPA * UNITS_PA_PER_KPA;
  const struct plant_signals signals = plant_probe_signals(&asked);
  const struct plant_inputs *inputs = &asked.vehicle.inputs;
  return orifice_choked_cda_m2(signals.airflow_kg_s, inputs->ambient_pa, inputs->ambient_k) / UNITS_M2_PER_MM2;
}

/* ---- runs ---- */

static void warm_scene(struct scene *scene, const char *path, double duration_s) {
  scene_init_path(scene, path, duration_s);
  scene->solver = &solver_fast;
  scene_initial(scene, "ambient_kpa", BAROMETER_KPA);
  scene_initial(scene, "intake_c", WARM_INTAKE_C);
  scene_initial(scene, "electrical_load_w", BASE_LOAD_W);
  scene_initial(scene, "warmth_held", 1.0);
}

/* Standard deviation of speed as a tool that polls it now and then sees it. */
static double sampled_sd_rpm(const struct scene *scene, double from_s, double to_s) {
  double sum = 0.0, squares = 0.0, count = 0.0;
  const double middle = scene_mean(scene, from_s, to_s, CHANNEL_speed_rpm);
  for (double t = from_s; t < to_s; t += SAMPLE_S) {
    const double off = scene_at(scene, t, CHANNEL_speed_rpm) - middle;
    sum += off;
    squares += off * off;
    count += 1.0;
  }
  return sqrt((squares - sum * sum / count) / (count - 1.0));
}

static void run_idle(struct real_car *car, const char *path) {
  struct scene scene;
  warm_scene(&scene, path, 2.0 * IDLING_S);
  scene_set(&scene, CUT_IN_S + 60.0, "air_conditioning", 1.0);
  scene_run(&scene);
  const double at = CUT_IN_S + 60.0;
  car->speed_sd_rpm[0] = sampled_sd_rpm(&scene, 10.0, at - 1.0);
  car->speed_sd_rpm[1] = sampled_sd_rpm(&scene, at + 30.0, 2.0 * IDLING_S);
  car->cut_in.lowest_rpm = scene_least(&scene, at, at + 5.0, CHANNEL_speed_rpm);
  car->cut_in.highest_rpm = scene_most(&scene, at, at + 15.0, CHANNEL_speed_rpm);
  scene_end(&scene);
}

static struct real_car_run run_start(const char *path, double coolant_c) {
  struct scene scene;
  warm_scene(&scene, path, 20.0);
  scene.scenario.running = false;
  scene_initial(&scene, "coolant_c", coolant_c);
  scene_initial(&scene, "oil_c", coolant_c);
  scene_initial(&scene, "intake_c", fmin(coolant_c, WARM_INTAKE_C));
  scene_key(&scene, 1.0, KEY_ON);
  scene_key(&scene, 2.0, KEY_START);
  scene_run(&scene);
  const double started_s = scene_event_s(&scene, RECORDING_ENGINE, -1, RECORDING_VALUE_STARTED);
  const struct real_car_run run = {
      scene_least(&scene, started_s + 2.0, 20.0, CHANNEL_speed_rpm),
      scene_most(&scene, started_s, started_s + 5.0, CHANNEL_speed_rpm),
      scene_mean(&scene, started_s, started_s + 1.0, CHANNEL_spark_deg),
  };
  scene_end(&scene);
  return run;
}

/* Position at the closed stop, and where the springs leave the blade before the key is turned. */
static void read_positions(struct real_car *car, const char *path) {
  struct scene scene;
  warm_scene(&scene, path, 3.0);
  scene.scenario.running = false;
  scene_run(&scene);
  const struct throttle_params *throttle = &scene.engine.plant.throttle;
  car->stop_pct = throttle->closed_position_ratio / UNITS_RATIO_PER_PCT;
  car->rest_pct = scene_last(&scene, CHANNEL_tp_pct);
  scene_end(&scene);
}

struct real_car *real_car_predict(const char *path) {
  struct real_car *car = calloc(1, sizeof *car);
  if (!car) fail_msg("out of memory for %s", path);
  for (int i = 0; i < REAL_CAR_IDLE_COUNT; i++) car->idle[i] = warm(path, real_car_idles[i].compressor, BASE_LOAD_W);
  for (int i = 0; i < REAL_CAR_WARM_UP_COUNT; i++) car->warm_up[i] = warming_up(path, real_car_warm_ups[i].coolant_c);
  car->fan = warm(path, false, BASE_LOAD_W + FAN_W);
  run_idle(car, path);
  car->start[0] = run_start(path, 27.0);
  car->start[1] = run_start(path, 88.0);
  read_positions(car, path);
  return car;
}

void real_car_destroy(struct real_car *car) {
  if (!car) return;
  for (int i = 0; i < REAL_CAR_IDLE_COUNT; i++) plant_probe_destroy(car->idle[i]);
  for (int i = 0; i < REAL_CAR_WARM_UP_COUNT; i++) plant_probe_destroy(car->warm_up[i]);
  plant_probe_destroy(car->fan);
  free(car);
}
