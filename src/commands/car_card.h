/* A car that is described by a card, with readings of good cars: what `fit` and `estimate --car` have in common. */
#ifndef COMMANDS_CAR_CARD_H
#define COMMANDS_CAR_CARD_H

#include "analysis/fit/fit.h"
#include "commands/stretch_option.h"

/* Large, so on the heap, from calloc(). */
struct car_card {
  struct card card;
  struct engine start, nominal; // the shipped engine, and the card's
  struct engine reader;         // the same, all readings being of known meaning
  struct fit_question question;
  struct fit *fit;                              // owned
  const struct command_line *line;              // what is taken from logs is told on stderr; NULL: it is not
  const struct stretch_option_moments *moments; // that its --at speaks of; NULL: it has none
};

/* Finds the shipped engine that the card is like and makes the card's. STATUS_BAD_DATA, or what reading the engine says. */
MUST_CHECK enum status car_card_begin(struct car_card *car, struct error *error);

/* Readings of one more good car. All faults are told in one go: each is appended. */
MUST_CHECK enum status car_card_add(struct car_card *car, const char *path, struct error *error);

/* this_car: the first readings are of the very car. */
MUST_CHECK enum status car_card_fit(struct car_card *car, bool this_car, struct error *error);

/* The engine to estimate with. own: readings of this very car when it was good, which an estimate takes as its baseline, NULL if there are
 * none: then the engine stands where they put it, and is as unsure as without them. */
MUST_CHECK enum status car_card_engine(struct car_card *car, const char *own, struct engine *engine, struct error *error);

/* The engine of a word that is a card (a CSV, or words with an equals sign) or an engine (a file that ends in .cfg, or a shipped one's name).
 * *car: the card's, NULL for an engine; car_card_end() in any case. conditions: take over the card's day. */
struct car_card_source {
  const struct command_line *line; // as those of struct car_card
  const struct stretch_option_moments *moments;
  const char *own; // as of car_card_engine()
};
MUST_CHECK enum status car_card_engine_or_card(const char *word, const struct car_card_source *source, struct car_card **car,
                                               struct engine *engine, struct conditions *conditions, struct error *error);

/* Frees it; NULL is legal. */
void car_card_end(struct car_card *car);

#endif
