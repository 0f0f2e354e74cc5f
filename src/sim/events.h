/* What a run notes down between its rows. All functions do nothing while the simulation settles in. */
#ifndef SIM_EVENTS_H
#define SIM_EVENTS_H

#include "sim/simulation.h"

/* Forgets what was seen, so that only changes from now on are noted. */
void events_init(struct simulation *sim);

MUST_CHECK enum status events_log_step(struct simulation *sim, const struct scenario_step *step, struct error *error);
MUST_CHECK enum status events_log_plant(struct simulation *sim, double time_s, enum plant_event event, struct error *error);
/* Code changes, limits, start and stop of the engine; before: the computer's mode before its tick. */
MUST_CHECK enum status events_log_computer(struct simulation *sim, enum computer_mode before, struct error *error);

#endif
