/* Loads that cut in and out while the engine idles, and how low the speed went: why an engine stalls when it is stopped or
 * when the compressor cuts in.
 *
 * Compressor, gear and the pedal let go are seen in the recording. Steering and electrical load are known from the scenario
 * only. */
#ifndef ANALYSIS_RUN_LOAD_STEPS_H
#define ANALYSIS_RUN_LOAD_STEPS_H

#include "sim/recording.h"
#include "sim/scenario.h"

/* LOAD_KIND(name, what happened, for sentences) */
#define LOAD_STEPS_KIND_LIST(KIND) \
  KIND(compressor, "Compressor on") \
  KIND(gear, "Into gear") \
  KIND(steering, "Steering at its stop") \
  KIND(electrical, "Electrical load on") \
  KIND(pedal, "Pedal let go")

enum load_steps_kind {
#define KIND(name, text) LOAD_STEPS_##name,
  LOAD_STEPS_KIND_LIST(KIND)
#undef KIND
      LOAD_STEPS_KIND_COUNT
};

struct load_steps_kind_row {
  const char *name, *text;
};
extern const struct load_steps_kind_row load_steps_kind_rows[LOAD_STEPS_KIND_COUNT];

struct load_step {
  double time_s;
  enum load_steps_kind kind;
  bool on; // always true of the pedal
  double film_um;
  double before_rpm, lowest_rpm; // mean of the second before; least of the seconds after, 0 if it stalled
  bool stalled;
  double target_rpm; // idle target in the seconds after, the least: an engine may idle slower in gear
};

/* In order of time; returns how many, at most `most`. scenario: NULL for a log. */
size_t load_steps_find(const struct recording *recording, const struct scenario *scenario, struct load_step *steps, size_t most);

#endif
