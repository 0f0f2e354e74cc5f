/* How likely the symptoms are with each cause, and what that does to its probability.
 *
 *   p(symptoms | cause, severity, readings) = p(codes) p(frame) p(complaint),  each a mean over cars as the readings leave them
 *
 *   code        b(p) if it is stored, b(1 - p) if it is known not to be;  b(p) = e + (1 - 2 e) p, e = 1/21, so that no code is worth more than
 *               a factor of 20, whatever the model says: a code may be old, or of a monitor that is defined otherwise
 *               p = Phi( ln(measure / limit) / 0.25 ): limits of a real car's monitors are known to some 25 % (0.05 for volts). Codes that
 *               watch the same thing depend on each other: the least likely of them counts for all
 *   frame       f + (1 - f) exp(-chi2 / 2), f = 1/20: another moment, so three times an instrument's error and a quarter of what
 *               something unlisted may move (estimate_discrepancy_rows), tied to no reading
 *   complaint   c + (1 - c) p, c = 1/6: drivers word it as they do
 *
 * A car as used is not only the car of today: with a share of one quarter its learned idle air is forgotten, for a battery that was off,
 * or as a real computer may learn less than ours. So a film that is learned in full may have set a code all the same. What is left on or
 * read cold today was not so then. What is not listed shows each of it as often as the listed causes do on average, and a code that none of
 * them sets in one case of four.
 *
 * All these figures are assumptions of ours; limits of monitors: common practice, no source. */
#ifndef ANALYSIS_ESTIMATE_ESTIMATE_SYMPTOMS_WEIGH_H
#define ANALYSIS_ESTIMATE_ESTIMATE_SYMPTOMS_WEIGH_H

#include "analysis/estimate/estimate_search.h"
#include "analysis/estimate/estimate_symptoms.h"
#include "base/for_each.h"

#define ESTIMATE_SYMPTOMS_CODE_FACTOR      20.0 // more than this no code is worth,
#define ESTIMATE_SYMPTOMS_FRAME_FACTOR     20.0 // no frame,
#define ESTIMATE_SYMPTOMS_COMPLAINT_FACTOR 6.0  // and no complaint

/* Probability that a monitor finds its fault, 0 where it does not run; rises with what it measures. */
double estimate_symptoms_weigh_code(enum monitor_code code, const struct monitor_measures *measures);

/* Probability that the driver says so of an engine that idles (or does not run) like this; good_rpm: what he is used to. misfires: that its
 * firings fail so often that it sets a code. */
double estimate_symptoms_weigh_complaint(enum estimate_complaint complaint, const struct estimate_point *idle, double good_rpm,
                                         double misfires);

/* Firings that fail, of all, which no settled point knows: those of one cylinder, 0 to 1. */
double estimate_symptoms_weigh_misfires(const struct engine *engine, const struct estimate_fault *fault);

/* Log likelihood of codes of which code[] are the probabilities, NaN for those that are not monitored. */
double estimate_symptoms_weigh_codes(const struct estimate_symptoms *symptoms, const double code[MONITOR_CODE_COUNT]);

/* An estimate that is otherwise done. */
struct estimate_symptoms_case {
  const struct estimate_symptoms *symptoms; // NULL: none
  const struct estimate_problem *problem;
  size_t count;
  struct estimate_hypothesis *hypotheses; // [count]; [0] is "nothing wrong"
  struct estimate_symptoms_told *told;    // [count], written
};

/* Weighs the nodes of all hypotheses, and tells what came of it; does nothing where no symptom is given. workers: as of the estimate.
 * False: out of memory. */
MUST_CHECK bool estimate_symptoms_weigh(const struct estimate_symptoms_case *what, struct estimate_worker *workers,
                                        const struct for_each *for_each);

#endif
