#include "commands/car_card.h"

#include "commands/engine_any.h"
#include "commands/readings_option.h"
#include "io/config/card_file.h"

#include <stdlib.h>
#include <string.h>

enum status car_card_begin(struct car_card *car, struct error *error) {
  enum status status = engine_any_read(card_engine_start(&car->card), &car->start, error);
  if (status == STATUS_OK) status = card_engine_make(&car->card, &car->start, &car->nominal, error);
  if (status != STATUS_OK) return status;
  car->reader = car->nominal;
  estimate_scan_know_all(&car->reader);
  car->question = (struct fit_question){.card = &car->card, .start = &car->start, .nominal = &car->nominal};
  return STATUS_OK;
}

static enum status add(struct car_card *car, const struct readings_option *option, const char *path, struct error *error) {
  struct fit_question *question = &car->question;
  if (question->car_count == FIT_CAR_MAX)
    return error_append(error, STATUS_USAGE, "%s: at most %d good cars are accepted", path, FIT_CAR_MAX);
  struct estimate_readings_input *input = calloc(1, sizeof *input);
  if (!input) return error_append(error, STATUS_NO_MEMORY, "out of memory for %s", path);
  const size_t i = question->car_count;
  estimate_setting_init(&question->settings[i]);
  card_engine_day(&car->card, &question->settings[i].conditions);
  enum status status = estimate_readings_init(input, &car->reader, error);
  if (status == STATUS_OK) status = readings_option_add(option, path, input, error);
  if (status == STATUS_OK) status = estimate_readings_finish(input, &question->settings[i], &question->readings[i], error);
  if (status == STATUS_OK) question->car_count++;
  free(input);
  return status;
}

enum status car_card_add(struct car_card *car, const char *path, struct error *error) {
  return add(car, &(struct readings_option){.line = car->line, .moments = car->moments, .moment = "clean"}, path, error);
}

enum status car_card_fit(struct car_card *car, bool this_car, struct error *error) {
  fit_destroy(car->fit);
  car->fit = NULL;
  car->question.this_car = this_car;
  return fit_create(&car->question, &car->fit, error);
}

/* The readings that were added last become the first car's. */
static void move_last_to_front(struct fit_question *question) {
  const size_t last = question->car_count - 1;
  const struct estimate_setting setting = question->settings[last];
  struct estimate_readings *readings = malloc(sizeof *readings);
  if (!readings) return;
  *readings = question->readings[last];
  memmove(&question->settings[1], &question->settings[0], last * sizeof question->settings[0]);
  memmove(&question->readings[1], &question->readings[0], last * sizeof question->readings[0]);
  question->settings[0] = setting;
  question->readings[0] = *readings;
  free(readings);
}

enum status car_card_engine(struct car_card *car, const char *own, struct engine *engine, struct error *error) {
  enum status status = car_card_fit(car, false, error);
  if (status != STATUS_OK) return status;
  // the fit is there where its status is OK. NOLINTNEXTLINE(clang-analyzer-core.NullDereference)
  *engine = car->fit->engine;
  if (!own) return STATUS_OK;
  const struct scatter_params without = car->fit->engine.scatter;
  // an estimate reads it as its baseline as well, and tells then
  status = add(car, &(struct readings_option){car->line, car->moments, "baseline", NULL, true}, own, error);
  if (status != STATUS_OK) return status;
  move_last_to_front(&car->question);
  status = car_card_fit(car, true, error);
  if (status != STATUS_OK) return status;
  *engine = car->fit->engine;
  engine->scatter = without;
  return STATUS_OK;
}

static bool is_card(const char *word) {
  const char *slash = strrchr(word, '/'), *dot = strrchr(slash ? slash : word, '.');
  return strchr(word, '=') || (dot && strcmp(dot, ".cfg") != 0);
}

enum status car_card_engine_or_card(const char *word, const struct car_card_source *source, struct car_card **result,
                                    struct engine *engine, struct conditions *conditions, struct error *error) {
  *result = NULL;
  if (!is_card(word)) return engine_any_read(word, engine, error);
  struct car_card *car = *result = calloc(1, sizeof *car);
  if (!car) return error_set(error, STATUS_NO_MEMORY, "out of memory for a car's card");
  car->line = source->line;
  car->moments = source->moments;
  enum status status = card_file_read_or_words(word, &car->card, error);
  if (status == STATUS_OK) status = car_card_begin(car, error);
  if (status == STATUS_OK) status = car_card_engine(car, source->own, engine, error);
  if (status == STATUS_OK) card_engine_day(&car->card, conditions);
  return status;
}

void car_card_end(struct car_card *car) {
  if (!car) return;
  fit_destroy(car->fit);
  free(car);
}
