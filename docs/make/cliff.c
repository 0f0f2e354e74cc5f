/* Computes the tables of docs/cliff.md, in Markdown on stdout; some five minutes.
 *
 *   make_cliff          all of them, from the top of the source tree
 *   make_cliff width    other engines only
 *   make_cliff data     what docs/make/cliff.gp draws of them
 *
 * "Median" is that of three seeds of the cycle scatter. */
#include "make/cliff_width.h"

#include "base/attributes.h"
#include "sim/simulation.h"
#include "support/scene.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define MODEL           "four-16"
#define GROWTH_UM_S     0.2    // the learned offset follows
#define VENTILATION_GPS 0.2392 // choked through 1 mm2 at 101.325 kPa and 20 C: what passes the blade by, beside purge
enum { SEED_COUNT = 3 };

/* A change to the engine or its loads that asks "is it because of this?". */
struct variant {
  const char *name;
  void (*apply)(struct scene *scene);
};

static void as_shipped(struct scene *scene) { (void)scene; }
static void full_alternator(struct scene *scene) {
  scene->engine.plant.loads.alternator_fade_low_rad_s = 1.0;
  scene->engine.plant.loads.alternator_fade_high_rad_s = 2.0;
}
static void no_electrical_load(struct scene *scene) { scene_initial(scene, "electrical_load_w", 0.0); }
static void no_spark_help(struct scene *scene) { scene->engine.computer.spark.gain_s = 0.0; }
static void no_scatter(struct scene *scene) { scene->engine.plant.combustion.scatter_ratio = 0.0; }
static void no_dilution_loss(struct scene *scene) { scene->engine.plant.combustion.dilution_width_fraction = 1e3; }
static void nothing_learned(struct scene *scene) { scene->engine.computer.air.learned_most_ratio = 1e-6; }
static void no_clearance(struct scene *scene) { scene->engine.plant.throttle.bore.clearance_m = 1e-6; }
static void no_feed_forward(struct scene *scene) {
  scene->engine.computer.air.compressor_kg_s = scene->engine.computer.air.drive_kg_s = scene->engine.computer.air.steering_kg_s =
      0.0;
}
static void full_and_even(struct scene *scene) {
  full_alternator(scene);
  no_scatter(scene);
}
static void rough_model(struct scene *scene) {
  full_alternator(scene);
  no_spark_help(scene);
}

static void begin(struct scene *scene, double duration_s, const struct variant *variant, uint64_t seed) {
  scene_init(scene, MODEL, duration_s);
  scene->scenario.seed = seed;
  variant->apply(scene);
}

static const struct variant shipped = {"as shipped", as_shipped};

static double stalled_um(const struct scene *scene) {
  const double stalled_s = scene_event_s(scene, RECORDING_ENGINE, -1, RECORDING_VALUE_STALL);
  return isnan(stalled_s) ? NAN : scene_at(scene, stalled_s, CHANNEL_film_um);
}

/* The film at which the learned offset, or effort as well, first stands at its upper limit. */
static double full_um(const struct scene *scene, bool effort_too) {
  const struct idle_air_params *air = &scene->engine.computer.air;
  const double hair_pct = 1e-6;
  for (size_t row = 0; row < scene->recording.row_count; row++) {
    const double learned = recording_value(&scene->recording, row, CHANNEL_learned_pct);
    const double effort = recording_value(&scene->recording, row, CHANNEL_effort_pct);
    if (learned >= 100.0 * air->learned_most_ratio - hair_pct &&
        (!effort_too || effort >= 100.0 * air->effort_most_ratio - hair_pct))
      return recording_value(&scene->recording, row, CHANNEL_film_um);
  }
  return NAN;
}

/* ---- frozen: nobody helps ---- */

static void frozen_row(double film_um) {
  struct scene scene, loaded;
  begin(&scene, 100.0, &shipped, 1);
  scene_set(&scene, 0.0, "controller_frozen", 1.0);
  scene_ramp(&scene, 1.0, 15.0, "film_um", film_um);
  scene_run(&scene);
  const struct variant full = {"", full_alternator};
  begin(&loaded, 100.0, &full, 1);
  scene_set(&loaded, 0.0, "controller_frozen", 1.0);
  scene_ramp(&loaded, 1.0, 15.0, "film_um", film_um);
  scene_run(&loaded);
  char full_speed[40] = "stalls";
  if (!scene_stalled(&loaded))
    snprintf(full_speed, sizeof full_speed, "%.0f", scene_mean(&loaded, 50.0, 100.0, CHANNEL_speed_rpm));
  if (scene_stalled(&scene)) {
    printf("| %.0f | stalls | | | | | | %s |\n", film_um, full_speed);
  } else {
    const double area = scene_mean(&scene, 50.0, 100.0, CHANNEL_area_mm2),
                 air = scene_mean(&scene, 50.0, 100.0, CHANNEL_airflow_gps),
                 unmetered = scene_mean(&scene, 50.0, 100.0, CHANNEL_unmetered_gps);
    const double speed = scene_mean(&scene, 50.0, 100.0, CHANNEL_speed_rpm);
    printf("| %.0f | %.0f | %.2f | %.3f | %.4f | %.1f | %.0f | %s |\n", film_um, speed, area, air,
           (air - unmetered - VENTILATION_GPS) / area, scene_mean(&scene, 50.0, 100.0, CHANNEL_manifold_kpa),
           2e3 * 60.0 * air / speed, full_speed);
  }
  scene_end(&scene);
  scene_end(&loaded);
}

static void frozen_table(void) {
  printf("\n### Frozen\n\n| film, um | speed, rpm | gap, mm2 | air, g/s | blade's air per mm2, g/s | "
         "manifold, kPa | air per engine cycle, mg |"
         " speed if the alternator never faded, rpm |\n|---|---|---|---|---|---|---|---|\n");
  for (double film = 0.0; film <= 65.0; film += 5.0) frozen_row(film);
}

/* ---- live: one run up a staircase, 10 um in 50 s, then 60 s of rest ---- */

static void live_row(const struct scene *scene, double to_s, double film_um) {
  const double from_s = to_s - 40.0;
  const double stalled_s = scene_event_s(scene, RECORDING_ENGINE, -1, RECORDING_VALUE_STALL);
  if (stalled_s < to_s) return;
  printf("| %.0f | %.2f | %.1f | %.1f | %.1f | %.2f | %.2f | %.0f | %.1f |\n", film_um,
         scene_mean(scene, from_s, to_s, CHANNEL_blade_pct), scene_mean(scene, from_s, to_s, CHANNEL_learned_pct),
         scene_mean(scene, from_s, to_s, CHANNEL_effort_pct), scene_mean(scene, from_s, to_s, CHANNEL_spark_reserve_pct),
         scene_mean(scene, from_s, to_s, CHANNEL_area_mm2), scene_mean(scene, from_s, to_s, CHANNEL_airflow_gps),
         scene_mean(scene, from_s, to_s, CHANNEL_speed_rpm), scene_mean(scene, to_s - 20.0, to_s, CHANNEL_speed_sd_rpm));
}

static void live_table(void) {
  struct scene scene;
  const int steps = 16;
  begin(&scene, 80.0 + 160.0 * steps, &shipped, 1);
  for (int i = 1; i <= steps; i++) scene_ramp(&scene, 80.0 + 160.0 * (i - 1), 50.0, "film_um", 10.0 * i);
  scene_run(&scene);
  printf("\n### Live\n\n| film, um | opening, %% | learned, %% | effort, %% | spark reserve, %% | gap, mm2 | "
         "air, g/s | speed, rpm | unsteadiness, rpm |\n"
         "|---|---|---|---|---|---|---|---|---|\n");
  for (int i = 0; i <= steps; i++) live_row(&scene, 80.0 + 160.0 * i, 10.0 * i);
  printf("\nStalled at %.0f um. Learned offset at its limit at %.1f um, effort too at %.1f um.\n", stalled_um(&scene),
         full_um(&scene, false), full_um(&scene, true));
  scene_end(&scene);
}

/* ---- the window between hidden and stalled ---- */

struct window_um {
  double limit, hidden, code, stall; // learned offset at its limit; speed within 10 rpm; 100 rpm below;
                                     // stalled
};

/* The film until which the mean of ten seconds stays above target less so much. */
static double until_um(const struct scene *scene, double below_rpm, double end_s) {
  double film = 0.0;
  for (double t = 10.0; t + 5.0 < end_s; t += 1.0) {
    if (scene_mean(scene, t - 5.0, t + 5.0, CHANNEL_air_conditioning) + scene_mean(scene, t - 5.0, t + 5.0, CHANNEL_drive) > 0.0)
      continue;
    if (scene_mean(scene, t - 5.0, t + 5.0, CHANNEL_speed_rpm) > 850.0 - below_rpm) film = scene_at(scene, t, CHANNEL_film_um);
  }
  return film;
}

/* A load that comes for ten seconds every forty while the film grows; NULL for none. */
struct load {
  const char *name, *condition;
  double value, rest;
};

static struct window_um slow_window(const struct variant *variant, const struct load *load, uint64_t seed) {
  struct scene scene;
  const double most_um = 220.0, length_s = most_um / GROWTH_UM_S;
  begin(&scene, length_s, variant, seed);
  scene_ramp(&scene, 0.0, length_s, "film_um", most_um);
  for (double t = 20.0; load && t + 10.0 < length_s; t += 40.0) {
    scene_set(&scene, t, load->condition, load->value);
    scene_set(&scene, t + 10.0, load->condition, load->rest);
  }
  scene_run(&scene);
  const double stalled_s = scene_event_s(&scene, RECORDING_ENGINE, -1, RECORDING_VALUE_STALL);
  const double end_s = isnan(stalled_s) ? length_s : stalled_s;
  const struct window_um window = {full_um(&scene, false), load ? NAN : until_um(&scene, 10.0, end_s),
                                   load ? NAN : until_um(&scene, 100.0, end_s), stalled_um(&scene)};
  scene_end(&scene);
  return window;
}

static int compare(const void *a, const void *b) {
  const double x = *(const double *)a, y = *(const double *)b;
  return (x > y) - (x < y);
}

static struct window_um median_window(const struct variant *variant, const struct load *load) {
  double limit[SEED_COUNT], hidden[SEED_COUNT], code[SEED_COUNT], stall[SEED_COUNT];
  for (int i = 0; i < SEED_COUNT; i++) {
    const struct window_um window = slow_window(variant, load, (uint64_t)i + 1);
    limit[i] = window.limit;
    hidden[i] = window.hidden;
    code[i] = window.code;
    stall[i] = window.stall;
  }
  double *const columns[] = {limit, hidden, code, stall};
  for (size_t i = 0; i < ARRAY_COUNT(columns); i++) qsort(columns[i], SEED_COUNT, sizeof(double), compare);
  const int middle = SEED_COUNT / 2;
  return (struct window_um){limit[middle], hidden[middle], code[middle], stall[middle]};
}

static void window_table(void) {
  static const struct variant variants[] = {
      {"as shipped", as_shipped},
      {"alternator never fades", full_alternator},
      {"no electrical load", no_electrical_load},
      {"spark does not help", no_spark_help},
      {"neither: alternator never fades, spark does not help", rough_model},
      {"nothing can be learned", nothing_learned},
      {"no cycle scatter", no_scatter},
      {"alternator never fades, no cycle scatter", full_and_even},
      {"diluted charge burns as well as any", no_dilution_loss},
      {"running clearance 1 um", no_clearance},
  };
  printf("\n### Slow growth, no load steps\n\n| engine | learned offset full at, um | hidden to, um | 100 "
         "rpm low at, um | stalls at, um | window, um |\n"
         "|---|---|---|---|---|---|\n");
  for (size_t i = 0; i < ARRAY_COUNT(variants); i++) {
    const struct window_um w = median_window(&variants[i], NULL);
    printf("| %s | %.0f | %.0f | %.0f | %.0f | %.0f |\n", variants[i].name, w.limit, w.hidden, w.code, w.stall,
           w.stall - w.hidden);
    fflush(stdout);
  }
}

static void load_table(void) {
  static const struct load loads[] = {{"compressor", "air_conditioning", 1.0, 0.0},
                                      {"gear", "drive", 1.0, 0.0},
                                      {"steering at its stop", "steering_pct", 100.0, 0.0},
                                      {"300 W more on the alternator", "electrical_load_w", 600.0, 300.0},
                                      {"600 W more on the alternator", "electrical_load_w", 900.0, 300.0},
                                      {"6 N m that nobody announces", "drag_nm", 6.0, 0.0},
                                      {"10 N m that nobody announces", "drag_nm", 10.0, 0.0}};
  static const struct variant variants[] = {{"", as_shipped}, {"", no_feed_forward}, {"", full_alternator}, {"", rough_model}};
  printf("\n### Slow growth with a load for 10 s every 40 s: stalls at, um\n\n| load | as shipped | no air "
         "fed forward | alternator never fades | never fades, spark does not help |\n"
         "|---|---|---|---|---|\n");
  for (size_t i = 0; i < ARRAY_COUNT(loads); i++) {
    printf("| %s |", loads[i].name);
    for (size_t v = 0; v < ARRAY_COUNT(variants); v++) printf(" %.0f |", median_window(&variants[v], &loads[i]).stall);
    printf("\n");
    fflush(stdout);
  }
}

/* ---- sudden ---- */

static bool survives(const struct variant *variant, double from_um, double film_um, uint64_t seed) {
  struct scene scene;
  begin(&scene, 75.0, variant, seed);
  scene_initial(&scene, "film_um", from_um);
  scene_ramp(&scene, 10.0, 0.5, "film_um", film_um);
  scene_run(&scene);
  const bool survived = !scene_stalled(&scene);
  scene_end(&scene);
  return survived;
}

static double thickest_um(const struct variant *variant, double from_um, uint64_t seed) {
  double low = from_um, high = 200.0;
  while (high - low > 1.0) {
    const double middle = 0.5 * (low + high);
    if (survives(variant, from_um, middle, seed))
      low = middle;
    else
      high = middle;
  }
  return low;
}

static void sudden_table(void) {
  static const struct variant variants[] = {
      {"as shipped", as_shipped}, {"alternator never fades", full_alternator}, {"neither", rough_model}};
  static const double from_um[] = {0.0, 20.0, 40.0, 50.0};
  printf("\n### All at once, within 0.5 s: thickest film survived, um\n\n| film before, learned | as shipped "
         "| alternator never fades | never fades, spark does not help |\n|---|---|---|---|\n");
  for (size_t i = 0; i < ARRAY_COUNT(from_um); i++) {
    printf("| %.0f |", from_um[i]);
    for (size_t v = 0; v < ARRAY_COUNT(variants); v++) {
      double films[SEED_COUNT];
      for (int s = 0; s < SEED_COUNT; s++) films[s] = thickest_um(&variants[v], from_um[i], (uint64_t)s + 1);
      qsort(films, SEED_COUNT, sizeof films[0], compare);
      printf(" %.0f |", films[SEED_COUNT / 2]);
    }
    printf("\n");
    fflush(stdout);
  }
}

/* ---- one load step, without scatter ---- */

static double lowest_rpm(double film_um, const char *condition, double value, void (*change)(struct scene *scene),
                         double *before) {
  struct scene scene;
  const struct variant variant = {"", change};
  begin(&scene, 40.0, &variant, 1);
  no_scatter(&scene);
  scene_initial(&scene, "film_um", film_um);
  scene_set(&scene, 20.0, condition, value);
  scene_run(&scene);
  *before = scene_mean(&scene, 15.0, 20.0, CHANNEL_speed_rpm);
  const double lowest = scene_stalled(&scene) ? 0.0 : scene_least(&scene, 20.0, 23.0, CHANNEL_speed_rpm);
  scene_end(&scene);
  return lowest;
}

static void step_table(void) {
  printf("\n### Lowest speed after a load cuts in, rpm, no scatter\n\n| film, um | before | compressor | "
         "compressor, no air fed forward | gear | 600 W more |\n|---|---|---|---|---|---|\n");
  for (double film = 0.0; film <= 90.0; film += 15.0) {
    double before;
    const double compressor = lowest_rpm(film, "air_conditioning", 1.0, as_shipped, &before);
    const double plain = lowest_rpm(film, "air_conditioning", 1.0, no_feed_forward, &before);
    const double gear = lowest_rpm(film, "drive", 1.0, as_shipped, &before);
    const double electrical = lowest_rpm(film, "electrical_load_w", 900.0, as_shipped, &before);
    printf("| %.0f | %.0f | %.0f | %.0f | %.0f | %.0f |\n", film, before, compressor, plain, gear, electrical);
  }
}

/* ---- what the film takes, by opening ---- */

static void gap_table(void) {
  struct scene scene; // for its engine
  scene_init(&scene, MODEL, 1.0);
  const struct throttle_params *throttle = &scene.engine.plant.throttle;
  static const double film_um[] = {0.0, 10.0, 20.0, 30.0, 40.0, 60.0, 80.0, 100.0};
  static const double opening_deg[] = {0.0, 2.41, 3.54, 5.67, 10.0, 20.0, 83.0}; // clean idle, at the limits, 2500 rpm
  printf("\n### Gap taken by the film, mm2\n\n| opening, deg | clean gap |");
  for (size_t f = 1; f < ARRAY_COUNT(film_um); f++) printf(" %.0f um |", film_um[f]);
  printf("\n|---|---|---|---|---|---|---|---|---|\n");
  for (size_t i = 0; i < ARRAY_COUNT(opening_deg); i++) {
    const double angle_rad = throttle->bore.closed_angle_rad + opening_deg[i] * UNITS_RAD_PER_DEG;
    printf("| %.2f |", opening_deg[i]);
    double clean_m2 = 0.0;
    for (size_t f = 0; f < ARRAY_COUNT(film_um); f++) {
      const struct bore_film film = {film_um[f] * UNITS_M_PER_UM, 0.0};
      const double area_m2 = bore_area_m2(&throttle->bore, &throttle->film_shape, &film, angle_rad);
      if (f == 0) clean_m2 = area_m2;
      printf(" %.2f |", (f == 0 ? area_m2 : clean_m2 - area_m2) / UNITS_M2_PER_MM2);
    }
    printf("\n");
  }
  scene_end(&scene);
}

int main(int argc, char **argv) {
  if (argc > 1 && strcmp(argv[1], "data") == 0) {
    cliff_width_data();
    return 0;
  }
  cliff_width_table();
  if (argc > 1) return 0;
  gap_table();
  frozen_table();
  live_table();
  window_table();
  load_table();
  sudden_table();
  step_table();
  return 0;
}
