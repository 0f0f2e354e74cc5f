/* The boxes of a card: the tests that come next, what a good car reads there, and where each result leads. */
#ifndef ANALYSIS_VISIT_VISIT_BOX_H
#define ANALYSIS_VISIT_VISIT_BOX_H

#include "analysis/visit/visit_card.h"

/* Whether something is written down; else it says yes or no. */
bool visit_box_reads(const struct estimate_next_test *test);

/* Findings and decision are there: lays out the boxes, the decision's own first. STATUS_NO_MEMORY. */
MUST_CHECK enum status visit_box_lay_out(struct visit_card *card, struct error *error);

#endif
