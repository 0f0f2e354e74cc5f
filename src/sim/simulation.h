/* One run: engine, computer, driver and timeline, tick by tick.
 *
 *   tick k, at k * 10 ms:  timeline sets conditions -> sensors read the state -> driver -> computer -> inputs are held
 *   between ticks:         the solver integrates the plant, stopping at events, which change the mode
 *
 * Everything a simulation needs is inside the struct: several run side by side, one thread each. The same engine,
 * scenario, seed and solver give the same bytes. */
#ifndef SIM_SIMULATION_H
#define SIM_SIMULATION_H

#include "sim/driver.h"
#include "sim/recording.h"
#include "sim/scan.h"
#include "sim/timeline.h"
#include "sim/vehicle.h"
#include "solver/solver.h"

#include <stdbool.h>

enum { SIMULATION_SPEED_WINDOW = 1000 }; // ticks over which the unsteadiness of speed is taken: 10 s

struct simulation {
  struct vehicle vehicle;
  const struct scenario *scenario;
  struct timeline timeline;
  struct driver driver;
  double crank_s; // how long the starter has turned
  struct solver *solver;
  long tick; // now = tick * COMPUTER_PERIOD_S
  double speed_window[SIMULATION_SPEED_WINDOW];
  long speed_count;            // ticks written into it
  struct recording *recording; // where rows and events go; not owned; NULL while settling in
  enum code_state codes_seen[MONITOR_CODE_COUNT];
  bool learned_limit_seen, at_limit_seen;
  enum computer_limp limp_seen;
  struct freeze_frame freeze_frame;
  struct scan *scans; // to be taken on the way; not owned; NULL for none
  size_t scan_count;
};

/* Called now and then with the share done, 0 to 1; false stops the run. NULL for none. */
typedef bool (*simulation_progress)(double share, void *user);

/* Prepares a run. A scenario that starts idling is first left to idle, unrecorded, until speed, air and learned offset stand
 * still under its initial conditions. STATUS_BAD_CONFIG if the engine does not idle under them. */
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

/* Runs to the scenario's end. On failure the recording holds all up to then. */
MUST_CHECK enum status simulation_run(struct simulation *simulation, struct recording *recording, simulation_progress progress,
                                      void *user, struct error *error);

/* One tick: decide, hold, integrate. */
MUST_CHECK enum status simulation_tick(struct simulation *simulation, struct error *error);

double simulation_time_s(const struct simulation *simulation);

/* All that a scan tool reads now. */
void simulation_read(const struct simulation *simulation, struct reading *reading);

/* All that a scan tool finds now: reading, codes, freeze frame. */
void simulation_scan(const struct simulation *simulation, struct scan *scan);

/* Has a run take these scans as it comes by; their wanted_s must be set. The array stays the caller's and must outlive
 * the run. */
void simulation_ask_scans(struct simulation *simulation, struct scan *scans, size_t count);

#endif
