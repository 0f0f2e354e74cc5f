/* A settled point is a root of the plant's rates, found a second time by SUNDIALS KINSOL.
 *
 * Truth: the rates of the whole plant (plant_rates), which the settled point does not solve: it goes by air,
 * fuel and torque one inside the other. First its state is put into the rates: none may move by more than a
 * millionth of its everyday size a second. Then KINSOL's Newton iteration with line search, from a start a
 * per cent away in every state, must come back to the same state to 1e-6. Held for both are the inputs: blade
 * command, spark, loads, and fuel per air: with fuel per cycle held there is a second root a few per cent
 * off, on the other side of the best mixture.
 *
 * States that the inputs do not move have no root and are left out: coolant and oil while they are held, the
 * second bank of an engine with one, and the blade where a drive holds it (its voltage is looked at in
 * test_settle.c). */
#include "support/check.h"
#include "support/fault_table.h"

#include "analysis/settle/settle.h"
#include "analysis/settle/settle_balance.h"
#include "base/attributes.h"
#include "io/config/engine_file.h"

#include <kinsol/kinsol.h>
#include <nvector/nvector_serial.h>
#include <stdio.h>
#include <sunlinsol/sunlinsol_dense.h>
#include <sunmatrix/sunmatrix_dense.h>

#define RATE_1_S    1e-6 // in everyday sizes of the state
#define AGREE_RATIO 1e-6
#define KINSOL_NORM 1e-10 // in everyday sizes a second
#define LEAST_SIZE  1e-3  // of everyday size: what is smaller is compared as if it were this

enum { MODEL_MAX = 16, VALUE_MAX = 3 };

static const struct {
  struct {
    const char *key;
    double value;
  } set[VALUE_MAX];
} cases[] = {
    {{{"film_um", 0}}},
    {{{"film_um", 60}}},
    {{{"film_um", 40}, {"drive", 1}, {"air_conditioning", 1}}},
    {{{"leak_mm2", 5}, {"leak_bank1_pct", 80}}},
    {{{"purge_stuck_mm2", 2}, {"egr_stuck_mm2", 2}}},
    {{{"fuel_delivery_ratio", 0.8}, {"drag_nm", 3}}},
    {{{"hold_rpm", 2500}}},
    {{{"hold_rpm", 3500}, {"film_um", 80}, {"filter_ratio", 30}}},
    {{{"coolant_c", 20}, {"oil_c", 20}}},
    {{{"warmth_held", 0}}},
    {{{"altitude_m", 2000}, {"steering_pct", 100}}},
};

struct root {
  const struct plant_params *params;
  const struct plant_inputs *inputs;
  struct plant_state state; // those left out keep these values
  int index[PLANT_STATE_COUNT];
  int count;
};

static void choose_states(struct root *root) {
  root->count = 0;
  for (int i = 0; i < PLANT_STATE_COUNT; i++) {
    const size_t at = (size_t)i * sizeof(double);
    const bool warmth = at == offsetof(struct plant_state, coolant_k) || at == offsetof(struct plant_state, oil_k);
    const bool second = at == offsetof(struct plant_state, burning_fuel2_kg) || at == offsetof(struct plant_state, wall_fuel2_kg);
    const bool blade = at == offsetof(struct plant_state, blade_rad) || at == offsetof(struct plant_state, blade_rate_rad_s);
    const bool integral = at == offsetof(struct plant_state, drive_integral_v);
    if ((warmth && root->inputs->warmth_held) || (second && root->params->charge.bank_count == 1) || integral ||
        (blade && root->inputs->mode.blade == BLADE_HELD))
      continue;
    root->index[root->count++] = i;
  }
}

/* Rates in everyday sizes, of states in everyday sizes. */
static int residual(N_Vector x, N_Vector f, void *user) {
  const struct root *root = user;
  struct plant_state state = root->state, rates;
  for (int i = 0; i < root->count; i++)
    ((double *)&state)[root->index[i]] = NV_Ith_S(x, i) * plant_state_rows[root->index[i]].nominal;
  struct plant_inputs inputs = *root->inputs;
  for (int i = 0; i < PLANT_BANK_MAX; i++) inputs.fuel_per_cycle_kg[i] *= state.burning_air_kg / root->state.burning_air_kg;
  plant_rates(root->params, &inputs, &state, &rates);
  for (int i = 0; i < root->count; i++)
    NV_Ith_S(f, i) = ((const double *)&rates)[root->index[i]] / plant_state_rows[root->index[i]].nominal;
  return 0;
}

/* Solves from a start that is off by a per cent, one way and the other. */
static int solve(struct root *root, N_Vector x, SUNContext context) {
  for (int i = 0; i < root->count; i++) {
    const double off = i % 2 ? -0.01 : 0.01;
    NV_Ith_S(x, i) = ((const double *)&root->state)[root->index[i]] / plant_state_rows[root->index[i]].nominal * (1.0 + off);
  }
  N_Vector one = N_VClone(x);
  N_VConst(1.0, one);
  void *kinsol = KINCreate(context);
  SUNMatrix matrix = SUNDenseMatrix(root->count, root->count, context);
  SUNLinearSolver linear = SUNLinSol_Dense(x, matrix, context);
  assert_non_null(kinsol);
  int flag = KINInit(kinsol, residual, x);
  if (flag == KIN_SUCCESS) flag = KINSetUserData(kinsol, root);
  if (flag == KIN_SUCCESS) flag = KINSetLinearSolver(kinsol, linear, matrix);
  if (flag == KIN_SUCCESS) flag = KINSetFuncNormTol(kinsol, KINSOL_NORM);
  if (flag == KIN_SUCCESS) flag = KINSetScaledStepTol(kinsol, 1e-14);
  if (flag == KIN_SUCCESS) flag = KINSetMaxSetupCalls(kinsol, 1); // a fresh Jacobian each time: the system is small
  if (flag == KIN_SUCCESS) flag = KINSetNumMaxIters(kinsol, 60);
  if (flag == KIN_SUCCESS) flag = KINSol(kinsol, x, KIN_LINESEARCH, one, one);
  SUNLinSolFree(linear);
  SUNMatDestroy(matrix);
  N_VDestroy(one);
  KINFree(&kinsol);
  return flag;
}

static int check_rates(const struct root *root, const char *what) {
  struct plant_state rates;
  int wrong = 0;
  plant_rates(root->params, root->inputs, &root->state, &rates);
  for (int i = 0; i < PLANT_STATE_COUNT; i++) {
    const double rate = ((const double *)&rates)[i] / plant_state_rows[i].nominal;
    if (fabs(rate) <= RATE_1_S) continue;
    print_error("%s: %s moves by %.3g of its everyday size a second\n", what, plant_state_rows[i].name, rate);
    wrong++;
  }
  return wrong;
}

static int check_root(struct root *root, const char *what) {
  SUNContext context;
  assert_int_equal(SUNContext_Create(NULL, &context), 0);
  N_Vector x = N_VNew_Serial(root->count, context);
  const int flag = solve(root, x, context);
  int wrong = flag < 0 ? 1 : 0;
  if (wrong) print_error("%s: KINSOL gave up with %d\n", what, flag);
  for (int i = 0; i < root->count; i++) {
    const struct plant_state_row *row = &plant_state_rows[root->index[i]];
    const double settled = ((const double *)&root->state)[root->index[i]] / row->nominal, found = NV_Ith_S(x, i);
    if (fabs(found - settled) <= AGREE_RATIO * fmax(fabs(settled), LEAST_SIZE)) continue;
    print_error("%s: %s is %.10g everyday sizes by KINSOL, %.10g settled\n", what, row->name, found, settled);
    wrong++;
  }
  N_VDestroy(x);
  SUNContext_Free(&context);
  return wrong;
}

static int one_case(const struct engine *engine, size_t k) {
  struct settle_query query;
  settle_query_init(&query);
  char what[128];
  int length = snprintf(what, sizeof what, "%s", engine->name);
  for (int i = 0; i < VALUE_MAX && cases[k].set[i].key; i++) {
    const struct condition_row *row = condition_find(cases[k].set[i].key);
    assert_non_null(row);
    conditions_set(&query.conditions, &row->field, field_to_si(&row->field, cases[k].set[i].value));
    length += snprintf(what + length, sizeof what - (size_t)length, " %s=%g", row->field.key, cases[k].set[i].value);
  }
  struct error error;
  struct settle *settle;
  assert_int_equal(settle_create(engine, &settle, &error), STATUS_OK);
  struct settle_point point;
  settle_solve(settle, &query, &point);
  assert_int_not_equal(point.outcome, SETTLE_STALLS);
  struct root root = {.params = &engine->plant, .inputs = &settle->vehicle.inputs, .state = settle->vehicle.state};
  choose_states(&root);
  assert_true(root.count >= 9);
  const int wrong = check_rates(&root, what) + check_root(&root, what);
  settle_destroy(settle);
  return wrong;
}

static int every_case(const char *model, bool ideal) {
  char path[128];
  snprintf(path, sizeof path, "models/%s.cfg", model);
  struct engine engine;
  struct error error;
  assert_int_equal(engine_file_read(path, &engine, &error), STATUS_OK);
  if (ideal) engine.plant.drive.gear_ratio = 0.0;
  int wrong = 0;
  for (size_t k = 0; k < ARRAY_COUNT(cases); k++) wrong += one_case(&engine, k);
  return wrong;
}

static void every_engine(bool ideal) {
  char models[MODEL_MAX][FAULT_MODEL_SIZE];
  const size_t count = fault_models(models, MODEL_MAX);
  assert_true(count >= 1);
  int wrong = 0;
  for (size_t i = 0; i < count; i++) wrong += every_case(models[i], ideal);
  assert_int_equal(wrong, 0);
}

static void with_the_ideal_loop(void **state) {
  (void)state;
  every_engine(true);
}

static void with_the_drive(void **state) {
  (void)state;
  every_engine(false);
}

int main(void) {
  const struct CMUnitTest tests[] = {cmocka_unit_test(with_the_ideal_loop), cmocka_unit_test(with_the_drive)};
  return cmocka_run_group_tests(tests, NULL, NULL);
}
