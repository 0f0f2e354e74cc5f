/* The job card of a visit: text, JSON, a page that prints on two sheets, and the customer's form on one. */
#ifndef IO_REPORT_JOBCARD_REPORT_H
#define IO_REPORT_JOBCARD_REPORT_H

#include "analysis/compare/compare.h"
#include "analysis/visit/visit_card.h"
#include "io/format/document.h"

struct jobcard_report {
  const struct visit_card *card;
  const char *engine;                 // its name
  const struct compare_result *after; // the comparison that closes the visit; NULL: it is open
};

MUST_CHECK enum status jobcard_report_print(const struct jobcard_report *report, enum document_form form, bool us, FILE *stream,
                                            struct error *error);
MUST_CHECK enum status jobcard_report_json(const struct jobcard_report *report, FILE *stream, struct error *error);

/* Complaint, found, done, proof; blank for names. */
MUST_CHECK enum status jobcard_report_customer(const struct jobcard_report *report, FILE *stream, struct error *error);

#endif
