/* plant/air with a turbocharger and a hole in a charge hose. Truth: the equations of docs/physics.md section 3.1, each written out here and
 * held against what the signals say, and invariants. */
#include "support/idle_point.h"

#include "base/attributes.h"
#include "base/units.h"
#include "physics/charge.h"
#include "physics/gas.h"
#include "plant/air.h"
#include "support/check.h"

#include <math.h>

static struct idle_point turbo, four;

static int set_up(void **state) {
  (void)state;
  idle_point_init(&turbo, "four-15-turbo");
  idle_point_init(&four, "four-16");
  return 0;
}

static double duct_kg_s(const struct plant_signals *s) {
  return s->path_kg_s[PLANT_PATH_blade] + s->path_kg_s[PLANT_PATH_bypass] + s->path_kg_s[PLANT_PATH_ventilation];
}

/* Filter, charger and hole, each by its own law, at what was found. */
static void check_laws(const struct idle_point *point, const struct plant_signals *s) {
  const struct plant_inputs *in = &point->inputs;
  const double loss = point->engine.plant.intake.filter_drop_pa_s2_kg2 * in->faults.filter_ratio;
  const double rise = curve_value(&point->engine.plant.charger.rise_pa, s->cylinder_kg_s);
  const double beyond = rise > 0.0 ? s->metered_kg_s / s->cylinder_kg_s : 0.0;
  const double charge = in->ambient_pa - loss * s->metered_kg_s * fabs(s->metered_kg_s) + rise * (2.0 - beyond * beyond);
  check_close_at(in->faults.charge_leak_area_m2, s->duct_pa, charge, 1e-5);
  const double density = in->ambient_pa / (GAS_AIR_CONSTANT_J_KG_K * in->ambient_k);
  const double hole = AIR_SHARP_DISCHARGE_RATIO * in->faults.charge_leak_area_m2;
  const double in_by_hole = duct_kg_s(s) - s->metered_kg_s, below = in->ambient_pa - s->duct_pa;
  check_close_at(below, in_by_hole * fabs(in_by_hole), 2.0 * density * hole * hole * below, 1e-9 + 1e-6 * fabs(in_by_hole));
}

static void every_law_holds(void **state) {
  (void)state;
  static const double areas_m2[] = {0.0, 1e-6, 20e-6, 100e-6, 600e-6, 1500e-6};
  for (double manifold_pa = 20e3; manifold_pa < 104e3; manifold_pa += 6e3)
    for (double rpm = 500.0; rpm < 6000.0; rpm += 500.0)
      for (size_t i = 0; i < ARRAY_COUNT(areas_m2); i++) {
        struct idle_point point = turbo;
        point.state.manifold_pressure_pa = manifold_pa;
        point.state.crank_speed_rad_s = rpm * UNITS_RAD_S_PER_RPM;
        point.inputs.faults.charge_leak_area_m2 = areas_m2[i];
        const struct plant_signals s = idle_point_signals(&point);
        check_laws(&point, &s);
      }
}

/* Whatever passes: small steps in pressure make small steps in what is metered. A standing engine, so that nothing drives the charger, and
 * what the manifold gives back leaves by filter and hole. */
static void nothing_jumps(void **state) {
  (void)state;
  struct idle_point point = turbo;
  point.inputs.faults.charge_leak_area_m2 = 300e-6;
  point.state.crank_speed_rad_s = 0.0;
  double last = NAN;
  for (double manifold_pa = 96e3; manifold_pa < 106e3; manifold_pa += 1.0) { // air turns round in the duct
    point.state.manifold_pressure_pa = manifold_pa;
    const double now = idle_point_signals(&point).metered_kg_s;
    if (!isnan(last)) check_close_at(manifold_pa, now, last, 2e-5);
    last = now;
  }
  check_below(last, 0.0);
}

/* Without charge pressure air comes in by the hole and is not metered; with it metered air goes out. */
static void the_sign_of_the_pressure(void **state) {
  (void)state;
  struct idle_point point = turbo;
  point.inputs.faults.charge_leak_area_m2 = 60e-6;
  const struct plant_signals idle = idle_point_signals(&point);
  check_below(idle.duct_pa, point.inputs.ambient_pa);
  check_below(idle.metered_kg_s, duct_kg_s(&idle));
  point.state.crank_speed_rad_s = 2500.0 * UNITS_RAD_S_PER_RPM;
  point.state.manifold_pressure_pa = 30e3;
  const struct plant_signals held = idle_point_signals(&point);
  check_above(held.duct_pa, point.inputs.ambient_pa);
  check_above(held.metered_kg_s, duct_kg_s(&held));
}

/* Invariant: an engine without a charger knows nothing of all this. */
static void no_charger(void **state) {
  (void)state;
  struct idle_point torn = four;
  torn.inputs.faults.charge_leak_area_m2 = 300e-6;
  check_close(idle_point_signals(&torn).metered_kg_s, idle_point_signals(&four).metered_kg_s, 0.0);
  check_close(air_charge_most_pa(&four.engine.plant, 100e3), 100e3, 0.0);
  check_above(air_charge_most_pa(&turbo.engine.plant, 100e3), 110e3);
}

/* Adjustable timing adds its overlap to that of the file: the law as it is with so much more. */
static void overlap_is_added(void **state) {
  (void)state;
  struct charge_params charge = turbo.engine.plant.charge, fixed = charge;
  const double speed = 2500.0 * UNITS_RAD_S_PER_RPM;
  fixed.overlap_factor_deg_m += curve_value(&charge.overlap_added_deg_m, speed);
  fixed.overlap_added_deg_m.count = 0;
  check_above(fixed.overlap_factor_deg_m, charge.overlap_factor_deg_m);
  check_relative(charge_residual_fraction(&charge, 30e3, 102e3, speed), charge_residual_fraction(&fixed, 30e3, 102e3, speed),
                 1e-12);
  const double idle = charge_residual_fraction(&charge, 30e3, 102e3, 80.0); // nothing is added there
  charge.overlap_added_deg_m.count = 0;
  check_relative(charge_residual_fraction(&charge, 30e3, 102e3, 80.0), idle, 1e-12);
}

/* The same where the manifold is above the open, the engine standing: air leaves by hole and filter. */
static void every_law_holds_backwards(void **state) {
  (void)state;
  static const double areas_m2[] = {0.0, 5e-6, 100e-6, 1000e-6};
  for (double manifold_pa = 102e3; manifold_pa < 180e3; manifold_pa += 7e3)
    for (size_t i = 0; i < ARRAY_COUNT(areas_m2); i++) {
      struct idle_point point = turbo;
      point.state.manifold_pressure_pa = manifold_pa;
      point.state.crank_speed_rad_s = 0.0;
      point.inputs.faults.charge_leak_area_m2 = areas_m2[i];
      const struct plant_signals s = idle_point_signals(&point);
      check_laws(&point, &s);
      check_below_at(manifold_pa, s.metered_kg_s, 0.0);
    }
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(every_law_holds_backwards), cmocka_unit_test(every_law_holds), cmocka_unit_test(nothing_jumps),
      cmocka_unit_test(the_sign_of_the_pressure),  cmocka_unit_test(no_charger),      cmocka_unit_test(overlap_is_added),
  };
  return cmocka_run_group_tests(tests, set_up, NULL);
}
