/* Options that say what brought the car in: codes, freeze frame, complaint. */
#ifndef COMMANDS_SYMPTOMS_OPTIONS_H
#define COMMANDS_SYMPTOMS_OPTIONS_H

#include "analysis/estimate/estimate_symptoms.h"
#include "commands/options.h"

// clang-format off
#define SYMPTOMS_OPTION_ROWS                                                                                                        \
  OPTION_ROW_TEXTS("codes", "CODE,...|none", "all stored codes, as P0506,P0171, or none: codes that are not stored count as evidence too"), \
  OPTION_ROW_FLAG("codes-unknown", "there may be more codes than those of --codes, so that only these count as evidence"),                     \
  OPTION_ROW_TEXT("freeze-frame", "NAME=VALUE,...|FILE",                                                                            \
                  "the freeze frame, as speed_rpm=702,coolant_c=90, or a CSV with the columns name, value and optionally unit; it counts if it is from warm idle"),                                                                                       \
  OPTION_ROW_TEXT("complaint", "WHAT", "what the driver says: low-idle, high-idle, stalls, hunts, no-response or slow-start")
// clang-format on

/* What the line says; setting: the day. Every fault is appended to the error: STATUS_USAGE for what stands on the line, STATUS_BAD_DATA
 * and STATUS_NO_INPUT for a file. */
MUST_CHECK enum status symptoms_options_take(const struct command_line *line, const struct engine *engine,
                                             const struct estimate_setting *setting, struct estimate_symptoms *symptoms,
                                             struct error *error);

#endif
