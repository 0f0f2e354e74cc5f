#include "analysis/testsheet/sheet_procedure.h"

#include "analysis/settle/launch.h"
#include "base/attributes.h"
#include "base/units.h"
#include "sim/driver.h"
#include "sim/simulation.h"

#include <assert.h>
#include <stdlib.h>

/* Step of the solver. Against steps of 1 ms, on the shipped engines: good values move by less than 0.07 of their tolerance, departures by less
 * than 0.15, but where the engine hunts or misfires: there any change of a last digit makes another run, and steadiness and spark
 * move by up to 1.7 tolerances, as they do with steps a third of a tick. */
#define STEP_S    (COMPUTER_PERIOD_S / 2.0)
#define KEY_ROW_S 0.02 // spacing of rows: finer than a meter's minimum-maximum function
#define RUN_ROW_S 0.1
#define HAND_NM   1.0 // more than springs and friction of any sound drive, less than breaks a gear
#define SEED      1   // the sheet is the same every time
enum { STEP_MAX = 8 * SHEET_PROCEDURE_STRETCH_MAX };

const struct sheet_procedure_window_row sheet_procedure_window_rows[SHEET_PROCEDURE_WINDOW_COUNT] = {
#define WINDOW(name, procedure, text) {#name, SHEET_PROCEDURE_##procedure, text},
    SHEET_PROCEDURE_WINDOW_LIST(WINDOW)
#undef WINDOW
};

static size_t condition_index(const char *key) {
  const struct condition_row *row = condition_find(key);
  assert(row);
  return (size_t)(row - condition_rows);
}

void sheet_procedure_set(struct sheet_procedure_run *run, const char *key, double value) {
  const struct field *field = &condition_rows[condition_index(key)].field;
  conditions_set(&run->scenario.initial, field, field_to_si(field, value));
}

static struct scenario_step *add_step(struct sheet_procedure_run *run, double at_s) {
  struct scenario *scenario = &run->scenario;
  assert(scenario->step_count < STEP_MAX);
  struct scenario_step *step = &scenario->steps[scenario->step_count++];
  *step = (struct scenario_step){.at_s = at_s, .key = -1};
  return step;
}

static void add_key(struct sheet_procedure_run *run, double at_s, enum key key) { add_step(run, at_s)->key = (int)key; }

/* Moves a condition; ramp_s 0: at once. */
static void add_move(struct sheet_procedure_run *run, double at_s, double ramp_s, const char *key, double value) {
  struct scenario_step *step = add_step(run, at_s);
  const size_t condition = condition_index(key);
  step->ramp_s = ramp_s;
  step->set_count = 1;
  step->sets[0] = (struct scenario_set){condition, field_to_si(&condition_rows[condition].field, value)};
}

static void mark(struct sheet_procedure_run *run, enum sheet_procedure_window window, double from_s, double to_s) {
  struct sheet_procedure_span *span = &run->spans[window];
  assert(span->count < SHEET_PROCEDURE_STRETCH_MAX);
  span->from_s[span->count] = from_s;
  span->to_s[span->count++] = to_s;
}

static void lay_out_key(struct sheet_procedure_run *run, const struct engine *engine) {
  const double on = 1.0, down = on + 3.0, up = down + 6.5, off = up + 6.5;
  const double asleep = off + engine->plant.drive.awake_s + 1.0;
  mark(run, SHEET_PROCEDURE_WINDOW_key_off, 0.2, on - 0.05);
  add_key(run, on, KEY_ON);
  mark(run, SHEET_PROCEDURE_WINDOW_wake, on + 0.02, on + 1.0);
  mark(run, SHEET_PROCEDURE_WINDOW_key_on, on + 2.0, down - 0.05);
  add_move(run, down, 5.0, "pedal_pct", 100.0);
  mark(run, SHEET_PROCEDURE_WINDOW_sweep, down, down + 5.0);
  mark(run, SHEET_PROCEDURE_WINDOW_floored, down + 5.5, up - 0.05);
  add_move(run, up, 5.0, "pedal_pct", 0.0);
  mark(run, SHEET_PROCEDURE_WINDOW_released, up + 5.5, off - 0.05);
  add_key(run, off, KEY_OFF);
  mark(run, SHEET_PROCEDURE_WINDOW_just_off, off + 0.1, off + 0.5);
  mark(run, SHEET_PROCEDURE_WINDOW_asleep, asleep, asleep + 1.0);
  run->scenario.duration_s = asleep + 1.0;
  run->scenario.record_s = KEY_ROW_S;
  run->scenario.running = false;
}

static void lay_out_unplugged(struct sheet_procedure_run *run) {
  sheet_procedure_set(run, "motor_open", 1.0);
  mark(run, SHEET_PROCEDURE_WINDOW_rest, 0.2, 0.9);
  add_move(run, 1.0, 1.0, "hand_nm", -HAND_NM);
  mark(run, SHEET_PROCEDURE_WINDOW_pressed_shut, 2.2, 2.9);
  add_move(run, 3.0, 0.0, "hand_nm", 0.0);
  mark(run, SHEET_PROCEDURE_WINDOW_from_shut, 4.0, 4.9);
  add_move(run, 5.0, 1.0, "hand_nm", HAND_NM);
  mark(run, SHEET_PROCEDURE_WINDOW_pressed_open, 6.2, 6.9);
  add_move(run, 7.0, 0.0, "hand_nm", 0.0);
  mark(run, SHEET_PROCEDURE_WINDOW_from_open, 8.0, 8.9);
  add_key(run, 9.0, KEY_ON);
  mark(run, SHEET_PROCEDURE_WINDOW_springs_alone, 10.0, 10.9);
  run->scenario.duration_s = 11.0;
  run->scenario.record_s = KEY_ROW_S;
  run->scenario.running = false;
}

/* Idle, held speed, in gear; then the next stretch. Each begins with some seconds in which things settle. */
static void lay_out_run(struct sheet_procedure_run *run, const struct engine *engine, int stretch_count) {
  const bool gear = engine_has(engine, FEATURE_converter);
  double at = 0.0;
  for (int i = 0; i < stretch_count; i++) {
    mark(run, SHEET_PROCEDURE_WINDOW_idle, at + 3.0, at + 23.0);
    add_move(run, at + 23.0, 0.0, "hold_rpm", DRIVER_TEST_RPM);
    mark(run, SHEET_PROCEDURE_WINDOW_held, at + 32.0, at + 42.0);
    add_move(run, at + 42.0, 0.0, "hold_rpm", 0.0);
    at += 50.0;
    if (gear) {
      add_move(run, at, 0.0, "drive", 1.0);
      mark(run, SHEET_PROCEDURE_WINDOW_gear, at + 5.0, at + 15.0);
      add_move(run, at + 15.0, 0.0, "drive", 0.0);
      at += 20.0;
    }
  }
  run->scenario.duration_s = at - 5.0; // nothing is read in the last seconds
  run->scenario.record_s = RUN_ROW_S;
}

bool sheet_procedure_applies(enum sheet_procedure procedure, const struct engine *engine) {
  return procedure != SHEET_PROCEDURE_UNPLUGGED || engine_has(engine, FEATURE_drive);
}

enum status sheet_procedure_init(struct sheet_procedure_run *run, enum sheet_procedure procedure, const struct engine *engine,
                                 int stretch_count, struct error *error) {
  *run = (struct sheet_procedure_run){.idles = true};
  recording_init(&run->recording);
  scenario_init(&run->scenario);
  run->scenario.seed = SEED;
  run->scenario.steps = calloc(STEP_MAX, sizeof *run->scenario.steps);
  if (!run->scenario.steps) return error_set(error, STATUS_NO_MEMORY, "out of memory for the steps of a bench test");
  switch (procedure) {
  case SHEET_PROCEDURE_KEY:
    lay_out_key(run, engine);
    break;
  case SHEET_PROCEDURE_UNPLUGGED:
    lay_out_unplugged(run);
    break;
  default:
    lay_out_run(run, engine, stretch_count);
    break;
  }
  return STATUS_OK;
}

static bool idles(enum settle_outcome outcome) { return outcome == SETTLE_IDLES; }

/* From its settled point if it idles as it should, since settling in by waiting takes longer than the test; else by waiting. */
static enum status begin(const struct sheet_procedure_run *run, const struct engine *engine, const struct solver_options *options,
                         struct simulation **sim, struct error *error) {
  if (run->scenario.running) {
    enum settle_outcome outcome;
    const enum status status = launch_from_point(engine, &run->scenario, idles, &solver_fixed, options, sim, &outcome, error);
    if (status != STATUS_OK || idles(outcome)) return status;
  }
  return simulation_create(engine, &run->scenario, &solver_fixed, options, sim, error);
}

enum status sheet_procedure_play(struct sheet_procedure_run *run, const struct engine *engine, struct error *error) {
  struct solver_options options = solver_options_default();
  options.step_s = STEP_S;
  struct simulation *sim = NULL;
  struct error start;
  error_clear(&start);
  enum status status = begin(run, engine, &options, &sim, &start);
  if (status == STATUS_BAD_CONFIG) { // it does not idle with that fault
    run->idles = false;
    return STATUS_OK;
  }
  if (status == STATUS_OK)
    status = simulation_run(sim, &run->recording, NULL, NULL, error);
  else
    *error = start;
  simulation_destroy(sim);
  return status;
}

void sheet_procedure_destroy(struct sheet_procedure_run *run) {
  scenario_destroy(&run->scenario);
  recording_destroy(&run->recording);
}
