/* Fault codes of the idle system: one row per code.
 *
 * A monitor runs while all its enable conditions hold. A fault that lasts for the debounce time stores a *pending* code;
 * if the monitor finds it again in the next driving cycle in which it runs, the code becomes *confirmed* and the lamp
 * lights. A cycle in which the monitor ran and found nothing erases a pending code; three such cycles in a row put the
 * lamp out; forty warm-up cycles without the fault erase a confirmed code.
 * Source: 13 CCR 1968.2 (d)(2.2) read; (d)(2.3), (d)(2.4), (e)(15.2.2)(B) (100 rpm below, 200 rpm above target) from
 * memory. Definitions of the codes: SAE J2012 / ISO 15031-6. */
#ifndef CONTROL_MONITORS_H
#define CONTROL_MONITORS_H

#include <stdbool.h>

enum monitor_code { MONITOR_P0505, MONITOR_P0506, MONITOR_P0507, MONITOR_CODE_COUNT };

/* Enable conditions, as bits. ENABLE(name, text when it is missing). */
#define MONITOR_ENABLE_LIST(ENABLE)                                                                           \
  ENABLE(running, "the engine was not running")                                                               \
  ENABLE(idling, "the pedal was pressed")                                                                     \
  ENABLE(warm, "the engine was cold")                                                                         \
  ENABLE(settled, "start or change of load too recent")                                                       \
  ENABLE(at_limit, "the controller still had something left")

enum monitor_enable_index {
#define ENABLE(name, text) MONITOR_ENABLE_INDEX_##name,
  MONITOR_ENABLE_LIST(ENABLE)
#undef ENABLE
      MONITOR_ENABLE_COUNT
};
enum monitor_enable {
#define ENABLE(name, text) MONITOR_ENABLE_##name = 1 << MONITOR_ENABLE_INDEX_##name,
  MONITOR_ENABLE_LIST(ENABLE)
#undef ENABLE
};
extern const char *const monitor_enable_texts[MONITOR_ENABLE_COUNT];

/* What the monitors measure. */
struct monitor_measures {
  unsigned enabled;            // bits of enum monitor_enable that hold now
  double low_speed_rad_s;      // target less actual speed
  double high_speed_rad_s;     // actual less target
};

struct monitor_row {
  const char *code;
  const char *text;            // SAE J2012 definition
  unsigned enable;             // bits that must all hold
  double (*measure)(const struct monitor_measures *measures);
  double threshold_rad_s;      // a fault while the measure exceeds this
  double debounce_ratio;       // of the computer's debounce time
  const char *condition;       // the fault in words, for lists and summaries
};
extern const struct monitor_row monitor_rows[MONITOR_CODE_COUNT];

enum code_state { CODE_NONE, CODE_PENDING, CODE_CONFIRMED };

struct monitor_state {
  double failing_s;            // how long the fault has been seen without a break
  double passing_s;            // the same for no fault
  bool tested, failed;         // in this driving cycle
  enum code_state code;
  bool lamp;
  int passed_cycles;           // in a row, since the lamp lit
  int warm_ups;                // without the fault
  // for the summary, over the whole run
  double longest_failing_s, largest_measure_rad_s;
  unsigned missing;            // enable bits that were missing while the measure was beyond its threshold
};

struct monitors {
  struct monitor_state code[MONITOR_CODE_COUNT];
};

/* One tick of all monitors. */
void monitors_tick(struct monitors *monitors, const struct monitor_measures *measures, double period_s,
                   double debounce_s);

/* Key off after the engine ran: ends the driving cycle. warmed_up: coolant rose 22 K and passed 71 degrees C in it. */
void monitors_end_cycle(struct monitors *monitors, bool warmed_up);

/* The scan tool's command to clear codes. */
void monitors_clear(struct monitors *monitors);

const char *monitors_code_state_name(enum code_state state);

#endif
