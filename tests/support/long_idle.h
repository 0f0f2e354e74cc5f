/* An idling engine that gets a fault and is then run until it has come to rest: where a run ends after a long time.
 *
 *   0 .. 20 s   the idle settles under the load
 *  20 .. 40 s   the fault comes in; one in a sensor's circuit is there at once, closed stop learned with it
 *   0 .. 80 s   but while the fault comes in, every 2.5 s what the controllers add is put into what they have learned, which by itself would take minutes: the
 *               same sum, so nothing that the engine feels changes
 *  then         minutes, until neither learned offset nor long-term trims nor the controllers' own parts move by 0.1 % of idle
 *               air or fuel from one minute's mean to the next; at most 1800 s. The last two minutes are what is read. */
#ifndef TESTS_SUPPORT_LONG_IDLE_H
#define TESTS_SUPPORT_LONG_IDLE_H

#include "analysis/settle/settle.h"
#include "sim/simulation.h"

struct long_idle_value {
  const char *key; // a row of condition_rows; NULL for none
  double value;    // user's unit
};

enum { LONG_IDLE_VALUE_MAX = 3 };

enum long_idle_entry {
  LONG_IDLE_RAMPED, // grows, as wear does
  LONG_IDLE_AT_ONCE,
  LONG_IDLE_LEARNED, // at once, and the closed stop is learned with it
};

struct long_idle_end {
  enum settle_outcome outcome;
  enum computer_limp limp;
  bool rests; // nothing moved any more
  bool idles; // idle control at work
  double time_s;
  double mean[CHANNEL_COUNT], error[CHANNEL_COUNT]; // of the last two minutes; standard error of the mean, from means over 10 s
  double least_rpm, most_rpm;
};

/* One engine that idles, ready for one run after another. Not to be moved while in use. */
struct long_idle {
  struct engine engine;
  struct scenario scenario;
  struct simulation *sim, *clean;
};

/* Reads models/NAME.cfg and lets it settle; the fast solver. Fails the test if that fails. */
void long_idle_init(struct long_idle *idle, const char *model);
void long_idle_destroy(struct long_idle *idle);

/* load: a switch that is on from the start; NULL for none. */
void long_idle_run(struct long_idle *idle, const char *load, const struct long_idle_value values[LONG_IDLE_VALUE_MAX],
                   enum long_idle_entry entry, struct long_idle_end *end);

#endif
