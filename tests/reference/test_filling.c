/* A volume that fills through an orifice: our flow law under our solvers against another solver's answer.
 *
 *   dp/dt = R T / V * mdot(p)        isothermal, no outflow
 *
 * Truth: 3 l, CdA 20 mm2, 101325 Pa, 293.15 K, R = 287.05, p(0) = 20 kPa, derived with scipy's DOP853 at
 * 1e-11; while the flow is choked p rises in a straight line, so its first part is also a hand value. */
#include "support/check.h"

#include "base/attributes.h"
#include "physics/gas.h"
#include "physics/orifice.h"
#include "support/integrate.h"

#define VOLUME_M3   3e-3
#define CDA_M2      20e-6
#define AMBIENT_PA  101325.0
#define AMBIENT_K   (293.15 * 287.05 / GAS_AIR_CONSTANT_J_KG_K) // the same R T as the reference
#define START_PA    20e3
#define CRITICAL_PA 53528.15

/* Every trajectory runs once with each; this test links CVODE. */
static const struct solver_vtable *const solvers[] = {&solver_fixed, &solver_cvode};

static void rates(double time_s, const double *state, double *rates, const void *context) {
  (void)time_s;
  (void)context;
  const double flow = orifice_mass_flow_kg_s(CDA_M2, AMBIENT_PA, AMBIENT_K, state[0], AMBIENT_K);
  rates[0] = GAS_AIR_CONSTANT_J_KG_K * AMBIENT_K / VOLUME_M3 * flow;
}

static void becomes_subcritical(double time_s, const double *state, double *values, const void *context) {
  (void)time_s;
  (void)context;
  values[0] = CRITICAL_PA - state[0];
}

static const double nominal_pa[] = {1e5};

static struct solver_problem filling(size_t event_count) {
  return (struct solver_problem){.state_count = 1,
                                 .rates = rates,
                                 .event_count = event_count,
                                 .events = event_count ? becomes_subcritical : NULL,
                                 .nominal = nominal_pa};
}

/* Tolerance 0.01 Pa: the last printed digit; the solvers run at 1e-9 of 1e5 Pa. */
static void trajectory(void **state) {
  (void)state;
  static const struct {
    double time_s, pressure_pa;
  } rows[] = {{0.1, 33417.43}, {0.2, 46834.86}, {0.3, 60230.57}, {0.4, 73086.57}, {0.5, 84418.92}, {0.6, 93331.34}};
  const struct solver_problem problem = filling(0);
  for (size_t s = 0; s < ARRAY_COUNT(solvers); s++)
    for (size_t i = 0; i < ARRAY_COUNT(rows); i++) {
      double pressure = START_PA;
      integrate(solvers[s], &problem, 0.0, rows[i].time_s, &pressure);
      check_close_at(rows[i].time_s, pressure, rows[i].pressure_pa, 0.01);
    }
}

/* The slope while choked, 134174.3 Pa/s; adiabatic filling with our gamma is 1.4 times that, 187844.0
 * Pa/s. */
static void choked_slope(void **state) {
  (void)state;
  const double pressures[] = {START_PA, 35e3, 53e3};
  for (size_t i = 0; i < ARRAY_COUNT(pressures); i++) {
    double slope;
    rates(0.0, &pressures[i], &slope, NULL);
    check_close_at(pressures[i], slope, 134174.3, 0.05);
    check_close_at(pressures[i], GAS_AIR_GAMMA * slope, 187844.0, 0.05);
  }
}

/* The end of choking as an event: 0.249885 s, also (53528.15 - 20000) / 134174.3 by hand. */
static void end_of_choking(void **state) {
  (void)state;
  const struct solver_problem problem = filling(1);
  for (size_t s = 0; s < ARRAY_COUNT(solvers); s++) {
    double pressure = START_PA;
    const double time_s = integrate(solvers[s], &problem, 0.0, 0.6, &pressure);
    check_close(time_s, 0.249885, 6e-7);
    check_close(time_s, (CRITICAL_PA - START_PA) / 134174.3, 2e-7);
    check_close(pressure, CRITICAL_PA, 1e-3);
  }
}

/* Through the laminar zone to the end: the volume reaches ambient pressure and never passes it. */
static void comes_to_rest(void **state) {
  (void)state;
  const struct solver_problem problem = filling(0);
  for (size_t s = 0; s < ARRAY_COUNT(solvers); s++) {
    double pressure = START_PA;
    integrate(solvers[s], &problem, 0.0, 3.0, &pressure);
    check_close(pressure, AMBIENT_PA, 0.01);
    pressure = 1.02 * AMBIENT_PA; // and from above, air flowing out
    integrate(solvers[s], &problem, 0.0, 3.0, &pressure);
    check_close(pressure, AMBIENT_PA, 0.01);
  }
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(trajectory),
      cmocka_unit_test(choked_slope),
      cmocka_unit_test(end_of_choking),
      cmocka_unit_test(comes_to_rest),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
