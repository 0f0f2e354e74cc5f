/* Acting on a scene's simulation by hand, and comparing what came of it bit for bit; what goes wrong fails the test. */
#ifndef TESTS_SUPPORT_LIVE_H
#define TESTS_SUPPORT_LIVE_H

#include "support/scene.h"

void live_must(enum status status, const struct error *error);

/* Starts the scene's scenario. */
void live_create(struct scene *scene);

/* Runs on to a time, or up to the tick before it, so that what is played next acts at it. */
void live_run_until(struct scene *scene, double until_s);
void live_up_to(struct scene *scene, double time_s);

void live_set(struct scene *scene, const char *condition, double value, double ramp_s);
void live_play(struct scene *scene, const struct scenario_step *step);

void live_same_rows(const char *what, const struct recording *a, const struct recording *b);
void live_same_events(const char *what, const struct recording *a, const struct recording *b);

/* What is done to every engine: film on a ramp, a load, warmth, codes and key; times that are no binary fractions. */
void live_timeline(struct scene *scene);

#endif
