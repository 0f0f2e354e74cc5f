#include "commands/stretch_option.h"

#include "base/attributes.h"
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
  return error_set(error, STATUS_USAGE, "--%s %s: it needs NAME=FROM:TO in seconds, as in %s", option, text, example);
}

static enum status no_phase(const char *option, const char *text, const char *name, struct error *error) {
  const char *names[LOG_PHASE_COUNT];
  for (int i = 0; i < LOG_PHASE_COUNT; i++) names[i] = log_phase_rows[i].name;
  const char *near = near_miss_best(name, names, LOG_PHASE_COUNT);
  if (near)
    return error_set(error, STATUS_USAGE, "--%s %s: there is no phase '%s'; did you mean '%s'?", option, text, name, near);
  return error_set(error, STATUS_USAGE, "--%s %s: there is no phase '%s'; bladegap help phases lists them", option, text, name);
}

/* One that names a phase, behind the first `skip` letters of its name. */
static enum status take_phase(const char *option, const char *text, const struct stretch_option *stretch, size_t skip,
                              struct log_phase *phase, struct error *error) {
  const int kind = log_phase_find(stretch->name + skip);
  if (kind < 0) return no_phase(option, text, stretch->name + skip, error);
  *phase = (struct log_phase){.kind = (enum log_phase_kind)kind, .from_s = stretch->from_s, .to_s = stretch->to_s};
  return STATUS_OK;
}

static enum status check_count(const struct command_line *line, const char *option, size_t *count, struct error *error) {
  *count = options_given(line, option);
  if (*count <= STRETCH_OPTION_MAX) return STATUS_OK;
  return error_set(error, STATUS_USAGE, "--%s: %zu stretches; %d at most", option, *count, STRETCH_OPTION_MAX);
}

enum status stretch_option_phases(const struct command_line *line, const char *option,
                                  struct log_phase phases[STRETCH_OPTION_MAX], size_t *count, struct error *error) {
  enum status status = check_count(line, option, count, error);
  for (size_t i = 0; status == STATUS_OK && i < *count; i++) {
    const char *text = options_text_at(line, option, i);
    struct stretch_option stretch;
    status = stretch_option_read(option, text, "idle=30:60", &stretch, error);
    if (status == STATUS_OK) status = take_phase(option, text, &stretch, 0, &phases[i], error);
  }
  return status;
}

/* Which of the moments a name begins with, and how much of it that is; the count of moments for none. */
static size_t find_moment(const struct stretch_option_moments *moments, const char *name, size_t *skip) {
  for (size_t i = 0; i < moments->count; i++) {
    const size_t length = strlen(moments->names[i]);
    *skip = length + 1;
    if (strncmp(name, moments->names[i], length) == 0 && name[length] == '.') return i;
  }
  *skip = 0;
  return moments->bare ? 0 : moments->count;
}

enum status stretch_option_phases_of(const struct command_line *line, const char *option,
                                     const struct stretch_option_moments *moments, const char *moment,
                                     struct log_phase phases[STRETCH_OPTION_MAX], size_t *count, struct error *error) {
  size_t given;
  enum status status = check_count(line, option, &given, error);
  *count = 0;
  for (size_t i = 0; status == STATUS_OK && i < given; i++) {
    const char *text = options_text_at(line, option, i);
    struct stretch_option stretch;
    struct log_phase phase;
    status = stretch_option_read(option, text, moments->bare ? "idle=30:60" : "before.idle=30:60", &stretch, error);
    if (status != STATUS_OK) return status;
    size_t skip;
    const size_t at = find_moment(moments, stretch.name, &skip);
    if (at == moments->count)
      return error_set(error, STATUS_USAGE, "--%s %s: it must begin with %s. or %s., as in %s.idle=30:60", option, text,
                       moments->names[0], moments->names[moments->count - 1], moments->names[0]);
    status = take_phase(option, text, &stretch, skip, &phase, error); // of another one too: a slip there is one as well
    if (status == STATUS_OK && strcmp(moments->names[at], moment) == 0) phases[(*count)++] = phase;
  }
  return status;
}
