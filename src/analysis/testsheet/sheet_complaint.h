/* The short sheet: for each complaint, the few tests that tell most, in the order in which they are done: what costs nothing first.
 * The choice and the order are common practice, no source; the readings are those of the whole sheet. */
#ifndef ANALYSIS_TESTSHEET_SHEET_COMPLAINT_H
#define ANALYSIS_TESTSHEET_SHEET_COMPLAINT_H

#include "analysis/testsheet/sheet.h"

enum { SHEET_COMPLAINT_TEST_MAX = 10 };

struct sheet_complaint {
  const char *name;                            // at the edge
  const char *text;                            // as a customer says it
  unsigned needs;                              // bits of enum feature
  const char *compared;                        // label of the fault whose reading is shown beside the good one
  const char *compared_cable;                  // the same on a cable throttle
  const char *tests[SHEET_COMPLAINT_TEST_MAX]; // ids; those that an engine does not have are left out
};
extern const struct sheet_complaint sheet_complaints[];
extern const size_t sheet_complaint_count;

bool sheet_complaint_applies(const struct sheet *sheet, const struct sheet_complaint *complaint);

/* Its tests on this engine; returns how many. */
size_t sheet_complaint_tests(const struct sheet *sheet, const struct sheet_complaint *complaint,
                             const struct sheet_reading *tests[SHEET_COMPLAINT_TEST_MAX]);

/* What is shown beside the good reading, NULL if that fault is not tried on this engine or on none of these tests. */
const struct sheet_fault *sheet_complaint_fault(const struct sheet *sheet, const struct sheet_complaint *complaint);

/* Departure of a reading with this fault, NULL if it is not tried there. */
const struct sheet_departure *sheet_complaint_departure(const struct sheet_reading *reading, const struct sheet_fault *fault);

/* Cautions of all tests that any complaint asks for: bits of enum caution. */
unsigned sheet_complaint_cautions(const struct sheet *sheet);

#endif
