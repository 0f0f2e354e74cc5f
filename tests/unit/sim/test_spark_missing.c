/* sim: which firings of cylinder 1 find no spark. Truth: the share asked for, and three standard deviations of so many draws; and that
 * nothing changes between two firings. */
#include "base/units.h"
#include "support/check.h"
#include "support/live.h"

#include <math.h>

/* Share of the firings without spark in 120 s. */
static double share_of(const char *model, double pct, uint64_t seed, double *firings) {
  struct scene scene;
  scene_init(&scene, model, 120.0);
  scene.solver = &solver_fast;
  scene.scenario.seed = seed;
  scene_initial(&scene, "spark_missing_pct", pct);
  live_create(&scene);
  double count = 0.0, missing = 0.0, angle = 0.0;
  for (long tick = 1; tick <= 12000; tick++) {
    live_run_until(&scene, 0.01 * (double)tick);
    const struct vehicle *vehicle = &scene.sim->vehicle;
    if (vehicle->firing_rad < angle) { // it fires where the cycle ends
      count += 1.0;
      missing += vehicle->inputs.no_spark_ratio;
    }
    angle = vehicle->firing_rad;
  }
  scene_end(&scene);
  *firings = count;
  return missing / count;
}

static void share(void **state) {
  (void)state;
  double count;
  const double third = share_of("four-16", 30.0, 1, &count);
  check_above(count, 500.0);
  check_close(third, 0.3, 3.0 * sqrt(0.3 * 0.7 / count));
  check_close(share_of("four-16", 100.0, 1, &count), 1.0, 0.0);
  check_close(share_of("four-16", 0.0, 1, &count), 0.0, 0.0);
  if (!(fabs(third - share_of("four-16", 30.0, 2, &count)) > 0.0)) fail_msg("the seed does not matter");
}

int main(void) {
  const struct CMUnitTest tests[] = {cmocka_unit_test(share)};
  return cmocka_run_group_tests(tests, NULL, NULL);
}
