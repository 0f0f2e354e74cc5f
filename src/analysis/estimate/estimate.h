/* From readings to causes: how likely each is, how severe, and how well it explains what was read.
 *
 *   p(cause | y)            ~  rate(cause) * evidence(cause)
 *   evidence(cause)         =  integral over severity of p(y | severity) p(severity), numerically
 *   p(y | severity)            estimate_fit.h: the car's deviations integrated out
 *
 * Severity is integrated over its prior share, 0 to 1, on nodes that are added where the posterior is: its log is taken as
 * linear between nodes. Among the causes is something that is not listed (estimate_unlisted.h), and a film whose computer has just
 * forgotten what it had learned. Pairs are two
 * faults that came independently: the product of their rates. All are screened (estimate_screen.h), the likeliest few fitted; unasked where no
 * single cause explains the readings well. */
#ifndef ANALYSIS_ESTIMATE_ESTIMATE_H
#define ANALYSIS_ESTIMATE_ESTIMATE_H

#include "analysis/estimate/estimate_area.h"
#include "analysis/estimate/estimate_hypothesis.h"
#include "analysis/estimate/estimate_symptoms.h"
#include "base/for_each.h"

enum { ESTIMATE_HYPOTHESIS_MAX = CAUSE_COUNT + 2 + 8 }; // causes, films with a fresh offset, pairs

struct estimate_question {
  const struct engine *engine;
  struct estimate_setting setting;
  struct estimate_readings readings;
  struct estimate_setting baseline_setting;
  struct estimate_readings baseline;  // of the same car when it was good; empty for none
  struct estimate_readings fitted_to; // such readings that the engine was fitted to, where there is no baseline; empty for none
  const struct estimate_symptoms *symptoms; // codes, freeze frame, complaint; NULL: none
  bool pairs;                               // try pairs even where a single cause explains the readings
  bool model_is_car;                        // take no errors of the model into account: for cars that are the model
};

struct estimate {
  const struct estimate_question *question;
  struct estimate_problem problem;
  struct estimate_car_prior prior;         // what is known of the car before the readings
  struct estimate_past past;               // of the baseline; empty without
  struct estimate_discrepancy discrepancy; // of the readings
  double good[ESTIMATE_READING_MAX];       // what a good car is expected to read
  double baseline_p_value;                 // NaN without a baseline
  size_t count;
  size_t order[ESTIMATE_HYPOTHESIS_MAX]; // of hypotheses, likeliest first
  bool pairs_tried;
  double p_value;                                              // of the hypothesis that fits best
  struct estimate_symptoms_told told[ESTIMATE_HYPOTHESIS_MAX]; // what the symptoms say of each, if there are any
  // the film, whatever stands beside it
  double film_probability;
  double film_best_um, film_low_um, film_high_um; // if there is one; best is the mean, within the two
  struct estimate_area area;                      // what it takes of the air's area
  // [0] is "nothing wrong", the last what is not listed; 0.1 MB each, as many as the question has
  struct estimate_hypothesis hypotheses[];
};

/* Whether the very car was read when it was good. */
bool estimate_knows_car(const struct estimate *estimate);

#define ESTIMATE_P_VALUE_LEAST 0.01 // below it, nothing here explains the readings

/* Large, so on the heap. STATUS_NO_MEMORY; STATUS_BAD_DATA if the baseline fits no good car, if an engine without prior rates is
 * asked about, or if no cause at all lets the engine do what was read. The question must outlive the answer. */
MUST_CHECK enum status estimate_create(const struct estimate_question *question, const struct for_each *for_each,
                                       struct estimate **estimate, struct error *error);
void estimate_destroy(struct estimate *estimate);

/* Orders the hypotheses anew by probability. */
void estimate_order(struct estimate *estimate);

#endif
