/* `bladegap fit CARD`: from what one knows of a car, and readings of good ones, to an engine file. */
#include "base/attributes.h"
#include "commands/car_card.h"
#include "commands/card_ask.h"
#include "commands/command.h"
#include "commands/log_options.h"
#include "io/config/card_file.h"
#include "io/format/output_file.h"
#include "io/report/fit_engine_file.h"

#include <stdlib.h>
#include <unistd.h>

static const struct option_row fit_options[] = {
    OPTION_ROW_TEXTS(
        "readings", "FILE",
        "readings of a good car of this model, a list or a log as estimate takes it; several files are several cars"),
    OPTION_ROW_TEXTS("at", "NAME=FROM:TO",
                     "gives the seconds of a phase in the log of --readings, if there is only one: idle=30:60; bladegap help "
                     "phases lists the phases"),
    OPTION_ROW_FLAG("this-car",
                    "the first of these files is from the car that will be estimated; otherwise all are from other cars"),
    OPTION_ROW_FLAG("ask", "ask for each open entry of the card, and write the card"),
    LOG_OPTIONS_MAP_ROW,
    LOG_OPTIONS_RATE_ROW,
    OPTION_ROW_TEXT("out", "FILE", "write the engine file, which lists only what differs from a shipped engine"),
};

struct job {
  const struct command_line *line;
  struct car_card *car; // owned
  const char *files[FIT_CAR_MAX];
};

static enum status write_card(const struct card *card, const char *path, struct error *error) {
  struct output_file file;
  enum status status = output_file_open(&file, path, error);
  if (status != STATUS_OK) return status;
  status = card_file_write(card, file.stream, error);
  if (status == STATUS_OK) return output_file_commit(&file, error);
  output_file_discard(&file);
  return status;
}

static enum status get_card(struct job *job, const char *path, struct error *error) {
  if (!options_given(job->line, "ask")) return card_file_read_or_words(path, &job->car->card, error);
  enum status status = STATUS_OK;
  card_init(&job->car->card);
  if (access(path, F_OK) == 0) status = card_file_read(path, &job->car->card, error);
  if (status != STATUS_OK) return status;
  card_ask(stdin, job->line->json ? stderr : stdout, &job->car->card);
  status = write_card(&job->car->card, path, error);
  return status == STATUS_OK ? card_check(&job->car->card, error) : status;
}

static enum status read_cars(struct job *job, struct error *error) {
  static const char *const names[] = {"clean"};
  static const struct stretch_option_moments moments = {ARRAY_COUNT(names), names, true};
  enum status status = STATUS_OK;
  const size_t count = options_given(job->line, "readings");
  if (options_given(job->line, "at") && count != 1)
    return error_set(error, STATUS_USAGE, "--at is for one log: it needs one --readings FILE, and there are %zu", count);
  job->car->moments = &moments;
  if (options_given(job->line, "this-car") && count == 0)
    return error_set(error, STATUS_USAGE, "--this-car needs --readings FILE of that car");
  for (size_t i = 0; i < count; i++) {
    const char *path = options_text_at(job->line, "readings", i);
    if (i < FIT_CAR_MAX) job->files[i] = path;
    if (car_card_add(job->car, path, error) != STATUS_OK) status = error->status;
  }
  return status;
}

static enum status do_job(struct job *job, struct error *error) {
  const char *path = job->line->operands[0], *out = options_text(job->line, "out", NULL);
  enum status status = get_card(job, path, error);
  if (status == STATUS_OK) status = car_card_begin(job->car, error);
  if (status == STATUS_OK) status = read_cars(job, error);
  if (status == STATUS_OK) status = car_card_fit(job->car, options_given(job->line, "this-car") > 0, error);
  if (status != STATUS_OK) return status;
  const struct fit_report report = {job->car->fit, path, job->files, 0, out};
  if (out) status = fit_engine_file_write(&report, out, error);
  if (status != STATUS_OK) return status;
  if (job->line->json) return fit_report_json(&report, stdout, error);
  return job->line->quiet ? STATUS_OK : fit_report_print(&report, stdout, error);
}

static enum status run(const struct command_line *line, struct error *error) {
  struct job *job = calloc(1, sizeof *job);
  if (!job) return error_set(error, STATUS_NO_MEMORY, "out of memory for a fit");
  job->line = line;
  job->car = calloc(1, sizeof *job->car);
  if (job->car) job->car->line = line;
  const enum status status = job->car ? do_job(job, error) : error_set(error, STATUS_NO_MEMORY, "out of memory for a fit");
  car_card_end(job->car);
  free(job);
  return status;
}

const struct command command_fit = {
    .name = "fit",
    .text = "makes an engine from what you know of a car, and readings of good ones",
    .operands = "CARD",
    .operand_least = 1,
    .operand_most = 1,
    .options = fit_options,
    .option_count = ARRAY_COUNT(fit_options),
    .run = run,
    .details = "A card says what you know of a car: a CSV with the columns name and value, and optionally unit, or settings "
               "(CARD.cfg, displacement_l = 1.6;). Any entry may be left open; bladegap list card shows them. With --ask the "
               "program asks for them and writes the card.\n\nWhat is not known is inferred from readings of good cars; what "
               "they do not show stays as uncertain as cars of this kind differ on the road. The engine file says how certain "
               "each value is, and can be used wherever an engine can.\n\n  bladegap fit docs/examples/car-card.csv --readings "
               "docs/examples/car-clean.csv --out my-car.cfg\n  bladegap fit --ask my-card.csv",
};
