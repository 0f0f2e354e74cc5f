/* Car cards (card.h) from text: a CSV with the columns name and value, and optionally unit; or words, kind=cable,displacement_l=1.4. */
#ifndef CAR_CARD_READ_H
#define CAR_CARD_READ_H

#include "car/card.h"

/* Takes what a CSV says, size bytes; name: for messages. Every fault is appended to the error, with name and line: STATUS_BAD_DATA,
 * STATUS_NO_MEMORY. Whether the entries contradict each other is for card_check(). */
MUST_CHECK enum status card_read_csv(struct card *card, const char *name, const char *text, size_t size, struct error *error);

/* Takes what words say: name=value, with commas between. STATUS_BAD_DATA, appended. */
MUST_CHECK enum status card_read_words(struct card *card, const char *words, struct error *error);

#endif
