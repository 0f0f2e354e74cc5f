/* Engines of what one knows of a car: a card, and readings of it when it was good. */
#include "analysis/estimate/estimate_log_text.h"
#include "analysis/fit/fit.h"
#include "car/card_read.h"
#include "library/bladegap_engine.h"

#include <assert.h>
#include <stdlib.h>
#include <string.h>

/* Large, so on the heap. */
struct work {
  struct card card;
  struct engine nominal, reader; // the card's; the same, readings of every kind being of known meaning
  struct fit_question question;
  struct estimate_readings_input input;
  struct fit *fit;
};

static enum status read_card(struct card *card, const char *text, size_t size, struct error *error) {
  card_init(card);
  enum status status = STATUS_OK;
  if (memchr(text, '=', size)) {
    char *words = malloc(size + 1);
    if (!words) return error_set(error, STATUS_NO_MEMORY, "out of memory for a car's card");
    memcpy(words, text, size);
    words[size] = '\0';
    status = card_read_words(card, words, error);
    free(words);
  } else {
    status = card_read_csv(card, "card", text, size, error);
  }
  return status == STATUS_OK ? card_check(card, error) : status;
}

static enum status add_good(struct work *w, const char *good, size_t size, struct error *error) {
  struct fit_question *question = &w->question;
  char *notes = NULL;
  enum status status = estimate_readings_init(&w->input, &w->reader, error);
  if (status == STATUS_OK) status = estimate_log_text_add(&w->input, "good", good, size, &notes, error);
  free(notes); // an estimate that takes them as its baseline tells
  if (status == STATUS_OK) status = estimate_readings_finish(&w->input, &question->settings[0], &question->readings[0], error);
  question->car_count = 1;
  question->this_car = true;
  return status;
}

static enum status fit_again(struct work *w, struct error *error) {
  fit_destroy(w->fit);
  w->fit = NULL;
  return fit_create(&w->question, &w->fit, error);
}

static enum status make(struct work *w, const struct engine *start, const char *good, size_t good_size, struct engine *engine,
                        struct error *error) {
  enum status status = card_engine_make(&w->card, start, &w->nominal, error);
  if (status != STATUS_OK) return status;
  w->reader = w->nominal;
  estimate_scan_know_all(&w->reader);
  w->question = (struct fit_question){.card = &w->card, .start = start, .nominal = &w->nominal};
  estimate_setting_init(&w->question.settings[0]);
  card_engine_day(&w->card, &w->question.settings[0].conditions);
  status = fit_again(w, error);
  if (status != STATUS_OK) return status;
  assert(w->fit); // fit_create() has made it
  *engine = w->fit->engine;
  if (!good) return STATUS_OK;
  const struct scatter_params without = engine->scatter;
  status = add_good(w, good, good_size, error);
  if (status == STATUS_OK) status = fit_again(w, error);
  if (status != STATUS_OK) return status;
  *engine = w->fit->engine;
  engine->scatter = without; // the estimate takes the same readings as its baseline, and narrows it then
  return STATUS_OK;
}

bladegap_engine *bladegap_engine_card(const char *card, size_t size, const char *good, size_t good_size, char *error,
                                      size_t error_size) {
  const struct edge edge = edge_begin(error, error_size);
  if (!card) {
    edge_fail(edge, STATUS_USAGE, "the text of the card is NULL");
    return NULL;
  }
  struct error what;
  error_clear(&what);
  struct work *w = calloc(1, sizeof *w);
  enum status status =
      w ? read_card(&w->card, card, size, &what) : error_set(&what, STATUS_NO_MEMORY, "out of memory for a car's card");
  bladegap_engine *start = NULL, *made = NULL;
  if (status == STATUS_OK) start = bladegap_engine_shipped(card_engine_start(&w->card), error, error_size);
  if (start) made = bladegap_engine_copy(start, error, error_size);
  if (made) status = make(w, &start->engine, good, good_size, &made->engine, &what);
  if (made && status == STATUS_OK) {
    card_engine_day(&w->card, &made->query.conditions);
    made->place_told = card_has(&w->card, CARD_altitude_m);
  }
  if (status != STATUS_OK) {
    edge_tell(edge, &what);
    bladegap_engine_destroy(made);
    made = NULL;
  }
  bladegap_engine_destroy(start);
  if (w) fit_destroy(w->fit);
  free(w);
  return made;
}
