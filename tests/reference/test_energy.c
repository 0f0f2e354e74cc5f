/* Where the fuel goes over a whole warm-up: work, coolant, oil, radiator, air, exhaust. Truth:
 * conservation.
 *
 * A cold engine idles from 20 C for 25 minutes under its computer. At every tick the flows of heat, work
 * and fuel are taken at both ends under the inputs that held, and summed by trapezia; what they add up to
 * must be what the states hold more at the end. The sums do not use the solver's rates but the signals that
 * an observer of the engine would see. Tolerance 0.1 % of what passed, as agreed; trapezia over 10 ms of
 * what moves with the firing are good to some 1e-5. */
#include "support/scene.h"

#include "base/units.h"
#include "physics/warmth.h"
#include "support/check.h"

#define MINUTES 25
#define TICKS   (MINUTES * 6000L)

struct books {
  double burned_j, work_j, wall_j, exhaust_j;      // fuel energy set free, and its three ways
  double friction_j, radiator_j, lost_j, to_oil_j; // heat: into the oil; out of the coolant; both to the air
  double load_j;                                   // pumping, alternator, starter: what else the crank turned
  double injected_kg, burned_kg;                   // fuel
  double coolant_80_s, oil_80_s;                   // when each passed 80 C
};

/* Everything that passes per second. */
static struct books flows(const struct plant_params *params, const struct plant_inputs *inputs, const struct plant_state *s) {
  struct plant_signals now;
  plant_signals(params, inputs, s, &now);
  const double w = s->crank_speed_rad_s, ambient_k = inputs->ambient_k;
  const struct warmth_params *warmth = &params->warmth;
  const double work_w = now.indicated_nm * w;
  return (struct books){
      .burned_j = now.burned_w,
      .work_j = work_w,
      .wall_j = now.wall_heat_w,
      .exhaust_j = now.burned_w - work_w - now.wall_heat_w,
      .friction_j = now.friction_nm * w,
      .load_j = (now.pumping_nm + now.alternator_nm - now.starter_nm) * w,
      .radiator_j = warmth_radiator_w(warmth, s->coolant_k, ambient_k),
      .lost_j = warmth->coolant_loss_w_k * (s->coolant_k - ambient_k) + warmth->oil_loss_w_k * (s->oil_k - ambient_k),
      .to_oil_j = warmth->coolant_oil_w_k * (s->coolant_k - s->oil_k),
      .injected_kg = inputs->fuel_per_cycle_kg[0] * w / (4.0 * UNITS_PI),
      .burned_kg = s->burning_fuel1_kg * w / (4.0 * UNITS_PI),
  };
}

static void add(struct books *sum, const struct books *a, const struct books *b) {
  const double half = 0.5 * COMPUTER_PERIOD_S;
  sum->burned_j += half * (a->burned_j + b->burned_j);
  sum->work_j += half * (a->work_j + b->work_j);
  sum->wall_j += half * (a->wall_j + b->wall_j);
  sum->exhaust_j += half * (a->exhaust_j + b->exhaust_j);
  sum->friction_j += half * (a->friction_j + b->friction_j);
  sum->load_j += half * (a->load_j + b->load_j);
  sum->radiator_j += half * (a->radiator_j + b->radiator_j);
  sum->lost_j += half * (a->lost_j + b->lost_j);
  sum->to_oil_j += half * (a->to_oil_j + b->to_oil_j);
  sum->injected_kg += half * (a->injected_kg + b->injected_kg);
  sum->burned_kg += half * (a->burned_kg + b->burned_kg);
}

static struct scene scene;
static struct books sum;
static struct plant_state first, last;

/* Starts idling with everything at 20 C, and keeps the books. No scatter: its torque would not be that of
 * the fuel. */
static int warm_up(void **state) {
  (void)state;
  struct error error;
  error_clear(&error);
  scene_init(&scene, "four-16", 60.0 * MINUTES);
  scene.engine.plant.combustion.scatter_ratio = 0.0;
  scene.solver = &solver_fast;
  scene_initial(&scene, "coolant_c", 20.0);
  scene_initial(&scene, "oil_c", 20.0);
  scene_initial(&scene, "warmth_held", 0.0);
  scene_initial(&scene, "intake_c", 20.0);
  if (simulation_create(&scene.engine, &scene.scenario, scene.solver, &scene.options, &scene.sim, &error) != STATUS_OK)
    fail_msg("%s", error.text);
  struct simulation *sim = scene.sim;
  first = sim->vehicle.state;
  for (long tick = 0; tick < TICKS; tick++) {
    const struct plant_state before = sim->vehicle.state;
    if (simulation_tick(sim, &error) != STATUS_OK) fail_msg("%s", error.text);
    const struct books a = flows(&scene.engine.plant, &sim->vehicle.inputs, &before);
    const struct books b = flows(&scene.engine.plant, &sim->vehicle.inputs, &sim->vehicle.state);
    add(&sum, &a, &b);
    const double warm_k = 80.0 + UNITS_KELVIN_AT_ZERO_C;
    if (sum.coolant_80_s <= 0.0 && sim->vehicle.state.coolant_k > warm_k) sum.coolant_80_s = simulation_time_s(sim);
    if (sum.oil_80_s <= 0.0 && sim->vehicle.state.oil_k > warm_k) sum.oil_80_s = simulation_time_s(sim);
  }
  last = sim->vehicle.state;
  print_message("%d min: fuel %.3f MJ = work %.3f + walls %.3f + exhaust %.3f; radiator %.3f, air %.3f; 80 C: coolant "
                "after %.0f s, oil %.0f s; at the end %.1f and %.1f C\n",
                MINUTES, 1e-6 * sum.burned_j, 1e-6 * sum.work_j, 1e-6 * sum.wall_j, 1e-6 * sum.exhaust_j, 1e-6 * sum.radiator_j,
                1e-6 * sum.lost_j, sum.coolant_80_s, sum.oil_80_s, last.coolant_k - UNITS_KELVIN_AT_ZERO_C,
                last.oil_k - UNITS_KELVIN_AT_ZERO_C);
  return 0;
}

static int tear_down(void **state) {
  (void)state;
  scene_end(&scene);
  return 0;
}

/* Stored in both lumps = in - out. All friction goes into the oil. */
static void heat_balance(void **state) {
  (void)state;
  const struct warmth_params *warmth = &scene.engine.plant.warmth;
  const double coolant_j = warmth->coolant_j_k * (last.coolant_k - first.coolant_k);
  const double oil_j = warmth->oil_j_k * (last.oil_k - first.oil_k);
  const double in_j = sum.wall_j + sum.friction_j;
  check_close(coolant_j + oil_j, in_j - sum.radiator_j - sum.lost_j, 1e-3 * in_j);
  const double from_oil_to_air = sum.friction_j + sum.to_oil_j - oil_j;
  check_above(from_oil_to_air, 0.0);  // the sump gave heat to the air
  check_above(coolant_j, 0.1 * in_j); // there was something to keep books of
  check_above(sum.radiator_j, 0.01 * in_j);
}

/* Work done = speed gained + friction + pumping + alternator. */
static void work_balance(void **state) {
  (void)state;
  const double inertia = scene.engine.plant.crank.inertia_kg_m2;
  const double gained =
      0.5 * inertia * (last.crank_speed_rad_s * last.crank_speed_rad_s - first.crank_speed_rad_s * first.crank_speed_rad_s);
  check_relative(sum.work_j, gained + sum.friction_j + sum.load_j, 1e-3);
  check_above(sum.friction_j, 0.3 * sum.work_j);
}

/* Fuel injected = fuel that came to burning + what the walls hold more + the change of what was on its way,
 * L of a cycle's fuel (dm_f/dt = (drawn - m_f n)/L integrated). Of what came to burning, what was lean of
 * lambda one burned whole. */
static void fuel_balance(void **state) {
  (void)state;
  const double lag = scene.engine.plant.combustion.torque_lag_cycle_ratio;
  const double kept = last.wall_fuel1_kg - first.wall_fuel1_kg + lag * (last.burning_fuel1_kg - first.burning_fuel1_kg);
  check_relative(sum.injected_kg, sum.burned_kg + kept, 1e-3);
  const double all_j = sum.burned_kg * scene.engine.plant.combustion.heating_value_j_kg;
  check_below(sum.burned_j, all_j * (1.0 + 1e-9)); // never more than there was
  check_above(sum.burned_j, 0.97 * all_j);         // little is left unburned: only the first minutes are rich
}

/* The shares of a petrol engine at idle: most of the heat leaves through walls and exhaust, about equally;
 * work is a fifth to a third (gross indicated; Heywood's heat balances in words, figures from memory). */
static void shares(void **state) {
  (void)state;
  check_relative(sum.burned_j, sum.work_j + sum.wall_j + sum.exhaust_j, 1e-12);
  check_above(sum.work_j, 0.2 * sum.burned_j);
  check_below(sum.work_j, 0.36 * sum.burned_j);
  check_above(sum.wall_j, 0.25 * sum.burned_j);
  check_above(sum.exhaust_j, 0.2 * sum.burned_j);
}

/* A four of 1.6 l left idling from 20 C takes some five to twenty minutes to 80 C, and the oil longer; then
 * the thermostat holds the coolant between its ends (common practice, no source). */
static void heat_up_time(void **state) {
  (void)state;
  const struct warmth_params *warmth = &scene.engine.plant.warmth;
  check_above(sum.coolant_80_s, 300.0);
  check_below(sum.coolant_80_s, 1200.0);
  check_above(sum.oil_80_s, sum.coolant_80_s);
  check_above(last.coolant_k, warmth->thermostat_opens_k);
  check_below(last.coolant_k, warmth->thermostat_open_k);
}

int main(void) {
  const struct CMUnitTest tests[] = {cmocka_unit_test(heat_balance), cmocka_unit_test(work_balance),
                                     cmocka_unit_test(fuel_balance), cmocka_unit_test(shares), cmocka_unit_test(heat_up_time)};
  return cmocka_run_group_tests(tests, warm_up, tear_down);
}
