/* What an estimate says, for people: as text for a terminal, or as a page to print; and for programs, as JSON. */
#ifndef IO_REPORT_ESTIMATE_REPORT_H
#define IO_REPORT_ESTIMATE_REPORT_H

#include "analysis/estimate/estimate_findings.h"
#include "io/format/document.h"
#include "io/format/json.h"

/* In short: the four statements, causes, what to measure next. us: in F, inHg, mph. */
MUST_CHECK enum status estimate_report_short(const struct estimate_findings *findings, bool us, FILE *stream,
                                             struct error *error);

/* The whole of it. us: in F, inHg, mph. svg: the picture, NULL for none. */
MUST_CHECK enum status estimate_report_print(const struct estimate_findings *findings, enum document_form form, bool us,
                                             const char *svg, size_t svg_size, FILE *stream, struct error *error);

/* As JSON. files: pictures that were written. */
MUST_CHECK enum status estimate_report_json(const struct estimate_findings *findings, size_t file_count, const char *const *files,
                                            FILE *stream, struct error *error);

/* The member "symptoms": what codes, freeze frame and complaint say of each cause; null where there are none. */
void estimate_report_symptoms(struct json *json, const struct estimate *estimate);

#endif
