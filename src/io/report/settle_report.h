/* A settled point, for people and as JSON. */
#ifndef IO_REPORT_SETTLE_REPORT_H
#define IO_REPORT_SETTLE_REPORT_H

#include "analysis/settle/settle.h"

#include <stdio.h>

struct json;

enum { SETTLE_REPORT_WITHOUT_MAX = 16 };

/* What the point would be without one of the conditions that are set. */
struct settle_report_without {
  size_t condition; // row of condition_rows
  double value;     // that was set, SI
  enum settle_outcome outcome;
  double speed_rpm, target_rpm;
};

struct settle_report {
  const struct engine *engine;
  const struct settle_point *point;
  bool all; // every channel, and not only what is looked at first
  bool us;  // US units
  double target_rpm;
  size_t without_count; // of a stall: each condition taken away by itself
  struct settle_report_without without[SETTLE_REPORT_WITHOUT_MAX];
};

/* STATUS_NO_MEMORY. */
MUST_CHECK enum status settle_report_print(const struct settle_report *report, FILE *stream, struct error *error);

/* The point's members, into the object that is open; of a stall also "stall": what is missing, and what would be without each condition. */
void settle_report_put_json(const struct settle_report *report, struct json *json);

#endif
