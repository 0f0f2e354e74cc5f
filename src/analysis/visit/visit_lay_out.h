/* From a visit to its card: the estimate, what looks and codes say, what to do now, the boxes. */
#ifndef ANALYSIS_VISIT_VISIT_LAY_OUT_H
#define ANALYSIS_VISIT_VISIT_LAY_OUT_H

#include "analysis/visit/visit_card.h"

/* question: engine, setting, readings and symptoms of the visit; it and the visit must outlive the card. wish: NULL for none.
 * STATUS_NO_MEMORY, or what estimate_create() says. visit_card_destroy() in any case; NULL is legal. */
MUST_CHECK enum status visit_lay_out(const struct visit *visit, const struct estimate_question *question,
                                     const struct estimate_findings_wish *wish, const struct for_each *for_each,
                                     struct visit_card **card, struct error *error);

#endif
