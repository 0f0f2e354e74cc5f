/* What can stand behind a complaint about the idle: "nothing wrong", a film, and each fault that a running engine can have.
 *
 * A cause is one condition at a severity between a least that a workshop would call a fault and a most that an engine still
 * idles with. How severe it is before anything is read: uniform in the severity or in its logarithm between the two. How often
 * each cause stands behind a complaint is in its row, unless the engine file says otherwise in its group `cause_rates`: in parts of
 * their sum. The rows stand in car/fault_rows.h. */
#ifndef CAR_CAUSES_H
#define CAR_CAUSES_H

#include "car/conditions.h"
#include "car/engine.h"

#include <stdbool.h>

enum cause_scale { CAUSE_LINEAR, CAUSE_LOG };

struct cause_row {
  const char *name, *condition, *text;
  double least, most; // severity, unit of the condition; the least first even where less means a smaller number
  enum cause_scale scale;
  unsigned needs; // bits of enum feature, beyond what the condition needs
};
extern const struct cause_row cause_rows[CAUSE_COUNT];

/* Index of the cause with this name, -1 if none. */
int cause_find(const char *name);

/* Whether this engine can have it. */
bool cause_applies(const struct engine *engine, enum cause cause);

/* Share of all complaints, 0 to 1, before anything is read. */
double cause_prior(const struct engine *engine, enum cause cause);

/* Severity, unit of the condition, at share 0 (least) to 1 (most) of its prior range: the prior is uniform in the share. */
double cause_severity(enum cause cause, double share);

/* Puts the cause into the conditions. */
void cause_apply(enum cause cause, double severity, struct conditions *conditions);

#endif
