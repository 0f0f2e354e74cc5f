/* physics/charge, combustion and loads: hand values from the formulas in their headers, and signs.
 *
 * Hand values were worked out outside this program from the docstrings' equations; the working stands beside
 * each. */
#include "support/check.h"

#include "base/units.h"
#include "physics/charge.h"
#include "physics/combustion.h"
#include "physics/loads.h"

#define RPM UNITS_RAD_S_PER_RPM

static struct curve constant(double value) {
  struct curve curve = {.count = 1, .y = {value}};
  assert_true(curve_init(&curve));
  return curve;
}

static struct charge_params charge_params(double overlap, double compression) {
  return (struct charge_params){.displacement_m3 = 1.6e-3,
                                .cylinder_count = 4,
                                .bank_count = 1,
                                .compression_ratio = compression,
                                .pressure_slope_ratio = 0.95,
                                .pressure_offset_pa = -7e3,
                                .speed_factor = constant(1.0),
                                .overlap_factor_deg_m = overlap};
}

/* (0.95 * 35000 - 7000) 1.6e-3 / (287.05287 * 310) = 42 / 88986.39 = 4.7198229e-4 kg */
static void air_per_cycle(void **state) {
  (void)state;
  struct charge_params charge = charge_params(0.5, 10.5);
  check_relative(charge_air_per_cycle_kg(&charge, 35e3, 101325.0, 310.0, 80.0), 4.7198229e-4, 1e-8);
  charge.speed_factor = constant(0.8);
  check_relative(charge_air_per_cycle_kg(&charge, 35e3, 101325.0, 310.0, 80.0), 0.8 * 4.7198229e-4, 1e-8);
  check_relative(charge_air_per_cycle_kg(&charge, 35e3, 101325.0, 620.0, 80.0), 0.4 * 4.7198229e-4, 1e-8);
  check_close(charge_air_per_cycle_kg(&charge, 7e3, 101325.0, 310.0, 80.0), 0.0,
              0.0); // below y/s nothing is drawn, never less
}

/* A line that crosses zero pressure above zero must not draw from an empty manifold: at most 10/(10 - 1) of the swept volume is there to be filled.
 * 0.95 p + 5 kPa meets 10/9 p at 31.0345 kPa. */
static void no_more_than_the_cylinder_holds(void **state) {
  (void)state;
  struct charge_params charge = charge_params(0.5, 10.0);
  charge.pressure_offset_pa = 5e3;
  const double per_pa = 1.6e-3 / (287.05287 * 310.0);
  check_close(charge_air_per_cycle_kg(&charge, 0.0, 101325.0, 310.0, 80.0), 0.0, 0.0);
  check_relative(charge_air_per_cycle_kg(&charge, 9e3, 101325.0, 310.0, 80.0), 10e3 * per_pa, 1e-8);
  check_relative(charge_air_per_cycle_kg(&charge, 31.0344e3, 101325.0, 310.0, 80.0), 34.4827e3 * per_pa, 1e-5);
  check_relative(charge_air_per_cycle_kg(&charge, 60e3, 101325.0, 310.0, 80.0), 62e3 * per_pa, 1e-8); // 57 + 5, below 66.7
}

/* The ideal cycle: burned gas left in the clearance expands, g constant, until fresh gas comes in; first law over the intake
 * stroke from exhaust pressure in the clearance volume Vc to p in Vc + Vd. m_total = p (Vc + Vd) / (R T2), residual m_r = p_e Vc /
 * (R T_r); energy of the stroke, work p Vd done and enthalpy m cp T drawn in:  p (Vc + Vd) / (g - 1) = p_e Vc / (g - 1) + m cp T - p Vd.
 * So m R T / Vd = [p (Vc + Vd) - p_e Vc + (g - 1) p Vd] / (g Vd): formed here without the formula of the header. */
static void offset_goes_with_exhaust_pressure(void **state) {
  (void)state;
  const double g = 1.35, ratio = 10.0, clearance = 1.0 / (ratio - 1.0); // of Vd
  struct charge_params charge = charge_params(0.3, ratio);
  charge.pressure_slope_ratio = ((1.0 + clearance) + (g - 1.0)) / g;
  charge.pressure_offset_pa = -101325.0 * clearance / g;
  for (double p = 20e3; p < 100e3; p += 10e3)
    for (double exhaust = 60e3; exhaust < 150e3; exhaust += 15e3) {
      const double filled = (p * (1.0 + clearance) - exhaust * clearance + (g - 1.0) * p) / g;
      const double expected = filled * 1.6e-3 / (287.05 * 320.0);
      check_relative_at(p, charge_air_per_cycle_kg(&charge, p, exhaust, 320.0, 90.0), expected,
                        1e-4); // gas constants differ by 1e-5
    }
}

/* Exhaust pressure and charge at once: both equations hold. At 3000 m the exhaust stands at 70.1 kPa and the same manifold pressure
 * draws more. */
static void exhaust_loss_is_solved(void **state) {
  (void)state;
  const struct charge_params charge = charge_params(0.3, 10.0);
  for (double loss = 0.0; loss < 3e9; loss = 10.0 * loss + 1e5)
    for (double p = 25e3; p < 100e3; p += 25e3) {
      double exhaust;
      const double w = 400.0, share = 0.9;
      const double air = charge_air_against_loss_kg(&charge, p, 101325.0, loss, share, 310.0, w, &exhaust);
      const double flow = share * air * w / (4.0 * UNITS_PI);
      check_relative_at(p, exhaust, 101325.0 + loss * flow * flow, 1e-12);
      check_relative_at(p, air, charge_air_per_cycle_kg(&charge, p, exhaust, 310.0, w), 1e-9);
      check_relative_at(p, charge_manifold_pa(&charge, air, exhaust, 310.0, w), p, 1e-12);
    }
  check_above(charge_air_per_cycle_kg(&charge, 30e3, 70108.5, 310.0, 90.0),
              charge_air_per_cycle_kg(&charge, 30e3, 101325.0, 310.0, 90.0));
}

/* 1.266 OF/N r^-0.87 sqrt|dp/bar| + 0.632 r^-0.74 / r_c:
 * OF 0.5, 800 rpm, 35/103 kPa, 10.5 -> 0.2339143453; OF 0.5, 2500 rpm, 60/105 kPa, 10.5 -> 0.1076531717;
 * OF 1.2, 700 rpm, 30/101.325 kPa, 9.5 -> 0.4808183773 */
static void residual(void **state) {
  (void)state;
  const struct charge_params charge = charge_params(0.5, 10.5), wide = charge_params(1.2, 9.5);
  check_relative(charge_residual_fraction(&charge, 35e3, 103e3, 800 * RPM), 0.2339143453, 1e-9);
  check_relative(charge_residual_fraction(&charge, 60e3, 105e3, 2500 * RPM), 0.1076531717, 1e-9);
  check_relative(charge_residual_fraction(&wide, 30e3, 101325.0, 700 * RPM), 0.4808183773, 1e-9);
}

/* Less manifold pressure and less speed leave more burned gas; the fraction stays within its clamp even when
 * cranking. */
static void residual_trends(void **state) {
  (void)state;
  const struct charge_params charge = charge_params(0.8, 10.0);
  for (double p = 20e3; p < 100e3; p += 1e3)
    check_below_at(p, charge_residual_fraction(&charge, p + 1e3, 101325.0, 90.0),
                   charge_residual_fraction(&charge, p, 101325.0, 90.0));
  for (double w = 20.0; w < 600.0; w += 5.0)
    check_below_at(w, charge_residual_fraction(&charge, 40e3, 101325.0, w + 5.0),
                   charge_residual_fraction(&charge, 40e3, 101325.0, w));
  check_close(charge_residual_fraction(&charge, 10e3, 101325.0, 0.0), 0.9, 1e-15);
  check_relative(charge_residual_fraction(&charge, 101325.0, 101325.0, 90.0), 0.0632,
                 1e-12); // clearance alone
}

static struct combustion_params combustion_params(void) {
  struct combustion_params combustion = {.heating_value_j_kg = 44e6, .stoichiometric_ratio = 14.7};
  combustion.efficiency = constant(0.33);
  combustion.retard_loss_1_rad2 = 4.0 / (45.0 * 45.0 * 9.0) / (UNITS_RAD_PER_DEG * UNITS_RAD_PER_DEG);
  combustion.best_spark_rad = constant(28.0 * UNITS_RAD_PER_DEG);
  combustion.dilution_onset_fraction = 0.2;
  combustion.dilution_width_fraction = 0.4;
  combustion.scatter_ratio = 0.02;
  combustion.scatter_retard_ratio = 1.5;
  combustion.scatter_dilution_ratio = 0.5;
  return combustion;
}

/* 15 deg late, a loss of 4/9 at 45 deg: 1 - 4/81 = 77/81; residual 0.3: 1 - (0.1/0.4)^2 = 0.9375. The work itself is formed in
 * plant/torque.c: test_torque.c. */
static void losses(void **state) {
  (void)state;
  const struct combustion_params combustion = combustion_params();
  check_close(combustion_spark_efficiency(&combustion, 0.0), 1.0, 0.0);
  check_relative(combustion_spark_efficiency(&combustion, 15.0 * UNITS_RAD_PER_DEG), 77.0 / 81.0, 1e-14);
  check_relative(combustion_burn_efficiency(&combustion, 0.3), 0.9375, 1e-14);
  check_close(combustion_burn_efficiency(&combustion, 0.2), 1.0, 0.0);
  check_close(combustion_burn_efficiency(&combustion, 0.6), 0.0, 1e-15);
  check_close(combustion_burn_efficiency(&combustion, 0.8), 0.0, 0.0);
}

/* 0.02 (1 + 1.5 (10/20)^2 + 0.5 (0.1/0.1)^2) = 0.0375; advance past best spark adds nothing; limit one
 * half. */
static void scatter(void **state) {
  (void)state;
  struct combustion_params combustion = combustion_params();
  const double best = 28.0 * UNITS_RAD_PER_DEG, ten_late = 18.0 * UNITS_RAD_PER_DEG;
  check_relative(combustion_scatter_ratio(&combustion, 0.0, 0.1), 0.02, 1e-12);
  check_relative(combustion_scatter_ratio(&combustion, best - ten_late, 0.3), 0.0375, 1e-12);
  check_relative(combustion_scatter_ratio(&combustion, best - 1.2 * best, 0.1), 0.02, 1e-12);
  check_close(combustion_scatter_ratio(&combustion, best - ten_late, 0.9), 0.5, 0.0); // 0.5175 by the formula
  combustion.scatter_ratio = 0.0;
  check_close(combustion_scatter_ratio(&combustion, best - ten_late, 0.9), 0.0, 0.0);
}

/* Barnes-Moss form (from memory): 0.97 + 0.15 n + 0.05 n^2 bar; 2.0 l: 800 rpm 1.122 bar -> 17.8572 N m, 1000
 * rpm 18.6211 (derived). Cold oil multiplies it. */
static void friction(void **state) {
  (void)state;
  struct friction_params friction = {.constant_pa = 0.97e5, .per_krpm_pa = 0.15e5, .per_krpm2_pa = 0.05e5};
  friction.oil_factor = (struct curve){.count = 2, .x = {293.15, 363.15}, .y = {2.0, 1.0}};
  assert_true(curve_init(&friction.oil_factor));
  check_close(loads_friction_nm(&friction, 2e-3, 800 * RPM, 363.15), 17.8572, 6e-5);
  check_close(loads_friction_nm(&friction, 2e-3, 1000 * RPM, 363.15), 18.6211, 6e-5);
  check_close(loads_friction_nm(&friction, 2e-3, 0.0, 363.15), 0.97e5 * 2e-3 / (4.0 * UNITS_PI), 1e-12);
  check_close(loads_friction_nm(&friction, 2e-3, 800 * RPM, 293.15), 2.0 * 17.8572, 1.2e-4);
  check_close(loads_friction_nm(&friction, 2e-3, 800 * RPM, 328.15), 1.5 * 17.8572,
              9e-5);                                                                // two points: a line
  check_close(loads_friction_nm(&friction, 2e-3, 800 * RPM, 420.0), 17.8572, 6e-5); // level beyond
}

/* (101325 - 35000) 1.6e-3 / (4 pi) = 8.444761 N m; it brakes while the manifold is below exhaust, drives when
 * above. */
static void pumping(void **state) {
  (void)state;
  check_close(loads_pumping_nm(1.6e-3, 35e3, 101325.0), 8.444761, 6e-7);
  check_close(loads_pumping_nm(1.6e-3, 101325.0, 101325.0), 0.0, 0.0);
  check_below(loads_pumping_nm(1.6e-3, 120e3, 101325.0), 0.0);
}

static const struct load_params loads = {
    .alternator_efficiency_ratio = 0.6,
    .alternator_fade_low_rad_s = 30.0,
    .alternator_fade_high_rad_s = 50.0,
    .converter_torque_nm = 20.0,
    .converter_speed_rad_s = 80.0,
    .starter_torque_nm = 90.0,
    .starter_speed_rad_s = 40.0,
};

/* 600 W / (0.6 * 80) = 12.5 N m; the share is u^2 (3 - 2u): u = 1/4 -> 0.15625, 1/2 -> 0.5, 3/4 -> 0.84375 */
static void alternator(void **state) {
  (void)state;
  check_relative(loads_alternator_nm(&loads, 600.0, 80.0), 12.5, 1e-14);
  check_close(loads_alternator_share(&loads, 30.0), 0.0, 0.0);
  check_close(loads_alternator_share(&loads, 35.0), 0.15625, 1e-15);
  check_close(loads_alternator_share(&loads, 40.0), 0.5, 1e-15);
  check_close(loads_alternator_share(&loads, 45.0), 0.84375, 1e-15);
  check_close(loads_alternator_share(&loads, 50.0), 1.0, 0.0);
  check_relative(loads_alternator_nm(&loads, 600.0, 40.0), 12.5, 1e-14); // half the share at half the speed
  check_close(loads_alternator_nm(&loads, 600.0, 0.0), 0.0, 0.0);        // standing engine: no division by zero
  check_close(loads_alternator_nm(&loads, 0.0, 80.0), 0.0, 0.0);
}

static void converter_and_starter(void **state) {
  (void)state;
  check_relative(loads_converter_nm(&loads, 80.0), 20.0, 1e-15);
  check_relative(loads_converter_nm(&loads, 40.0), 5.0, 1e-15);
  check_close(loads_converter_nm(&loads, 0.0), 0.0, 0.0);
  check_relative(loads_starter_nm(&loads, 0.0), 90.0, 1e-15);
  check_relative(loads_starter_nm(&loads, 10.0), 67.5, 1e-15);
  check_close(loads_starter_nm(&loads, 40.0), 0.0, 0.0);
  check_close(loads_starter_nm(&loads, 90.0), 0.0, 0.0); // overrun clutch: it never brakes
}

/* Slower than one revolution a second the overlap has no more time than at that. */
static void residual_of_cranking(void **state) {
  (void)state;
  const struct charge_params charge = {.compression_ratio = 10.0, .overlap_factor_deg_m = 1.0};
  const double slow = charge_residual_fraction(&charge, 90e3, 101e3, 2.0 * UNITS_PI);
  check_close(charge_residual_fraction(&charge, 90e3, 101e3, 0.5 * UNITS_PI), slow, 0.0);
  check_close(charge_residual_fraction(&charge, 90e3, 101e3, 0.0), slow, 0.0);
  check_below(charge_residual_fraction(&charge, 90e3, 101e3, 2.02 * UNITS_PI), slow);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(residual_of_cranking),
      cmocka_unit_test(offset_goes_with_exhaust_pressure),
      cmocka_unit_test(exhaust_loss_is_solved),
      cmocka_unit_test(air_per_cycle),
      cmocka_unit_test(no_more_than_the_cylinder_holds),
      cmocka_unit_test(residual),
      cmocka_unit_test(residual_trends),
      cmocka_unit_test(losses),
      cmocka_unit_test(scatter),
      cmocka_unit_test(friction),
      cmocka_unit_test(pumping),
      cmocka_unit_test(alternator),
      cmocka_unit_test(converter_and_starter),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
