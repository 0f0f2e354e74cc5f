/* What brought the car in: codes that were stored, the freeze frame that goes with one, and what the driver says. Evidence beside the
 * readings (estimate_symptoms_weigh.h has its likelihood).
 *
 * Codes: those of the engine's monitors are taken, any other of the right form is kept by name and left out. A list is all that was
 * stored unless it is called incomplete; only then is a code that is not on it taken for not stored.
 * Freeze frame: NAME=VALUE of another moment, names and units as those of readings. It says itself whether it was taken at warm idle;
 * at anything else it is left out, and why. */
#ifndef ANALYSIS_ESTIMATE_ESTIMATE_SYMPTOMS_H
#define ANALYSIS_ESTIMATE_ESTIMATE_SYMPTOMS_H

#include "analysis/estimate/estimate_readings.h"

/* COMPLAINT(name, what the driver says) */
// clang-format off
#define ESTIMATE_COMPLAINT_LIST(COMPLAINT)                                     \
  COMPLAINT(low_idle, "low-idle", "it idles too low")                          \
  COMPLAINT(high_idle, "high-idle", "it idles too high")                       \
  COMPLAINT(stalls, "stalls", "it stalls")                                     \
  COMPLAINT(hunts, "hunts", "its idle hunts, or is rough")                     \
  COMPLAINT(no_response, "no-response", "it does not answer the pedal")        \
  COMPLAINT(slow_start, "slow-start", "it starts badly")
// clang-format on

enum estimate_complaint {
#define COMPLAINT(member, name, text) ESTIMATE_COMPLAINT_##member,
  ESTIMATE_COMPLAINT_LIST(COMPLAINT)
#undef COMPLAINT
      ESTIMATE_COMPLAINT_COUNT
};

struct estimate_complaint_row {
  const char *name, *text;
};
extern const struct estimate_complaint_row estimate_complaints[ESTIMATE_COMPLAINT_COUNT];

/* ESTIMATE_COMPLAINT_COUNT if there is none of this name; underscores count as hyphens. */
enum estimate_complaint estimate_complaint_find(const char *name);

enum { ESTIMATE_SYMPTOMS_STRANGE_MAX = 16, ESTIMATE_SYMPTOMS_CODE_SIZE = 6 };

struct estimate_symptoms {
  bool codes_given;      // false: nobody has looked
  bool codes_incomplete; // there may be others than those that are given
  uint64_t stored;       // monitors_bit() of each
  size_t strange_count;
  char strange[ESTIMATE_SYMPTOMS_STRANGE_MAX][ESTIMATE_SYMPTOMS_CODE_SIZE]; // that no monitor of this engine sets: left out
  enum estimate_complaint complaint;                                        // ESTIMATE_COMPLAINT_COUNT: none
  bool frame_given;
  const char *frame_left_out;     // why, a sentence's end; NULL: it is taken
  struct estimate_readings frame; // at warm idle; those that speak of a cause
};

/* Nothing known yet. */
void estimate_symptoms_init(struct estimate_symptoms *symptoms);

/* True if any of it is known. */
bool estimate_symptoms_given(const struct estimate_symptoms *symptoms);

/* Adds "P0506,P0171" or "none". option: as it is called on the command line, for messages. Every fault is appended to the error:
 * STATUS_USAGE for what is no code, for one that is there already, for none beside others, and for too many that are not ours. */
MUST_CHECK enum status estimate_symptoms_add_codes(struct estimate_symptoms *symptoms, const struct engine *engine,
                                                   const char *option, const char *text, struct error *error);

/* The complaint by its name: STATUS_USAGE with what may have been meant. */
MUST_CHECK enum status estimate_symptoms_set_complaint(struct estimate_symptoms *symptoms, const char *option, const char *name,
                                                       struct error *error);

/* A freeze frame in the making. */
struct estimate_symptoms_frame {
  struct estimate_readings_input input;
  double speed_kph; // of the car; NaN: not told
};

/* STATUS_NO_MEMORY. setting: the day, for the pressure outside. The engine must outlive the frame. */
MUST_CHECK enum status estimate_symptoms_frame_init(struct estimate_symptoms_frame *frame, const struct engine *engine,
                                                    const struct estimate_setting *setting, struct error *error);

/* Adds NAME=VALUE, a unit behind it where it is another than that of the name; place: for messages. vehicle_speed_kph is taken as well.
 * Faults are appended to the error: STATUS_USAGE. */
MUST_CHECK enum status estimate_symptoms_frame_add(struct estimate_symptoms_frame *frame, const char *place, const char *text,
                                                   struct error *error);

/* The same for several with commas between them. */
MUST_CHECK enum status estimate_symptoms_frame_add_list(struct estimate_symptoms_frame *frame, const char *place,
                                                        const char *text, struct error *error);

/* When all is in: whether it was warm idle, and what of it speaks. */
void estimate_symptoms_frame_finish(const struct estimate_symptoms_frame *frame, struct estimate_symptoms *symptoms);

/* ---- what came of it ---- */

/* Probability that a car with the cause, as severe as the readings leave it, shows it; over the engine's monitors. NaN: not looked at. */
struct estimate_symptoms_told {
  bool looked; // false: too unlikely by the readings to be worth it; it is taken as an average cause
  double code[MONITOR_CODE_COUNT];
  double complaint;
  double frame;                               // density against that of a frame that is met exactly
  double log_codes, log_complaint, log_frame; // log likelihood of each; 0 where nothing was given
};

#endif
