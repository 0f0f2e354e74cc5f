/* One input of a sweep and the values it takes, as written on the command line:
 *
 *   film_um=0:100:2        from 0 to 100 in steps of 2; the last value is the last step that is not beyond
 *   leak_mm2=0.5:50:x20    twenty values, each the same times the one before
 *   air_conditioning=0,1   these
 *
 * The name is a condition, a parameter group.key, or learned_pct: the learned offset the computer starts with, as after a
 * clean. */
#ifndef ANALYSIS_SWEEP_SWEEP_AXIS_H
#define ANALYSIS_SWEEP_SWEEP_AXIS_H

#include "car/setting.h"

enum { SWEEP_AXIS_VALUE_MAX = 10000000 };

#define SWEEP_AXIS_LEARNED      "learned_pct"
#define SWEEP_AXIS_LEARNED_LOW  (-100.0) // per cent, as the command line's --stale-learned
#define SWEEP_AXIS_LEARNED_HIGH 200.0

struct sweep_axis {
  char name[SETTING_NAME_SIZE];
  bool learned; // the learned offset; `setting` says nothing then
  struct setting setting;
  bool geometric;
  size_t count;
  double *values; // user's unit, rising; owned
  int decimals;   // enough to tell the values apart
};

/* Reads NAME=VALUES. STATUS_USAGE names what is wrong and what would be right. sweep_axis_destroy() in any case. */
MUST_CHECK enum status sweep_axis_read(const char *text, struct sweep_axis *axis, struct error *error);

/* The same of a name and a list of count values, which must rise. STATUS_USAGE. */
MUST_CHECK enum status sweep_axis_list(const char *name, const double *values, size_t count, struct sweep_axis *axis,
                                       struct error *error);
void sweep_axis_destroy(struct sweep_axis *axis);

#endif
