/* What an estimate says, for people: as text for a terminal, or as a page to print. */
#ifndef IO_REPORT_ESTIMATE_REPORT_H
#define IO_REPORT_ESTIMATE_REPORT_H

#include "analysis/estimate/estimate_after.h"
#include "analysis/estimate/estimate_compare.h"
#include "analysis/estimate/estimate_next.h"
#include "io/format/document.h"

enum { ESTIMATE_REPORT_LEADING_MAX = 4 };

/* An estimate with all that was worked out from it; large, so on the heap. */
struct estimate_report {
  const struct estimate *estimate;
  struct estimate_why why;
  struct estimate_next next;
  struct estimate_after after;
  size_t reading_count;
  size_t order[ESTIMATE_READING_MAX]; // of the readings, condition by condition
  // "nothing wrong" first, then the likeliest causes
  size_t leading_count;
  size_t leading[ESTIMATE_REPORT_LEADING_MAX]; // hypotheses
  struct estimate_comparison comparisons[ESTIMATE_REPORT_LEADING_MAX][ESTIMATE_READING_MAX];
  double area_loss_best_pct, area_loss_low_pct, area_loss_high_pct; // of the film, if there is one
};

/* Works it all out. STATUS_NO_MEMORY. */
MUST_CHECK enum status estimate_report_init(struct estimate_report *report, const struct estimate *estimate, struct error *error);

/* The whole of it. svg: the picture, NULL for none. */
MUST_CHECK enum status estimate_report_print(const struct estimate_report *report, enum document_form form, const char *svg,
                                             size_t svg_size, FILE *stream, struct error *error);

/* As JSON. files: pictures that were written. */
MUST_CHECK enum status estimate_report_json(const struct estimate_report *report, size_t file_count, const char *const *files,
                                            FILE *stream, struct error *error);

/* What cannot be known by this method or from these readings: sentences, one after the other; returns how many. */
enum { ESTIMATE_REPORT_LIMIT_MAX = 8 };
size_t estimate_report_limits(const struct estimate *estimate, const char *limits[ESTIMATE_REPORT_LIMIT_MAX]);

/* Cautions for what the report sends someone to do: bits of enum bench_test_caution. */
unsigned estimate_report_cautions(const struct estimate_report *report);

/* How many of the tests are worth telling a person: those that gain something, the first few. */
size_t estimate_report_next_count(const struct estimate_report *report);

/* Decimals that suit a quantity's resolution. */
int estimate_report_decimals(enum estimate_quantity quantity);

#endif
