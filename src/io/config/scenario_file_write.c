#include "io/config/scenario_file_write.h"

#include "io/config/config_put.h"
#include "io/config/config_text.h"
#include "io/format/output_file.h"

#include <limits.h>
#include <stdlib.h>
#include <string.h>

/* A scenario file holds UTF-8 alone; a record may hold other bytes, and of such a text only the letters of ASCII are kept. */
static void put_text(FILE *stream, const char *text) {
  const bool plain = config_text_is_plain(text);
  fputc('"', stream);
  for (; *text; text++) {
    const unsigned char byte = (unsigned char)*text;
    config_put_letter(byte < 0x20 || byte == 0x7F ? ' ' : byte > 0x7F && !plain ? '?' : byte, stream);
  }
  fputc('"', stream);
}

static void put_condition(FILE *stream, const struct field *field, double value) {
  fprintf(stream, " %s = ", field->key);
  if (field->kind == FIELD_SWITCH)
    fputs(value > 0.5 ? "true" : "false", stream);
  else
    config_put_real(field, value, stream);
  fputc(';', stream);
}

static void put_top(FILE *stream, const struct scenario *scenario, const char *engine) {
  fputs("title = ", stream);
  put_text(stream, scenario->title);
  fputs(";\nengine = ", stream);
  put_text(stream, engine);
  fputs(";\nduration_s = ", stream);
  config_put_real(NULL, scenario->duration_s, stream);
  fputs(";\nrecord_s = ", stream);
  config_put_real(NULL, scenario->record_s, stream);
  fprintf(stream, ";\nseed = %d;\nstart = \"%s\";\n", (int)scenario->seed, scenario_start_names[scenario_start_of(scenario)]);
  if (scenario->film_on_demand && !scenario->settled) fputs("film_tables = \"on_demand\";\n", stream);
  if (scenario->solver[0]) fprintf(stream, "solver = \"%s\";\n", scenario->solver);
  fputs("initial = {", stream);
  struct conditions usual;
  conditions_init(&usual);
  for (size_t i = 0; i < condition_count; i++) {
    const struct field *field = &condition_rows[i].field;
    const double value = conditions_value(&scenario->initial, field), other = conditions_value(&usual, field);
    if (value < other || value > other) put_condition(stream, field, value);
  }
  fputs(" };\n", stream);
}

/* Until when each condition's ramp runs, so that a step which cuts it short says so. */
static bool ends_ramp(const struct scenario_step *step, double until_s[CONDITION_MOST]) {
  bool ends = false;
  for (size_t i = 0; i < step->set_count; i++) {
    double *until = &until_s[step->sets[i].condition];
    if (step->at_s < *until) ends = true;
    *until = step->at_s + step->ramp_s;
  }
  return ends;
}

static void put_step(FILE *stream, const struct scenario_step *step, bool ends) {
  fputs("  { at_s = ", stream);
  config_put_real(NULL, step->at_s, stream);
  fputc(';', stream);
  for (size_t i = 0; i < step->set_count; i++)
    put_condition(stream, &condition_rows[step->sets[i].condition].field, step->sets[i].value);
  if (step->ramp_s > 0.0) {
    fputs(" ramp_s = ", stream);
    config_put_real(NULL, step->ramp_s, stream);
    fputc(';', stream);
  }
  if (ends) fputs(" ends_ramp = true;", stream);
  if (step->key >= 0) fprintf(stream, " key = \"%s\";", computer_key_names[step->key]);
  if (step->action != SCENARIO_ACTION_NONE) fprintf(stream, " action = \"%s\";", scenario_action_names[step->action]);
  if (step->note[0]) {
    fputs(" note = ", stream);
    put_text(stream, step->note);
    fputc(';', stream);
  }
  fputs(" }", stream);
}

static void put_timeline(FILE *stream, const struct scenario *scenario) {
  double until_s[CONDITION_MOST] = {0};
  size_t put = 0;
  fputs("timeline = (", stream);
  for (size_t i = 0; i < scenario->step_count; i++) {
    const struct scenario_step *step = &scenario->steps[i];
    if (step->at_s > scenario->duration_s) continue;
    fputs(put++ ? ",\n" : "\n", stream);
    put_step(stream, step, ends_ramp(step, until_s));
  }
  fputs("\n);\n", stream);
}

enum status scenario_file_write(const char *path, const struct scenario *scenario, const char *engine, struct error *error) {
  if (scenario->seed > INT_MAX)
    return error_set(error, STATUS_USAGE, "%s: a scenario file holds seeds up to %d; a record holds this one", path, INT_MAX);
  struct output_file *file = calloc(1, sizeof *file);
  if (!file) return error_set(error, STATUS_NO_MEMORY, "out of memory for %s", path);
  enum status status = output_file_open(file, path, error);
  if (status == STATUS_OK) {
    put_top(file->stream, scenario, engine);
    put_timeline(file->stream, scenario);
    status = output_file_commit(file, error);
  }
  free(file);
  return status;
}
