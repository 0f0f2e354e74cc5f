/* What to measure next: how much each test that has not been done would tell about the cause, beside its cost in minutes.
 *
 * Gain: expected fall of the entropy over causes (mutual information, bits) when the test's answer is known; the answer's
 * distribution under each cause is what the posterior of its severity and of the car's deviations predicts. D. V. Lindley, "On a
 * Measure of the Information Provided by an Experiment", Ann. Math. Statist. 27 (1956) 986-1005. */
#ifndef ANALYSIS_ESTIMATE_ESTIMATE_NEXT_H
#define ANALYSIS_ESTIMATE_ESTIMATE_NEXT_H

#include "analysis/estimate/estimate_decide.h"
#include "car/caution.h"

enum { ESTIMATE_NEXT_MAX = 64, ESTIMATE_NEXT_TEXT_SIZE = 400 };

struct estimate_next_test {
  char name[ESTIMATE_NAME_SIZE];      // "maf_gps@idle_ac", "smoke_test"
  char text[ESTIMATE_NEXT_TEXT_SIZE]; // what to do
  double gain_bits, minutes;          // minutes: common practice, no source
  double cost;       // what it comes to with the best step after its answer, money; NaN: no decision is asked for
  uint64_t finds;    // bits of causes that it confirms
  unsigned cautions; // bits of enum caution: what must be known before it is done
};

struct estimate_next {
  double entropy_bits; // what is still open
  size_t count;
  struct estimate_next_test tests[ESTIMATE_NEXT_MAX]; // most gain per minute first
};

/* What is asked for beside the gain. */
struct estimate_next_wish {
  const struct estimate_decide *decide; // NULL: no costs
  bool limited;                         // the scan tool shows only these
  bool shown[ESTIMATE_QUANTITY_COUNT];
};

/* The yes-or-no test that finds this cause most often, for a film light through the gap; its gain is left at 0. False if there is none, or
 * if it has been done. */
bool estimate_next_confirm(const struct estimate *estimate, enum cause cause, const struct estimate_decide *decide,
                           struct estimate_next_test *test);

/* Whether there is a test of this name that says yes or no, light through the gap not counted: that is a reading; and the probability
 * that it says yes where the hypothesis holds: of light through the gap too, that the bore is dirty. NaN: no such look. */
bool estimate_next_is_look(const char *name);
double estimate_next_look_yes(const char *name, const struct estimate_hypothesis *hypothesis);

/* The tests by themselves, whatever is asked: name, text, minutes, cautions, what it finds; gain and cost are left at 0. All of the data
 * stream at a condition; one reading by meter, gauge or torch, or after a load step; and the looks by number, false after the last. */
void estimate_next_stream(const struct engine *engine, enum estimate_condition condition, struct estimate_next_test *test);
void estimate_next_reading(const struct engine *engine, enum estimate_quantity quantity, enum estimate_condition condition,
                           struct estimate_next_test *test);
bool estimate_next_look(const struct engine *engine, size_t look, struct estimate_next_test *test);

/* Probability that the look of this number says yes on a car with this fault. */
double estimate_next_fault_yes(size_t look, const struct estimate_fault *fault);

/* wish: NULL for none. */
MUST_CHECK enum status estimate_next(const struct estimate *estimate, const struct estimate_next_wish *wish,
                                     struct estimate_next *next, struct error *error);

#endif
