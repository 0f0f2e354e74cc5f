/* What a run notes down between its rows: codes, limits, stalls, starts, keys, notes. Events go to a sink; nobody calls these
 * functions while a simulation settles in. */
#ifndef SIM_EVENTS_H
#define SIM_EVENTS_H

#include "sim/freeze_frame.h"
#include "sim/recording.h"
#include "sim/scenario.h"
#include "sim/vehicle.h"

/* Takes an event as it happens; it is only lent. Anything but STATUS_OK ends the run. */
typedef enum status (*events_sink)(const struct recording_event *event, void *user, struct error *error);

/* What has been seen, so that only changes are noted. */
struct events_seen {
  enum code_state codes[MONITOR_CODE_COUNT];
  unsigned code_changes;
  bool learned_limit, at_limit;
  enum computer_limp limp;
  struct freeze_frame freeze_frame;
};

struct events {
  events_sink sink;
  void *user;
  struct events_seen seen;
};

/* The moment that is looked at. */
struct events_moment {
  const struct vehicle *vehicle;
  double time_s;
  double crank_s;                    // how long the starter has turned
  const struct roughness *roughness; // for the freeze frame
};

/* Forgets what was seen: only changes against the vehicle of now are noted. */
void events_init(struct events *events, const struct vehicle *vehicle);

MUST_CHECK enum status events_log_step(struct events *events, double time_s, const struct scenario_step *step,
                                       struct error *error);
MUST_CHECK enum status events_log_plant(struct events *events, double time_s, enum plant_event event, struct error *error);
/* Code changes, limits, start of the engine; before: the computer's mode before its tick. */
MUST_CHECK enum status events_log_computer(struct events *events, const struct events_moment *moment, enum computer_mode before,
                                           struct error *error);

#endif
