/* `bladegap page --out FILE [SCENARIO]`: the live bench, one HTML file, copied from where it was built or installed. */
#include "commands/command.h"
#include "commands/page_file.h"
#include "commands/scenario_any.h"
#include "io/format/output_file.h"
#include "sim/record.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static const struct option_row page_options[] = {
    OPTION_ROW_TEXT("out", "FILE", "write the page there; bladegap.html by default"),
};

/* A scenario as a record of a shipped engine, all that a page has; the caller frees it. */
static enum status record_of(const char *word, char **record, struct error *error) {
  char path[SCENARIO_PATH_SIZE], engine[SCENARIO_PATH_SIZE];
  struct scenario scenario;
  enum status status = scenario_any_read(word, path, &scenario, error);
  if (status == STATUS_OK) {
    scenario_any_engine(scenario.engine_path, engine);
    if (strchr(engine, '/')) {
      status = error_set(error, STATUS_BAD_CONFIG,
                         "%s: its engine is %s; a page has the shipped engines only (bladegap list engines)", word, engine);
    } else {
      const size_t size = record_write(&scenario, engine, NULL, 0) + 1;
      *record = malloc(size);
      if (*record)
        record_write(&scenario, engine, *record, size);
      else
        status = error_set(error, STATUS_NO_MEMORY, "no memory for the record of %s", word);
    }
  }
  scenario_destroy(&scenario);
  return status;
}

static enum status write_page(const char *out, const char *page, const char *record, struct error *error) {
  struct output_file file;
  const enum status status = output_file_open(&file, out, error);
  if (status != STATUS_OK) return status;
  page_file_put(page, record, file.stream);
  return output_file_commit(&file, error);
}

static enum status run(const struct command_line *line, struct error *error) {
  const char *out = options_text(line, "out", page_file_name);
  char *record = NULL, *page = NULL;
  enum status status = STATUS_OK;
  if (line->operand_count > 0) status = record_of(line->operands[0], &record, error);
  if (status == STATUS_OK) {
    page = page_file_read();
    if (!page)
      status = error_set(error, STATUS_NO_INPUT,
                         "the page has not been built here: scenarios/page builds it, and installs what that needs");
  }
  if (status == STATUS_OK) status = write_page(out, page, record, error);
  if (status == STATUS_OK && !line->quiet) printf("%s: open it in a browser\n", out);
  free(page);
  free(record);
  return status;
}

const struct command command_page = {
    .name = "page",
    .text = "writes the live bench: the model in one HTML file, for any browser",
    .operands = "[SCENARIO]",
    .operand_least = 0,
    .operand_most = 1,
    .options = page_options,
    .option_count = ARRAY_COUNT(page_options),
    .run = run,
    .details = "The file needs no network and no other file; mail it, and it runs on phones, laptops and projectors. With a "
               "scenario or a record it opens with that (bladegap page film-droop --out droop.html). scenarios/page builds the "
               "page itself; until that has been done, here or where this was installed from, there is nothing to write.",
};
