/* Asks for the entries of a car card, one after the other. */
#ifndef COMMANDS_CARD_ASK_H
#define COMMANDS_CARD_ASK_H

#include "car/card.h"

#include <stdio.h>

/* Asks for what is open on the card: prints each question, and reads a line. An empty one leaves it open, as does the end of the input; a
 * faulty one is told and asked again. */
void card_ask(FILE *answers, FILE *questions, struct card *card);

#endif
