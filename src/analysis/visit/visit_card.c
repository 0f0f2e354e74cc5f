#include "analysis/visit/visit_card.h"

#include <stdio.h>
#include <stdlib.h>

const char *const visit_result_names[VISIT_RESULT_COUNT] = {"below", "within", "above", "yes", "no"};
const char *const visit_decision_names[VISIT_DECISION_COUNT] = {"measure", "look", "mend", "search", "hand_back", "read_again"};

void visit_card_cause(const struct visit_card *card, size_t hypothesis, char name[ESTIMATE_NAME_SIZE]) {
  const struct estimate_hypothesis *h = &card->estimate->hypotheses[hypothesis];
  estimate_hypothesis_name(h, name);
  if (estimate_hypothesis_is_unlisted(h))
    snprintf(name, ESTIMATE_NAME_SIZE, "something not listed");
  else if (h->fault.count == 0)
    snprintf(name, ESTIMATE_NAME_SIZE, "nothing wrong");
}

void visit_card_destroy(struct visit_card *card) {
  if (!card) return;
  if (card->estimate) estimate_destroy(card->estimate);
  free(card);
}
