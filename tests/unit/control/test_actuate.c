/* control/actuate: from air wanted to blade angle or bypass steps, and back. Truth: the choked flow law by
 * hand (0.684731 p/sqrt(R T), docs/physics.md section 2), round trips through the clean engine's areas, the
 * stepper's speed. */
#include "support/idle_point.h"

#include "base/units.h"
#include "control/actuate.h"
#include "physics/bypass.h"
#include "support/check.h"

static struct idle_point electronic, cable;

static int set_up(void **state) {
  (void)state;
  idle_point_init(&electronic, "four-16");
  idle_point_init(&cable, "four-18-cable");
  return 0;
}

/* 0.6847315 * 100 kPa / sqrt(287.05287 * 298.15) = 234.057157 kg/s per m2. */
static double choked_kg_s(double cda_m2) { return cda_m2 * 234.057157; }

static double with_air(struct idle_point *point, double air_kg_s) {
  return actuate_wanted(&point->design, &point->sensors, air_kg_s, 0.0, point->computer.idle_blade_rad);
}

/* The blade of the clean engine at the angle found passes, with the ventilation valve, what was asked for. */
static void blade_passes_what_is_asked(void **state) {
  (void)state;
  const struct plant_params *plant = &electronic.engine.plant;
  for (double air = 0.8e-3; air < 60e-3; air *= 1.1) {
    const double angle = with_air(&electronic, air);
    const double cda = actuate_clean_cda_m2(&electronic.design, angle) + plant->intake.ventilation_cda_m2;
    check_relative_at(air, choked_kg_s(cda), air, 1e-7);
    const double opening = angle - plant->throttle.bore.closed_angle_rad;
    check_relative_at(air, actuate_clean_cda_m2(&electronic.design, angle),
                      curve_value(&plant->throttle.discharge, opening) * bore_table_area_m2(&electronic.design.clean_bore, angle),
                      1e-14);
  }
}

static void ends_of_travel(void **state) {
  (void)state;
  const double closed = electronic.engine.plant.throttle.bore.closed_angle_rad;
  check_close(with_air(&electronic, 0.0), closed, 0.0);
  check_close(with_air(&electronic, -1.0), closed, 0.0);
  check_close(with_air(&electronic, 10.0), 0.5 * UNITS_PI, 0.0);
  check_close(with_air(&cable, 0.0), 0.0, 0.0);
  check_close(with_air(&cable, 1.0), cable.engine.plant.bypass.step_count, 0.0);
}

/* Thinner or warmer air needs more opening. */
static void air_density_counts(void **state) {
  (void)state;
  const double sea_level = with_air(&electronic, 2.5e-3);
  struct idle_point high = electronic;
  high.sensors.barometer_pa = 80e3;
  check_above(with_air(&high, 2.5e-3), sea_level);
  high = electronic;
  high.sensors.intake_k += 30.0;
  check_above(with_air(&high, 2.5e-3), sea_level);
}

/* Steps pass what blade at rest and ventilation do not. */
static void steps_pass_the_rest(void **state) {
  (void)state;
  const struct plant_params *plant = &cable.engine.plant;
  const double rest = actuate_clean_cda_m2(&cable.design, plant_rest_angle_rad(plant)) + plant->intake.ventilation_cda_m2;
  for (double steps = 5.0; steps < plant->bypass.step_count; steps += 7.0) {
    const double cda = rest + plant->bypass.discharge_ratio * bypass_area_m2(&plant->bypass, steps, 0.0);
    check_close_at(steps, with_air(&cable, choked_kg_s(cda)), steps, 1e-3);
  }
}

/* Whole steps, no faster than the stepper goes: floor(steps_per_s * 10 ms), one at least. */
static void stepper_takes_its_time(void **state) {
  (void)state;
  struct computer_state computer = cable.computer;
  computer.bypass_steps = 0.0;
  const double most = fmax(floor(cable.engine.plant.bypass.steps_per_s * 0.01), 1.0);
  const double air = 1.2 * cable.engine.computer.air.base_kg_s, goal = round(with_air(&cable, air));
  assert_true(goal > 3.0 * most);
  double before = 0.0;
  for (int ticks = 1; before < goal; ticks++) {
    actuate_idle_air(&cable.design, &cable.sensors, air, &computer);
    check_close_at(ticks, computer.bypass_steps, fmin(ticks * most, goal), 0.0);
    before = computer.bypass_steps;
  }
  actuate_idle_air(&cable.design, &cable.sensors, 0.0, &computer);
  check_close(computer.bypass_steps, goal - most, 0.0); // and back
  check_close(computer.idle_blade_rad, plant_rest_angle_rad(&cable.engine.plant), 0.0);
}

/* What the computer believes a clean engine passes is what it asked for; in steps within half of one. */
static void clean_air_is_the_air_asked(void **state) {
  (void)state;
  struct computer_state computer = electronic.computer;
  actuate_idle_air(&electronic.design, &electronic.sensors, 3e-3, &computer);
  computer.blade_command_rad = computer.idle_blade_rad;
  check_relative(actuate_clean_air_kg_s(&electronic.design, &electronic.sensors, &computer), 3e-3, 1e-7);
  computer = cable.computer;
  for (int i = 0; i < 1000; i++) actuate_idle_air(&cable.design, &cable.sensors, 3e-3, &computer);
  computer.blade_seen_rad = plant_rest_angle_rad(&cable.engine.plant);
  const double one_step = choked_kg_s(cable.engine.plant.bypass.discharge_ratio * UNITS_PI *
                                      cable.engine.plant.bypass.seat_diameter_m * cable.engine.plant.bypass.pitch_m);
  check_close(actuate_clean_air_kg_s(&cable.design, &cable.sensors, &computer), 3e-3, 0.5 * one_step);
}

/* The pedal adds its curve; the sum is held to fully open. */
static void pedal(void **state) {
  (void)state;
  const struct curve *added = &electronic.engine.computer.pedal.opening_rad;
  check_close(actuate_with_pedal_rad(&electronic.design, 0.0, 0.2), 0.2, 1e-15);
  check_close(actuate_with_pedal_rad(&electronic.design, added->x[1], 0.2), 0.2 + added->y[1], 1e-15);
  check_close(actuate_with_pedal_rad(&electronic.design, 1.0, 0.2), 0.5 * UNITS_PI, 0.0);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(blade_passes_what_is_asked),
      cmocka_unit_test(ends_of_travel),
      cmocka_unit_test(air_density_counts),
      cmocka_unit_test(steps_pass_the_rest),
      cmocka_unit_test(stepper_takes_its_time),
      cmocka_unit_test(clean_air_is_the_air_asked),
      cmocka_unit_test(pedal),
  };
  return cmocka_run_group_tests(tests, set_up, NULL);
}
