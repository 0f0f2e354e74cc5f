/* What the mixture does to torque, against the regression of a published engine.
 *
 * P. R. Crossley, J. A. Cook (1991), "A nonlinear engine model for drivetrain system development";
 * coefficients read in the Modelica Standard Library (reference-data 4.1): T = -181.3 + 379.36 m_a + 21.91
 * A - 0.85 A^2 + ..., A the air-fuel ratio, stoichiometric 14.6. Their T is net of friction and pumping,
 * ours a factor on indicated work, so what is compared is the *difference* that a mixture makes, in N m:
 * friction falls out of it. Their difference does not depend on charge, speed or spark; ours grows with the
 * charge, so it is taken where theirs was worked out: 0.15 g per cylinder and stroke, four cylinders, 209
 * rad/s, at best spark. */
#include "support/check.h"

#include "base/attributes.h"
#include "base/units.h"
#include "io/config/engine_file.h"

#include <stdio.h>

#define STOICHIOMETRIC 14.6
#define SPEED_RAD_S    209.0
#define CYCLE_AIR_KG   (4.0 * 0.15e-3)

static double theirs_nm(double air_fuel) { return 21.91 * air_fuel - 0.85 * air_fuel * air_fuel; }

static void read_engine(const char *model, struct engine *engine) {
  char path[80];
  struct error error;
  error_clear(&error);
  snprintf(path, sizeof path, "models/%s.cfg", model);
  if (engine_file_read(path, engine, &error) != STATUS_OK) fail_msg("%s", error.text);
}

static double ours_nm(const struct engine *engine, double lambda) {
  const struct combustion_params *combustion = &engine->plant.combustion;
  const double free_j = CYCLE_AIR_KG / combustion->stoichiometric_ratio * combustion->heating_value_j_kg;
  return free_j * curve_value(&combustion->efficiency, SPEED_RAD_S) * mixture_torque_factor(&engine->plant.mixture, lambda) /
         (4.0 * UNITS_PI);
}

static const char *const models[] = {"four-16", "four-18-cable", "three-10", "six-30", "four-15-turbo"};

/* Theirs: A = 21.91/(2 * 0.85) = 12.888235, lambda 0.8828. The lambda of most torque, found by golden
 * section, is that and lies in the range that the reference data allows. */
static void best_mixture(void **state) {
  (void)state;
  for (size_t m = 0; m < ARRAY_COUNT(models); m++) {
    struct engine engine;
    read_engine(models[m], &engine);
    double low = 0.6, high = 1.2;
    for (int i = 0; i < 60; i++) {
      const double a = high - 0.618034 * (high - low), b = low + 0.618034 * (high - low);
      if (ours_nm(&engine, a) > ours_nm(&engine, b))
        high = b;
      else
        low = a;
    }
    check_above_at((double)m, low, 0.85);
    check_below_at((double)m, high, 0.90);
    check_close_at((double)m, low, 12.888235 / STOICHIOMETRIC, 0.02);
  }
}

/* Loss at lambda one: theirs 2.490618 N m (derived). And on the way to the lean and rich ends. Ours within
 * 15 %: the efficiency of an invented engine stands between. */
static void loss(void **state) {
  (void)state;
  const double best = 12.888235;
  check_close(theirs_nm(best) - theirs_nm(STOICHIOMETRIC), 2.490618, 1e-6); // transcribed as published
  static const double lambdas[] = {0.75, 1.0, 1.1, 1.2};
  for (size_t m = 0; m < ARRAY_COUNT(models); m++) {
    struct engine engine;
    read_engine(models[m], &engine);
    const double ours_best = ours_nm(&engine, engine.plant.mixture.best_lambda_ratio);
    for (size_t i = 0; i < ARRAY_COUNT(lambdas); i++) {
      const double off = lambdas[i] - 0.8828; // as far from their best as from ours
      const double theirs = theirs_nm(best) - theirs_nm(best + off * STOICHIOMETRIC);
      const double ours = ours_best - ours_nm(&engine, engine.plant.mixture.best_lambda_ratio + off);
      check_relative_at(lambdas[i], ours, theirs, 0.15);
    }
  }
}

int main(void) {
  const struct CMUnitTest tests[] = {cmocka_unit_test(best_mixture), cmocka_unit_test(loss)};
  return cmocka_run_group_tests(tests, NULL, NULL);
}
