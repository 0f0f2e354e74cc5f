/* The life of a code over whole driving cycles of four-16: key on, start, idle warm, key off, soak.
 *
 * Source: 13 CCR 1968.2 (d)(2.2.1), read: a detected fault stores a pending code; (d)(2.2.2), read: found
 * again in the next driving cycle in which the monitor runs, the code is confirmed and the lamp lit; not
 * found, the pending code is erased at that cycle's end. (d)(2.3.1), from memory: lamp out after three cycles
 * in a row without the fault. (d)(2.4), from memory: a confirmed code is erased after 40 warm-up cycles. The
 * fault: injectors that give 22 % too little, P0171. */
#include "support/check.h"
#include "support/scene.h"

#include "control/monitors.h"

#define CYCLE_S 100.0 // the first begins idling; key off at 80 s of each
#define OFF_S   80.0
#define ON_S    95.0
#define START_S 98.0
#define CODE    MONITOR_P0171

/* So many cycles, the fault present in those whose bit is set; ends a second after the last key-off. */
static void drive(struct scene *scene, int cycles, unsigned faulty) {
  scene_init(scene, "four-16", cycles * CYCLE_S - CYCLE_S + OFF_S + 1.0);
  scene->solver = &solver_fast;
  for (int i = 0; i < cycles; i++) {
    const double begin = i * CYCLE_S;
    scene_ramp(scene, begin + 1.0, 5.0, "fuel_delivery_ratio", (faulty >> i) & 1u ? 0.78 : 1.0);
    scene_key(scene, begin + OFF_S, KEY_OFF);
    scene_set(scene, begin + OFF_S + 1.5, "coolant_c", 45); // soaked
    scene_key(scene, begin + ON_S, KEY_ON);
    scene_key(scene, begin + START_S, KEY_START);
    scene_set(scene, begin + CYCLE_S + 10.0, "coolant_c", 90); // and warm again
  }
  scene_run(scene);
}

static const struct monitor_state *end_state(const struct scene *scene) {
  return &scene->sim->vehicle.computer.memory.monitors.code[CODE];
}

static void expect(const struct scene *scene, enum code_state code, bool lamp) {
  assert_false(scene_stalled(scene));
  assert_string_equal(monitors_code_state_name(end_state(scene)->code), monitors_code_state_name(code));
  assert_int_equal(end_state(scene)->lamp, lamp);
}

static void pending_in_the_first_cycle(void **state) {
  (void)state;
  struct scene scene;
  drive(&scene, 1, 1u);
  expect(&scene, CODE_PENDING, false);
  assert_int_equal(scene_events(&scene, RECORDING_CODE, CODE, CODE_PENDING), 1);
  scene_end(&scene);
}

static void confirmed_in_the_next(void **state) {
  (void)state;
  struct scene scene;
  drive(&scene, 2, 3u);
  expect(&scene, CODE_CONFIRMED, true);
  assert_int_equal(scene_events(&scene, RECORDING_ENGINE, -1, RECORDING_VALUE_STARTED), 1);
  check_above(scene_event_s(&scene, RECORDING_CODE, CODE, CODE_CONFIRMED), CYCLE_S); // not in the first
  scene_end(&scene);
}

static void erased_by_a_passing_cycle(void **state) {
  (void)state;
  struct scene scene;
  drive(&scene, 2, 1u);
  expect(&scene, CODE_NONE, false);
  check_close(scene_event_s(&scene, RECORDING_CODE, CODE, CODE_NONE), CYCLE_S + OFF_S,
              0.02); // at its end, not before
  scene_end(&scene);
}

/* Fault, pass, fault: pending twice, never confirmed. */
static void every_other_cycle_is_never_confirmed(void **state) {
  (void)state;
  struct scene scene;
  drive(&scene, 5, 21u);
  expect(&scene, CODE_PENDING, false);
  assert_int_equal(scene_events(&scene, RECORDING_CODE, CODE, CODE_PENDING), 3);
  assert_int_equal(scene_events(&scene, RECORDING_CODE, CODE, CODE_CONFIRMED), 0);
  scene_end(&scene);
}

static void lamp_out_after_three(void **state) {
  (void)state;
  for (int passing = 1; passing <= 4; passing++) {
    struct scene scene;
    drive(&scene, 2 + passing, 3u);
    expect(&scene, CODE_CONFIRMED, passing < 3);
    scene_end(&scene);
  }
}

/* Forty warm-ups count from when the lamp is out: after four passing cycles two have been counted, and the
 * code is still there. */
static void warm_ups_are_counted(void **state) {
  (void)state;
  struct scene scene;
  drive(&scene, 6, 3u);
  expect(&scene, CODE_CONFIRMED, false);
  assert_int_equal(end_state(&scene)->warm_ups, 2);
  scene_end(&scene);
}

/* Clearing takes codes and lamp, and leaves what was learned of the idle. */
static void clearing_keeps_what_was_learned(void **state) {
  (void)state;
  struct scene scene;
  scene_init(&scene, "four-16",
             56.0); // the fault is still there and would set again after its debounce of 10 s
  scene.solver = &solver_fast;
  scene_initial(&scene, "film_um", 25);
  scene_initial(&scene, "fuel_delivery_ratio", 0.78);
  scene_action(&scene, 50.0, SCENARIO_ACTION_CLEAR_CODES);
  scene_run(&scene);
  assert_int_equal(scene_events(&scene, RECORDING_CODE, CODE, CODE_PENDING), 1);
  expect(&scene, CODE_NONE, false);
  assert_false(end_state(&scene)->ready);
  check_above(scene_at(&scene, 49.0, CHANNEL_learned_pct), 10.0);
  check_close(scene_at(&scene, 51.0, CHANNEL_learned_pct), scene_at(&scene, 49.0, CHANNEL_learned_pct), 0.1);
  scene_end(&scene);
}

/* Key off, soak and start: the learned offset is where it was, and a reset takes it to nothing. */
static void learned_offset_survives_the_key(void **state) {
  (void)state;
  for (int reset = 0; reset < 2; reset++) {
    struct scene scene;
    scene_init(&scene, "four-16", 40.0);
    scene.solver = &solver_fast;
    scene_initial(&scene, "film_um", 25);
    scene_key(&scene, 10.0, KEY_OFF);
    if (reset) scene_action(&scene, 20.0, SCENARIO_ACTION_RESET_LEARNED);
    scene_key(&scene, 25.0, KEY_ON);
    scene_run(&scene);
    const double before = scene_at(&scene, 9.0, CHANNEL_learned_pct);
    check_above(before, 10.0);
    check_close_at(reset, scene_last(&scene, CHANNEL_learned_pct), reset ? 0.0 : before, 0.1);
    scene_end(&scene);
  }
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(pending_in_the_first_cycle),
      cmocka_unit_test(confirmed_in_the_next),
      cmocka_unit_test(erased_by_a_passing_cycle),
      cmocka_unit_test(every_other_cycle_is_never_confirmed),
      cmocka_unit_test(lamp_out_after_three),
      cmocka_unit_test(warm_ups_are_counted),
      cmocka_unit_test(clearing_keeps_what_was_learned),
      cmocka_unit_test(learned_offset_survives_the_key),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
