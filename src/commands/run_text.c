#include "commands/run_text.h"

#include "io/format/us_text.h"

#include <stdlib.h>

enum status run_text_print(const struct what_if *what, const struct run_report *report, FILE *stream, struct error *error) {
  char *plain = NULL, *converted = NULL;
  size_t size;
  FILE *memory = report->us ? open_memstream(&plain, &size) : stream;
  if (!memory) return error_set(error, STATUS_NO_MEMORY, "out of memory for the summary");
  what_if_print(what, memory);
  enum status status = run_report_print(report, memory, error);
  if (!report->us) return status;
  if (fclose(memory) == 0) converted = us_text(plain);
  if (converted) fputs(converted, stream);
  if (!converted && status == STATUS_OK) status = error_set(error, STATUS_NO_MEMORY, "out of memory for the summary");
  free(plain);
  free(converted);
  return status;
}
