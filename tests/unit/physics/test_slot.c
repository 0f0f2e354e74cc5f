/* physics/slot: the limits of a narrow gap. Truth: plane Poiseuille flow of a gas and the nozzle law, both by hand. */
#include "support/check.h"

#include "base/attributes.h"
#include "physics/gas.h"
#include "physics/orifice.h"
#include "physics/slot.h"

#define WIDTH_M 0.1
#define CD      0.66

static double flow_kg_s(double gap_m, double length_m, double up_pa, double up_k, double down_pa) {
  const double viscous = slot_viscous_length_m(up_pa, up_k, down_pa / up_pa);
  const double cda = CD * gap_m * WIDTH_M * slot_pass_ratio(CD, viscous, length_m, gap_m);
  return orifice_mass_flow_kg_s(cda, up_pa, up_k, down_pa, up_k);
}

/* Air at 0 and 27 C: 1.716e-5 and 1.846e-5 Pa s (tables of air at one atmosphere, from memory). */
static void viscosity(void **state) {
  (void)state;
  check_relative(slot_viscosity_pa_s(273.15), 1.716e-5, 1e-9);
  check_relative(slot_viscosity_pa_s(300.0), 1.846e-5, 0.005);
}

static void reference_length(void **state) {
  (void)state;
  check_relative(slot_viscous_length_m(SLOT_REFERENCE_PA, SLOT_REFERENCE_K, SLOT_REFERENCE_RATIO), SLOT_REFERENCE_LENGTH_M,
                 1e-14);
  check_relative(slot_relative_viscosity(SLOT_REFERENCE_PA, SLOT_REFERENCE_K, SLOT_REFERENCE_RATIO), 1.0, 1e-14);
}

/* A wide gap is an orifice: Cd, to 1 % from a gap of a third of its length on. */
static void wide_gap_is_an_orifice(void **state) {
  (void)state;
  for (double gap = 0.5e-3; gap < 20e-3; gap *= 1.5) {
    const double orifice = orifice_mass_flow_kg_s(CD * gap * WIDTH_M, 101325.0, 293.15, 30e3, 293.15);
    check_relative_at(gap, flow_kg_s(gap, 1.5e-3, 101325.0, 293.15, 30e3), orifice, 0.01);
  }
}

/* A narrow and long gap is Poiseuille's: m = width g^3 (p1^2 - p2^2) / (24 mu R T length), within 1 %, choked or not. */
static void narrow_gap_is_poiseuille(void **state) {
  (void)state;
  static const double down_pa[] = {20e3, 50e3, 80e3, 95e3, 99e3};
  for (double gap = 1e-6; gap < 6e-6; gap *= 1.3)
    for (size_t i = 0; i < ARRAY_COUNT(down_pa); i++) {
      const double squares = 100e3 * 100e3 - down_pa[i] * down_pa[i];
      const double hand =
          WIDTH_M * gap * gap * gap * squares / (24.0 * slot_viscosity_pa_s(293.15) * GAS_AIR_CONSTANT_J_KG_K * 293.15 * 20e-3);
      check_relative_at(gap, flow_kg_s(gap, 20e-3, 100e3, 293.15, down_pa[i]), hand, 0.01);
    }
}

/* In between, by hand: both losses in a row, for a nearly incompressible drop: dp = rho v^2 / 2 (1 / Cd^2 + 24 mu length / (rho v g^2)),
 * which is 96 / Re over length / (2 g). 1 % below ambient; the gas's own expansion is worth 1 %. */
static void both_losses_in_a_row(void **state) {
  (void)state;
  const double dp = 1e3, rho = 100e3 / (GAS_AIR_CONSTANT_J_KG_K * 293.15), mu = slot_viscosity_pa_s(293.15), length = 1.5e-3;
  for (double gap = 5e-6; gap < 1e-3; gap *= 1.4) {
    const double a = 0.5 * rho / (CD * CD), b = 12.0 * mu * length / (gap * gap);
    const double v = (-b + sqrt(b * b + 4.0 * a * dp)) / (2.0 * a);
    check_relative_at(gap, flow_kg_s(gap, length, 100e3, 293.15, 99e3), rho * v * gap * WIDTH_M, 0.01);
  }
}

/* Of clean idles (physics.md section 2): 22 um over a land of 1.5 mm passes some 0.41 of a wide opening. */
static void closed_stop_by_hand(void **state) {
  (void)state;
  // N = 24 * 1.81e-5 * 290.1 * 0.66 * 1.5e-3 * (0.6847 / 0.8775) / (101325 * (22e-6)^2) = 1.99; (sqrt(N^2 + 4) - N) / 2 = 0.416
  check_close(slot_pass_ratio(CD, SLOT_REFERENCE_LENGTH_M, 1.5e-3, 22e-6), 0.416, 0.003);
}

/* Wider, and thinner or shorter, passes more. A gap that is none passes nothing. */
static void monotone(void **state) {
  (void)state;
  double before = 0.0;
  for (double gap = 1e-7; gap < 1e-2; gap *= 1.1) {
    const double ratio = slot_pass_ratio(CD, SLOT_REFERENCE_LENGTH_M, 1.5e-3, gap);
    check_above_at(gap, ratio, before);
    check_below_at(gap, ratio, 1.0);
    check_below_at(gap, slot_pass_ratio(CD, SLOT_REFERENCE_LENGTH_M, 2e-3, gap), ratio);
    before = ratio;
  }
  check_close(slot_pass_ratio(CD, SLOT_REFERENCE_LENGTH_M, 1.5e-3, 0.0), 0.0, 0.0);
  check_close(slot_pass_ratio(CD, SLOT_REFERENCE_LENGTH_M, 0.0, 1e-6), 1.0, 1e-15);
  check_close(slot_cda_m2(1e-6, 0.0, CD, 1.0), 0.0, 0.0);
}

/* slot_cda_m2() is slot_pass_ratio() again for gaps of one width, at any air and any Cd. */
static void one_width_is_exact(void **state) {
  (void)state;
  for (double gap = 3e-6; gap < 1e-3; gap *= 1.7)
    for (double relative = 0.5; relative < 20.0; relative *= 1.6) {
      const double area = gap * WIDTH_M;
      const double passing = area * slot_pass_ratio(SLOT_REFERENCE_DISCHARGE, SLOT_REFERENCE_LENGTH_M, 1.5e-3, gap);
      const double direct = 0.8 * area * slot_pass_ratio(0.8, relative * SLOT_REFERENCE_LENGTH_M, 1.5e-3, gap);
      check_relative_at(gap, slot_cda_m2(area, passing, 0.8, relative), direct, 1e-9);
    }
}

/* Continuous with its slope in the pressure ratio, over the critical one, the edge of the laminar zone and through equal pressures,
 * where the flow turns: no step in the flow's slope greater than the step in pressure itself explains. */
static void smooth_in_pressure(void **state) {
  (void)state;
  static const double gaps[] = {5e-6, 22e-6, 110e-6};
  const double places[] = {orifice_critical_ratio(), ORIFICE_LAMINAR_RATIO, 1.0}, h = 1e-5;
  for (size_t g = 0; g < ARRAY_COUNT(gaps); g++)
    for (size_t i = 0; i < ARRAY_COUNT(places); i++) {
      double flow[5];
      for (int k = -2; k <= 2; k++) {
        const double down = (places[i] + k * h) * 100e3, high = fmax(down, 100e3), low = fmin(down, 100e3);
        const double cda =
            CD * gaps[g] * WIDTH_M * slot_pass_ratio(CD, slot_viscous_length_m(high, 293.15, low / high), 1.5e-3, gaps[g]);
        flow[k + 2] = orifice_mass_flow_kg_s(cda, 100e3, 293.15, down, 293.15);
      }
      const double left = (flow[2] - flow[0]) / (2.0 * h), right = (flow[4] - flow[2]) / (2.0 * h);
      // curvature times h; flow over the laminar zone's width is the scale of the slope
      check_close_at(places[i], left, right, 0.02 * fmax(fabs(left), fabs(flow[2])));
    }
}

/* 1/length^2 is what is bent at the edge of the laminar zone: its slope is the same from either side to a ten-thousandth, and at equal
 * pressures it is level. */
static void no_kink(void **state) {
  (void)state;
  const double h = 1e-6;
  double y[7];
  for (int k = -3; k <= 3; k++) {
    const double length = slot_viscous_length_m(100e3, 293.15, ORIFICE_LAMINAR_RATIO + k * h);
    y[k + 3] = 1.0 / (length * length);
  }
  const double left = (3.0 * y[3] - 4.0 * y[2] + y[1]) / (2.0 * h), right = (-3.0 * y[3] + 4.0 * y[4] - y[5]) / (2.0 * h);
  check_relative(right, left, 1e-4);
  double level[3];
  for (int k = 0; k < 3; k++) {
    const double length = slot_viscous_length_m(100e3, 293.15, 1.0 - k * h);
    level[k] = 1.0 / (length * length);
  }
  check_close((level[1] - level[0]) / h, 0.0, 1e-3 * fabs(left));
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(no_kink),
      cmocka_unit_test(viscosity),
      cmocka_unit_test(reference_length),
      cmocka_unit_test(wide_gap_is_an_orifice),
      cmocka_unit_test(narrow_gap_is_poiseuille),
      cmocka_unit_test(both_losses_in_a_row),
      cmocka_unit_test(closed_stop_by_hand),
      cmocka_unit_test(monotone),
      cmocka_unit_test(one_width_is_exact),
      cmocka_unit_test(smooth_in_pressure),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
