/* physics/orifice: smoothness, signs and the laminar zone. Its values are held in tests/reference. */
#include "support/check.h"

#include "base/attributes.h"
#include "physics/gas.h"
#include "physics/orifice.h"

#define CDA_M2 20e-6
#define P0     101325.0

static const double temperatures_k[][2] = {{293.15, 293.15}, {263.15, 353.15}, {353.15, 263.15}, {300.0, 900.0}};

static double flow(double a_pa, double b_pa, const double *temperature_k) {
  return orifice_mass_flow_kg_s(CDA_M2, a_pa, temperature_k[0], b_pa, temperature_k[1]);
}

/* Slope with respect to the downstream pressure, from one side only; second order in h. */
static double one_sided_slope(double b_pa, double h, const double *t) {
  return (-3.0 * flow(P0, b_pa, t) + 4.0 * flow(P0, b_pa + h, t) - flow(P0, b_pa + 2.0 * h, t)) / (2.0 * h);
}

/* The value does not jump and the slope from below meets the slope from above, at every seam of the function:
 * critical ratio, laminar edge, equal pressures, and the laminar edge and critical ratio of backward flow. */
static void continuously_differentiable(void **state) {
  (void)state;
  const double critical = orifice_critical_ratio(), laminar = ORIFICE_LAMINAR_RATIO;
  const double seams[] = {critical, laminar, 1.0, 1.0 / laminar, 1.0 / critical};
  for (size_t t = 0; t < ARRAY_COUNT(temperatures_k); t++)
    for (size_t i = 0; i < ARRAY_COUNT(seams); i++) {
      const double b_pa = seams[i] * P0, *k = temperatures_k[t];
      check_close_at(seams[i], flow(P0, b_pa * (1.0 - 1e-13), k), flow(P0, b_pa * (1.0 + 1e-13), k), 1e-12);
      // scale: slope of choked flow over upstream pressure; inside the laminar zone slopes are 20 times that
      const double scale = CDA_M2 * 0.684731 / sqrt(GAS_AIR_CONSTANT_J_KG_K * fmin(k[0], k[1]));
      check_close_at(seams[i], one_sided_slope(b_pa, -0.05, k), one_sided_slope(b_pa, 0.05, k), 2e-3 * scale);
    }
}

/* Exchanging the sides changes the sign and nothing else. */
static void odd_under_exchange(void **state) {
  (void)state;
  for (size_t t = 0; t < ARRAY_COUNT(temperatures_k); t++)
    for (double ratio = 0.05; ratio < 1.3; ratio += 0.0173) {
      const double *k = temperatures_k[t];
      const double there = orifice_mass_flow_kg_s(CDA_M2, P0, k[0], ratio * P0, k[1]);
      const double back = orifice_mass_flow_kg_s(CDA_M2, ratio * P0, k[1], P0, k[0]);
      check_relative_at(ratio, back, -there, 1e-15);
      if (ratio < 0.999) check_above_at(ratio, there, 0.0);
      if (ratio > 1.001) check_below_at(ratio, there, 0.0);
    }
  check_close(flow(P0, P0, temperatures_k[1]), 0.0, 0.0);
}

/* More pressure downstream never means more flow; strictly less once it is no longer choked. Fine steps round
 * r = 1. */
static void monotone(void **state) {
  (void)state;
  for (size_t t = 0; t < ARRAY_COUNT(temperatures_k); t++) {
    const double *k = temperatures_k[t];
    double before = flow(P0, 0.02 * P0, k);
    for (double ratio = 0.02; ratio < 1.5;) {
      ratio += fabs(ratio - 1.0) < 0.01 ? 2e-5 : 2e-3;
      const double now = flow(P0, ratio * P0, k);
      if (ratio > orifice_critical_ratio() + 2e-3)
        check_below_at(ratio, now, before);
      else
        check_below_at(ratio, now, before * (1.0 + 1e-14));
      before = now;
    }
  }
}

/* Choked flow knows nothing of downstream, and is proportional to area, upstream pressure and
 * 1/sqrt(temperature). */
static void choked_proportions(void **state) {
  (void)state;
  const double base = orifice_mass_flow_kg_s(CDA_M2, P0, 300.0, 30e3, 300.0);
  check_relative(orifice_mass_flow_kg_s(CDA_M2, P0, 300.0, 50e3, 900.0), base, 1e-15);
  check_relative(orifice_mass_flow_kg_s(3.0 * CDA_M2, P0, 300.0, 30e3, 300.0), 3.0 * base, 1e-14);
  check_relative(orifice_mass_flow_kg_s(CDA_M2, 2.0 * P0, 300.0, 30e3, 300.0), 2.0 * base, 1e-14);
  check_relative(orifice_mass_flow_kg_s(CDA_M2, P0, 1200.0, 30e3, 300.0), 0.5 * base, 1e-14);
  check_close(orifice_mass_flow_kg_s(0.0, P0, 300.0, 30e3, 300.0), 0.0, 0.0);
}

/* Outside the laminar zone the law is exact; inside it is below the exact law, by no more than 0.21 of the
 * flow at the zone's edge (hand: sqrt(u) - 1.25 u + 0.25 u^3, the cubic against the square root, has its
 * maximum 0.200 at u = 0.165). */
static void laminar_zone(void **state) {
  (void)state;
  const double *k = temperatures_k[0];
  const double scale = CDA_M2 * P0 / sqrt(GAS_AIR_CONSTANT_J_KG_K * k[0]);
  const double edge = scale * orifice_flow_function(ORIFICE_LAMINAR_RATIO);
  for (double ratio = 0.9; ratio <= ORIFICE_LAMINAR_RATIO; ratio += 0.001)
    check_relative_at(ratio, flow(P0, ratio * P0, k), scale * orifice_flow_function(ratio),
                      1e-12); // rounding of r over 1 - r
  for (int i = 1; i < 100; i++) {
    const double ratio = 1.0 - (1.0 - ORIFICE_LAMINAR_RATIO) * i / 100.0;
    const double missing = scale * orifice_flow_function(ratio) - flow(P0, ratio * P0, k);
    check_above_at(ratio, missing, 0.0);
    check_below_at(ratio, missing, 0.21 * edge);
  }
}

/* The inverse of the choked law. */
static void inverse(void **state) {
  (void)state;
  for (double cda = 1e-7; cda < 1e-3; cda *= 3.0) {
    const double through = orifice_mass_flow_kg_s(cda, 89874.6, 281.65, 20e3, 300.0);
    check_relative_at(cda, orifice_choked_cda_m2(through, 89874.6, 281.65), cda, 1e-14);
  }
}

/* Between equal pressures and the edge of the zone, x = 1 - r from 0 to e: with equal temperatures the odd cubic a x + b x^3 through the exact
 * law's value and slope at e, a = 3 v/(2 e) - s/2, b = (s - v/e)/(2 e^2). The exact slope by differences. */
static void odd_cubic(void **state) {
  (void)state;
  const double e = 1.0 - ORIFICE_LAMINAR_RATIO, h = 1e-7;
  const double v = orifice_flow_function(1.0 - e);
  const double s = (orifice_flow_function(1.0 - e - h) - orifice_flow_function(1.0 - e + h)) / (2.0 * h);
  const double a = 1.5 * v / e - 0.5 * s, b = (s - v / e) / (2.0 * e * e);
  const double unit = CDA_M2 * P0 / sqrt(GAS_AIR_CONSTANT_J_KG_K * 300.0), even[2] = {300.0, 300.0};
  for (int i = 1; i <= 9; i++) {
    const double x = 0.1 * i * e;
    check_relative_at(x, flow(P0, P0 * (1.0 - x), even), unit * (a * x + b * x * x * x), 1e-6);
  }
  // two temperatures: through zero with the mean of both sides' slopes, a/sqrt(R T) each
  const double uneven[2] = {300.0, 1000.0}, tiny = 1e-7;
  const double mean =
      0.5 * a * CDA_M2 * P0 * (1.0 / sqrt(GAS_AIR_CONSTANT_J_KG_K * 300.0) + 1.0 / sqrt(GAS_AIR_CONSTANT_J_KG_K * 1000.0));
  check_relative(flow(P0, P0 * (1.0 - tiny), uneven) / tiny, mean, 1e-3);
  check_relative(flow(P0, P0 * (1.0 + tiny), uneven) / -tiny, mean, 1e-3);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(odd_cubic), cmocka_unit_test(continuously_differentiable), cmocka_unit_test(odd_under_exchange),
      cmocka_unit_test(monotone),  cmocka_unit_test(choked_proportions),          cmocka_unit_test(laminar_zone),
      cmocka_unit_test(inverse),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
