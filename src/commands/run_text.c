#include "commands/run_text.h"

#include "io/format/us_text.h"

enum status run_text_print(const struct what_if *what, const struct run_report *report, FILE *stream, struct error *error) {
  struct us_text_printing printing;
  FILE *to = us_text_begin(&printing, report->us, stream);
  if (to) what_if_print(what, to);
  const enum status status = to ? run_report_print(report, to, error) : STATUS_OK;
  const enum status printed = us_text_end(&printing, error);
  return status != STATUS_OK ? status : printed;
}
