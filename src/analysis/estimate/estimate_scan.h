/* What three readings of a scan tool mean on a car (group `scan` of an engine file), and which are left out because nobody knows. */
#ifndef ANALYSIS_ESTIMATE_ESTIMATE_SCAN_H
#define ANALYSIS_ESTIMATE_ESTIMATE_SCAN_H

#include "analysis/estimate/estimate_reading.h"

/* The three, and the choice in struct scan_params that says what each means. */
enum estimate_scan_item { ESTIMATE_SCAN_load, ESTIMATE_SCAN_relative, ESTIMATE_SCAN_key_on, ESTIMATE_SCAN_COUNT };

struct estimate_scan_row {
  const char *name; // as readings call it
  const char *key;  // of the group `scan`
  size_t offset;    // of the choice, an int, within struct scan_params
  int known_count;  // choices before `unknown`
};
extern const struct estimate_scan_row estimate_scan_rows[ESTIMATE_SCAN_COUNT];

/* Which of the three a reading is; ESTIMATE_SCAN_COUNT if none. */
enum estimate_scan_item estimate_scan_of(enum estimate_quantity quantity, enum estimate_condition condition);

/* True if what such a reading means is known for this engine. */
bool estimate_scan_known(const struct engine *engine, enum estimate_quantity quantity, enum estimate_condition condition);

/* Takes what each means for known, so that readings of every kind are taken in; what they mean is found later. */
void estimate_scan_know_all(struct engine *engine);

/* Turns what the model gives at a condition into what the scan tool of this car shows. The car: with its own deviations. learned_ratio: what
 * track 1 read where the computer took the blade for closed. */
void estimate_scan_show(const struct engine *car, double learned_ratio, enum estimate_condition condition,
                        struct estimate_point *point);

/* Takes readings out that nobody knows the meaning of, and counts them; a position at rest is taken for as sure as springs are. To be called
 * once. */
void estimate_scan_leave_out(const struct engine *engine, struct estimate_readings *readings);

/* The same; false, with a fault appended (STATUS_BAD_DATA), if none is left. place: where the first was read. */
MUST_CHECK bool estimate_scan_leave_some(const struct engine *engine, const char *place, struct estimate_readings *readings,
                                         struct error *error);

#endif
