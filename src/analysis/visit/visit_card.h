/* The card of a visit: what its codes mean on this car, which tests come first, what each result leads to, and what to do now.
 *
 *   order     gain per minute of estimate_next(); the step to take, and the look that confirms it, of estimate_steps()
 *   values    what a good car of this kind reads, ESTIMATE_INTERVAL of the predictive distribution
 *   branch    p(result | cause) of the predictive distribution (a reading) or of the look; p(cause | result) by Bayes' rule from what is
 *             known now, that result alone; then on to the box that finds the likeliest cause
 *   looks     done ones weigh the causes: p(cause) p(answer | cause)
 *
 * A decision to clean or to buy needs the look that confirms it to have said yes. */
#ifndef ANALYSIS_VISIT_VISIT_CARD_H
#define ANALYSIS_VISIT_VISIT_CARD_H

#include "analysis/estimate/estimate_findings.h"
#include "analysis/visit/visit.h"

enum visit_result { VISIT_BELOW, VISIT_WITHIN, VISIT_ABOVE, VISIT_YES, VISIT_NO, VISIT_RESULT_COUNT };
extern const char *const visit_result_names[VISIT_RESULT_COUNT];

enum { VISIT_BOX_MAX = 5, VISIT_VALUE_MAX = 12, VISIT_BRANCH_MAX = 3, VISIT_CODE_CAUSE_MAX = 3 };

struct visit_branch {
  enum visit_result result;
  double probability;       // of the result, by what is known now
  size_t cause;             // hypothesis that is likeliest then
  double cause_probability; // then
  size_t box;               // to go on with, counted from 0; VISIT_BOX_MAX: fill in the card and ask again
};

struct visit_value {
  struct estimate_reading reading; // its value has no meaning
  double low, high;                // of a good car; NaN: not worked out
};

struct visit_box {
  struct estimate_next_test test; // with its cautions
  bool reads;                     // values are written down; else yes or no
  size_t value_count;
  struct visit_value values[VISIT_VALUE_MAX]; // the most telling first, whose branches those are
  size_t branch_count;
  struct visit_branch branches[VISIT_BRANCH_MAX];
};

struct visit_code {
  enum monitor_code code;
  bool stored;
  double film_um,
      film_most_um; // from where on a film sets it on the nominal car at warm idle, NaN: no film up to the most that is tried
  size_t cause_count;
  size_t causes[VISIT_CODE_CAUSE_MAX]; // hypotheses that set it most often and are likely enough
};

enum visit_decision_kind {
  VISIT_MEASURE,
  VISIT_LOOK,
  VISIT_MEND,
  VISIT_SEARCH,
  VISIT_HAND_BACK,
  VISIT_READ_AGAIN,
  VISIT_DECISION_COUNT
};
extern const char *const visit_decision_names[VISIT_DECISION_COUNT];

struct visit_decision {
  enum visit_decision_kind kind;
  char name[ESTIMATE_NAME_SIZE], text[ESTIMATE_NEXT_TEXT_SIZE];
  double minutes;    // NaN: not told
  unsigned cautions; // bits of enum caution: before it
  uint64_t remedies; // VISIT_MEND: bits of rows
  bool cleans;       // the bore
};

/* Large, so on the heap. */
struct visit_card {
  const struct visit *visit;
  struct estimate *estimate; // owned
  struct estimate_findings findings;
  size_t code_count;
  struct visit_code codes[MONITOR_CODE_COUNT];
  size_t box_count;
  struct visit_box boxes[VISIT_BOX_MAX];
  struct visit_decision decision;
};

/* NULL is legal. */
void visit_card_destroy(struct visit_card *card);

/* What a hypothesis is called: "film", "nothing", "something not listed". */
void visit_card_cause(const struct visit_card *card, size_t hypothesis, char name[ESTIMATE_NAME_SIZE]);

#endif
