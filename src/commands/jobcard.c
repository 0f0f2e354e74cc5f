/* `bladegap jobcard CARD|ENGINE`: one visit from complaint to proof, on two sheets. */
#include "analysis/compare/compare_judge.h"
#include "analysis/compare/compare_model.h"
#include "analysis/estimate/estimate_baseline.h"
#include "analysis/estimate/estimate_check.h"
#include "analysis/estimate/plausible.h"
#include "analysis/visit/visit_lay_out.h"
#include "base/attributes.h"
#include "car/engine_check.h"
#include "commands/car_card.h"
#include "commands/command.h"
#include "commands/compare_side.h"
#include "commands/day_setting.h"
#include "commands/engine_any.h"
#include "commands/log_options.h"
#include "commands/readings_option.h"
#include "commands/symptoms_options.h"
#include "commands/threads.h"
#include "commands/units_option.h"
#include "io/config/costs_file.h"
#include "io/config/visit_file.h"
#include "io/format/csv_read.h"
#include "io/format/output_file.h"
#include "io/log/shows_file.h"
#include "io/report/jobcard_report.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static const struct option_row jobcard_options[] = {
    SYMPTOMS_OPTION_ROWS,
    OPTION_ROW_TEXTS("readings", "FILE",
                     "filled-in readings: a CSV with the columns name, condition, value, or a log, of which means are taken"),
    OPTION_ROW_TEXTS("reading", "NAME=VALUE@CONDITION", "one of them, as in maf_gps=2.58@idle"),
    OPTION_ROW_TEXTS("look", "NAME=yes|no", "what a box that says yes or no said, as in smoke_test=no"),
    OPTION_ROW_TEXTS("skip", "BOX", "a box of the card that cannot be done on this car, as in tps2_v@idle: it goes on without"),
    OPTION_ROW_FLAG("trust", "take readings as they are, even those beyond what the engine can show"),
    OPTION_ROW_TEXTS("at", "NAME=FROM:TO",
                     "this stretch of the log in --readings is that phase: idle=30:60; of the one in --baseline "
                     "baseline.idle=30:60, in --after after.idle=30:60. bladegap phases shows what is found without"),
    OPTION_ROW_TEXT("baseline", "FILE", "readings of this car from when it was good; the visit keeps the name of the file"),
    OPTION_ROW_FLAG("stands", "the readings were read again and are the same: go on although no listed cause explains them"),
    OPTION_ROW_FLAG("pairs", "also try a film together with each other cause; the visit keeps it"),
    OPTION_ROW_TEXT(
        "costs", "FILE",
        "what repairing, looking and a comeback cost you: a file with the keys of bladegap list costs; the visit keeps its name"),
    OPTION_ROW_TEXTS("shows", "NAME,...|FILE", "all that this scan tool shows, as bladegap estimate takes it"),
    OPTION_ROW_TEXTS("set", "NAME=VALUE",
                     "the day (altitude_m=600, else where people live; intake_c=30) or an engine parameter; the visit keeps it"),
    OPTION_ROW_TEXT("vehicle", "TEXT", "what the card calls the vehicle; identification numbers are taken out of it"),
    OPTION_ROW_TEXT("date", "TEXT", "day of the visit, as it is to stand on the card"),
    OPTION_ROW_TEXT("resume", "FILE", "go on with a visit that --visit has written, in place of CARD|ENGINE"),
    OPTION_ROW_TEXT("visit", "FILE", "keep the visit in this file; with --resume it is that file unless given"),
    OPTION_ROW_TEXT("after", "FILE", "readings or log after the work: closes the visit with the verdict of bladegap compare"),
    OPTION_ROW_TEXT("html", "FILE", "write the card as a page that prints on two sheets"),
    OPTION_ROW_TEXT("customer", "FILE", "write the customer's form, one sheet"),
    OPTION_ROW_COUNT("threads", "N", 1, THREADS_MAX, "how many cores to use; all by default. The result is the same"),
    UNITS_OPTION_ROW,
    LOG_OPTIONS_MAP_ROW,
    LOG_OPTIONS_RATE_ROW,
};

/* Whose stretches --at names. */
enum { MOMENT_BEFORE, MOMENT_BASELINE, MOMENT_AFTER };
static const char *const moment_names[] = {"before", "baseline", "after"};
static const struct stretch_option_moments moments = {ARRAY_COUNT(moment_names), moment_names, true};

/* Everything a card owns; large, so on the heap. */
struct job {
  const struct command_line *line;
  struct for_each for_each;
  struct visit visit;
  struct engine engine;
  struct car_card *car; // owned; NULL: the engine has a file
  struct estimate_question question;
  struct estimate_symptoms symptoms;
  struct estimate_readings_input input, baseline, fitted_to;
  bool place_unknown;
  struct remedy_costs costs;
  struct estimate_findings_wish wish;
  struct visit_card *card; // owned
  struct compare_moment after;
  struct compare_side before;
  struct compare_model model;
  struct compare_result result;
  bool closed;
};

/* ---- The visit ---- */

static enum status set_text(char *to, size_t size, const char *option, const char *text, struct error *error) {
  if (strlen(text) >= size) return error_set(error, STATUS_USAGE, "%s: the text is longer than %zu bytes", option, size - 1);
  snprintf(to, size, "%s", text);
  for (char *c = to; *c; c++)
    if ((unsigned char)*c < ' ') *c = ' ';
  (void)visit_clear_text(to);
  return STATUS_OK;
}

static enum status begin_visit(struct job *job, struct error *error) {
  const struct command_line *line = job->line;
  const char *resume = options_text(line, "resume", NULL);
  if ((resume != NULL) == (line->operand_count > 0))
    return error_set(error, STATUS_USAGE, "jobcard: give a CARD or ENGINE, or --resume FILE");
  visit_init(&job->visit);
  return resume ? visit_file_read(resume, &job->visit, error)
                : set_text(job->visit.engine, VISIT_TEXT_SIZE, "the name of the engine", line->operands[0], error);
}

/* What the line adds to it; a list given anew replaces the one that was there. */
static enum status add_words(struct job *job, struct error *error) {
  static const struct {
    const char *option;
    size_t offset;
  } words[] = {{"vehicle", offsetof(struct visit, vehicle)},
               {"date", offsetof(struct visit, date)},
               {"complaint", offsetof(struct visit, complaint)},
               {"baseline", offsetof(struct visit, baseline)},
               {"costs", offsetof(struct visit, costs)}};
  enum status status = STATUS_OK;
  for (size_t i = 0; status == STATUS_OK && i < ARRAY_COUNT(words); i++)
    if (options_given(job->line, words[i].option))
      status = set_text((char *)&job->visit + words[i].offset, VISIT_TEXT_SIZE, words[i].option,
                        options_text(job->line, words[i].option, ""), error);
  size_t used = 0;
  for (size_t i = 0; status == STATUS_OK && i < options_given(job->line, "codes"); i++) {
    const char *codes = options_text_at(job->line, "codes", i);
    if (used + strlen(codes) + 2 > VISIT_TEXT_SIZE) return error_set(error, STATUS_USAGE, "--codes: too many for a visit");
    used += (size_t)snprintf(job->visit.codes + used, VISIT_TEXT_SIZE - used, "%s%s", i ? "," : "", codes);
  }
  if (options_given(job->line, "codes-unknown")) job->visit.codes_unknown = true;
  if (options_given(job->line, "pairs")) job->visit.pairs = true;
  if (options_given(job->line, "stands")) job->visit.stands = true;
  for (size_t i = 0; status == STATUS_OK && i < options_given(job->line, "look"); i++)
    status = visit_set_look(&job->visit, "--look", options_text_at(job->line, "look", i), error);
  return status;
}

/* Words of an option, behind those that the visit has. alone: each stands for itself, with no comma in it. */
static enum status add_list(const struct job *job, const char *option, bool alone, char list[VISIT_FRAME_SIZE],
                            struct error *error) {
  for (size_t i = 0; i < options_given(job->line, option); i++) {
    const char *text = options_text_at(job->line, option, i);
    const size_t used = strlen(list);
    if (used + strlen(text) + 2 > VISIT_FRAME_SIZE || (alone && strchr(text, ',')))
      return error_set(error, STATUS_USAGE, "--%s %s: more than a visit has room for%s", option, text,
                       alone ? ", or a comma in it" : "");
    snprintf(list + used, VISIT_FRAME_SIZE - used, "%s%s", used ? "," : "", text);
  }
  return STATUS_OK;
}

/* ---- The car and its day ---- */

static enum status read_car(struct job *job, struct error *error) {
  struct estimate_setting *setting = &job->question.setting;
  const struct car_card_source source = {job->line, &moments, job->visit.baseline[0] ? job->visit.baseline : NULL};
  char list[VISIT_FRAME_SIZE];
  const char *texts[VISIT_FRAME_SIZE / 2]; // none is shorter than a letter and its comma
  struct day_setting day = {.texts = texts};
  estimate_setting_init(setting);
  enum status status = car_card_engine_or_card(job->visit.engine, &source, &job->car, &job->engine, &setting->conditions, error);
  snprintf(list, sizeof list, "%s", job->visit.set);
  char *rest = list;
  for (char *one = strtok_r(list, ",", &rest); one; one = strtok_r(NULL, ",", &rest)) texts[day.count++] = one;
  day.car = job->car;
  if (status == STATUS_OK) status = day_setting_apply(&day, &job->engine, &setting->conditions, &job->place_unknown, error);
  if (status == STATUS_OK) status = engine_check(&job->engine, error);
  job->question.engine = &job->engine;
  job->question.pairs = job->visit.pairs;
  job->question.baseline_setting = *setting; // the same day, and long use since
  return status;
}

static enum status read_wishes(struct job *job, struct error *error) {
  enum status status = STATUS_OK;
  remedy_costs_default(&job->costs);
  job->wish.costs = &job->costs;
  if (job->visit.costs[0]) status = costs_file_read(job->visit.costs, &job->costs, error);
  return status;
}

/* ---- Readings ---- */

static enum status add_file(struct job *job, bool baseline, const char *path, struct error *error) {
  const struct readings_option option = {
      .line = job->line, .moments = &moments, .moment = moment_names[baseline ? MOMENT_BASELINE : MOMENT_BEFORE]};
  return readings_option_add(&option, path, baseline ? &job->baseline : &job->input, error);
}

/* Readings that no such engine shows are not swallowed. */
static enum status ask_about(struct job *job, const struct estimate_readings_input *input, const struct estimate_setting *setting,
                             struct error *error) {
  if (options_given(job->line, "trust") || input->given.count == 0) return STATUS_OK;
  struct plausible_ranges *ranges = calloc(1, sizeof *ranges);
  if (!ranges) return error_set(error, STATUS_NO_MEMORY, "out of memory for a job card");
  enum status status = estimate_check_throttled(input, setting, error);
  if (status == STATUS_OK)
    status = plausible_find(&job->engine, setting, &input->given, job->question.pairs, &job->for_each, ranges, error);
  if (status == STATUS_OK) status = estimate_check_readings(input, setting, ranges, error);
  free(ranges);
  return status;
}

/* What an engine file of this very car has of it when it was good. */
static enum status take_fitted(struct job *job, struct error *error) {
  struct estimate_question *question = &job->question;
  if (job->car) return STATUS_OK;
  enum status status = estimate_readings_init(&job->fitted_to, &job->engine, error);
  if (status == STATUS_OK) status = engine_any_good(job->visit.engine, &job->fitted_to, error);
  return status == STATUS_OK ? estimate_readings_finish(&job->fitted_to, &question->baseline_setting, &question->fitted_to, error)
                             : status;
}

static enum status take_baseline(struct job *job, struct error *error) {
  struct estimate_question *question = &job->question;
  if (!job->visit.baseline[0]) return take_fitted(job, error);
  enum status status = add_file(job, true, job->visit.baseline, error);
  if (status == STATUS_OK)
    status = estimate_readings_finish(&job->baseline, &question->baseline_setting, &question->baseline, error);
  if (status == STATUS_OK) status = ask_about(job, &job->baseline, &question->baseline_setting, error);
  return status == STATUS_OK && !options_given(job->line, "trust") ? estimate_baseline_check(question, error) : status;
}

/* What is written on the line, or in files of it, as readings of the visit. */
static enum status read_line(struct job *job, struct error *error) {
  enum status status = STATUS_OK;
  for (size_t i = 0; i < options_given(job->line, "readings"); i++)
    if (add_file(job, false, options_text_at(job->line, "readings", i), error) != STATUS_OK) status = error->status;
  for (size_t i = 0; i < options_given(job->line, "reading"); i++)
    if (estimate_readings_add_text(&job->input, "--reading", options_text_at(job->line, "reading", i), error) != STATUS_OK)
      status = error->status;
  return status;
}

/* Those of the line first: they replace what the visit has of the same name. */
static enum status read_readings(struct job *job, struct error *error) {
  struct visit *visit = &job->visit;
  enum status status = estimate_readings_init(&job->input, &job->engine, error);
  if (status != STATUS_OK) return status;
  day_setting_air(&job->question.setting.conditions, job->place_unknown, &job->input);
  job->baseline = job->input; // the same engine, nothing read yet
  status = read_line(job, error);
  if (status != STATUS_OK) return status;
  for (size_t i = 0; status == STATUS_OK && i < job->input.given.count; i++)
    status = visit_set_reading(visit, &job->input.given.readings[i], error);
  if (isnan(job->input.cold_coolant_c)) job->input.cold_coolant_c = visit->cold_coolant_c;
  if (isnan(job->input.cold_intake_c)) job->input.cold_intake_c = visit->cold_intake_c;
  visit->cold_coolant_c = job->input.cold_coolant_c;
  visit->cold_intake_c = job->input.cold_intake_c;
  for (size_t i = 0; status == STATUS_OK && i < visit->readings.count; i++) { // of another engine's visit, perhaps
    const struct estimate_reading *r = &visit->readings.readings[i];
    if (!job->input.has[r->condition][r->quantity])
      status = error_append(error, STATUS_BAD_DATA, "the visit has %s@%s, which this engine does not have",
                            estimate_quantities[r->quantity].name, estimate_conditions[r->condition].name);
  }
  job->input.given = visit->readings;
  for (size_t i = 0; i < visit->readings.count; i++) {
    const struct estimate_reading *r = &visit->readings.readings[i];
    snprintf(job->input.places[i], ESTIMATE_READINGS_PLACE_SIZE, "%s@%s", estimate_quantities[r->quantity].name,
             estimate_conditions[r->condition].name);
  }
  if (status == STATUS_OK) status = ask_about(job, &job->input, &job->question.setting, error);
  if (status == STATUS_OK) status = estimate_readings_finish(&job->input, &job->question.setting, &job->question.readings, error);
  return status == STATUS_OK ? take_baseline(job, error) : status;
}

/* A frame's file becomes words, so that the visit keeps it: rows that are no reading are refused by name and never kept. */
static enum status frame_words(const char *text, char words[VISIT_FRAME_SIZE], struct error *error) {
  struct csv_table table;
  size_t used = 0;
  if (strchr(text, '=')) return set_text(words, VISIT_FRAME_SIZE, "--freeze-frame", text, error);
  const enum status status = csv_read_words(text, &table, error);
  if (status != STATUS_OK) return status;
  const int name = csv_table_find(&table, "name"), value = csv_table_find(&table, "value"), unit = csv_table_find(&table, "unit");
  for (size_t row = 0; name >= 0 && value >= 0 && row < table.row_count && used < VISIT_FRAME_SIZE; row++)
    used += (size_t)snprintf(words + used, VISIT_FRAME_SIZE - used, "%s%s=%s%s", row ? "," : "",
                             csv_table_word(&table, row, (size_t)name), csv_table_word(&table, row, (size_t)value),
                             unit < 0 ? "" : csv_table_word(&table, row, (size_t)unit));
  csv_table_destroy(&table);
  if (name < 0 || value < 0)
    return error_set(error, STATUS_BAD_DATA, "--freeze-frame: %s: a freeze frame has the columns name and value", text);
  if (used >= VISIT_FRAME_SIZE)
    return error_set(error, STATUS_BAD_DATA, "--freeze-frame: %s: more than a visit has room for", text);
  return STATUS_OK;
}

static enum status read_symptoms(struct job *job, struct error *error) {
  struct visit *visit = &job->visit;
  struct estimate_symptoms *s = &job->symptoms;
  enum status status = STATUS_OK;
  estimate_symptoms_init(s);
  job->question.symptoms = s;
  if (options_given(job->line, "freeze-frame"))
    status = frame_words(options_text(job->line, "freeze-frame", ""), visit->frame, error);
  if (status == STATUS_OK && visit->codes[0])
    status = estimate_symptoms_add_codes(s, &job->engine, "--codes", visit->codes, error);
  s->codes_incomplete = visit->codes_unknown;
  if (status == STATUS_OK && s->codes_incomplete && s->codes_given && s->stored == 0 && s->strange_count == 0)
    status = error_set(error, STATUS_USAGE, "--codes none and --codes-unknown contradict each other: leave one out");
  if (status == STATUS_OK && visit->complaint[0])
    status = estimate_symptoms_set_complaint(s, "--complaint", visit->complaint, error);
  if (status != STATUS_OK || !visit->frame[0]) return status;
  struct estimate_symptoms_frame *frame = calloc(1, sizeof *frame);
  if (!frame) return error_set(error, STATUS_NO_MEMORY, "out of memory for a freeze frame");
  status = estimate_symptoms_frame_init(frame, &job->engine, &job->question.setting, error);
  if (status == STATUS_OK) status = estimate_symptoms_frame_add_list(frame, "--freeze-frame", visit->frame, error);
  if (status == STATUS_OK) estimate_symptoms_frame_finish(frame, s);
  free(frame);
  return status;
}

/* ---- Closing ---- */

static enum status close_visit(struct job *job, struct error *error) {
  const char *after = options_text(job->line, "after", NULL);
  if (!after) return STATUS_OK;
  if (job->visit.readings.count == 0)
    return error_set(error, STATUS_BAD_DATA, "--after %s: the visit has no readings of before to hold it against", after);
  const struct compare_side_which which = {&moments, moment_names[MOMENT_AFTER]};
  enum status status = compare_side_read(job->line, &which, after, &job->engine, &job->after, error);
  job->before.readings = job->visit.readings;
  if (status == STATUS_OK)
    status = compare_model_find(&job->engine, &job->question.setting, &job->before, &job->after.side, &job->question.readings,
                                &job->for_each, &job->model, error);
  if (status != STATUS_OK) return status;
  compare_judge(&job->before, &job->after.side, &job->model, &job->result);
  snprintf(job->visit.verdict, VISIT_TEXT_SIZE, "%s", compare_verdict_rows[job->result.verdict].name);
  job->closed = true;
  return STATUS_OK;
}

/* ---- Telling ---- */

static enum status save_page(const struct job *job, const struct jobcard_report *report, bool customer, const char *path,
                             struct error *error) {
  struct output_file file = {0};
  enum status status = output_file_open(&file, path, error);
  if (status != STATUS_OK) return status;
  status = customer ? jobcard_report_customer(report, file.stream, error)
                    : jobcard_report_print(report, DOCUMENT_HTML, units_option_us(job->line), file.stream, error);
  if (status == STATUS_OK) status = output_file_commit(&file, error);
  output_file_discard(&file);
  return status;
}

static enum status tell(struct job *job, struct error *error) {
  const struct jobcard_report report = {job->card, job->engine.name, job->closed ? &job->result : NULL};
  const char *visit = options_text(job->line, "visit", options_text(job->line, "resume", NULL));
  const char *html = options_text(job->line, "html", NULL), *customer = options_text(job->line, "customer", NULL);
  enum status status = visit ? visit_file_write(&job->visit, visit, error) : STATUS_OK;
  if (status == STATUS_OK && html) status = save_page(job, &report, false, html, error);
  if (status == STATUS_OK && customer) status = save_page(job, &report, true, customer, error);
  if (status != STATUS_OK) return status;
  if (job->line->json) return jobcard_report_json(&report, stdout, error);
  if (job->line->quiet) return STATUS_OK;
  status = jobcard_report_print(&report, DOCUMENT_TEXT, units_option_us(job->line), stdout, error);
  const char *files[] = {visit, html, customer};
  if (visit || html || customer) printf("\nFiles\n");
  for (size_t i = 0; i < ARRAY_COUNT(files); i++)
    if (files[i]) printf("  %s\n", files[i]);
  return status;
}

static enum status work(struct job *job, struct error *error) {
  enum status status = begin_visit(job, error);
  if (status == STATUS_OK) status = add_words(job, error);
  if (status == STATUS_OK) status = add_list(job, "set", true, job->visit.set, error);
  if (status == STATUS_OK) status = add_list(job, "skip", false, job->visit.skipped, error);
  if (status == STATUS_OK) status = read_car(job, error);
  if (status == STATUS_OK) status = read_wishes(job, error);
  if (status == STATUS_OK) status = read_readings(job, error);
  if (status == STATUS_OK) status = read_symptoms(job, error);
  for (size_t i = 0; status == STATUS_OK && i < options_given(job->line, "shows"); i++)
    status = shows_file_add(options_text_at(job->line, "shows", i), job->wish.shown, error);
  job->wish.limited = options_given(job->line, "shows") > 0;
  if (status == STATUS_OK) status = visit_lay_out(&job->visit, &job->question, &job->wish, &job->for_each, &job->card, error);
  if (status == STATUS_OK) status = close_visit(job, error);
  return status == STATUS_OK ? tell(job, error) : status;
}

static enum status run(const struct command_line *line, struct error *error) {
  struct job *job = calloc(1, sizeof *job);
  if (!job) return error_set(error, STATUS_NO_MEMORY, "out of memory for a job card");
  job->line = line;
  job->for_each = threads_for_each((size_t)options_count(line, "threads", 0));
  enum status status = work(job, error);
  if (status == STATUS_OK && job->closed && compare_verdict_rows[job->result.verdict].exit_code != 0)
    status = error_set(error, STATUS_NO, "after the work: %s", compare_verdict_rows[job->result.verdict].text);
  visit_card_destroy(job->card);
  compare_side_end(&job->after);
  car_card_end(job->car);
  free(job);
  return status;
}

const struct command command_jobcard = {
    .name = "jobcard",
    .text = "one visit from complaint to proof: tests in order, branches, how it ended",
    .operands = "[CARD|ENGINE]",
    .operand_least = 0,
    .operand_most = 1,
    .options = jobcard_options,
    .option_count = ARRAY_COUNT(jobcard_options),
    .run = run,
    .details = "Begins with what brought the car in, and says what to do now, which tests come next by what they tell a minute, "
               "each with its "
               "cautions before it, what a good car of the kind reads, and where each result leads. Give the filled-in values "
               "back, and it goes "
               "on from there. Nothing is cleaned or bought before a look has confirmed it. --after closes the visit with the "
               "verdict and the "
               "exit code of bladegap compare.\n\n"
               "  bladegap jobcard models/four-16.cfg --complaint low-idle --codes P0506 --visit visit.cfg\n"
               "  bladegap jobcard --resume visit.cfg --readings scenarios/readings/film-full.csv --html card.html\n"
               "  bladegap jobcard --resume visit.cfg --after scenarios/readings/film-full-when-good.csv",
};
