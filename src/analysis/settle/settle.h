/* The settled operating point of the whole closed loop, without waiting for a run.
 *
 * The same equations as a run. What a run reaches by waiting is set to rest here:
 *
 *   air     pressure p where all that comes in leaves through the cylinders; temperature and exhaust share follow
 *   fuel    trims where lambda is one, or at their limits; open loop as the computer doses it
 *   torque  net torque zero:  at the target speed, by the effort E that the idle controller needs; where E is at a limit, by
 *           the speed at which the engine then runs; at a held speed, by the pedal; with the pedal somewhere, by the speed
 *
 * Pressure is found by a bracketed secant inside, the outer unknown by regula falsi on net torque; where speed is the unknown, all
 * speeds are searched at which torque balances, from the target on, of which those count where more speed means less torque. Stiction is
 * taken as overcome, cycle scatter as nothing. A bypass valve stands on a whole step where the controller is at a limit; elsewhere it
 * swings between two, and the mean of them, a part of a step, holds the target. Off idle it stays on one of the two, by the
 * way it came; the point is the one between.
 *
 * What each part does at rest stands beside what it does in a tick or a moment, as `_rest`; here they are only put together, so that a
 * fault acts on a run and on a settled point alike. Supervision is followed: what its monitors find at once, and then at the point
 * reached, leads into limp-home, and the point is sought again. What is wrong with signals or drive, and a foot, come to an engine that
 * idled: a drive that is switched off leaves the blade where springs and friction take it from there. docs/settle.md has the limits. */
#ifndef ANALYSIS_SETTLE_SETTLE_H
#define ANALYSIS_SETTLE_SETTLE_H

#include "analysis/settle/settle_query.h"
#include "base/error.h"
#include "sim/channels.h"
#include "sim/vehicle.h"

enum settle_outcome {
  SETTLE_IDLES,       // at its target
  SETTLE_DROOPS,      // below it, the controller at its upper limit
  SETTLE_RACES,       // above it, the controller at its lower limit
  SETTLE_HELD,        // at the speed the driver holds, or where the pedal's position brings it
  SETTLE_STANDS,      // key on, engine off
  SETTLE_STALLS,      // there is no speed at which it keeps running
  SETTLE_CANNOT_HOLD, // not even as much pedal as anybody gives (sim/driver.h) reaches the speed asked for; values with that much
  SETTLE_LIMPS,       // limp-home: the throttle drive is off, the blade where its springs leave it
  SETTLE_CUTS,        // limp-home, but so fast that fuel is cut and comes back, again and again; values are those just
                      // before it is cut, the speeds of cut and return are branches 0 and 1
  SETTLE_LIMITED,     // so fast that the rev limiter cuts fuel, again and again; values and branches as in SETTLE_CUTS
  SETTLE_UNCONTROLLED, // the computer takes the pedal for pressed, and idle control stays away: where torque balances
  SETTLE_NOT_SETTLED,  // there is no one settled point, or it would depend on what went before; `reason` says why, values are NaN
  SETTLE_OUTCOME_COUNT
};
extern const char *const settle_outcome_names[];

enum { SETTLE_BRANCH_MAX = 4 };

struct settle_point {
  enum settle_outcome outcome;
  double values[CHANNEL_COUNT]; // all channels, edge units; unsteadiness of speed is 0
  size_t branch_count; // speeds at which torque balances and the engine runs on, the reported one first: see all_balances
  double branch_rad_s[SETTLE_BRANCH_MAX];
  enum computer_limp limp; // REDUCED: outcome says what the speed does under it
  double short_nm;         // SETTLE_STALLS out of idle control: torque missing at the target with all that it can add; else 0
  const char *reason;      // SETTLE_NOT_SETTLED: why, a sentence's end; else NULL
  struct monitor_measures measures; // what its monitors see
  uint64_t codes; // monitors_bit() of each code that would set, conditions being long; of P0300 a point knows nothing
};

struct settle;

/* Memory for one engine; one per thread. It keeps gap tables between queries, so that neighbours cost little. */
MUST_CHECK enum status settle_create(const struct engine *engine, struct settle **settle, struct error *error);
void settle_destroy(struct settle *settle);

/* Goes on with another engine, which the caller keeps; gap tables stay if they serve it. */
void settle_change_engine(struct settle *settle, const struct engine *engine);

/* Goes on with another car of the same kind, from scatter_make_car() of the engine that settle_create() had; the computer's
 * calibration stays, unless the engine's deviations are those of models (scatter_params.h). The car must live as long as it is used. */
void settle_change_car(struct settle *settle, const struct engine *car);

/* The engine as the last settle_solve() left it, for a run to go on from; until the next. */
const struct vehicle *settle_rest(const struct settle *settle);

/* How much less and more air than its feed-forward the idle controller can bring about, share of base air: limits of effort and learned
 * offset together. coolant_k: as the computer reads it. */
void settle_limits(const struct engine *engine, const struct settle_query *query, double coolant_k, double *low, double *high);

/* Always gives an answer: an engine that stalls is one. */
void settle_solve(struct settle *settle, const struct settle_query *query, struct settle_point *point);

#endif
