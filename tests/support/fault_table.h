/* What every fault does to every reading of an engine: one run a fault, from the same settled clean idle.
 *
 *   seconds   0 .. 10  the fault comes in (an electrical one: at once)
 *            10 .. 30  the idle settles; every 2.5 s the idle controller's effort is put into the learned
 *                      offset, which by itself would take minutes
 *            30 .. 50  means of the readings: "idle"
 *            50 .. 62  the driver's foot brings the engine to 2500 rpm, no load
 *            62 .. 70  means again: "2500"
 *
 * All runs of an engine begin from one copied state and see the same cycle scatter, so that what differs from
 * the clean run is the fault's doing. Solver: fixed steps (tests/reference/test_tolerance.c bounds its error). */
#ifndef TESTS_SUPPORT_FAULT_TABLE_H
#define TESTS_SUPPORT_FAULT_TABLE_H

#include "sim/simulation.h"

#define FAULT_TABLE_HELD_RPM 2500.0

/* Headings of the tables in docs/faults.md, which are written and compared by different programs. */
#define FAULT_TABLE_IDLE_HEADING "### At a warm idle"
#define FAULT_TABLE_HELD_HEADING "### At 2500 rpm without load"

enum fault_point { FAULT_POINT_IDLE, FAULT_POINT_HELD, FAULT_POINT_COUNT };
extern const char *const fault_point_names[FAULT_POINT_COUNT];

enum fault_reading {
  FAULT_READING_SPEED,
  FAULT_READING_ROUGHNESS,
  FAULT_READING_OPENING,
  FAULT_READING_ADDED,
  FAULT_READING_AIR,
  FAULT_READING_PRESSURE,
  FAULT_READING_TRIM,
  FAULT_READING_TRIM2,
  FAULT_READING_LAMBDA,
  FAULT_READING_RESERVE,
  FAULT_READING_COUNT
};

/* A change smaller than the dead band is none: an instrument's smallest step, or what scatter alone does. */
struct fault_reading_row {
  const char *name, *unit;
  double dead_band, dead_share; // the share of the clean engine's value comes on top
  int decimals;
  const char *text; // what it is, and where the dead band comes from
};
extern const struct fault_reading_row fault_reading_rows[FAULT_READING_COUNT];

/* What goes with the engine's displacement. */
enum fault_size { FAULT_SIZE_NONE, FAULT_SIZE_SEVERITY, FAULT_SIZE_WITH };

/* How bad a fault is in these runs, and what must be there too for it to matter; the cases stand in reference/fault_expectations.h. */
struct fault_case {
  const char *key;
  double severity;  // user's unit
  const char *with; // another condition that comes in with it; NULL for none
  double with_value;
  bool at_once;         // a wire breaks; else it comes in over ten seconds
  enum fault_size size; // severity is for 1.6 l
};
/* The case as it is for this engine. */
struct fault_case fault_case_for(const struct fault_case *fault, const struct engine *engine);

enum fault_end { FAULT_END_RUNS, FAULT_END_STALLED };

struct fault_outcome {
  enum fault_end end[FAULT_POINT_COUNT];
  enum computer_limp limp;                                // at the end
  char codes[64];                                         // set in the run, separated by blanks; cut off where there are more
  double reading[FAULT_POINT_COUNT][FAULT_READING_COUNT]; // NAN where the engine has no such thing, or stalled before
};

/* Change of a reading by the fault: NAN where either has none. */
double fault_change(const struct fault_outcome *clean, const struct fault_outcome *faulty, enum fault_point point,
                    enum fault_reading reading);

double fault_dead_band(const struct fault_outcome *clean, enum fault_point point, enum fault_reading reading);

/* One engine that idles, ready for one run after another. Not to be moved while in use. */
struct fault_bench {
  struct engine engine;
  struct scenario scenario;
  struct simulation *sim;
  struct simulation *settled; // its state when it had settled, clean
};

/* Reads models/NAME.cfg and lets it settle. */
MUST_CHECK enum status fault_bench_init(struct fault_bench *bench, const char *model, struct error *error);
void fault_bench_destroy(struct fault_bench *bench);

/* Runs a case; NULL for the clean engine. seed: of the cycle scatter. STATUS_INTERNAL if solver or state fails. */
MUST_CHECK enum status fault_bench_run(struct fault_bench *bench, const struct fault_case *fault, uint64_t seed,
                                       struct fault_outcome *outcome, struct error *error);

/* Puts conditions (rows of condition_rows, user's units) in at once and goes on for duration_s, stalled or not. */
MUST_CHECK enum status fault_bench_try(struct fault_bench *bench, const size_t *conditions, const double *values, size_t count,
                                       double duration_s, bool *stalled, struct error *error);

/* Names of the engines in models/, sorted, without .cfg; at most `most`. Returns their number. */
enum { FAULT_MODEL_SIZE = 64 };
size_t fault_models(char names[][FAULT_MODEL_SIZE], size_t most);

#endif
