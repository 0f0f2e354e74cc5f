/* What if: --set NAME=VALUE, --set NAME@T=VALUE and --freeze, on a scenario that stays as it is in its file. */
#ifndef COMMANDS_WHAT_IF_H
#define COMMANDS_WHAT_IF_H

#include "car/setting.h"
#include "commands/options.h"
#include "sim/scenario.h"

#include <stdio.h>

struct json;

enum { WHAT_IF_NOTE_MAX = 64, WHAT_IF_NOTE_SIZE = 320, WHAT_IF_NAME_SIZE = 120 };

/* Rows for the options of a command. */
extern const char *const what_if_freeze_names[];
#define WHAT_IF_SET_ROW \
  OPTION_ROW_TEXTS("set", "NAME=VALUE", \
                   "a condition for the whole run, whatever the timeline says (film_um=60), an engine parameter " \
                   "(idle_air.learned_most_pct=20), or NAME@T=VALUE for a step at T seconds (film_um@30=0, key@60=off, " \
                   "action@60=reset_learned)")
#define WHAT_IF_FREEZE_ROW \
  { \
    "freeze", OPTION_CHOICE, "WHAT", 0, 0, what_if_freeze_names, true, \
        "freeze from the first moment on: controller (idle air, spark and trims), learned (the learned idle-air offset) or " \
        "spark (idle spark)" \
  }

/* And with it ENGINE_OPTIONS_SCALE_ROW. */

/* What was changed, for people. */
struct what_if {
  bool engine_changed;                // by a value of its file or a factor
  char name[WHAT_IF_NAME_SIZE];       // "film_um=60 leak_mm2=3"; empty: nothing was changed
  char suffix[WHAT_IF_NAME_SIZE + 1]; // of a folder: "-film_um=60+leak_mm2=3"
  size_t count;
  char notes[WHAT_IF_NOTE_MAX][WHAT_IF_NOTE_SIZE];
};

/* what: empty, or with notes already. Changes scenario and engine as the options of the line say, and notes what of the scenario, changed or not, does nothing on this
 * engine; that values of the engine agree is still to be checked. path: the scenario's, for messages. STATUS_USAGE. */
MUST_CHECK enum status what_if_apply(const struct command_line *line, const char *path, struct engine *engine,
                                     struct scenario *scenario, struct what_if *what, struct error *error);

/* Takes out of the timeline what is to be varied, and notes which steps that replaces. */
void what_if_vary(struct what_if *what, struct scenario *scenario, const struct setting *setting);

/* STATUS_USAGE if a --set of the line that holds from the start is a fault of something that the engine has not. */
MUST_CHECK enum status what_if_check_sets(const struct command_line *line, const struct engine *engine, struct error *error);

/* Notes a condition that is set although the engine has nothing that it could act on. */
void what_if_note_idle(struct what_if *what, const struct engine *engine, const struct conditions *conditions);

/* A line each; nothing if there are none. */
void what_if_print(const struct what_if *what, FILE *stream);

/* The array "what_if", if there are any. */
void what_if_put_json(const struct what_if *what, struct json *json);

#endif
