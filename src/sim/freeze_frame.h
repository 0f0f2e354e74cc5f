/* Freeze frame: what the instruments read when the first fault code was stored.
 *
 * It belongs to its code and goes with it: when the codes are cleared, or when that code is erased by itself. A later
 * code then stores a new one. 13 CCR 1968.2 (g)(4.3), from memory: one frame is enough. The regulation lets a fuel-system or
 * misfire code take the place of another's frame; here the first stays. */
#ifndef SIM_FREEZE_FRAME_H
#define SIM_FREEZE_FRAME_H

#include "sim/scan_data.h"

enum freeze_frame_state {
  FREEZE_FRAME_NONE,
  FREEZE_FRAME_STORED,
  FREEZE_FRAME_ERASED, // gone with its code; still here for the account of the run
};

struct freeze_frame {
  enum freeze_frame_state state;
  enum monitor_code code;
  enum code_state stored_as; // what the code was when the frame was stored
  double erased_s;           // when it went
  struct scan_data reading;
};

/* A code became pending or confirmed: stores what is read now, unless there is a frame already. */
void freeze_frame_code_stored(struct freeze_frame *frame, const struct scan_data *now, enum monitor_code code,
                              enum code_state stored_as);

/* A code was erased: its frame goes with it. */
void freeze_frame_code_erased(struct freeze_frame *frame, enum monitor_code code, double time_s);

#endif
