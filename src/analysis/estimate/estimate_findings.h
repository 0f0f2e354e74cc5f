/* All that an estimate has to tell, worked out: causes beside what they let expect, why, what to measure next, what to expect after
 * a clean, what it cannot know. A report words it, a library hands it out. */
#ifndef ANALYSIS_ESTIMATE_ESTIMATE_FINDINGS_H
#define ANALYSIS_ESTIMATE_ESTIMATE_FINDINGS_H

#include "analysis/estimate/estimate_after.h"
#include "analysis/estimate/estimate_compare.h"
#include "analysis/estimate/estimate_curve.h"
#include "analysis/estimate/estimate_steps.h"

enum { ESTIMATE_FINDINGS_LEADING_MAX = 4 };

/* What may be said beforehand. */
struct estimate_findings_wish {
  const struct for_each *for_each;  // NULL: one after the other
  const struct remedy_costs *costs; // NULL: the usual
  bool limited; // the scan tool shows only these; else what it has shown in the readings, if they are many enough
  bool shown[ESTIMATE_QUANTITY_COUNT];
  const struct estimate_curve *curve; // what an opening curve brought; NULL: there is none. Not owned
};

/* Large, so on the heap. */
struct estimate_findings {
  const struct estimate *estimate;
  struct estimate_why why;
  struct estimate_decide decide;
  struct estimate_next_wish wish; // what the scan tool shows
  bool listed;                    // somebody has said so
  struct estimate_next next;
  struct estimate_steps steps;
  size_t odd_count; // 0 where the readings are explained
  struct estimate_odd odds[ESTIMATE_ODD_MAX];
  struct estimate_after after;
  size_t reading_count;
  size_t order[ESTIMATE_READING_MAX]; // of the readings, condition by condition
  // "nothing wrong" first, then the likeliest causes
  size_t leading_count;
  size_t leading[ESTIMATE_FINDINGS_LEADING_MAX]; // hypotheses
  struct estimate_comparison comparisons[ESTIMATE_FINDINGS_LEADING_MAX][ESTIMATE_READING_MAX];
  double area_loss_best_pct, area_loss_low_pct, area_loss_high_pct; // of the film, if there is one
  const struct estimate_curve *curve;                               // NULL: none
};

/* Works it all out. The estimate must outlive it. wish: NULL for none. STATUS_NO_MEMORY. */
MUST_CHECK enum status estimate_findings_init(struct estimate_findings *findings, const struct estimate *estimate,
                                              const struct estimate_findings_wish *wish, struct error *error);

/* What cannot be known by this method or from these readings: sentences, one after the other; returns how many. */
enum { ESTIMATE_FINDINGS_LIMIT_MAX = 8 };
size_t estimate_findings_limits(const struct estimate *estimate, const char *limits[ESTIMATE_FINDINGS_LIMIT_MAX]);

/* Cautions for what the findings send someone to do, with the first so many tests: bits of enum caution; of the clean alone, 0 if
 * none is spoken of. */
unsigned estimate_findings_cautions(const struct estimate_findings *findings, size_t test_count);
unsigned estimate_findings_after_cautions(const struct estimate_findings *findings);

/* How many of the tests are worth telling a person: those that gain something, the first few. */
size_t estimate_findings_next_count(const struct estimate_findings *findings);

/* Decimals that suit a quantity's resolution. */
int estimate_findings_decimals(enum estimate_quantity quantity);

#endif
