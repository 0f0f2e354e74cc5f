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
};
extern const struct scatter_row scatter_rows[SCATTER_COUNT];

/* True if the deviation means something on this engine and its standard deviation is not nil. */
bool scatter_applies(const struct engine *engine, enum scatter scatter);

/* Makes the car: `nominal` with z standard deviations of each deviation. The car's computer is the nominal engine's but
 * for its target (engine.h, calibrated_on); z: SCATTER_COUNT numbers. */
void scatter_make_car(const struct engine *nominal, const double *z, struct engine *car);

/* Adds what the deviations do to the conditions of a day; `conditions` hold those of the nominal car. */
void scatter_make_conditions(const struct engine *nominal, const double *z, struct conditions *conditions);

#endif
