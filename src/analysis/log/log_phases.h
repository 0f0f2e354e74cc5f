/* What a car did in a log, and when, from whatever columns the log has.
 *
 * The log is looked at in blocks of half a second; a value that is polled in turn holds until its next turn, five seconds at most.
 * Each block is one of the kinds below or none; neighbours of a kind are a phase if it lasts long enough to be one. Nothing is claimed that
 * the columns cannot tell: without a coolant column an idle is not said to be warm, and where air or speed steps and stays while no column
 * says why, the idle behind it is "something switched on, not told what". */
#ifndef ANALYSIS_LOG_LOG_PHASES_H
#define ANALYSIS_LOG_LOG_PHASES_H

#include "sim/recording.h"

#include <stdbool.h>

/* PHASE(name, least seconds, what it is). Lengths: our own choice, so that a chance crossing is no phase. */
// clang-format off
#define LOG_PHASE_LIST(PHASE)                                                                           \
  PHASE(key_on, 1.0, "engine standing")                                                         \
  PHASE(cranking, 0.0, "starter turns the engine")                                                      \
  PHASE(cold_idle, 10.0, "idle, coolant below 60 C")                                                    \
  PHASE(warming_idle, 10.0, "idle, neither cold nor warm")                                              \
  PHASE(idle, 10.0, "idle")                             \
  PHASE(idle_ac, 5.0, "idle, compressor on")                                                            \
  PHASE(idle_loaded, 5.0, "idle, something unknown switched on")                                 \
  PHASE(drive, 5.0, "in gear, standing, pedal released")                                                \
  PHASE(hold_2500, 5.0, "held near 2500 rpm")                   \
  PHASE(load_step, 0.0, "a load comes or goes")                                                         \
  PHASE(slow_opening, 15.0, "throttle opened slowly")                                                   \
  PHASE(drive_away, 2.0, "in gear, pedal pressed")
// clang-format on

enum log_phase_kind {
#define PHASE(name, least_s, text) LOG_PHASE_##name,
  LOG_PHASE_LIST(PHASE)
#undef PHASE
      LOG_PHASE_COUNT
};

struct log_phase_row {
  const char *name;
  double least_s;
  const char *text;
};
extern const struct log_phase_row log_phase_rows[LOG_PHASE_COUNT];

/* Index of the row with this name, -1 if none. Hyphens count as underscores. */
int log_phase_find(const char *name);

enum log_step_cause { LOG_STEP_unknown, LOG_STEP_compressor, LOG_STEP_gear };
extern const char *const log_phase_step_names[LOG_STEP_gear + 1];

struct log_phase {
  enum log_phase_kind kind;
  double from_s, to_s;
  double settled_s; // from here on a mean may be taken; to_s where the phase is too short for one
  bool by_hand;
  bool warm_told; // a coolant column says how warm the engine was
  // load steps only:
  enum log_step_cause cause;
  bool on;                       // the load comes
  double before_rpm, lowest_rpm; // mean before it, lowest in the two seconds after; NaN where speed is logged too seldom to tell
};

enum { LOG_PHASES_MAX = 128 };

struct log_phases {
  size_t count;
  struct log_phase phases[LOG_PHASES_MAX]; // in order of time
  size_t left_out;                         // found beyond LOG_PHASES_MAX
  bool has[CHANNEL_COUNT];                 // some row has a value
  double idle_rpm;                         // the log's idle speed; NaN if it never idles
};

/* A phase given by hand, which takes the place of all that are found of its kind. */
struct log_phases_setting {
  size_t by_hand_count;
  const struct log_phase *by_hand; // kind, from_s, to_s
};

/* Finds the phases; setting: NULL for none by hand. Large: on the heap. STATUS_NO_MEMORY; STATUS_BAD_DATA if a phase by hand holds no row. */
MUST_CHECK enum status log_phases_find(const struct recording *recording, const struct log_phases_setting *setting,
                                       struct log_phases *phases, struct error *error);

#endif
