/* What happens, and when: an engine, how it stands at the start, and a timeline. */
#ifndef SIM_SCENARIO_H
#define SIM_SCENARIO_H

#include "car/conditions.h"
#include "control/computer.h"

#include <stdint.h>

enum { SCENARIO_TEXT_SIZE = 200, SCENARIO_PATH_SIZE = 1024, SCENARIO_SET_MAX = 8 };

enum scenario_action {
  SCENARIO_ACTION_NONE,
  SCENARIO_ACTION_CLEAR_CODES,
  SCENARIO_ACTION_RESET_LEARNED,
  SCENARIO_ACTION_LOSE_CLOSED, // the computer forgets the closed stop
};
extern const char *const scenario_action_names[]; // NULL after the last

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
  bool running; // starts idling warm (true) or standing with the key off
  struct conditions initial;
  size_t step_count;
  struct scenario_step *steps; // sorted by at_s; owned
};

void scenario_init(struct scenario *scenario);
void scenario_destroy(struct scenario *scenario);

#endif
