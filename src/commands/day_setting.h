/* The day of a visit: NAME=VALUE of the conditions or the engine, and whether anybody has said where the car stands. */
#ifndef COMMANDS_DAY_SETTING_H
#define COMMANDS_DAY_SETTING_H

#include "analysis/estimate/estimate_readings.h"
#include "commands/car_card.h"

struct day_setting {
  size_t count;
  const char *const *texts;   // NAME=VALUE
  const struct car_card *car; // its altitude may stand on it; NULL: none
};

/* Applies them to the engine and its day; where nobody has told the altitude, it is taken as unknown first. *place_unknown: that.
 * STATUS_USAGE: what is looked for, or what readings say themselves, is not set. */
MUST_CHECK enum status day_setting_apply(const struct day_setting *day, struct engine *engine, struct conditions *conditions,
                                         bool *place_unknown, struct error *error);

/* STATUS_USAGE if a NAME=VALUE sets what is looked for, or what readings say themselves. */
MUST_CHECK enum status day_setting_check(const char *text, struct error *error);

/* What the pressure of the air is taken for, and how far it may be off, while readings are taken in. */
void day_setting_air(const struct conditions *conditions, bool place_unknown, struct estimate_readings_input *input);

#endif
