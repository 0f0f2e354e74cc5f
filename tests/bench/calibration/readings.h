/* What a technician reads on a simulated car, by how much trouble he takes. */
#ifndef CALIBRATION_READINGS_H
#define CALIBRATION_READINGS_H

#include "analysis/estimate/drawn_car.h"

/* SET(name, what is read) */
#define READING_SET_LIST(SET) \
  SET(idle, "data stream at warm idle alone") \
  SET(full, "data stream under every condition, battery, second track, gauge on the manifold") \
  SET(baseline, "the same, and the same of the same car on another day when it was good")

enum reading_set {
#define SET(name, text) READING_SET_##name,
  READING_SET_LIST(SET)
#undef SET
      READING_SET_COUNT
};
extern const char *const reading_set_names[READING_SET_COUNT], *const reading_set_texts[READING_SET_COUNT];

/* A car that has been driven. */
struct tested_car {
  struct drawn_car car;
  bool driven;                                          // else no attempt at this number idled
  struct estimate_point now[ESTIMATE_CONDITION_COUNT];  // with its fault
  struct estimate_point then[ESTIMATE_CONDITION_COUNT]; // good, another day
};

/* Standard deviation of what cycle scatter leaves of a reading, by condition and quantity: it is part of what the estimate calls
 * flicker, and must not come on top of it. */
struct reading_spread {
  double sd[ESTIMATE_CONDITION_COUNT][ESTIMATE_QUANTITY_COUNT];
};

/* The readings of a set; setting: what goes with them. False if the engine does not run under a condition that belongs to the set. */
bool readings_take(const struct engine *engine, enum reading_set set, const struct tested_car *car, bool then,
                   const struct reading_spread *spread, struct estimate_readings *readings, struct estimate_setting *setting);

#endif
