/* What happens, and when: an engine, how it stands at the start, and a timeline. */
#ifndef SIM_SCENARIO_H
#define SIM_SCENARIO_H

#include "car/conditions.h"
#include "control/computer.h"

#include <stdint.h>

enum {
  SCENARIO_TEXT_SIZE = 200,
  SCENARIO_TIME_MOST_S = 86400,
  SCENARIO_PATH_SIZE = 1024,
  SCENARIO_SET_MAX = 8,
  SCENARIO_SOLVER_SIZE = 16
};

enum scenario_action {
  SCENARIO_ACTION_NONE,
  SCENARIO_ACTION_CLEAR_CODES,
  SCENARIO_ACTION_RESET_LEARNED,
  SCENARIO_ACTION_LOSE_CLOSED, // the computer forgets the closed stop
};
extern const char *const scenario_action_names[]; // NULL after the last

/* How the engine stands at the start. */
enum scenario_start {
  SCENARIO_START_IDLING,  // left to idle until it stands still
  SCENARIO_START_KEY_OFF, // standing
  SCENARIO_START_SETTLED, // in its settled point, which is found at once
};
extern const char *const scenario_start_names[]; // NULL after the last

struct scenario_set {
  size_t condition; // row of condition_rows
  double value;     // SI
};

/* One line of the timeline: at a time, set or ramp some conditions, turn the key, use the scan tool, say something. */
struct scenario_step {
  double at_s;
  double ramp_s; // 0: at once
  size_t set_count;
  struct scenario_set sets[SCENARIO_SET_MAX];
  int key; // enum key, -1 leaves it
  enum scenario_action action;
  double ends_ramp;              // switch, of scenario files: a ramp that still runs ends here on purpose
  char note[SCENARIO_TEXT_SIZE]; // shown in the picture; empty for none
  int line;                      // in the file
};

struct scenario {
  char name[SCENARIO_TEXT_SIZE]; // the file's stem
  char title[SCENARIO_TEXT_SIZE];
  char engine_path[SCENARIO_PATH_SIZE];
  double duration_s;
  double record_s; // spacing of the rows written
  uint64_t seed;
  char solver[SCENARIO_SOLVER_SIZE]; // a record's: what it was run with; empty: left open
  bool running;                      // starts idling warm (true) or standing with the key off
  bool settled;                      // running: from its settled point and not by waiting
  bool engine_elsewhere;             // engine_path is a shipped engine's: where the file says there is none
  bool film_on_demand; // a film that is changed live: its gap table integrated only where it is looked at (film_bore.h)
  struct conditions initial;
  size_t step_count;
  struct scenario_step *steps; // sorted by at_s; owned
};

void scenario_init(struct scenario *scenario);
void scenario_destroy(struct scenario *scenario);

void scenario_set_start(struct scenario *scenario, enum scenario_start start);
enum scenario_start scenario_start_of(const struct scenario *scenario);

/* Whether a step can be played under the conditions that hold before it: rows, ranges, ramps, key, action, note.
 * STATUS_USAGE says what is wrong and what is allowed. */
MUST_CHECK enum status scenario_check_step(const struct scenario_step *step, const struct conditions *before,
                                           struct error *error);

/* A step more, at the end; room is made as it is needed. */
MUST_CHECK enum status scenario_append(struct scenario *scenario, const struct scenario_step *step, struct error *error);

#endif
