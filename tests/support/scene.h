/* Scenarios built in memory for tests: an engine from models/, conditions and timeline steps by their names
 * at the edge.
 *
 *   struct scene scene;
 *   scene_init(&scene, "four-16", 60.0);
 *   scene_ramp(&scene, 5.0, 15.0, "film_um", 40.0);
 *   scene_run(&scene);
 *   ... scene_mean(&scene, 40.0, 60.0, CHANNEL_speed_rpm) ...
 *   scene_end(&scene);
 *
 * What goes wrong in building or reading fails the test with its message. Run from the top of the source
 * tree. */
#ifndef TESTS_SUPPORT_SCENE_H
#define TESTS_SUPPORT_SCENE_H

#include "sim/simulation.h"

struct scene {
  struct engine engine;
  struct scenario scenario;
  const struct solver_vtable *solver; // CVODE unless changed before the run
  struct solver_options options;
  struct simulation *sim; // NULL before the run and after a start that failed
  struct recording recording;
};

/* A warm engine that idles, for so many seconds; rows every 0.1 s, seed 1, CVODE with the usual tolerance. */
void scene_init(struct scene *scene, const char *model, double duration_s);
void scene_init_standing(struct scene *scene, const char *model,
                         double duration_s); // key off, on at 1 s; fast solver, a row each tick
void scene_init_path(struct scene *scene, const char *engine_path, double duration_s); // an engine file anywhere

/* The same from a scenario file; it names its engine. */
void scene_read(struct scene *scene, const char *scenario_path);

void scene_end(struct scene *scene);

/* A condition before the timeline begins, in the user's unit. */
void scene_initial(struct scene *scene, const char *condition, double value);

/* Steps of the timeline; they may come in any order, those of one moment are played as they were added. */
void scene_set(struct scene *scene, double at_s, const char *condition, double value);
void scene_ramp(struct scene *scene, double at_s, double ramp_s, const char *condition, double value);
void scene_key(struct scene *scene, double at_s, enum key key);
void scene_action(struct scene *scene, double at_s, enum scenario_action action);

/* Runs to the end. The plain form fails the test if the engine does not idle at the start or the solver
 * fails. */
void scene_run(struct scene *scene);
enum status scene_try(struct scene *scene, struct error *error);

/* Mean of a channel over the rows in [from_s, to_s], its least and its most; the last row. */
double scene_mean(const struct scene *scene, double from_s, double to_s, enum channel channel);
double scene_least(const struct scene *scene, double from_s, double to_s, enum channel channel);
double scene_most(const struct scene *scene, double from_s, double to_s, enum channel channel);
double scene_last(const struct scene *scene, enum channel channel);

/* The value at the row nearest to a time. */
double scene_at(const struct scene *scene, double time_s, enum channel channel);

/* Number of events of a kind with this value; a code too where code >= 0. */
int scene_events(const struct scene *scene, enum recording_event_kind kind, int code, int value);

/* Time of the first such event, NAN for none. */
double scene_event_s(const struct scene *scene, enum recording_event_kind kind, int code, int value);

bool scene_stalled(const struct scene *scene);

#endif
