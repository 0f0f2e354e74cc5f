/* The orifice law against the isentropic flow tables, gamma = 1.4. The printed A/A* are rows of reference/validation.
 *
 * For a Mach number M the tables give p/p0 and A/A*. Continuity makes A/A* = Psi_max / Psi(p/p0), so a
 * printed A/A* tests our flow function without using its formula. p/p0 of the Mach number is the tables' own
 * definition, (1 + 0.2 M^2)^-3.5, and is checked against the print first. */
#include "support/check.h"

#include "base/attributes.h"
#include "physics/gas.h"
#include "physics/orifice.h"

static double pressure_ratio_of_mach(double mach) { return pow(1.0 + 0.2 * mach * mach, -3.5); }

static double area_ratio_of_mach(double mach) {
  return orifice_flow_function(0.5) / orifice_flow_function(pressure_ratio_of_mach(mach));
}

/* Read. A: textbook appendix, table A.1 "Compressible Flow Tables for an Ideal Gas with k = 1.4"; B: Farokhi,
 * "Aircraft Propulsion", 2nd ed., appendix B (prints p0/p); C: "Aeronautical Engineer's Data Book", appendix
 * 4. */
static const struct {
  double mach, pressure_ratio;
} printed[] = {
    {0.10, 0.9930},       // A
    {0.20, 1.0 / 1.0283}, // B
    {0.30, 1.0 / 1.0644}, // B
    {0.50, 0.8430},       // A
    {0.60, 0.7840},       // A
    {0.84, 0.6300},       // A
    {0.90, 0.5913},       // A, C
    {0.95, 0.5595},       // C
    {1.00, 0.5283},       // C
};

static void printed_tables(void **state) {
  (void)state;
  for (size_t i = 0; i < ARRAY_COUNT(printed); i++) {
    const double mach = printed[i].mach;
    check_close_at(mach, pressure_ratio_of_mach(mach), printed[i].pressure_ratio,
                   5.1e-5); // half a printed unit
  }
}

/* Derived from the definitions in exact arithmetic, six figures; all agree with the rounded tables above. */
static void six_figures(void **state) {
  (void)state;
  static const struct {
    double mach, area_ratio;
  } rows[] = {{0.1, 5.821829}, {0.2, 2.963520}, {0.3, 2.035065}, {0.4, 1.590140}, {0.5, 1.339844},
              {0.6, 1.188200}, {0.7, 1.094373}, {0.8, 1.038230}, {0.9, 1.008863}, {1.0, 1.0}};
  for (size_t i = 0; i < ARRAY_COUNT(rows); i++)
    check_close_at(rows[i].mach, area_ratio_of_mach(rows[i].mach), rows[i].area_ratio, 6e-7);
}

/* Derived; 0.5283 is also in table C (read), and python3-fluids' P_critical_flow(101325, 1.4) is 53528.15214
 * Pa (read, run). */
static void critical_ratio(void **state) {
  (void)state;
  check_close(orifice_critical_ratio(), 0.5282818, 5e-8);
  check_close(101325.0 * orifice_critical_ratio(), 53528.15214, 5e-6);
}

/* Psi = pr^(1/g) sqrt( 2g/(g-1) (1 - pr^((g-1)/g)) ), derived, six figures; and its share of the maximum. */
static void flow_function(void **state) {
  (void)state;
  static const struct {
    double ratio, psi, share;
  } rows[] = {{0.99, 0.140662, 0.205426},
              {0.95, 0.307641, 0.449287},
              {0.90, 0.422581, 0.617148},
              {0.80, 0.560661, 0.818804},
              {0.70, 0.638317, 0.932215},
              {0.60, 0.676915, 0.988585},
              {0.5282818, 0.684731, 1.0},
              {0.40, 0.684731, 1.0},
              {0.10, 0.684731, 1.0},
              {0.0, 0.684731, 1.0},
              {1.0, 0.0, 0.0}};
  const double most = orifice_flow_function(0.5);
  for (size_t i = 0; i < ARRAY_COUNT(rows); i++) {
    check_close_at(rows[i].ratio, orifice_flow_function(rows[i].ratio), rows[i].psi, 6e-7);
    check_close_at(rows[i].ratio, orifice_flow_function(rows[i].ratio) / most, rows[i].share, 6e-7);
  }
}

/* Crossley and Cook's and Guzzella's approximation 2 sqrt(r - r^2) of Psi / Psi_max lies below it from r =
 * 0.6 on, by no more than 0.0188 (at 0.8, derived). */
static void published_approximation(void **state) {
  (void)state;
  for (int percent = 60; percent <= 99; percent++) {
    const double r = 0.01 * percent;
    const double share = orifice_flow_function(r) / orifice_flow_function(0.5);
    check_close_at(r, share, 2.0 * sqrt(r - r * r), 0.019);
    check_above_at(r, share, 2.0 * sqrt(r - r * r));
  }
}

/* mdot sqrt(T0) / (p0 A) at choked flow, derived: 0.0404147 for R = 287.05307; the seventh figure does not
 * see our 287.05287. And mdot sqrt(R T0) / (p0 A) = 0.6847315 for any R (0.6847 is the textbooks' rounded
 * figure, from memory). */
static void choked_constant(void **state) {
  (void)state;
  const double p0 = 101325.0, t0 = 300.0, area = 1e-4;
  const double flow = orifice_mass_flow_kg_s(area, p0, t0, 20000.0, 350.0);
  check_close(flow * sqrt(t0) / (p0 * area), 0.0404147, 6e-8);
  check_close(flow * sqrt(GAS_AIR_CONSTANT_J_KG_K * t0) / (p0 * area), 0.6847315, 6e-8);
}

/* ISO 2533: R = 8314.32 / 28.96442; the constant in our header must be that quotient (five decimals). */
static void gas_constant(void **state) {
  (void)state;
  check_close(GAS_AIR_CONSTANT_J_KG_K, 8314.32 / 28.964420, 5e-6);
  check_close(GAS_AIR_CP_J_KG_K - GAS_AIR_CV_J_KG_K, GAS_AIR_CONSTANT_J_KG_K, 1e-9);
  check_close(GAS_AIR_CP_J_KG_K / GAS_AIR_CV_J_KG_K, GAS_AIR_GAMMA, 1e-12);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(printed_tables),
      cmocka_unit_test(six_figures),
      cmocka_unit_test(critical_ratio),
      cmocka_unit_test(flow_function),
      cmocka_unit_test(published_approximation),
      cmocka_unit_test(choked_constant),
      cmocka_unit_test(gas_constant),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
