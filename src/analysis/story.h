/* The moments of a run that a teacher would point at, found in the recording itself.
 *
 * Nothing here knows the scenario's plan: a moment that did not happen is not set, and what is said of it is left out. */
#ifndef ANALYSIS_STORY_H
#define ANALYSIS_STORY_H

#include "sim/recording.h"

#include <stdbool.h>

/* Mean readings of a steady stretch. */
struct story_moment {
  bool happened;
  double time_s;                  // where the stretch begins
  double length_s;
  double mean[CHANNEL_COUNT];     // edge units, in the order of the channels
};

enum { STORY_LOAD_MAX = 16 };

/* A load cut in or out while the engine idled. */
struct story_load {
  double time_s;
  bool air_conditioning;          // else the gear
  bool on;
  double film_um;
  double before_rpm, lowest_rpm;  // mean of the second before; least of the three seconds after
};

struct story {
  struct story_moment first;      // the first steady idle: what the engine was like
  struct story_moment hidden;     // the last steady idle with the speed still on target, deposit present
  struct story_moment lowest;     // the steady idle with the lowest mean speed, deposit present
  struct story_moment clean;      // the bore was cleaned: readings just before
  struct story_moment fastest;    // the steady idle with the highest speed after that
  struct story_moment relearned;  // the first steady idle after that with speed on target and the learned offset at rest
  struct story_moment last;       // the last steady idle
  bool learned_limit, at_limit;   // the learned offset, and then the controller too, came to its limit
  double learned_limit_s, learned_limit_film_um;
  double at_limit_s, at_limit_film_um;
  double largest_film_um;
  bool stalled;
  double stalled_s, stalled_film_um, stalled_speed_rpm; // speed: mean of the five seconds before
  size_t load_count;
  struct story_load loads[STORY_LOAD_MAX];
};

void story_find(const struct recording *recording, struct story *story);

#endif
