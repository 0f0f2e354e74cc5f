/* From a car and what is wrong with it to everything that could be read: the settled points of each condition, and the lowest
 * speed after a load step, from the same model that runs. */
#ifndef ANALYSIS_ESTIMATE_ESTIMATE_FORWARD_H
#define ANALYSIS_ESTIMATE_ESTIMATE_FORWARD_H

#include "analysis/estimate/estimate_discrepancy.h"
#include "analysis/estimate/estimate_lost.h"
#include "analysis/estimate/estimate_reading.h"
#include "car/causes.h"
#include "car/scatter.h"

enum { ESTIMATE_CAUSE_MAX = 2 };

/* What is wrong: none, one or two causes, each so severe. */
struct estimate_fault {
  size_t count;
  enum cause cause[ESTIMATE_CAUSE_MAX];
  double severity[ESTIMATE_CAUSE_MAX]; // unit of the cause's condition
  bool fresh;                          // and the computer has just forgotten what it had learned
};

/* The same with one cause taken away. */
struct estimate_fault estimate_forward_without(const struct estimate_fault *fault, enum cause cause);

/* The day of the readings, and what the computer remembers. */
struct estimate_setting {
  struct conditions conditions; // of the nominal car on that day: warm, idling, nothing switched on, nothing wrong
  double cold_coolant_c;        // what the coolant sensor read at cold idle
  double cold_intake_c;         // the intake-air sensor; NaN: as cold as the coolant
  bool stale;                   // the learned offset is learned_ratio; else long use has brought it where it is
  double learned_ratio;
  enum estimate_lost_air lost_air; // of the logs that area_lost_pct comes from
};
void estimate_setting_init(struct estimate_setting *setting);

/* Whether a condition may be set for the day. Faults are what is looked for, and what the condition of a reading sets is told by it:
 * STATUS_USAGE. */
MUST_CHECK enum status estimate_setting_check(const struct condition_row *row, struct error *error);

/* The car's and the day's deviations together with what is wrong, SI; z: SCATTER_COUNT standard deviations. */
void estimate_forward_amounts(const struct engine *engine, const double *z, const struct estimate_fault *fault,
                              double amounts[SCATTER_COUNT]);

struct estimate_forward;

/* One engine, one thread. STATUS_NO_MEMORY. */
MUST_CHECK enum status estimate_forward_create(const struct engine *engine, struct estimate_forward **forward,
                                               struct error *error);
void estimate_forward_destroy(struct estimate_forward *forward);

/* Room that goes with the thread, for the errors of a fault. */
struct estimate_discrepancy *estimate_forward_room(struct estimate_forward *forward);

/* Room for SCATTER_COUNT squared numbers, too many for a stack, number 0 or 1; whoever asks has it until another does. */
double *estimate_forward_matrix(struct estimate_forward *forward, int number);

/* Points of the conditions whose bits are set, the others are left alone. z: SCATTER_COUNT standard deviations of the car and the
 * day. With air conditioning, in gear and held, the learned offset is that of idling alone. */
void estimate_forward_predict(struct estimate_forward *forward, const struct estimate_setting *setting, const double *z,
                              const struct estimate_fault *fault, unsigned conditions,
                              struct estimate_point points[ESTIMATE_CONDITION_COUNT]);

/* What the monitors see at the point that was settled last: with one condition asked for, and no load step, at that one. */
const struct monitor_measures *estimate_forward_measures(const struct estimate_forward *forward);

/* True if it idles warm on its target: then load steps feel a car's deviations as they do on a good one. */
bool estimate_forward_idles(struct estimate_forward *forward, const struct estimate_setting *setting, const double *z,
                            const struct estimate_fault *fault);

/* How long it idles, from the setting's stale learned offset, until its speed stays on target and the offset at rest; s. NaN if that
 * takes longer than most_s or it stalls. */
double estimate_forward_rest_s(struct estimate_forward *forward, const struct estimate_setting *setting, const double *z,
                               const struct estimate_fault *fault, double most_s);

/* False if the deviation cannot be felt at the condition with this wrong: no need to try it. */
bool estimate_forward_feels(enum scatter scatter, const struct estimate_fault *fault, enum estimate_condition condition);

/* What nobody knows of a cause itself, how full a canister is or whether a computer has learned a shifted track: it is felt with that cause
 * alone, and far from linear. SCATTER_COUNT if it has none. */
enum scatter estimate_forward_own(enum cause cause);

/* False if this engine has no such condition (no gear to select). */
bool estimate_forward_has(const struct engine *engine, enum estimate_condition condition);

#endif
