#include "sim/freeze_frame.h"

void freeze_frame_code_stored(struct freeze_frame *frame, const struct scan_data *now, enum monitor_code code,
                              enum code_state stored_as) {
  if (frame->state == FREEZE_FRAME_STORED) return;
  *frame = (struct freeze_frame){.state = FREEZE_FRAME_STORED, .code = code, .stored_as = stored_as};
  frame->reading = *now;
}

void freeze_frame_code_erased(struct freeze_frame *frame, enum monitor_code code, double time_s) {
  if (frame->state != FREEZE_FRAME_STORED || frame->code != code) return;
  frame->state = FREEZE_FRAME_ERASED;
  frame->erased_s = time_s;
}
