/* `bladegap testsheet ENGINE`: what each bench test reads on a good unit, and what each departure means. */
#include "io/report/testsheet.h"
#include "analysis/testsheet/sheet.h"
#include "car/engine_check.h"
#include "commands/command.h"
#include "commands/engine_any.h"
#include "commands/engine_options.h"
#include "commands/progress.h"
#include "commands/threads.h"
#include "commands/units_option.h"
#include "io/format/output_file.h"
#include "io/format/us_text.h"

#include <stdint.h>
#include <stdlib.h>

static const struct option_row testsheet_options[] = {
    OPTION_ROW_TEXTS("set", "NAME=VALUE",
                     "a value of the engine file (throttle.closed_position_pct=12); may be given several times"),
    ENGINE_OPTIONS_SCALE_ROW,
    PROGRESS_OPTION_ROW,
    OPTION_ROW_FLAG("all", "every test, how to do it and what each departure means, not only the short sheet"),
    OPTION_ROW_TEXT("html", "FILE", "write the sheet as one page to print on A4, with boxes for what was measured"),
    UNITS_OPTION_ROW,
};

/* The first job that a worker could not do; SIZE_MAX for none. */
struct failure {
  size_t job;
  struct error error;
};

struct work {
  struct sheet sheet;
  struct engine engine;
  struct testsheet_us us;
  struct failure failures[THREADS_MAX]; // one a worker
};

static void do_job(size_t index, size_t worker, void *user) {
  struct work *work = user;
  struct failure *failure = &work->failures[worker];
  struct error error;
  if (failure->job < index) return; // the job of lowest number is the one that is told
  error_clear(&error);
  if (sheet_run_job(&work->sheet, index, &error) != STATUS_OK) *failure = (struct failure){index, error};
}

/* On all cores; the jobs know nothing of each other, so the sheet is the same whatever their number. */
static enum status compute(const struct command_line *line, struct work *work, struct error *error) {
  const struct for_each all_cores = threads_for_each(0);
  struct progress progress;
  progress_begin(&progress, line, "computing the sheet");
  const struct progress_for_each shown = progress_for_each(&all_cores, &progress);
  const struct failure *first = &work->failures[0];
  sheet_init(&work->sheet, &work->engine);
  for (size_t i = 0; i < THREADS_MAX; i++) work->failures[i].job = SIZE_MAX;
  shown.for_each.run(&shown.for_each, work->sheet.job_count, do_job, work);
  progress_end(&progress);
  for (size_t i = 1; i < THREADS_MAX; i++)
    if (work->failures[i].job < first->job) first = &work->failures[i];
  if (first->job < SIZE_MAX) {
    *error = first->error;
    return error->status;
  }
  sheet_finish(&work->sheet);
  return STATUS_OK;
}

static enum status save_html(const struct work *work, const struct command_line *line, struct output_file *file,
                             struct error *error) {
  struct us_text_printing printing;
  FILE *to = us_text_begin(&printing, units_option_us(line), file->stream);
  if (to) testsheet_print_html(&work->sheet, options_given(line, "all") > 0, to);
  const enum status status = us_text_end(&printing, error);
  return status == STATUS_OK ? output_file_commit(file, error) : status;
}

static enum status print_text(const struct command_line *line, const struct work *work, struct error *error) {
  struct us_text_printing printing;
  FILE *to = us_text_begin(&printing, units_option_us(line), stdout);
  if (to && options_given(line, "all"))
    testsheet_print(&work->sheet, to);
  else if (to)
    testsheet_print_short(&work->sheet, to);
  return us_text_end(&printing, error);
}

static enum status report(const struct command_line *line, const struct work *work, const char *html, struct error *error) {
  if (line->json) return testsheet_print_json(&work->sheet, stdout, error);
  if (line->quiet) return STATUS_OK;
  if (!html) return print_text(line, work, error);
  printf("%zu tests of %s: %s\n", work->sheet.reading_count, work->engine.name, html);
  return STATUS_OK;
}

static enum status run(const struct command_line *line, struct error *error) {
  struct work *work = calloc(1, sizeof *work);
  if (!work) return error_set(error, STATUS_NO_MEMORY, "out of memory for a test sheet");
  struct output_file file = {0};
  const char *html = options_text(line, "html", NULL);
  bool in_place = false;
  enum status status = engine_any_read(line->operands[0], &work->engine, error);
  if (status == STATUS_OK) status = engine_options_apply(line, &work->engine, NULL, error);
  if (status == STATUS_OK) status = engine_check(&work->engine, error);
  if (status == STATUS_OK && html) { // opened first: a folder that cannot be written to is told at once
    status = output_file_open(&file, html, error);
    in_place = status == STATUS_OK && file.direct;
  }
  if (status == STATUS_OK) status = compute(line, work, error);
  if (status == STATUS_OK && units_option_us(line) && !line->json) testsheet_in_us_units(&work->sheet, &work->us);
  if (status == STATUS_OK && html) status = save_html(work, line, &file, error);
  if (status == STATUS_OK && !(in_place && !line->json)) status = report(line, work, html, error);
  output_file_discard(&file);
  free(work);
  return status;
}

const struct command command_testsheet = {
    .name = "testsheet",
    .text = "what each bench test should read on a good unit, and what each departure means",
    .operands = "ENGINE",
    .operand_least = 1,
    .operand_most = 1,
    .options = testsheet_options,
    .option_count = sizeof testsheet_options / sizeof testsheet_options[0],
    .run = run,
    .details = "The short sheet fits on a page: for each complaint the few tests that tell most, each with its cautions before "
               "it, its good value and range, and what it reads with the fault in question.\n\nWith --all, and always in JSON, "
               "every bench test is listed: the cautions, the state of the car, where the leads go or what to read, the value on "
               "a good unit with its range, and what the same test reads with a fault. All of it is computed from the engine "
               "file: the good value and its scatter, the spread between good units, and each departure are runs of the model. "
               "Circuits are named by what they do; pins and colours are in the maker's wiring diagram.\n\n  bladegap testsheet "
               "models/four-16.cfg\n  bladegap testsheet models/four-16.cfg --all\n  bladegap testsheet models/four-16.cfg "
               "--html sheet.html\n  bladegap testsheet models/four-16.cfg --json",
};
