/* The moments of a run that a teacher would point at, found in the recording itself.
 *
 * Nothing here knows the scenario's plan: a moment that did not happen is not set, and what is said of it is left out. */
#ifndef ANALYSIS_RUN_STORY_H
#define ANALYSIS_RUN_STORY_H

#include "analysis/run/load_steps.h"
#include "sim/recording.h"

#include <stdbool.h>

/* Mean readings of a steady stretch. */
struct story_moment {
  bool happened;
  double time_s; // where the stretch begins
  double length_s;
  double mean[CHANNEL_COUNT]; // edge units, in the order of the channels
};

enum { STORY_LOAD_MAX = 128 };

struct story {
  struct story_moment first;     // the first steady idle: what the engine was like
  struct story_moment hidden;    // the last steady idle with the speed still on target, deposit present
  struct story_moment lowest;    // the steady idle with the lowest mean speed, deposit present
  struct story_moment clean;     // the bore was cleaned: readings just before
  struct story_moment fastest;   // the steady idle with the highest speed after that
  struct story_moment relearned; // the first steady idle after that with speed on target and the learned offset at rest
  struct story_moment last;      // the last steady idle
  bool learned_limit, at_limit;  // the learned offset, and then the controller too, came to its limit
  double learned_limit_s, learned_limit_film_um;
  double at_limit_s, at_limit_film_um;
  double largest_film_um;
  bool stalled;
  double stalled_s, stalled_film_um, stalled_speed_rpm; // speed: mean of the five seconds before
  size_t load_count;
  struct load_step loads[STORY_LOAD_MAX];
};

/* Finds what the recording alone shows; load_steps_find() with the scenario knows more loads. */
void story_find(const struct recording *recording, struct story *story);

/* How long a steady stretch is, and how far apart they are looked for. */
#define STORY_STRETCH_S 10.0
#define STORY_STEP_S    1.0

/* The stretch that begins at a time: false unless it is steady idle, compressor off and out of gear. */
bool story_idle_stretch(const struct recording *recording, double from_s, struct story_moment *moment);

/* A film to look for: any, or one within a few micrometres. */
#define STORY_ANY_FILM (-1.0)

/* The last steady idle, nothing switched on, that lies within [from_s, to_s]; false if there is none. */
bool story_idle_between(const struct recording *recording, double from_s, double to_s, double film_um,
                        struct story_moment *moment);

/* The same for the engine held at a steady speed with the pedal; near_rpm 0: any speed. */
bool story_held_between(const struct recording *recording, double from_s, double to_s, double film_um, double near_rpm,
                        struct story_moment *moment);

#endif
