/* The little scenarios behind a test sheet: what is done with the car, and when something is read.
 *
 *   KEY        key off - on - pedal slowly down, held, up - off, until the drive sleeps
 *   UNPLUGGED  throttle motor unplugged, key off: a hand presses the blade shut, lets go, presses it open,
 *              lets go; then key on
 *   RUN        warm engine: idle, 2500 rpm held without load, in gear with the brakes on; a good unit does it
 *              several times
 *
 * Each is run by the simulation like any other scenario; nothing is known of its outcome. */
#ifndef ANALYSIS_TESTSHEET_SHEET_PROCEDURE_H
#define ANALYSIS_TESTSHEET_SHEET_PROCEDURE_H

#include "car/engine.h"
#include "sim/recording.h"
#include "sim/scenario.h"

enum sheet_procedure { SHEET_PROCEDURE_KEY, SHEET_PROCEDURE_UNPLUGGED, SHEET_PROCEDURE_RUN, SHEET_PROCEDURE_COUNT };

/* Stretches in which something is read. WINDOW(name, procedure, what the car is like then) */
#define SHEET_PROCEDURE_WINDOW_LIST(WINDOW) \
  WINDOW(key_off, KEY, "Key off, doors shut, nothing switched on.") \
  WINDOW(wake, KEY, "First second after key on, engine off, pedal released, nothing touched.") \
  WINDOW(key_on, KEY, "Key on, engine off, pedal released.") \
  WINDOW(sweep, KEY, "Key on, engine off; pedal pressed slowly to the floor in 5 s.") \
  WINDOW(floored, KEY, "Key on, engine off, pedal on the floor.") \
  WINDOW(released, KEY, "Key on, engine off, pedal let up slowly and released.") \
  WINDOW(just_off, KEY, "Key just turned off.") \
  WINDOW(asleep, KEY, "Key off for some time, drive asleep.") \
  WINDOW(rest, UNPLUGGED, "Key off, drive asleep, throttle motor unplugged, nothing touched.") \
  WINDOW(pressed_shut, UNPLUGGED, "Key off, drive asleep, throttle motor unplugged; blade pressed shut.") \
  WINDOW(from_shut, UNPLUGGED, "Key off, drive asleep, throttle motor unplugged; blade pressed shut, let go.") \
  WINDOW(pressed_open, UNPLUGGED, "Key off, drive asleep, throttle motor unplugged; blade pressed open.") \
  WINDOW(from_open, UNPLUGGED, "Key off, drive asleep, throttle motor unplugged; blade pressed open, let go.") \
  WINDOW(springs_alone, UNPLUGGED, "Throttle motor's circuit opened, sensors connected; then key on, engine off, hands away.") \
  WINDOW(idle, RUN, "Warm engine (fan has run), idle, nothing switched on; mean of 20 s.") \
  WINDOW(held, RUN, "Warm engine, 2500 rpm held with the pedal, no load; mean of 10 s.") \
  WINDOW(gear, RUN, "Warm engine, in gear, brakes on, idle; mean of 10 s.")

enum sheet_procedure_window {
#define WINDOW(name, procedure, text) SHEET_PROCEDURE_WINDOW_##name,
  SHEET_PROCEDURE_WINDOW_LIST(WINDOW)
#undef WINDOW
      SHEET_PROCEDURE_WINDOW_COUNT
};

struct sheet_procedure_window_row {
  const char *name;
  enum sheet_procedure procedure;
  const char *text;
};
extern const struct sheet_procedure_window_row sheet_procedure_window_rows[SHEET_PROCEDURE_WINDOW_COUNT];

enum { SHEET_PROCEDURE_STRETCH_MAX = 5 };

/* Where one window lies in the recording: once, or once in each of several stretches of a running test. */
struct sheet_procedure_span {
  int count;
  double from_s[SHEET_PROCEDURE_STRETCH_MAX], to_s[SHEET_PROCEDURE_STRETCH_MAX];
};

struct sheet_procedure_run {
  struct scenario scenario;
  struct recording recording;
  struct sheet_procedure_span spans[SHEET_PROCEDURE_WINDOW_COUNT]; // count 0: this engine has no such window
  bool idles; // false: the engine could not be brought to idle, and there is no recording
};

/* Whether the procedure makes sense with this engine: UNPLUGGED wants an electronic throttle's drive. */
bool sheet_procedure_applies(enum sheet_procedure procedure, const struct engine *engine);

/* Lays out the procedure for this engine: a good unit in a sound world. sheet_procedure_set() may change it
 * before it is played; sheet_procedure_destroy(run) in any case. stretch_count: how often a RUN is
 * repeated. */
MUST_CHECK enum status sheet_procedure_init(struct sheet_procedure_run *run, enum sheet_procedure procedure,
                                            const struct engine *engine, int stretch_count, struct error *error);

/* Runs it with the fixed-step solver. An engine that does not idle with what was set is an answer (idles
 * false), not a failure. */
MUST_CHECK enum status sheet_procedure_play(struct sheet_procedure_run *run, const struct engine *engine, struct error *error);
void sheet_procedure_destroy(struct sheet_procedure_run *run);

/* Sets a condition of the start by its name at the edge, in the user's unit. */
void sheet_procedure_set(struct sheet_procedure_run *run, const char *key, double value);

#endif
