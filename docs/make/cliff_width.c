#include "make/cliff_width.h"

#include "base/attributes.h"
#include "support/made_engine.h"
#include "support/scene.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#define HIDDEN_RPM  10.0 // below target
#define LOW_RPM     100.0
#define GROWTH_UM_S 0.2 // the learned offset follows
enum { SEED_COUNT = 3 };

/* From the least that was measured of an engine to the most that a trade page claims, through the shipped one's 1.07. */
static const struct made_engine_kind kinds[] = {
    {44.0, 0.9, 40.0},  {44.0, 1.07, 40.0}, {44.0, 1.3, 40.0},  {44.0, 1.6, 40.0},  {52.0, 0.9, 40.0},
    {52.0, 1.07, 40.0}, {52.0, 1.3, 40.0},  {52.0, 1.6, 40.0},  {60.0, 0.9, 40.0},  {60.0, 1.07, 40.0},
    {60.0, 1.3, 40.0},  {60.0, 1.6, 40.0},  {52.0, 1.07, 20.0}, {52.0, 1.07, 60.0},
};

/* Grown on from where it still hides, with cycle scatter. */
static double run_stalls_um(const struct plant_probe *probe, double from_um, uint64_t seed) {
  struct scene scene;
  const double length_s = (MADE_ENGINE_FILM_MOST_UM - from_um) / GROWTH_UM_S;
  scene_init_path(&scene, MADE_ENGINE_MODEL, length_s);
  scene.engine = probe->engine;
  scene.solver = &solver_fast;
  scene.scenario.seed = seed;
  scene_initial(&scene, "film_um", from_um);
  scene_ramp(&scene, 0.0, length_s, "film_um", MADE_ENGINE_FILM_MOST_UM);
  scene_run(&scene);
  const double stalled_s = scene_event_s(&scene, RECORDING_ENGINE, -1, RECORDING_VALUE_STALL);
  const double film = isnan(stalled_s) ? MADE_ENGINE_FILM_MOST_UM : scene_at(&scene, stalled_s, CHANNEL_film_um);
  scene_end(&scene);
  return film;
}

static int compare(const void *a, const void *b) {
  const double x = *(const double *)a, y = *(const double *)b;
  return (x > y) - (x < y);
}

static double median_stall_um(const struct plant_probe *probe, double from_um) {
  double films[SEED_COUNT];
  for (int i = 0; i < SEED_COUNT; i++) films[i] = run_stalls_um(probe, from_um, (uint64_t)i + 1);
  qsort(films, SEED_COUNT, sizeof films[0], compare);
  return films[SEED_COUNT / 2];
}

/* A film that was not found is as thick as anything was looked for. */
static void print_film(double film_um) {
  if (film_um >= MADE_ENGINE_FILM_MOST_UM - 0.1)
    printf(" over %.0f |", MADE_ENGINE_FILM_MOST_UM);
  else
    printf(" %.0f |", film_um);
}

void cliff_width_table(void) {
  printf("\n### The same film, other engines\n\n"
         "| bore, mm | idle air, g/s per litre | learned at most, %% | gap, mm2 | w, um | r | taken, k | hidden to, um | by the "
         "rule |"
         " 100 rpm low at, um | stalls at, um | by the rule |\n"
         "|---|---|---|---|---|---|---|---|---|---|---|---|\n");
  for (size_t i = 0; i < ARRAY_COUNT(kinds); i++) {
    struct plant_probe *probe = made_engine_create(&kinds[i]);
    const struct made_engine_gap gap = made_engine_gap(probe);
    const double hidden = made_engine_film_um(probe, HIDDEN_RPM), low = made_engine_film_um(probe, LOW_RPM);
    const double rule = made_engine_rule_hidden_um(&gap);
    printf("| %.0f | %.2f | %.0f | %.2f | %.0f | %.2f | %.2f | %.0f | %.0f |", kinds[i].bore_mm, kinds[i].gps_per_l,
           kinds[i].learned_pct, gap.area_mm2, gap.width_um, gap.room_ratio, gap.room_ratio * gap.width_um / hidden, hidden,
           rule);
    print_film(low);
    print_film(median_stall_um(probe, 0.9 * hidden));
    printf(" %.0f |\n", made_engine_rule_stall_um(&gap));
    fflush(stdout);
    plant_probe_destroy(probe);
  }
}

/* Every line of the picture with 40 % learned at most: bore, air per litre, film, k t / w, settled speed. */
void cliff_width_data(void) {
  for (size_t i = 0; i < ARRAY_COUNT(kinds); i++) {
    if (fabs(kinds[i].learned_pct - 40.0) > 1.0) continue;
    struct plant_probe *probe = made_engine_create(&kinds[i]);
    const struct made_engine_gap gap = made_engine_gap(probe);
    for (double film_um = 0.0; film_um <= MADE_ENGINE_FILM_MOST_UM; film_um += 1.0) {
      plant_probe_set(probe, "film_um", film_um);
      plant_probe_settle(probe);
      if (probe->point.outcome == SETTLE_STALLS) break;
      printf("%g %g %.1f %.4f %.1f\n", kinds[i].bore_mm, kinds[i].gps_per_l, film_um,
             made_engine_rule_k(&gap) * film_um / gap.width_um, plant_probe_value(probe, CHANNEL_speed_rpm));
    }
    printf("\n\n");
    plant_probe_destroy(probe);
  }
}
