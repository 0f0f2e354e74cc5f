/* NAME=VALUE on the command line: a condition (`film_um=40`) or a value of the engine file by group and key
 * (`idle_air.learned_most_pct=20`, `fuel.metering=pressure`, `throttle.discharge_by_opening_deg=0:0.66,20:0.7,83:0.9`). Of a key that only one
 * group of the engine has the key will do (`learned_most_pct=20`), but for the tables of rates and deviations, whose keys are names of other
 * things. Units are in the names; ranges are those of the files. A name may also end in a US unit in place of its own (`coolant_f=194`,
 * base/us_units.h). */
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
  bool of_engine;     // else of the conditions
  size_t base;        // engine: offset of the group's struct within struct engine
  struct curve curve; // what setting_read() took for a curve, SI
};

enum { SETTING_TEXT_SIZE = 240 };

/* A factor beyond these is a slip, or another engine. */
#define SETTING_FACTOR_LEAST 0.01
#define SETTING_FACTOR_MOST  100.0

/* Finds the name of a number, a switch or a count; STATUS_USAGE with the nearest that there is. name[] becomes group.key. */
MUST_CHECK enum status setting_find(const char *name, struct setting *setting, struct error *error);

/* Checks a number in the user's unit against the row's range; STATUS_USAGE names option, value and range. */
MUST_CHECK enum status setting_check(const struct setting *setting, double value, struct error *error);

void setting_apply(const struct setting *setting, double value, struct engine *engine, struct conditions *conditions);

/* Whether two are of one place. */
bool setting_is_same(const struct setting *a, const struct setting *b);

/* The value of now as it would be written, cut to fit. */
void setting_write(const struct setting *setting, const struct engine *engine, const struct conditions *conditions,
                   char text[SETTING_TEXT_SIZE]);

/* The value of now, user's unit; a word's place in its list, NaN for a curve. */
double setting_value(const struct setting *setting, const struct engine *engine, const struct conditions *conditions);

/* Splits "NAME=VALUE" and checks it; *value is in the quantity's own unit, a word's place in its list, 0 for a curve. option is for messages. */
MUST_CHECK enum status setting_read(const char *option, const char *text, struct setting *setting, double *value,
                                    struct error *error);

/* The same, and applies it. */
MUST_CHECK enum status setting_apply_text(const char *option, const char *text, struct engine *engine,
                                          struct conditions *conditions, struct error *error);

/* "NAME=FACTOR": multiplies a number or a curve of the engine file, as a group `scale` of a file would. STATUS_USAGE. */
MUST_CHECK enum status setting_scale_text(const char *option, const char *text, struct setting *setting, struct engine *engine,
                                          struct error *error);

#endif
