/* NAME=VALUE on the command line: a condition (`film_um=40`) or a number of the engine file by group and key
 * (`idle_air.learned_most_pct=20`). Units are in the names; ranges are those of the files. A name may also end in a US unit in place of
 * its own (`coolant_f=194`, base/us_units.h). */
#ifndef CAR_SETTING_H
#define CAR_SETTING_H

#include "base/error.h"
#include "car/conditions.h"
#include "car/engine.h"

enum { SETTING_NAME_SIZE = 96 };

/* Where a name points. */
struct setting {
  char name[SETTING_NAME_SIZE];
  const struct field *field;
  bool of_engine; // else of the conditions
  size_t base;    // engine: offset of the group's struct within struct engine
};

/* Finds a name; STATUS_USAGE with the nearest that there is. Only numbers and switches can be set. */
MUST_CHECK enum status setting_find(const char *name, struct setting *setting, struct error *error);

/* Checks a value in the user's unit against the row's range; STATUS_USAGE names option, value and range. */
MUST_CHECK enum status setting_check(const struct setting *setting, double value, struct error *error);

void setting_apply(const struct setting *setting, double value, struct engine *engine, struct conditions *conditions);

/* The value of now, user's unit. */
double setting_value(const struct setting *setting, const struct engine *engine, const struct conditions *conditions);

/* Splits "NAME=VALUE" and checks it; *value is in the quantity's own unit. option is for messages. */
MUST_CHECK enum status setting_read(const char *option, const char *text, struct setting *setting, double *value,
                                    struct error *error);

/* The same, and applies it. */
MUST_CHECK enum status setting_apply_text(const char *option, const char *text, struct engine *engine,
                                          struct conditions *conditions, struct error *error);

#endif
