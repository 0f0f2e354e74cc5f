/* One run: engine, computer, driver and timeline, tick by tick.
 *
 *   tick k, at k * 10 ms:  timeline sets conditions -> driver -> sensors read the state -> computer -> inputs are held
 *   between ticks:         the solver integrates the plant, stopping at events, which change the mode
 *
 * Everything a simulation needs is inside the struct: several run side by side, one thread each. The same engine,
 * scenario, seed and solver give the same bytes.
 *
 * A live run. Fast to start and cheap while somebody turns the film about:
 *
 *   settle_solve(settle, &query, &point);                                         // analysis/settle/settle.h, some 0.1 ms
 *   simulation_create_resting(settle_rest(settle), &scenario, ...);               // 0.1 ms more; settling in by waiting takes 15 ms
 *   simulation_keep(sim, &record, &error);                                        // if it is to be replayed (sim/record.h)
 *   simulation_set(sim, "film_um", 40.0, 0.0, &error);                            // acts at the next tick
 *   simulation_tick(sim, &error); ...                                             // as many as time has passed
 *   simulation_sample(sim, values, &error);                                       // what a row of a recording would say
 *
 * A simulation made so has its gap table on demand (film_bore.h): a film that changes at every tick then costs some microseconds a
 * tick instead of hundreds. analysis/settle/launch.h does the first two steps. */
#ifndef SIM_SIMULATION_H
#define SIM_SIMULATION_H

#include "sim/driver.h"
#include "sim/events.h"
#include "sim/recording.h"
#include "sim/roughness.h"
#include "sim/scan.h"
#include "sim/timeline.h"
#include "sim/vehicle.h"
#include "solver/solver.h"

#include <stdbool.h>

struct simulation {
  struct vehicle vehicle;
  const struct scenario *scenario;
  struct timeline timeline;
  struct driver driver;
  double crank_s; // how long the starter has turned
  struct solver *solver;
  struct solver_options solver_options; // to make another for another engine
  long tick;                            // now = tick * COMPUTER_PERIOD_S
  bool settling;                        // no cycle scatter, and nothing is noted: settling in, or a forward model
  bool resting;                         // it went on from a settled point
  bool decided;                         // timeline, driver and computer have had their turn at this tick
  long row_tick;                        // of the last row recorded; -1: none
  struct roughness roughness;           // every tick's speed
  struct recording *recording;          // where rows and events go; not owned; NULL: nowhere
  struct events events;                 // its sink passes on to the recording and to event_sink
  events_sink event_sink;               // simulation_watch()
  void *event_user;
  struct scan *scans; // to be taken on the way; not owned; NULL for none
  size_t scan_count;
  size_t waiting_count, waiting_capacity;
  struct scenario_step *waiting; // played, to act at the next tick; owned
  struct scenario *kept;         // simulation_keep(); not owned
};

/* Called now and then with the share done, 0 to 1; false stops the run. NULL for none. */
typedef bool (*simulation_progress)(double share, void *user);

/* Prepares a run. A scenario that starts idling is first left to idle, unrecorded, until speed, air and learned offset stand
 * still under its initial conditions. STATUS_BAD_CONFIG if the engine does not idle under them, or if the scenario starts
 * from the settled point, which only analysis/settle/launch.h knows. */
MUST_CHECK enum status simulation_create(const struct engine *engine, const struct scenario *scenario,
                                         const struct solver_vtable *solver, const struct solver_options *options,
                                         struct simulation **simulation, struct error *error);
void simulation_destroy(struct simulation *simulation);

/* Prepares a run that goes on from an engine at rest in its operating point, as analysis/settle/settle.h leaves one, under its
 * conditions; the scenario gives the timeline only. */
MUST_CHECK enum status simulation_create_resting(const struct vehicle *rest, const struct scenario *scenario,
                                                 const struct solver_vtable *solver, const struct solver_options *options,
                                                 struct simulation **simulation, struct error *error);

/* Goes back to time 0 in another such point, of the same engine or another car of its kind. */
void simulation_adopt(struct simulation *simulation, const struct vehicle *rest);

/* Goes on with another engine of the same kind (banks, throttle, metering) in the state of now; what the computer has learned
 * stays. STATUS_USAGE, and nothing has changed, if it is of another kind. The engine must outlive the simulation, the old one
 * this call. */
MUST_CHECK enum status simulation_change_engine(struct simulation *simulation, const struct engine *engine, struct error *error);

/* Runs to the scenario's end, or to a time that may lie beyond it. On failure the recording holds all up to then. The last row is
 * that of the last moment. Afterwards it can be run further, into the same recording or another, as if it had not stopped: one that
 * goes on at a moment whose row has been written begins with the next. */
MUST_CHECK enum status simulation_run(struct simulation *simulation, struct recording *recording, simulation_progress progress,
                                      void *user, struct error *error);
MUST_CHECK enum status simulation_run_until(struct simulation *simulation, double until_s, struct recording *recording,
                                            simulation_progress progress, void *user, struct error *error);

/* One tick: decide, hold, integrate. */
MUST_CHECK enum status simulation_tick(struct simulation *simulation, struct error *error);

double simulation_time_s(const struct simulation *simulation);

/* ---- acting on it ---- */

/* When what is played now will act: at the coming tick; at the one after if this moment has been sampled, for then it is past. */
double simulation_acts_s(const struct simulation *simulation);

/* Has a step act at the coming tick as the timeline would at that time: sets, ramps, key, action, note. Its at_s is not looked at.
 * Steps act in the order played, after those of the scenario that are due at the same tick. A set or ramp ends a ramp of the same
 * condition. STATUS_USAGE, and nothing happens, if the step is faulty (scenario_check_step). */
MUST_CHECK enum status simulation_play(struct simulation *simulation, const struct scenario_step *step, struct error *error);

/* The same for one condition in the user's unit, at once or over ramp_s. STATUS_USAGE names range or near miss. */
MUST_CHECK enum status simulation_set(struct simulation *simulation, const char *condition, double value, double ramp_s,
                                      struct error *error);

/* Keeps a record: initial conditions now, then every step, played or of the timeline, when it acts; duration_s goes with the time.
 * record_write() makes text of it. It must be an initialised scenario, stays the caller's, and must outlive the simulation; NULL
 * ends the keeping. STATUS_USAGE if time has already passed. simulation_restore() takes off again what was done after the save. */
MUST_CHECK enum status simulation_keep(struct simulation *simulation, struct scenario *record, struct error *error);

/* Has every event told as it happens, recording or not; NULL ends it. */
void simulation_watch(struct simulation *simulation, events_sink sink, void *user);

/* ---- looking at it ---- */

/* All channels, as a row of a recording at this moment has them: timeline, driver and computer have their turn first. */
MUST_CHECK enum status simulation_sample(struct simulation *simulation, double values[CHANNEL_COUNT], struct error *error);

/* All that a scan tool reads now. */
void simulation_read(const struct simulation *simulation, struct scan_data *reading);

/* All that a scan tool finds now: reading, codes, freeze frame. */
void simulation_scan(const struct simulation *simulation, struct scan *scan);

/* Has a run take these scans as it comes by; their wanted_s must be set. The array stays the caller's and must outlive
 * the run. */
void simulation_ask_scans(struct simulation *simulation, struct scan *scans, size_t count);

/* ---- saving it (simulation_save.c) ---- */

/* Bytes that simulation_save() needs now: some 60 kB, and what waits to act. */
size_t simulation_save_size(const struct simulation *simulation);

/* Writes all that moves into memory of the caller, for this program only: no file to be read by another build. STATUS_USAGE if
 * there is too little room. */
MUST_CHECK enum status simulation_save(const struct simulation *simulation, void *memory, size_t size, struct error *error);

/* Goes back to what was saved, in the same simulation or in another of the same engine and timeline; it then goes on bit for bit as
 * the saved one did, if it has the same seed and solver. Recording, sinks, scans and solver stay its own. STATUS_USAGE, and nothing
 * has changed, if the memory holds nothing that was saved whole, or if engine or timeline are others. */
MUST_CHECK enum status simulation_restore(struct simulation *simulation, const void *memory, size_t size, struct error *error);

#endif
