/* One visit of a car to the workshop: what brought it in, what was read, which looks said yes or no, and how it ended. What a file of
 * a visit keeps (io/config/visit_file.h), and all of it.
 *
 * Readings are kept by quantity and condition, never by what a log called them, so that a column nobody asked for, such as a position
 * or an identification number, cannot come in; free text is cleared of numbers that look like one (visit_clear_text()). */
#ifndef ANALYSIS_VISIT_VISIT_H
#define ANALYSIS_VISIT_VISIT_H

#include "analysis/estimate/estimate_next.h"
#include "analysis/estimate/estimate_readings.h"

enum {
  VISIT_FORMAT = 1, // of its file; raised where an older program would misread it
  VISIT_TEXT_SIZE = 200,
  VISIT_FRAME_SIZE = 600,
  VISIT_LOOK_MAX = 32
};

struct visit_look {
  char name[ESTIMATE_NAME_SIZE]; // of a test that says yes or no
  bool yes;
};

struct visit {
  char engine[VISIT_TEXT_SIZE]; // engine file, shipped engine or card, as it was given
  char vehicle[VISIT_TEXT_SIZE], date[VISIT_TEXT_SIZE], complaint[VISIT_TEXT_SIZE];
  char codes[VISIT_TEXT_SIZE];                            // "P0506,P0171", "none"; empty: nobody has looked
  bool codes_unknown;                                     // there may be others
  char frame[VISIT_FRAME_SIZE];                           // NAME=VALUE,...
  char baseline[VISIT_TEXT_SIZE], costs[VISIT_TEXT_SIZE]; // files; empty: none
  bool pairs;                                             // of causes are tried too
  bool stands;                                            // the readings were read again, and are what they were
  struct estimate_readings readings;
  char set[VISIT_FRAME_SIZE];           // of the day or the engine: NAME=VALUE,...
  double cold_coolant_c, cold_intake_c; // NaN: not given
  char skipped[VISIT_FRAME_SIZE];       // names of tests that cannot be done on this car, with commas between
  size_t look_count;
  struct visit_look looks[VISIT_LOOK_MAX];
  char verdict[VISIT_TEXT_SIZE]; // of the comparison that closed it; empty: it is open
};

void visit_init(struct visit *visit);

/* Takes whatever looks like an identification number of a vehicle (17 capital letters and digits without I, O and Q, some of them digits;
 * ISO 3779) out of a text, in place. Returns how many. */
size_t visit_clear_text(char *text);

/* A reading that replaces one of the same name and condition; STATUS_BAD_DATA if there is no room. */
MUST_CHECK enum status visit_set_reading(struct visit *visit, const struct estimate_reading *reading, struct error *error);

/* NAME=yes or NAME=no of a look; option: as it is called on the command line. STATUS_USAGE for a look that there is not, and for another
 * word. */
MUST_CHECK enum status visit_set_look(struct visit *visit, const char *option, const char *text, struct error *error);

/* Whether a test is among those that cannot be done on this car. */
bool visit_skips(const struct visit *visit, const char *name);

/* The look's answer, NULL if it was not done. */
const struct visit_look *visit_find_look(const struct visit *visit, const char *name);

#endif
