/* How one car of a kind differs from the next, and one day from another: what an estimate from readings must not take for a
 * fault.
 *
 * The engine file describes a nominal car. Its group `scatter` gives the standard deviation of each deviation, where it is not the
 * usual one; a car is the engine plus `z` standard deviations of each, z standard normal and independent. The computer stays what it was
 * calibrated as: on the nominal engine. */
#ifndef CAR_SCATTER_H
#define CAR_SCATTER_H

#include "car/conditions.h"
#include "car/engine.h"

#include <stdbool.h>

/* UNIT: a car's own, today as when it was known good. DAY: another one every day. */
enum scatter_kind { SCATTER_UNIT, SCATTER_DAY };

struct scatter_row {
  enum scatter_kind kind;
  unsigned needs; // bits of enum feature
  const char *key, *text;
  double factor; // unit of the key to SI
};
extern const struct scatter_row scatter_rows[SCATTER_COUNT];

/* True if the deviation means something on this engine and its standard deviation is not nil. */
bool scatter_applies(const struct engine *engine, enum scatter scatter);

/* Index of the deviation with this key, -1 if none. */
int scatter_find(const char *key);

/* What z standard deviations of each come to, SI; z: SCATTER_COUNT numbers. A deviation that does not apply comes to nothing. */
void scatter_amounts(const struct engine *nominal, const double *z, double amounts[SCATTER_COUNT]);

/* Makes the car: `nominal` with so much of each deviation, SI. The car's computer is the nominal engine's, but where deviations are of the
 * computer or of models (scatter_params.h). */
void scatter_make_car(const struct engine *nominal, const double amounts[SCATTER_COUNT], struct engine *car);

/* Adds what the deviations do to the conditions of a day; `conditions` hold those of the nominal car. */
void scatter_make_conditions(const double amounts[SCATTER_COUNT], struct conditions *conditions);

#endif
