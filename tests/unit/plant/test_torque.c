/* plant/torque: work, mixture and heat of one instant. Truth: docs/physics.md sections 4 and 5 worked by
 * hand. */
#include "support/idle_point.h"

#include "base/units.h"
#include "plant/torque.h"
#include "support/check.h"

static struct idle_point idle;

static struct curve constant(double value) {
  struct curve curve = {.count = 1, .y = {value}};
  assert_true(curve_init(&curve));
  return curve;
}

/* The idle of four-16 with round figures: 4.8e-4 kg of air burning at lambda one, efficiency 0.33, best
 * spark 28 degrees and given, no loss by burned gas. */
static int set_up(void **state) {
  (void)state;
  idle_point_init(&idle, "four-16");
  struct plant_params *plant = &idle.engine.plant;
  plant->combustion.heating_value_j_kg = 44e6;
  plant->combustion.stoichiometric_ratio = 14.7;
  plant->combustion.efficiency = constant(0.33);
  plant->combustion.best_spark_rad = constant(28.0 * UNITS_RAD_PER_DEG);
  plant->combustion.dilution_onset_fraction = 0.6;
  plant->combustion.torque_lag_cycle_ratio = 0.5;
  plant->mixture = (struct mixture_params){.wall_share_ratio = 0.3,
                                           .wall_time_s = constant(0.25),
                                           .best_lambda_ratio = 0.88,
                                           .torque_curvature = 3.5,
                                           .scatter_lean_ratio = 2.0};
  idle.engine.plant.combustion.retard_loss_1_rad2 = 1.0 / (45.0 * 45.0 * UNITS_RAD_PER_DEG * UNITS_RAD_PER_DEG);
  idle.state.burning_air_kg = 4.8e-4;
  idle.state.burning_fuel1_kg = 4.8e-4 / 14.7;
  idle.inputs.spark_rad = 28.0 * UNITS_RAD_PER_DEG;
  return 0;
}

static double indicated_nm(const struct idle_point *point) { return idle_point_signals(point).indicated_nm; }

/* 4.8e-4/14.7 * 44e6 * 0.33 = 474.12245 J per cycle; over 4 pi: 37.729465 N m. 15 degrees late, 1/9 lost by the curvature set above: 8/9 of it.
 * Lambda 1.2: 0.692, 0.8: 1.028 of it. A quarter of the compression gone: 7/8. */
static void work(void **state) {
  (void)state;
  struct idle_point point = idle;
  check_relative(indicated_nm(&point), 474.12245 / (4.0 * UNITS_PI), 1e-8);
  point.inputs.spark_rad = 13.0 * UNITS_RAD_PER_DEG;
  check_relative(indicated_nm(&point), 474.12245 * 8.0 / 9.0 / (4.0 * UNITS_PI), 1e-8);
  point = idle;
  point.inputs.faults.spark_offset_rad = -15.0 * UNITS_RAD_PER_DEG; // the same by a fault
  check_relative(indicated_nm(&point), 474.12245 * 8.0 / 9.0 / (4.0 * UNITS_PI), 1e-8);
  point = idle;
  point.state.burning_fuel1_kg = idle.state.burning_fuel1_kg / 1.2;
  check_relative(idle_point_signals(&point).lambda[0], 1.2, 1e-14);
  check_relative(indicated_nm(&point), 474.12245 * 0.692 / (4.0 * UNITS_PI), 1e-8);
  point.state.burning_fuel1_kg = idle.state.burning_fuel1_kg / 0.8;
  check_relative(indicated_nm(&point), 474.12245 * 1.028 / (4.0 * UNITS_PI), 1e-8);
  point = idle;
  point.inputs.faults.compression_loss_ratio = 0.25;
  check_relative(indicated_nm(&point), 474.12245 * 0.875 / (4.0 * UNITS_PI), 1e-8);
}

/* Without spark, without fuel, too lean: no work, and nothing set free. */
static void nothing_burns(void **state) {
  (void)state;
  for (int why = 0; why < 3; why++) {
    struct idle_point point = idle;
    if (why == 0) point.inputs.firing = false;
    if (why == 1) point.state.burning_fuel1_kg = 0.0;
    if (why == 2) point.state.burning_fuel1_kg *= 1.0 / 1.45;
    const struct plant_signals s = idle_point_signals(&point);
    check_close_at(why, s.indicated_nm, 0.0, 0.0);
    check_close_at(why, s.burned_w, 0.0, 0.0);
    check_close_at(why, s.wall_heat_w, 0.0, 0.0);
    if (why < 2) check_close_at(why, s.lambda[0], TORQUE_LAMBDA_NO_FUEL, 0.0);
  }
}

/* 4.8e-4/14.7 * 44e6 J a cycle at 90/(4 pi) cycles a second: 10289.9 W, of which a third and the wall share
 * of the rest. What is rich of lambda one does not burn; what is lean is all the fuel there is. */
static void heat(void **state) {
  (void)state;
  struct idle_point point = idle;
  const double free_w = 4.8e-4 / 14.7 * 44e6 * 90.0 / (4.0 * UNITS_PI);
  check_relative(idle_point_signals(&point).burned_w, free_w, 1e-12);
  check_relative(idle_point_signals(&point).wall_heat_w, point.engine.plant.warmth.wall_heat_ratio * 0.67 * free_w, 1e-12);
  point.state.burning_fuel1_kg = idle.state.burning_fuel1_kg / 0.8;
  check_relative(idle_point_signals(&point).burned_w, free_w, 1e-12);
  point.state.burning_fuel1_kg = idle.state.burning_fuel1_kg / 1.2;
  check_relative(idle_point_signals(&point).burned_w, free_w / 1.2, 1e-12);
}

/* Without spark, one of four takes a quarter of torque and heat with it, and more while it is its turn. */
static void spark_missing(void **state) {
  (void)state;
  struct idle_point point = idle;
  point.inputs.no_spark_ratio = 1.0;
  check_relative(indicated_nm(&point), 0.75 * indicated_nm(&idle), 1e-14);
  check_relative(idle_point_signals(&point).burned_w, 0.75 * idle_point_signals(&idle).burned_w, 1e-14);
  check_relative(idle_point_signals(&point).wall_heat_w, 0.75 * idle_point_signals(&idle).wall_heat_w, 1e-14);
  point.inputs.cylinder1_pattern = 2.0;
  check_relative(indicated_nm(&point), 0.5 * indicated_nm(&idle), 1e-14);
}

/* Half of cylinder 1's charge is lost: three and a half cylinders share the air that is left. Half a cylinder's, at 3/4 of the efficiency
 * (half of what is lost): (3 + 0.5 * 0.75)/3.5 of the torque of the same air in sound ones; all of it still burns. In its turn alone
 * with a pattern of 4: 4/3.5 of them all, less 4/3.5 * (1 - 0.375). */
static void cylinder_without_compression(void **state) {
  (void)state;
  struct idle_point point = idle;
  point.inputs.faults.cylinder_loss_ratio = 0.5;
  check_relative(indicated_nm(&point), 3.375 / 3.5 * indicated_nm(&idle), 1e-14);
  check_relative(idle_point_signals(&point).burned_w, idle_point_signals(&idle).burned_w, 1e-14);
  point.inputs.cylinder1_pattern = 4.0;
  check_relative(indicated_nm(&point), 1.5 / 3.5 * indicated_nm(&idle), 1e-14);
  point.inputs.cylinder1_pattern = 0.0;
  check_relative(indicated_nm(&point), 4.0 / 3.5 * indicated_nm(&idle), 1e-14);
}

/* Truth: oxygen counted by hand. Petrol (CH2)n + 1.5n O2; four cylinders with 12 O2 for 8 CH2 in all, 3 O2 and 2 CH2 each, lambda one.
 * One does not fire: 3 O2 are left, and a sensor that leaves petrol alone sees them beside 6 CH2 burned with 9: 12/9 = 4/3. A third more
 * fuel burns rich by as much (lambda 3/4) in the three, whose CO and H2 want the 3 O2 of the fourth: one. Half of its firings: 8/7. */
static void oxygen_of_a_dead_cylinder(void **state) {
  (void)state;
  struct idle_point point = idle;
  double lambda[PLANT_BANK_MAX];
  point.inputs.faults.spark_missing_ratio = 1.0;
  plant_lambda(&point.engine.plant, &point.inputs, &point.state, lambda);
  check_relative(lambda[0], 4.0 / 3.0, 1e-14);
  point.state.burning_fuel1_kg *= 4.0 / 3.0;
  plant_lambda(&point.engine.plant, &point.inputs, &point.state, lambda);
  check_relative(lambda[0], 1.0, 1e-14);
  check_relative(idle_point_signals(&point).lambda[0], 0.75, 1e-14);
  point = idle;
  point.inputs.faults.spark_missing_ratio = 0.5;
  plant_lambda(&point.engine.plant, &point.inputs, &point.state, lambda);
  check_relative(lambda[0], 8.0 / 7.0, 1e-14);
  point.inputs.faults = idle.inputs.faults;
  point.inputs.faults.cylinder_loss_ratio = 0.5; // what it keeps burns
  plant_lambda(&point.engine.plant, &point.inputs, &point.state, lambda);
  check_relative(lambda[0], 1.0, 1e-14);
  point.inputs.faults.spark_missing_ratio = 1.0; // both: half a cylinder of three and a half
  plant_lambda(&point.engine.plant, &point.inputs, &point.state, lambda);
  check_relative(lambda[0], 3.5 / 3.0, 1e-14);
}

/* Six cylinders in two banks, no purge. Without spark bank 1 has two of three that burn: 3/2; bank 2 sees nothing. A cylinder that
 * keeps nothing would leave two to bank 1 and three to bank 2, of all the air and, since it is pushed back into one manifold, all the fuel:
 * here half of one, 2.5 to 3. Equal fuel to both then burns at one lambda. */
static void banks(void **state) {
  (void)state;
  struct idle_point point;
  idle_point_init(&point, "six-30");
  struct plant_state *at = &point.state;
  double lambda[PLANT_BANK_MAX];
  at->burning_fuel1_kg = at->burning_fuel2_kg = 0.5 * at->burning_air_kg / point.engine.plant.combustion.stoichiometric_ratio;
  point.inputs.faults.spark_missing_ratio = 1.0;
  plant_lambda(&point.engine.plant, &point.inputs, at, lambda);
  check_relative(lambda[0], 1.5, 1e-12);
  check_relative(lambda[1], 1.0, 1e-12);
  point.inputs.faults.spark_missing_ratio = 0.0;
  point.inputs.faults.cylinder_loss_ratio = 0.5;
  point.inputs.purge_ratio = 0.0;
  point.inputs.fuel_per_cycle_kg[0] = point.inputs.fuel_per_cycle_kg[1] = 20e-6;
  const struct plant_signals s = idle_point_signals(&point);
  check_relative(s.bank1_air_ratio, 2.5 / 5.5, 1e-12);
  for (int bank = 0; bank < 2; bank++) torque_fuel_rest(&point.engine.plant, &point.inputs, &s, at, bank);
  check_relative(at->burning_fuel1_kg, 40e-6 * 2.5 / 5.5, 1e-12);
  check_relative(at->burning_fuel2_kg, 40e-6 * 3.0 / 5.5, 1e-12);
  plant_lambda(&point.engine.plant, &point.inputs, at, lambda);
  check_relative(lambda[0], lambda[1], 1e-12);
}

/* Scatter of one standard deviation: c0 of the torque at best spark; lean of 1.05 by 0.05 grows it by 1 + 2
 * * 0.25. */
static void scatter(void **state) {
  (void)state;
  struct idle_point point = idle;
  const double c0 = point.engine.plant.combustion.scatter_ratio;
  point.inputs.scatter = 1.0;
  check_relative(indicated_nm(&point) / indicated_nm(&idle), 1.0 + c0, 1e-12);
  point.inputs.scatter = -1.0;
  check_relative(indicated_nm(&point) / indicated_nm(&idle), 1.0 - c0, 1e-12);
  point.state.burning_fuel1_kg = idle.state.burning_fuel1_kg / 1.1;
  struct idle_point steady = point;
  steady.inputs.scatter = 0.0;
  check_relative(indicated_nm(&point) / indicated_nm(&steady), 1.0 - 1.5 * c0, 1e-12);
}

/* 30 mg a cycle at 90/(4 pi) cycles a second, wall 20 mg, tau 0.25 s: injected 214.859 mg/s; wall + 0.3 of
 * it - 80; drawn 0.7 of it + 80 = 230.401 mg/s or 32.170 mg a cycle, followed within half a cycle. Weak
 * injectors bring a fifth less. */
static void fuel_on_its_way(void **state) {
  (void)state;
  struct idle_point point = idle;
  const double cycles = 90.0 / (4.0 * UNITS_PI);
  point.inputs.fuel_per_cycle_kg[0] = 30e-6;
  point.state.wall_fuel1_kg = 20e-6;
  struct plant_state rates;
  plant_rates(&point.engine.plant, &point.inputs, &point.state, &rates);
  check_relative(rates.wall_fuel1_kg, 0.3 * 30e-6 * cycles - 80e-6, 1e-12);
  const double drawn = 0.7 * 30e-6 + 80e-6 / cycles;
  check_relative(rates.burning_fuel1_kg, (drawn - 4.8e-4 / 14.7) * cycles / 0.5, 1e-10);
  const double air_kg = idle_point_signals(&point).intake_air_kg;
  check_relative(rates.burning_air_kg, (air_kg - 4.8e-4) * cycles / 0.5, 1e-10);
  check_close(rates.wall_fuel2_kg, 0.0, 0.0); // one bank
  point.inputs.faults.fuel_delivery_ratio = 0.8;
  plant_rates(&point.engine.plant, &point.inputs, &point.state, &rates);
  check_relative(rates.wall_fuel1_kg, 0.24 * 30e-6 * cycles - 80e-6, 1e-12);
  point.engine.plant.mixture.injector_ratio = 0.1; // those of this car bring a tenth more
  plant_rates(&point.engine.plant, &point.inputs, &point.state, &rates);
  check_relative(rates.wall_fuel1_kg, 0.264 * 30e-6 * cycles - 80e-6, 1e-12);
  point.inputs.firing = false; // nothing is injected, the wall dries
  plant_rates(&point.engine.plant, &point.inputs, &point.state, &rates);
  check_relative(rates.wall_fuel1_kg, -80e-6, 1e-12);
}

/* Everything that hangs on the crank stands in the sum with its sign, and turns it by torque over inertia. */
static void sum(void **state) {
  (void)state;
  struct idle_point point = idle;
  point.state.compressor_engagement_ratio = 1.0;
  point.state.drive_engagement_ratio = 0.5;
  point.inputs.steering_ratio = 1.0;
  point.inputs.starter = true;
  point.inputs.starter_ratio = 0.5;
  point.inputs.faults.drag_nm = 3.0;
  point.state.crank_speed_rad_s = 20.0; // slow enough for the starter to push
  const struct plant_signals s = idle_point_signals(&point);
  const struct load_params *loads = &point.engine.plant.loads;
  check_relative(s.compressor_nm, loads->compressor_torque_nm, 1e-15);
  check_relative(s.steering_nm, loads->steering_torque_nm, 1e-15);
  check_relative(s.converter_nm, 0.5 * loads_converter_nm(loads, 20.0), 1e-15);
  check_relative(s.starter_nm, 0.5 * loads_starter_nm(loads, 20.0), 1e-15);
  check_above(s.starter_nm, 0.0);
  check_relative(s.net_nm,
                 s.indicated_nm + s.starter_nm - s.friction_nm - s.pumping_nm - s.alternator_nm - s.compressor_nm -
                     s.steering_nm - s.converter_nm - 3.0,
                 1e-12);
  struct plant_state rates;
  plant_rates(&point.engine.plant, &point.inputs, &point.state, &rates);
  check_relative(rates.crank_speed_rad_s, s.net_nm / point.engine.plant.crank.inertia_kg_m2, 1e-14);
  point.inputs.mode.crank_held = true;
  plant_rates(&point.engine.plant, &point.inputs, &point.state, &rates);
  check_close(rates.crank_speed_rad_s, 0.0, 0.0);
}

/* A starter that turns the crank ever more slowly: it stands before it turns backwards (no starter has it turn so: Newton, and that drag
 * resists). A stronger one takes it along, and what turns by itself is let alone. */
static void starter_too_weak(void **state) {
  (void)state;
  static const struct {
    double speed_rad_s, drag_nm, steering_ratio;
    bool starter, held_before, held_after;
  } rows[] = {
      {0.5, 500.0, 0.0, true, false, true},   {0.5, 0.0, 0.0, true, false, false}, {0.0, 500.0, 0.0, true, true, true},
      {0.0, 0.0, 0.0, true, true, false},     {0.5, 0.0, 0.0, false, false, true}, {1.5, 500.0, 0.0, true, false, false},
      {1.5, 500.0, 0.0, false, false, false}, {0.0, 0.0, 100.0, true, true, true}, // steering: a pump that cannot be turned at all
  };
  for (size_t i = 0; i < ARRAY_COUNT(rows); i++) {
    struct idle_point point = idle;
    point.inputs.firing = false;
    point.inputs.starter = rows[i].starter;
    point.inputs.starter_ratio = 1.0;
    point.inputs.faults.drag_nm = rows[i].drag_nm;
    point.inputs.steering_ratio = rows[i].steering_ratio;
    point.inputs.mode.crank_held = rows[i].held_before;
    point.state.crank_speed_rad_s = rows[i].speed_rad_s;
    plant_release(&point.engine.plant, &point.inputs, &point.inputs.mode, &point.state);
    check_close_at((double)i, point.inputs.mode.crank_held, rows[i].held_after, 0.0);
    check_close_at((double)i, point.state.crank_speed_rad_s, rows[i].held_after ? 0.0 : rows[i].speed_rad_s, 0.0);
    struct plant_state rates;
    plant_rates(&point.engine.plant, &point.inputs, &point.state, &rates);
    if (point.state.crank_speed_rad_s < 1.0) check_above_at((double)i, rates.crank_speed_rad_s, -1e-12); // not backwards
  }
}

/* A cylinder of four that keeps half of its charge holds an eighth of 3.5: without spark the heat of so much is missing. */
static void heat_of_a_weak_cylinder(void **state) {
  (void)state;
  struct idle_point point = idle;
  point.inputs.faults.cylinder_loss_ratio = 0.5;
  const double sound_w = idle_point_signals(&point).burned_w;
  point.inputs.no_spark_ratio = 1.0;
  check_relative(idle_point_signals(&point).burned_w, sound_w * 3.0 / 3.5, 1e-12);
}

/* Vapour of the purge goes to both banks alike: 6 mg/s at 90 rad/s are 6 * 4 pi/90 mg a cycle, half to each. */
static void vapour_to_both_banks(void **state) {
  (void)state;
  struct idle_point point;
  idle_point_init(&point, "six-30");
  struct plant_signals s = idle_point_signals(&point);
  s.vapour_kg_s = 6e-6;
  point.inputs.fuel_per_cycle_kg[0] = point.inputs.fuel_per_cycle_kg[1] = 0.0;
  for (int bank = 0; bank < 2; bank++) torque_fuel_rest(&point.engine.plant, &point.inputs, &s, &point.state, bank);
  check_relative(point.state.burning_fuel1_kg, 3e-6 * 4.0 * UNITS_PI / 90.0, 1e-12);
  check_relative(point.state.burning_fuel2_kg, 3e-6 * 4.0 * UNITS_PI / 90.0, 1e-12);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(vapour_to_both_banks),
      cmocka_unit_test(heat_of_a_weak_cylinder),
      cmocka_unit_test(work),
      cmocka_unit_test(nothing_burns),
      cmocka_unit_test(heat),
      cmocka_unit_test(spark_missing),
      cmocka_unit_test(cylinder_without_compression),
      cmocka_unit_test(oxygen_of_a_dead_cylinder),
      cmocka_unit_test(banks),
      cmocka_unit_test(scatter),
      cmocka_unit_test(fuel_on_its_way),
      cmocka_unit_test(sum),
      cmocka_unit_test(starter_too_weak),
  };
  return cmocka_run_group_tests(tests, set_up, NULL);
}
