#include "commands/engine_options.h"

#include <stdio.h>
#include <string.h>

/* The title says that it is no more the engine of the file: "...; friction.constant_bar=0.5". */
static void add_to_title(struct engine *engine, const char *text, const char *relation) {
  const size_t used = strlen(engine->title);
  const int name = (int)strcspn(text, "=");
  const size_t room = sizeof engine->title - used;
  const int size = snprintf(engine->title + used, room, "; %.*s%s%s", name, text, relation, text + name + 1);
  if (size > 0 && (size_t)size >= room) memcpy(engine->title + sizeof engine->title - sizeof "...", "...", sizeof "...");
}

static enum status set_one(const char *text, struct engine *engine, struct conditions *conditions, struct error *error) {
  struct setting setting;
  double value;
  const enum status status = setting_read("set", text, &setting, &value, error);
  if (status != STATUS_OK) return status;
  if (!setting.of_engine && !conditions)
    return error_set(
        error, STATUS_USAGE,
        "--set %s: %s is a condition, and each test sets its own conditions; only values of the engine file can be set here",
        text, setting.name);
  setting_apply(&setting, value, engine, conditions);
  if (setting.of_engine) add_to_title(engine, text, "=");
  return STATUS_OK;
}

enum status engine_options_apply(const struct command_line *line, struct engine *engine, struct conditions *conditions,
                                 struct error *error) {
  enum status status = STATUS_OK;
  for (size_t i = 0; status == STATUS_OK && i < options_given(line, "set"); i++)
    status = set_one(options_text_at(line, "set", i), engine, conditions, error);
  for (size_t i = 0; status == STATUS_OK && i < options_given(line, "scale"); i++) {
    struct setting setting;
    const char *text = options_text_at(line, "scale", i);
    status = setting_scale_text("scale", text, &setting, engine, error);
    if (status == STATUS_OK) add_to_title(engine, text, " times ");
  }
  return status;
}
