/* What can stand behind a complaint about the idle: "nothing wrong", a film, each fault that a running engine can have, and what is no
 * fault but reads like one: another car or another moment than the readings were taken for, or something that nobody listed.
 *
 * A cause is one condition, one deviation of the car or what its computer remembers, at a severity between a least that a workshop would
 * call a fault and a most that an engine still idles with. How severe it is before anything is read: in nine cases of ten uniform in the
 * severity or in its logarithm between the two; in one of twenty less than the least, and in one of twenty more than the most, as far as
 * the condition goes. How often each cause stands behind a complaint is in its row, unless the engine file says otherwise in its group `cause_rates`: in parts of
 * their sum. The rows stand in car/fault_rows.h. */
#ifndef CAR_CAUSES_H
#define CAR_CAUSES_H

#include "car/conditions.h"
#include "car/engine.h"
#include "car/scatter.h"

#include <stdbool.h>

enum cause_scale { CAUSE_LINEAR, CAUSE_LOG };

enum cause_place { CAUSE_IN_CONDITIONS, CAUSE_IN_CAR, CAUSE_IN_MEMORY };

struct cause_row {
  const char *name, *condition, *text; // condition: or deviation, or learned_pct
  double least, most;                  // severity, unit of the condition; the least first even where less means a smaller number
  enum cause_scale scale;
  unsigned needs; // bits of enum feature, beyond what the condition needs
  bool state;     // no fault
};
extern const struct cause_row cause_rows[CAUSE_COUNT];

/* Index of the cause with this name, -1 if none. */
int cause_find(const char *name);

/* Whether this engine can have it. */
bool cause_applies(const struct engine *engine, enum cause cause);

/* Share of all complaints, 0 to 1, before anything is read. */
double cause_prior(const struct engine *engine, enum cause cause);

/* Where it acts. */
enum cause_place cause_place(enum cause cause);

/* Severity, unit of the condition, at share 0 to 1 of its prior range: the prior is uniform in the share. The row's least stands at
 * CAUSE_LEAST_SHARE, its most at CAUSE_MOST_SHARE. */
#define CAUSE_LEAST_SHARE 0.05
#define CAUSE_MOST_SHARE  0.95
double cause_severity(enum cause cause, double share);

/* Puts a cause that acts in the conditions there; another does nothing. An engine that is not warm has oil as cold as its coolant. */
void cause_apply(enum cause cause, double severity, struct conditions *conditions);

/* Adds a cause that acts on the car to its deviations, SI (scatter.h); another does nothing. */
void cause_add(enum cause cause, double severity, double amounts[SCATTER_COUNT]);

#endif
