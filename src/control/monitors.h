/* Fault codes: one row per code.
 *
 * A monitor runs while all its enable conditions hold. A fault that lasts for the debounce time stores a *pending* code;
 * if the monitor finds it again in the next driving cycle in which it runs, the code becomes *confirmed* and the lamp
 * lights. Codes that go with a limp-home are confirmed at once. A cycle in which the monitor ran and found nothing
 * erases a pending code; three such cycles in a row put the lamp out; forty warm-up cycles without the fault, lamp out,
 * erase a confirmed code.
 * Source: 13 CCR 1968.2 (d)(2.2) read; (d)(2.3), (d)(2.4), (e)(15.2.2)(B) (100 rpm below, 200 rpm above target) from
 * memory. Definitions of the codes: SAE J2012 / ISO 15031-6; how sure each wording is stands in the table. */
#ifndef CONTROL_MONITORS_H
#define CONTROL_MONITORS_H

#include <stdbool.h>
#include <stdint.h>

/* Codes in the order of their numbers; what they mean stands in monitor_rows. */
// clang-format off
#define MONITOR_CODE_LIST(CODE)                                                                               \
  CODE(P0101) CODE(P0102) CODE(P0103) CODE(P0106) CODE(P0121) CODE(P0122) CODE(P0123) CODE(P0171) CODE(P0172)  \
  CODE(P0174) CODE(P0222) CODE(P0223) CODE(P0300) CODE(P0505) CODE(P0506) CODE(P0507) CODE(P0508) CODE(P0509)  \
  CODE(P0511) CODE(P0562) CODE(P0638) CODE(P2100)                                                             \
  CODE(P2101) CODE(P2106) CODE(P2111) CODE(P2112) CODE(P2118) CODE(P2119) CODE(P2122) CODE(P2127) CODE(P2135)  \
  CODE(P2138) CODE(P2176)
// clang-format on

enum monitor_code {
#define CODE(name) MONITOR_##name,
  MONITOR_CODE_LIST(CODE)
#undef CODE
      MONITOR_CODE_COUNT
};

/* Enable conditions, as bits. ENABLE(name, text when it is missing). */
// clang-format off
#define MONITOR_ENABLE_LIST(ENABLE)                                                                           \
  ENABLE(key_on, "the key was off")                                                                           \
  ENABLE(running, "the engine was not running")                                                               \
  ENABLE(stopped, "the engine ran, or had run since the key came on")                                         \
  ENABLE(idling, "the pedal was pressed or limp-home in force")                                                                     \
  ENABLE(off_idle, "the engine was idling")                                                                   \
  ENABLE(warm, "the engine was cold")                                                                         \
  ENABLE(settled, "start or change of load too recent")                                                       \
  ENABLE(at_limit, "the controller still had something left")                                                 \
  ENABLE(closed_loop, "the oxygen sensor was not in use")                                                     \
  ENABLE(drive, "the throttle drive was switched off")                                                        \
  ENABLE(voltage, "the battery was low")                                                                      \
  ENABLE(air_flow, "there is no air-flow sensor")                                                             \
  ENABLE(pressure, "there is no pressure sensor")                                                             \
  ENABLE(two_tracks, "there is one position track only")                                                      \
  ENABLE(one_track, "there are two position tracks")                                                          \
  ENABLE(pedal_sensor, "there is no pedal sensor")                                                            \
  ENABLE(electronic, "there is no electronic throttle")                                                       \
  ENABLE(two_banks, "there is one bank only")                                                                 \
  ENABLE(bypass, "there is no idle bypass valve")
// clang-format on

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
  unsigned enabled;        // bits of enum monitor_enable that hold now
  double low_speed_rad_s;  // target less actual speed
  double high_speed_rad_s; // actual less target
  double track_v[2], pedal_v[2], air_flow_v;
  double track_difference_ratio, pedal_difference_ratio; // between the two tracks, share of travel
  double track1_alone_ratio;                             // track 1 against where the blade must be, share of travel
  double air_off_ratio;                                  // air-flow sensor over what it should be, less one
  double pressure_off_pa;                                // pressure sensor less barometer, engine stopped
  double trim_ratio[2];                                  // short and long together
  double misfire_ratio;                                  // of the firings of late
  double position_off_rad;                               // command less what is seen
  double motor_v, motor_a;
  double motor_current_ratio; // measured over expected
  double motor_stall_ratio;   // current over the stall current at this battery voltage
  double body_off_ratio;      // closed stop or rest position against its window
  double not_learned;         // 1 while the closed stop is not learned
  double limp;                // 1 in limp-home
  double battery_v;
  double bypass_low, bypass_high, bypass_open; // 1 where the driver of the bypass valve finds its wire so
};

/* What a code does to the driver's command while its fault is there. */
enum monitor_effect { MONITOR_EFFECT_NONE, MONITOR_EFFECT_REDUCED, MONITOR_EFFECT_REST };

struct monitor_row {
  const char *code;
  const char *text; // SAE J2012 definition
  unsigned enable;  // bits that must all hold
  double (*measure)(const struct monitor_measures *measures);
  double threshold;           // a fault while the measure exceeds this, in the measure's own unit
  double debounce_ratio;      // of the computer's debounce time
  enum monitor_effect effect; // confirmed at once unless NONE
  double user_factor;         // threshold * this is what people read
  const char *user_unit;
  const char *condition; // the fault in words, for lists and summaries
};
extern const struct monitor_row monitor_rows[MONITOR_CODE_COUNT];

enum code_state { CODE_NONE, CODE_PENDING, CODE_CONFIRMED };

struct monitor_state {
  double failing_s;    // how long the fault has been seen without a break
  double passing_s;    // the same for no fault
  bool tested, failed; // in this driving cycle
  bool watched;        // has run for at least one tick in this run
  bool ready;          // has run to an answer since the codes were last cleared
  enum code_state code;
  bool again; // a confirmed code, lamp out, found again once: lights the lamp in the next cycle
  bool lamp;
  int passed_cycles; // in a row, since the lamp lit
  int warm_ups;      // without the fault
  // for the summary, over the whole run
  double longest_failing_s, largest_measure;
};

struct monitors {
  struct monitor_state code[MONITOR_CODE_COUNT];
  unsigned changes; // how often the state of a code may have changed
};

/* Enable bits that can ever hold on an engine with these features (bits of enum feature); the others never do. */
unsigned monitors_possible(unsigned features);

/* One tick of all monitors; returns the strongest effect of the faults that have lasted their debounce time. */
enum monitor_effect monitors_tick(struct monitors *monitors, const struct monitor_measures *measures, double period_s,
                                  double debounce_s);

_Static_assert((int)MONITOR_CODE_COUNT <= 64, "codes at rest are bits, here and in struct settle_point");
/* The bit of a code. */
static inline uint64_t monitors_bit(enum monitor_code code) { return UINT64_C(1) << code; }
/* Of measures that stay as they are: the same effect, and monitors_bit() of each code that sets. */
enum monitor_effect monitors_rest(const struct monitor_measures *measures, uint64_t *codes);

/* Key off after the engine ran: ends the driving cycle. warmed_up: coolant rose 22 K and passed 71 degrees C in it. */
void monitors_end_cycle(struct monitors *monitors, bool warmed_up);

/* The scan tool's command to clear codes. */
void monitors_clear(struct monitors *monitors);

const char *monitors_code_state_name(enum code_state state);

/* The two bytes of a code name on the wire, SAE J2012: P0506 is 05 06. -1 if the name is none. */
int monitors_code_bytes(const char *name);

#endif
