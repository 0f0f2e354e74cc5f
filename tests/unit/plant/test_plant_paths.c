/* plant/air: each way into the manifold. Truth: the choked flow law by hand, docs/physics.md section 3,
 * invariants. */
#include "support/idle_point.h"

#include "base/attributes.h"
#include "base/units.h"
#include "physics/gas.h"
#include "physics/slot.h"
#include "plant/air.h"
#include "support/check.h"

#include <string.h>

/* 0.68473146 * 100 kPa / sqrt(287.05287 * 298.15) = 234.057157 kg/s per m2 of CdA; 2 mm2 of sharp hole: 0.6
 * of it. */
#define CHOKED_KG_S_M2 234.057157
#define HOLE_M2        2e-6
#define HOLE_KG_S      (0.6 * HOLE_M2 * CHOKED_KG_S_M2)

/* The holes that a fault makes, and what is true of each. */
static const struct {
  enum plant_path path;
  size_t member;     // within struct plant_faults
  bool metered, air; // seen by the air-flow sensor; fresh air
} holes[] = {
    {PLANT_PATH_ventilation, offsetof(struct plant_faults, ventilation_area_m2), true, true},
    {PLANT_PATH_leak, offsetof(struct plant_faults, leak_area_m2), false, true},
    {PLANT_PATH_booster, offsetof(struct plant_faults, booster_leak_area_m2), false, true},
    {PLANT_PATH_purge, offsetof(struct plant_faults, purge_area_m2), false, true},
    {PLANT_PATH_recirculation, offsetof(struct plant_faults, recirculation_area_m2), false, false},
};

static struct idle_point four, cable, six;

static int set_up(void **state) {
  (void)state;
  idle_point_init(&four, "four-16");
  idle_point_init(&cable, "four-18-cable");
  idle_point_init(&six, "six-30");
  four.inputs.faults.purge_vapour_ratio = six.inputs.faults.purge_vapour_ratio = 0.0; // unless a test says so
  return 0;
}

static struct plant_state rates_of(const struct idle_point *point) {
  struct plant_state rates;
  plant_rates(&point->engine.plant, &point->inputs, &point->state, &rates);
  return rates;
}

static void set_hole(struct idle_point *point, size_t hole, double area_m2) {
  memcpy((char *)&point->inputs.faults + holes[hole].member, &area_m2, sizeof area_m2);
}

/* A sound engine takes air past blade and ventilation only, all of it metered. */
static void sound(void **state) {
  (void)state;
  const struct plant_signals s = idle_point_signals(&four);
  for (int i = 0; i < PLANT_PATH_COUNT; i++) {
    const bool open = i == PLANT_PATH_blade || i == PLANT_PATH_ventilation;
    assert_true(open == (s.path_kg_s[i] > 0.0));
  }
  check_relative(s.metered_kg_s, s.path_kg_s[PLANT_PATH_blade] + s.path_kg_s[PLANT_PATH_ventilation], 1e-14);
  check_relative(s.airflow_kg_s, s.metered_kg_s, 1e-14);
  const double opening = four.state.blade_rad - four.engine.plant.throttle.bore.closed_angle_rad;
  const struct bore_passage gap = bore_table_at(four.inputs.bore, four.state.blade_rad);
  const double viscosity = slot_relative_viscosity(four.inputs.ambient_pa, four.inputs.ambient_k,
                                                   four.state.manifold_pressure_pa / four.inputs.ambient_pa);
  const double cda =
      slot_cda_m2(gap.area_m2, gap.passing_m2, curve_value(&four.engine.plant.throttle.discharge, opening), viscosity);
  check_close(s.gap_area_m2, gap.area_m2, 0.0);
  check_relative(s.path_kg_s[PLANT_PATH_blade], cda * CHOKED_KG_S_M2 * s.duct_pa / 100e3, 1e-7);
}

/* Each hole by itself lets in what the law says, fills the manifold, and is metered or not. */
static void holes_by_hand(void **state) {
  (void)state;
  const struct plant_signals clean = idle_point_signals(&four);
  for (size_t i = 0; i < ARRAY_COUNT(holes); i++) {
    struct idle_point point = four;
    set_hole(&point, i, HOLE_M2);
    const struct plant_signals s = idle_point_signals(&point);
    double hand = HOLE_KG_S;
    if (holes[i].path == PLANT_PATH_recirculation) // from exhaust pressure and heat
      hand *= s.exhaust_pa / 100e3 * sqrt(298.15 / point.engine.plant.warmth.exhaust_gas_k);
    if (holes[i].metered) // from behind the filter
      hand *= s.duct_pa / 100e3;
    const double added = s.path_kg_s[holes[i].path] - clean.path_kg_s[holes[i].path];
    check_relative_at((double)i, added, hand, 1e-4); // the duct's pressure moves by parts in a million
    check_close_at((double)i, s.metered_kg_s - clean.metered_kg_s, holes[i].metered ? hand : 0.0, 1e-4 * hand);
    check_close_at((double)i, s.airflow_kg_s - clean.airflow_kg_s, holes[i].air ? hand : 0.0, 1e-4 * hand);
    check_close_at((double)i, s.inflow_kg_s - clean.inflow_kg_s, hand, 1e-4 * hand);
    check_above_at((double)i, rates_of(&point).manifold_pressure_pa, rates_of(&four).manifold_pressure_pa);
    assert_true((plant_path_rows[holes[i].path].node == PLANT_NODE_DUCT) == holes[i].metered);
  }
}

/* A manifold above ambient blows out of every hole. */
static void back_flow(void **state) {
  (void)state;
  struct idle_point point = four;
  point.state.manifold_pressure_pa = 150e3;
  for (size_t i = 0; i < ARRAY_COUNT(holes); i++) set_hole(&point, i, HOLE_M2);
  const struct plant_signals s = idle_point_signals(&point);
  for (int i = 0; i < PLANT_PATH_COUNT; i++)
    if (i != PLANT_PATH_bypass) check_below_at(i, s.path_kg_s[i], 0.0);
  check_close(s.vapour_kg_s, 0.0, 0.0); // nothing comes out of the canister then
}

/* Loss 2.5 kPa at 100 g/s: at p_a - p = k m^2 the paths pass just that m, choked or not. */
static void filter(void **state) {
  (void)state;
  for (double manifold_pa = 20e3; manifold_pa < 99e3; manifold_pa += 6e3) {
    struct idle_point point = four;
    point.state.manifold_pressure_pa = manifold_pa;
    point.inputs.faults.filter_ratio = 200.0;
    const struct plant_signals s = idle_point_signals(&point);
    const double loss = 200.0 * point.engine.plant.intake.filter_drop_pa_s2_kg2;
    check_close_at(manifold_pa, 100e3 - s.duct_pa, loss * s.metered_kg_s * s.metered_kg_s, 2e-6);
    check_above_at(manifold_pa, 100e3 - s.duct_pa, 0.0);
  }
}

/* Hole of 300 mm2 in the boot: c = 0.6 A sqrt(2 rho k), rho = 100e3/(287.05287 298.15) = 1.16842 kg/m3, k =
 * 250000: c = 0.6 * 3e-4 * 764.337 = 0.137581. The sensor sees 1/(1 + c) of the duct's air. */
static void boot_leak(void **state) {
  (void)state;
  struct idle_point point = four;
  point.engine.plant.intake.filter_drop_pa_s2_kg2 = 250000.0;
  const struct plant_signals whole = idle_point_signals(&point);
  point.inputs.faults.boot_leak_area_m2 = 300e-6;
  const struct plant_signals torn = idle_point_signals(&point);
  const double duct = torn.path_kg_s[PLANT_PATH_blade] + torn.path_kg_s[PLANT_PATH_ventilation];
  check_relative(duct / torn.metered_kg_s, 1.137581, 1e-6);
  check_close(100e3 - torn.duct_pa, 250000.0 * torn.metered_kg_s * torn.metered_kg_s,
              1e-6);                                           // the filter carries its share only
  check_relative(torn.airflow_kg_s, whole.airflow_kg_s, 1e-4); // at idle the engine gets the same air
  check_above(torn.duct_pa, whole.duct_pa);
}

/* 15 % of a purge flow of 0.2809 g/s is fuel: 0.0421 g/s, and no air. */
static void purge_vapour(void **state) {
  (void)state;
  struct idle_point point = four;
  point.inputs.faults.purge_area_m2 = HOLE_M2;
  point.inputs.faults.purge_vapour_ratio = 0.15;
  const struct plant_signals s = idle_point_signals(&point);
  check_relative(s.vapour_kg_s, 0.15 * HOLE_KG_S, 1e-6);
  check_relative(s.inflow_kg_s - s.airflow_kg_s, s.vapour_kg_s, 1e-9);
  check_above(rates_of(&point).burning_fuel1_kg, rates_of(&four).burning_fuel1_kg);
}

/* Manifold of mass p V/(R T): recirculation brings burned gas, air thins it, what goes out leaves the share
 * alone. */
static void burned_share(void **state) {
  (void)state;
  struct idle_point point = four;
  point.inputs.faults.recirculation_area_m2 = HOLE_M2;
  point.state.manifold_burned_ratio = 0.1;
  const struct plant_signals s = idle_point_signals(&point);
  const double mass = 32e3 * point.engine.plant.intake.manifold_volume_m3 / (287.05287 * 320.0);
  const double hand = (0.9 * s.path_kg_s[PLANT_PATH_recirculation] - 0.1 * s.metered_kg_s) / mass;
  check_relative(rates_of(&point).manifold_burned_ratio, hand, 1e-12);
  check_relative(s.intake_air_kg, 0.9 * idle_point_signals(&four).intake_air_kg,
                 1e-12); // a tenth of the charge is no air
  check_above(s.residual_fraction, idle_point_signals(&four).residual_fraction + 0.05);
}

/* Hot gas heats the manifold: by cp (T_exh - T) m/(M cv), all else equal, by pressure rate; the sign is
 * enough. */
static void recirculation_is_hot(void **state) {
  (void)state;
  struct idle_point hot = four, cool = four;
  hot.inputs.faults.recirculation_area_m2 = HOLE_M2;
  cool.inputs.faults.leak_area_m2 = HOLE_M2;
  check_above(rates_of(&hot).manifold_temperature_k, rates_of(&cool).manifold_temperature_k);
}

/* Compression lost: the cylinders take that much less, but for what the lower exhaust pressure lets in: some ten pascals. */
static void compression(void **state) {
  (void)state;
  struct idle_point point = four;
  point.inputs.faults.compression_loss_ratio = 0.25;
  check_relative(idle_point_signals(&point).intake_air_kg, 0.75 * idle_point_signals(&four).intake_air_kg, 1e-4);
}

/* Bypass of a cable throttle: C A(steps), metered; an electronic throttle has none. */
static void bypass(void **state) {
  (void)state;
  struct idle_point point = cable;
  const struct plant_signals shut = idle_point_signals(&point);
  point.inputs.bypass_steps = 40.0;
  const struct plant_signals open = idle_point_signals(&point);
  const struct bypass_params *valve = &point.engine.plant.bypass;
  const double hand = valve->discharge_ratio * bypass_area_m2(valve, 40.0, 0.0) * CHOKED_KG_S_M2;
  check_relative(open.path_kg_s[PLANT_PATH_bypass], hand * open.duct_pa / 100e3, 1e-7);
  check_relative(open.metered_kg_s - shut.metered_kg_s, hand, 1e-3); // the filter takes a little
  point.inputs.faults.bypass_film_m = 50e-6;
  check_below(idle_point_signals(&point).path_kg_s[PLANT_PATH_bypass], open.path_kg_s[PLANT_PATH_bypass]);
  struct idle_point electronic = four;
  electronic.inputs.bypass_steps = 40.0;
  check_close(idle_point_signals(&electronic).path_kg_s[PLANT_PATH_bypass], 0.0, 0.0);
}

/* A leak all on bank 1's side: its share 1/2 + leak/inflow (1 - 1/2); on the other the mirror image; in the
 * middle none. */
static void banks(void **state) {
  (void)state;
  assert_int_equal(six.engine.plant.charge.bank_count, 2);
  struct idle_point point = six;
  check_close(idle_point_signals(&point).bank1_air_ratio, 0.5, 0.0);
  point.inputs.faults.leak_area_m2 = HOLE_M2;
  point.inputs.faults.leak_bank1_ratio = 1.0;
  const struct plant_signals s = idle_point_signals(&point);
  check_relative(s.bank1_air_ratio, 0.5 + 0.5 * s.path_kg_s[PLANT_PATH_leak] / s.inflow_kg_s, 1e-14);
  check_above(s.lambda[0], 1.0 + 1e-3); // same fuel, more air
  check_below(s.lambda[1], 1.0 - 1e-3);
  double lambda[PLANT_BANK_MAX];
  plant_lambda(&point.engine.plant, &point.inputs, &point.state, lambda);
  check_relative(lambda[0], s.lambda[0], 1e-15);
  check_relative(lambda[1], s.lambda[1], 1e-15);
  point.inputs.faults.leak_bank1_ratio = 0.0;
  check_relative(idle_point_signals(&point).bank1_air_ratio, 1.0 - s.bank1_air_ratio, 1e-14);
  point.inputs.faults.leak_bank1_ratio = 0.5;
  check_close(idle_point_signals(&point).bank1_air_ratio, 0.5, 0.0);
}

/* With nothing flowing nothing goes to one bank more than to the other. */
static void banks_without_flow(void **state) {
  (void)state;
  struct idle_point point = six;
  point.state.manifold_pressure_pa = point.inputs.ambient_pa;
  point.state.crank_speed_rad_s = 0.0;
  point.inputs.faults.leak_bank1_ratio = 1.0;
  const struct plant_signals s = idle_point_signals(&point);
  check_close(s.inflow_kg_s, 0.0, 1e-12);
  check_close(s.bank1_air_ratio, 0.5, 0.0);
}

/* At rest what comes in goes out, the share of exhaust is its share of what comes in, and gas and walls have one heat balance:
 * sum of m cp (T - T_in) = h (T_wall - T). */
static void at_rest(void **state) {
  (void)state;
  struct idle_point point = four;
  point.inputs.faults.recirculation_area_m2 = 4e-6;
  struct plant_signals s;
  air_rest(&point.engine.plant, &point.inputs, &point.state, &s);
  check_relative(s.inflow_kg_s, s.cylinder_kg_s, 1e-9);
  check_relative(point.state.manifold_burned_ratio, s.path_kg_s[PLANT_PATH_recirculation] / s.inflow_kg_s, 1e-9);
  check_above(point.state.manifold_burned_ratio, 0.02);
  double gained_w = 0.0;
  for (int i = 0; i < PLANT_PATH_COUNT; i++) {
    const double from_k = i == PLANT_PATH_recirculation ? point.engine.plant.warmth.exhaust_gas_k : point.inputs.ambient_k;
    gained_w += s.path_kg_s[i] * GAS_AIR_CP_J_KG_K * (point.state.manifold_temperature_k - from_k);
  }
  const double wall_k = air_wall_k(&point.engine.plant, point.inputs.ambient_k, point.state.coolant_k);
  check_close(gained_w, point.engine.plant.intake.wall_conductance_w_k * (wall_k - point.state.manifold_temperature_k), 1e-6);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(at_rest),      cmocka_unit_test(banks_without_flow),
      cmocka_unit_test(sound),        cmocka_unit_test(holes_by_hand),
      cmocka_unit_test(back_flow),    cmocka_unit_test(filter),
      cmocka_unit_test(boot_leak),    cmocka_unit_test(purge_vapour),
      cmocka_unit_test(burned_share), cmocka_unit_test(recirculation_is_hot),
      cmocka_unit_test(compression),  cmocka_unit_test(bypass),
      cmocka_unit_test(banks),
  };
  return cmocka_run_group_tests(tests, set_up, NULL);
}
