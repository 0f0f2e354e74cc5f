/* `bladegap compare BEFORE AFTER`: did the repair work? */
#include "analysis/compare/compare_judge.h"
#include "analysis/compare/compare_model.h"
#include "base/attributes.h"
#include "car/engine_check.h"
#include "commands/car_card.h"
#include "commands/command.h"
#include "commands/compare_side.h"
#include "commands/day_setting.h"
#include "commands/log_options.h"
#include "commands/threads.h"
#include "io/config/find_file.h"
#include "io/format/output_file.h"
#include "io/report/compare_report.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static const struct option_row compare_options[] = {
    OPTION_ROW_TEXT("car", "CARD|ENGINE",
                    "the car: an engine file, the name of a shipped one, or a card; it corrects unequal conditions and predicts "
                    "the readings after from the film before"),
    OPTION_ROW_TEXTS("at", "WHICH.PHASE=FROM:TO",
                     "gives the seconds of a phase: before.idle=30:60, after.drive=90:120; may be repeated. bladegap phases "
                     "shows what is found without it"),
    OPTION_ROW_TEXTS("set", "NAME=VALUE",
                     "with --car: the day (altitude_m=600, otherwise where people live; intake_c=30) or an engine parameter"),
    OPTION_ROW_REAL("target-rpm", "RPM", 300, 2000, "idle target, warm and nothing switched on, if the logs do not have it"),
    OPTION_ROW_COUNT("threads", "N", 1, THREADS_MAX, "how many cores to use; all by default. The result is the same"),
    OPTION_ROW_TEXT("html", "FILE", "write one page to print, with both traces"),
    LOG_OPTIONS_ROWS,
};

enum { DAY_MAX = 32 };
static const char *const moment_names[] = {"before", "after"};
static const struct stretch_option_moments moments = {ARRAY_COUNT(moment_names), moment_names, false};

/* Everything a comparison owns; large, so on the heap. */
struct job {
  const struct command_line *line;
  struct compare_moment before, after;
  bool has_engine;
  struct engine engine;
  struct car_card *car; // owned; NULL: none
  bool place_unknown;
  struct estimate_setting setting;
  struct estimate_readings_input input;
  struct estimate_readings to_explain;
  struct compare_model model;
  struct compare_result result;
};

/* ---- The car ---- */

static enum status read_car(struct job *job, struct error *error) {
  const char *word = options_text(job->line, "car", NULL), *texts[DAY_MAX];
  const size_t count = options_given(job->line, "set");
  const struct car_card_source source = {.line = job->line};
  estimate_setting_init(&job->setting);
  if (!word && count > 0) return error_set(error, STATUS_USAGE, "--set %s: it needs --car", options_text_at(job->line, "set", 0));
  if (count > DAY_MAX) return error_set(error, STATUS_USAGE, "--set: %zu; %d at most", count, DAY_MAX);
  if (!word) return STATUS_OK;
  job->has_engine = true;
  for (size_t i = 0; i < count; i++) texts[i] = options_text_at(job->line, "set", i);
  enum status status = car_card_engine_or_card(word, &source, &job->car, &job->engine, &job->setting.conditions, error);
  if (status != STATUS_OK) return status;
  const struct day_setting day = {count, texts, job->car};
  status = day_setting_apply(&day, &job->engine, &job->setting.conditions, &job->place_unknown, error);
  return status == STATUS_OK ? engine_check(&job->engine, error) : status;
}

/* ---- The two moments ---- */

static void add_target(struct compare_side *side, double target_rpm) {
  struct estimate_readings *readings = &side->readings;
  if (readings->count == ESTIMATE_READING_MAX ||
      estimate_readings_find(readings, ESTIMATE_QUANTITY_target_rpm, ESTIMATE_CONDITION_idle))
    return;
  readings->readings[readings->count++] =
      (struct estimate_reading){ESTIMATE_QUANTITY_target_rpm, ESTIMATE_CONDITION_idle, target_rpm, 1.0};
}

/* The readings before as an estimate takes them. */
static enum status find_to_explain(struct job *job, struct error *error) {
  struct error one;
  error_clear(&one);
  enum status status = estimate_readings_init(&job->input, &job->engine, error);
  if (status != STATUS_OK) return status;
  day_setting_air(&job->setting.conditions, job->place_unknown, &job->input);
  status = compare_side_explain(&job->before.side, &job->input, &one);
  if (status != STATUS_OK) return error_set(error, STATUS_BAD_DATA, "%s: %s", job->before.path, one.text);
  return estimate_readings_finish(&job->input, &job->setting, &job->to_explain, error);
}

static enum status compare(struct job *job, struct error *error) {
  enum status status = read_car(job, error);
  const struct engine *engine = job->has_engine ? &job->engine : NULL;
  struct compare_moment *const sides[] = {&job->before, &job->after};
  for (size_t i = 0; status == STATUS_OK && i < ARRAY_COUNT(sides); i++) {
    const struct compare_side_which which = {&moments, moment_names[i]};
    status = compare_side_read(job->line, &which, job->line->operands[i], engine, sides[i], error);
  }
  if (status != STATUS_OK) return status;
  if (options_given(job->line, "target-rpm")) {
    add_target(&job->before.side, options_real(job->line, "target-rpm", 0.0));
    add_target(&job->after.side, options_real(job->line, "target-rpm", 0.0));
  }
  if (engine) {
    const struct for_each for_each = threads_for_each((size_t)options_count(job->line, "threads", 0));
    status = find_to_explain(job, error);
    if (status == STATUS_OK)
      status = compare_model_find(engine, &job->setting, &job->before.side, &job->after.side, &job->to_explain, &for_each,
                                  &job->model, error);
  }
  if (status == STATUS_OK) compare_judge(&job->before.side, &job->after.side, &job->model, &job->result);
  return status;
}

/* ---- Telling ---- */

static struct compare_report report_of(const struct job *job) {
  const struct compare_moment *pair[2] = {&job->before, &job->after};
  struct compare_report report = {.result = &job->result,
                                  .model = &job->model,
                                  .before = job->before.path,
                                  .after = job->after.path,
                                  .log_before = job->before.is_log ? &job->before.log.recording : NULL,
                                  .log_after = job->after.is_log ? &job->after.log.recording : NULL,
                                  .features = job->has_engine ? engine_features(&job->engine) : ~0u};
  for (int i = 0; i < 2; i++) {
    report.from_s[i] = pair[i]->window.from_s;
    report.to_s[i] = pair[i]->window.to_s;
  }
  return report;
}

static enum status tell(const struct job *job, struct error *error) {
  const struct compare_report report = report_of(job);
  const char *html = options_text(job->line, "html", NULL);
  if (html) {
    struct output_file file = {0};
    enum status status = output_file_open(&file, html, error);
    if (status != STATUS_OK) return status;
    compare_report_html(&report, file.stream);
    status = output_file_commit(&file, error);
    output_file_discard(&file);
    if (status != STATUS_OK) return status;
  }
  if (job->line->json) return compare_report_json(&report, stdout, error);
  if (!job->line->quiet) compare_report_print(&report, stdout);
  if (html && !job->line->quiet) printf("\nFiles\n  %s\n", html);
  return STATUS_OK;
}

static enum status run(const struct command_line *line, struct error *error) {
  struct job *job = calloc(1, sizeof *job);
  if (!job) return error_set(error, STATUS_NO_MEMORY, "out of memory for a comparison");
  job->line = line;
  enum status status = compare(job, error);
  if (status == STATUS_OK) status = tell(job, error);
  if (status == STATUS_OK && compare_verdict_rows[job->result.verdict].exit_code != 0)
    status = error_set(error, STATUS_NO, "%s against %s: %s", line->operands[0], line->operands[1],
                       compare_verdict_rows[job->result.verdict].text);
  compare_side_end(&job->before);
  compare_side_end(&job->after);
  car_card_end(job->car);
  free(job);
  return status;
}

const struct command command_compare = {
    .name = "compare",
    .text = "did the repair work? Two logs of one car, before and after, with a verdict",
    .operands = "BEFORE AFTER",
    .operand_least = 2,
    .operand_most = 2,
    .options = compare_options,
    .option_count = ARRAY_COUNT(compare_options),
    .run = run,
    .details =
        "Takes two logs, in which it finds the warm idle, or lists of readings as for bladegap estimate. The verdict comes "
        "first: repaired, improved with the relearn still open (it races after a clean because of what was learned before), "
        "improved, no effect, worse, or not told. The exit code is 0 for the first two, otherwise 1.\n\nAn untouched car differs "
        "from day to day by more than the noise of a log; every interval allows for that. Unequal coolant, intake air and "
        "weather are corrected with --car, and make the intervals wider without it. With --car the readings before give a film, "
        "the film predicts what a clean should bring, and that is compared with the readings after.\n\nLog both warm, out of "
        "gear, parking brake on, wheels chocked, in the open or with extraction, nothing switched on, two minutes of idle with "
        "the pedal released: speed, target, position, air flow or manifold pressure, trims, coolant, intake air.\n\n  bladegap "
        "compare scenarios/readings/film-full.csv scenarios/readings/film-full-when-good.csv --car models/four-16.cfg\n  "
        "bladegap run scenarios/clean-without-relearn.cfg --out r --format none\n  bladegap compare r/run.csv r/run.csv --at "
        "before.idle=5:24 --at after.idle=40:100 --html a.html",
};
