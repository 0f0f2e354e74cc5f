/* physics/mixture. Truth: hand values from the equations in its header, conservation of fuel, the closed
 * solution of the wall film. */
#include "support/check.h"

#include "physics/mixture.h"

static struct mixture_params mixture(void) {
  struct mixture_params m = {
      .wall_share_ratio = 0.3, .best_lambda_ratio = 0.88, .torque_curvature = 3.5, .scatter_lean_ratio = 2.0};
  m.wall_time_s = (struct curve){.count = 2, .x = {273.15, 363.15}, .y = {1.6, 0.25}};
  assert_true(curve_init(&m.wall_time_s));
  return m;
}

/* 1 + 3.5 (0.12^2 - 0) = 1.0504; lambda 0.8: 1 + 3.5 (0.0144 - 0.0064) = 1.028; 1.2: 1 + 3.5 (0.0144 -
 * 0.1024) = 0.692; zero from 0.88 + sqrt(0.0144 + 1/3.5) = 1.42784 on. */
static void torque(void **state) {
  (void)state;
  const struct mixture_params m = mixture();
  check_close(mixture_torque_factor(&m, 1.0), 1.0, 1e-15);
  check_relative(mixture_torque_factor(&m, 0.88), 1.0504, 1e-14);
  check_relative(mixture_torque_factor(&m, 0.8), 1.028, 1e-14);
  check_relative(mixture_torque_factor(&m, 1.2), 0.692, 1e-14);
  check_above(mixture_torque_factor(&m, 1.4277), 0.0);
  check_close(mixture_torque_factor(&m, 1.4279), 0.0, 0.0);
  check_close(mixture_torque_factor(&m, 100.0), 0.0, 0.0);
  check_close(mixture_torque_factor(&m, INFINITY), 0.0, 0.0);
  for (int i = 1; i <= 50; i++) // one maximum, at best lambda
    check_below_at(i, mixture_torque_factor(&m, 0.88 + 0.01 * i), mixture_torque_factor(&m, 0.87 + 0.01 * i));
}

/* Only lean of 1.05 do cycles differ more; 1 + 2 (0.1/0.1)^2 = 3 at 1.15; no further than lambda 2.05. */
static void scatter(void **state) {
  (void)state;
  const struct mixture_params m = mixture();
  check_close(mixture_scatter_factor(&m, 0.7), 1.0, 0.0);
  check_close(mixture_scatter_factor(&m, 1.05), 1.0, 0.0);
  check_relative(mixture_scatter_factor(&m, 1.15), 3.0, 1e-13);
  check_relative(mixture_scatter_factor(&m, 100.0), 201.0, 1e-13);
}

/* X 0.3, 1 g/s injected, 200 mg on the wall, tau 0.25 s: 0.7 + 0.8 = 1.5 g/s drawn, the wall loses
 * 0.5 g/s. */
static void wall_film(void **state) {
  (void)state;
  const struct mixture_params m = mixture();
  check_relative(mixture_delivered_kg_s(&m, 1e-3, 2e-4, 363.15), 1.5e-3, 1e-14);
  check_relative(mixture_wall_rate_kg_s(&m, 1e-3, 2e-4, 363.15), -0.5e-3, 1e-14);
  check_relative(mixture_delivered_kg_s(&m, 0.0, 2e-4, 273.15), 2e-4 / 1.6,
                 1e-14); // after a cut, slower when cold
  for (double coolant = 253.15; coolant < 380.0; coolant += 7.0)
    for (double wall = 0.0; wall < 1e-3; wall += 1e-4) {
      const double sum = mixture_delivered_kg_s(&m, 8e-4, wall, coolant) + mixture_wall_rate_kg_s(&m, 8e-4, wall, coolant);
      check_relative_at(coolant, sum, 8e-4, 1e-13); // no fuel is lost
    }
}

/* A step of fuel onto a dry wall: m = X i tau (1 - exp(-t/tau)). Steps of Runge-Kutta's fourth order, 1 ms:
 * the error is far below 1e-9. */
static void wall_film_fills(void **state) {
  (void)state;
  const struct mixture_params m = mixture();
  const double h = 1e-3, injected = 1e-3;
  double wall = 0.0;
  for (int i = 0; i < 1000; i++) {
    const double k1 = mixture_wall_rate_kg_s(&m, injected, wall, 363.15);
    const double k2 = mixture_wall_rate_kg_s(&m, injected, wall + 0.5 * h * k1, 363.15);
    const double k3 = mixture_wall_rate_kg_s(&m, injected, wall + 0.5 * h * k2, 363.15);
    const double k4 = mixture_wall_rate_kg_s(&m, injected, wall + h * k3, 363.15);
    wall += h / 6.0 * (k1 + 2.0 * k2 + 2.0 * k3 + k4);
    check_relative_at(i, wall, 7.5e-5 * (1.0 - exp(-(i + 1) * h / 0.25)), 1e-9);
  }
  check_relative(mixture_delivered_kg_s(&m, injected, 7.5e-5, 363.15), injected,
                 1e-14); // and then passes all
}

int main(void) {
  const struct CMUnitTest tests[] = {cmocka_unit_test(torque), cmocka_unit_test(scatter), cmocka_unit_test(wall_film),
                                     cmocka_unit_test(wall_film_fills)};
  return cmocka_run_group_tests(tests, NULL, NULL);
}
