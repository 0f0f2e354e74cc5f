#include "commands/stretch_option.h"

#include "base/near_miss.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

enum status stretch_option_read(const char *option, const char *text, const char *example, struct stretch_option *stretch,
                                struct error *error) {
  enum { SIZE = STRETCH_OPTION_NAME_SIZE };
  const char *equals = strchr(text, '='), *colon = equals ? strchr(equals, ':') : NULL;
  char number[2][SIZE];
  stretch->from_s = -INFINITY;
  stretch->to_s = INFINITY;
  if (equals && colon && equals - text < SIZE && colon - equals <= SIZE && strlen(colon + 1) < SIZE) {
    snprintf(stretch->name, SIZE, "%.*s", (int)(equals - text), text);
    snprintf(number[0], SIZE, "%.*s", (int)(colon - equals - 1), equals + 1);
    snprintf(number[1], SIZE, "%s", colon + 1);
    const bool good = (!number[0][0] || options_read_real(number[0], &stretch->from_s)) &&
                      (!number[1][0] || options_read_real(number[1], &stretch->to_s));
    if (good && stretch->from_s < stretch->to_s) return STATUS_OK;
    if (good)
      return error_set(error, STATUS_USAGE, "--%s %s: %g s is not before %g s", option, text, stretch->from_s, stretch->to_s);
  }
  return error_set(error, STATUS_USAGE, "--%s %s: it wants NAME=FROM:TO in seconds, as in %s", option, text, example);
}

static enum status no_phase(const char *option, const char *text, const char *name, struct error *error) {
  const char *names[LOG_PHASE_COUNT];
  for (int i = 0; i < LOG_PHASE_COUNT; i++) names[i] = log_phase_rows[i].name;
  const char *near = near_miss_best(name, names, LOG_PHASE_COUNT);
  if (near)
    return error_set(error, STATUS_USAGE, "--%s %s: there is no phase '%s'; did you mean '%s'?", option, text, name, near);
  return error_set(error, STATUS_USAGE, "--%s %s: there is no phase '%s'; bladegap help phases lists them", option, text, name);
}

enum status stretch_option_phases(const struct command_line *line, const char *option,
                                  struct log_phase phases[STRETCH_OPTION_MAX], size_t *count, struct error *error) {
  *count = options_given(line, option);
  if (*count > STRETCH_OPTION_MAX)
    return error_set(error, STATUS_USAGE, "--%s: %zu stretches; %d at most", option, *count, STRETCH_OPTION_MAX);
  for (size_t i = 0; i < *count; i++) {
    const char *text = options_text_at(line, option, i);
    struct stretch_option stretch;
    const enum status status = stretch_option_read(option, text, "idle=30:60", &stretch, error);
    if (status != STATUS_OK) return status;
    const int kind = log_phase_find(stretch.name);
    if (kind < 0) return no_phase(option, text, stretch.name, error);
    phases[i] = (struct log_phase){.kind = (enum log_phase_kind)kind, .from_s = stretch.from_s, .to_s = stretch.to_s};
  }
  return STATUS_OK;
}
