/* `bladegap estimate ENGINE --readings FILE`: how much film a car's readings imply, and what else could explain them. */
#include "analysis/estimate/estimate_baseline.h"
#include "analysis/estimate/estimate_check.h"
#include "analysis/estimate/estimate_place.h"
#include "analysis/estimate/plausible.h"
#include "base/attributes.h"
#include "base/near_miss.h"
#include "car/engine_check.h"
#include "car/former.h"
#include "car/setting.h"
#include "commands/car_card.h"
#include "commands/command.h"
#include "commands/curve_reading.h"
#include "commands/day_setting.h"
#include "commands/engine_any.h"
#include "commands/engine_options.h"
#include "commands/log_options.h"
#include "commands/out_folder.h"
#include "commands/picture_option.h"
#include "commands/progress.h"
#include "commands/readings_option.h"
#include "commands/symptoms_options.h"
#include "commands/threads.h"
#include "commands/units_option.h"
#include "io/config/card_file.h"
#include "io/config/costs_file.h"
#include "io/format/memory_stream.h"
#include "io/format/output_file.h"
#include "io/log/shows_file.h"
#include "io/picture/picture_estimate.h"
#include "io/report/estimate_report.h"
#include "io/report/fit_report.h"

#include <stdlib.h>
#include <string.h>

enum { RATE_TEXT_SIZE = 160, PATH_SIZE = OUTPUT_FILE_PATH_SIZE, FILE_MAX = 3 };

static const struct option_row estimate_options[] = {
    OPTION_ROW_TEXT("car", "CARD",
                    "what you know of the car, instead of ENGINE: a card as for bladegap fit, or kind=cable,displacement_l=1.4"),
    OPTION_ROW_TEXTS("clean", "FILE", "with --car: readings of a good car of its model; several files are several cars"),
    OPTION_ROW_TEXTS(
        "readings", "FILE",
        "a log, of which means are taken; or a CSV with the columns name, condition, value, and optionally resolution, noise"),
    OPTION_ROW_TEXTS("at", "NAME=FROM:TO",
                     "gives the seconds of a phase in the log of --readings: idle=30:60; in that of --baseline: "
                     "baseline.idle=30:60; bladegap help phases lists the phases"),
    OPTION_ROW_TEXTS("reading", "NAME=VALUE@CONDITION",
                     "one reading, as in maf_gps=2.58@idle; =VALUE+-SD says how certain it is. bladegap list readings shows all"),
    OPTION_ROW_TEXT("baseline", "FILE",
                    "readings of the same car when it was good, or after the clean, in a file of the same kind"),
    CURVE_READING_OPTION_ROWS,
    LOG_OPTIONS_MAP_ROW,
    OPTION_ROW_REAL("log-rate", "HZ", 0.001, 100000, "rows per second of a log that only counts its rows"),
    SYMPTOMS_OPTION_ROWS,
    OPTION_ROW_FLAG("pairs", "also try a film together with each of the other causes"),
    OPTION_ROW_TEXTS(
        "set", "NAME=VALUE",
        "the day (altitude_m=600, otherwise where people live; intake_c=30) or an engine parameter (scatter.friction_pct=4)"),
    ENGINE_OPTIONS_SCALE_ROW,
    OPTION_ROW_TEXTS("rate", "CAUSE=PARTS", "how often this cause is behind a complaint, relative to those of the engine file"),
    OPTION_ROW_REAL("stale-learned", "PCT", -100, 200,
                    "the learned offset is at this value, as after a clean; otherwise it is what long use brings"),
    OPTION_ROW_TEXT("costs", "FILE",
                    "what repairing, looking and a comeback cost you: a file with the keys of bladegap list costs"),
    OPTION_ROW_TEXTS("shows", "NAME,...|FILE",
                     "everything that this scan tool shows: names of readings, or a log or list of its own; otherwise what it "
                     "has shown so far"),
    OPTION_ROW_FLAG("all", "the whole report, not the short form"),
    OPTION_ROW_FLAG("trust", "accept readings as they are, even those that the engine cannot show"),
    OPTION_ROW_COUNT("threads", "N", 1, THREADS_MAX, "how many cores to use; all by default. The result is the same"),
    PROGRESS_OPTION_ROW,
    OPTION_ROW_TEXT("html", "FILE", "write the report as one page to print, with its picture"),
    OPTION_ROW_TEXT("out", "DIR",
                    "folder for estimate.json and the picture; out/estimate-NAME of the engine if only --format is given"),
    PICTURE_OPTION_ROW,
    PICTURE_OPTION_FOR_ROW,
    UNITS_OPTION_ROW,
};

/* Whose stretches --at names. */
static const char *const moment_names[] = {"readings", "baseline"};
static const struct stretch_option_moments moments = {ARRAY_COUNT(moment_names), moment_names, true};

/* Everything an estimate owns; large, so on the heap. */
struct job {
  const struct command_line *line;
  struct for_each for_each;
  struct engine engine;
  struct estimate_question question;
  struct estimate_readings_input input, baseline, fitted_to;
  struct estimate_curve curve;
  struct estimate_symptoms symptoms;
  struct estimate *estimate;
  struct remedy_costs costs;
  struct estimate_findings_wish wish;
  struct estimate_findings findings;
  char folder[PATH_SIZE]; // empty: no files but the page
  size_t file_count;
  char files[FILE_MAX][PATH_SIZE];
  bool place_unknown;
  struct car_card *car; // owned; NULL: the engine has a file
};

/* ---- The engine ---- */

static enum status read_car(struct job *job, const char *card, struct error *error) {
  job->car = calloc(1, sizeof *job->car);
  if (!job->car) return error_set(error, STATUS_NO_MEMORY, "out of memory for a car's card");
  job->car->line = job->line;
  job->car->moments = &moments;
  enum status status = card_file_read_or_words(card, &job->car->card, error);
  if (status == STATUS_OK) status = car_card_begin(job->car, error);
  for (size_t i = 0; status == STATUS_OK && i < options_given(job->line, "clean"); i++)
    status = car_card_add(job->car, options_text_at(job->line, "clean", i), error);
  if (status == STATUS_OK) status = car_card_engine(job->car, options_text(job->line, "baseline", NULL), &job->engine, error);
  if (status == STATUS_OK) card_engine_day(&job->car->card, &job->question.setting.conditions);
  return status;
}

static enum status read_engine(struct job *job, struct error *error) {
  const char *card = options_text(job->line, "car", NULL);
  if (card && job->line->operand_count > 0)
    return error_set(error, STATUS_USAGE, "estimate: give an ENGINE or --car CARD, not both");
  if (!card && options_given(job->line, "clean"))
    return error_set(error, STATUS_USAGE, "--clean needs --car CARD; with an ENGINE, readings of this car are its --baseline");
  if (card) return read_car(job, card, error);
  if (job->line->operand_count == 0) return error_set(error, STATUS_USAGE, "estimate: give an ENGINE, or --car CARD");
  return engine_any_read(job->line->operands[0], &job->engine, error);
}

/* ---- What is asked ---- */

static enum status set_rate(struct job *job, const char *text, struct error *error) {
  char name[RATE_TEXT_SIZE], setting[RATE_TEXT_SIZE];
  const char *equals = strchr(text, '=');
  if (!equals || equals == text) return error_set(error, STATUS_USAGE, "--rate %s: it needs CAUSE=PARTS, as in film=30", text);
  snprintf(name, sizeof name, "%.*s", (int)(equals - text), text);
  if (cause_find(name) < 0) {
    const char *now = former_name_now(name);
    if (now) return error_set(error, STATUS_USAGE, "--rate %s: there is no cause '%s' any more; %s", text, name, now);
    const char *names[CAUSE_COUNT];
    for (int i = 0; i < CAUSE_COUNT; i++) names[i] = cause_rows[i].name;
    const char *near = near_miss_best(name, names, CAUSE_COUNT);
    return near ? error_set(error, STATUS_USAGE, "--rate %s: there is no cause '%s'; did you mean '%s'?", text, name, near)
                : error_set(error, STATUS_USAGE, "--rate %s: there is no cause '%s'; bladegap list causes shows all", text, name);
  }
  snprintf(setting, sizeof setting, "cause_rates.%s", text);
  return setting_apply_text("rate", setting, &job->engine, &job->question.setting.conditions, error);
}

/* Whether somebody has said where the car stands, or how far the air's pressure may be off. */
static bool is_place_told(const struct job *job) {
  for (size_t i = 0; i < options_given(job->line, "set"); i++)
    if (estimate_place_tells(options_text_at(job->line, "set", i))) return true;
  return job->car && card_has(&job->car->card, CARD_altitude_m);
}

static enum status read_settings(struct job *job, struct error *error) {
  struct estimate_setting *setting = &job->question.setting;
  enum status status = STATUS_OK;
  for (size_t i = 0; status == STATUS_OK && i < options_given(job->line, "set"); i++)
    status = day_setting_check(options_text_at(job->line, "set", i), error);
  if (status == STATUS_OK && !is_place_told(job)) {
    estimate_place_unknown(&job->engine, &setting->conditions);
    job->place_unknown = true;
  }
  if (status == STATUS_OK) status = engine_options_apply(job->line, &job->engine, &setting->conditions, error);
  if (status == STATUS_OK) status = engine_check(&job->engine, error);
  for (size_t i = 0; status == STATUS_OK && i < options_given(job->line, "rate"); i++)
    status = set_rate(job, options_text_at(job->line, "rate", i), error);
  job->question.baseline_setting = *setting; // the same day, and long use since
  if (options_given(job->line, "stale-learned")) {
    setting->stale = true;
    setting->learned_ratio = options_real(job->line, "stale-learned", 0.0) * UNITS_RATIO_PER_PCT;
  }
  return status;
}

static enum status read_wishes(struct job *job, struct error *error) {
  remedy_costs_default(&job->costs);
  job->wish.costs = &job->costs;
  enum status status =
      options_given(job->line, "costs") ? costs_file_read(options_text(job->line, "costs", ""), &job->costs, error) : STATUS_OK;
  for (size_t i = 0; status == STATUS_OK && i < options_given(job->line, "shows"); i++)
    status = shows_file_add(options_text_at(job->line, "shows", i), job->wish.shown, error);
  job->wish.limited = options_given(job->line, "shows") > 0;
  return status;
}

/* A list of readings, or a log; its own columns are what "measure next" may ask for. */
static enum status read_file(struct job *job, bool baseline, const char *path, struct error *error) {
  const struct readings_option option = {
      .line = job->line, .moments = &moments, .moment = moment_names[baseline], .wish = baseline ? NULL : &job->wish};
  return readings_option_add(&option, path, baseline ? &job->baseline : &job->input, error);
}

static enum status nothing_given(const struct job *job, struct error *error) {
  const char *why = job->curve.log ? job->curve.text : job->symptoms.frame_left_out;
  if (why) return error_append(error, STATUS_BAD_DATA, "nothing to estimate from, because nothing else was read: %s", why);
  return error_append(error, STATUS_BAD_DATA,
                      "nothing to estimate from: these readings only describe the conditions; add one that depends on the "
                      "engine, such as --reading maf_gps=2.5@idle");
}

/* All faults of all readings are told in one go: the first that fails does not end it. */
static enum status read_readings(struct job *job, struct error *error) {
  enum status status = estimate_readings_init(&job->input, &job->engine, error);
  if (status != STATUS_OK) return status;
  day_setting_air(&job->question.setting.conditions, job->place_unknown, &job->input);
  job->baseline = job->input; // the same engine, nothing read yet
  for (size_t i = 0; i < options_given(job->line, "readings"); i++)
    status = read_file(job, false, options_text_at(job->line, "readings", i), error) == STATUS_OK ? status : error->status;
  for (size_t i = 0; i < options_given(job->line, "reading"); i++)
    status = estimate_readings_add_text(&job->input, "--reading", options_text_at(job->line, "reading", i), error) == STATUS_OK
                 ? status
                 : error->status;
  if (curve_reading_take(job->line, &job->engine, &job->input, &job->question.setting, &job->curve, error) != STATUS_OK)
    status = error->status;
  if (job->curve.log) job->wish.curve = &job->curve;
  job->fitted_to = job->baseline;
  if (!job->car && !options_given(job->line, "baseline") &&
      engine_any_good(job->line->operands[0], &job->fitted_to, error) != STATUS_OK)
    status = error->status;
  if (options_given(job->line, "baseline"))
    status = read_file(job, true, options_text(job->line, "baseline", ""), error) == STATUS_OK ? status : error->status;
  if (symptoms_options_take(job->line, &job->engine, &job->question.setting, &job->symptoms, error) != STATUS_OK)
    status = error->status;
  job->question.symptoms = &job->symptoms;
  if (status == STATUS_OK && job->input.given.count == 0 && !estimate_symptoms_given(&job->symptoms))
    status = nothing_given(job, error);
  if (status != STATUS_OK) return status;
  status = estimate_readings_finish(&job->input, &job->question.setting, &job->question.readings, error);
  if (estimate_readings_finish(&job->baseline, &job->question.baseline_setting, &job->question.baseline, error) != STATUS_OK)
    status = error->status;
  if (estimate_readings_finish(&job->fitted_to, &job->question.baseline_setting, &job->question.fitted_to, error) != STATUS_OK)
    status = error->status;
  return status;
}

/* Readings that no such engine shows are not swallowed. */
static enum status ask_about(struct job *job, const struct estimate_readings_input *input, const struct estimate_setting *setting,
                             struct error *error) {
  if (input->given.count == 0) return STATUS_OK;
  struct plausible_ranges *ranges = calloc(1, sizeof *ranges);
  if (!ranges) return error_set(error, STATUS_NO_MEMORY, "out of memory for an estimate");
  enum status status = plausible_find(&job->engine, setting, &input->given, job->question.pairs, &job->for_each, ranges, error);
  if (status == STATUS_OK) status = estimate_check_readings(input, setting, ranges, error);
  free(ranges);
  return status;
}

static enum status check_readings(struct job *job, struct error *error) {
  if (options_given(job->line, "trust")) return STATUS_OK;
  enum status status = estimate_check_throttled(&job->input, &job->question.setting, error);
  if (status == STATUS_OK) status = ask_about(job, &job->input, &job->question.setting, error);
  if (status != STATUS_OK && status != STATUS_BAD_DATA) return status;
  const enum status of_baseline = ask_about(job, &job->baseline, &job->question.baseline_setting, error);
  if (status == STATUS_OK) status = of_baseline;
  return status == STATUS_OK ? estimate_baseline_check(&job->question, error) : status;
}

/* ---- Telling ---- */

/* Files go where --out says; --format alone asks for a picture too. */
static enum status choose_folder(struct job *job, struct error *error) {
  bool formats[PICTURE_FORMAT_COUNT];
  picture_option_formats(job->line, formats);
  const bool pictures =
      options_given(job->line, "format") && (formats[PICTURE_png] || formats[PICTURE_svg] || formats[PICTURE_pdf]);
  int length = 0;
  char usual[PATH_SIZE];
  (void)out_folder(sizeof usual, usual);
  if (options_given(job->line, "out"))
    length = snprintf(job->folder, PATH_SIZE, "%s", options_text(job->line, "out", ""));
  else if (pictures)
    length = snprintf(job->folder, PATH_SIZE, "%s/estimate-%s", usual, job->engine.name);
  else
    return STATUS_OK;
  if (length < 0 || length + 32 > PATH_SIZE)
    return error_set(error, STATUS_CANNOT_CREATE, "--out: the path is longer than %d characters", PATH_SIZE - 32);
  return output_file_make_folder(job->folder, error);
}

static void name_file(struct job *job, const char *ending) {
  char *path = job->files[job->file_count++];
  const size_t length = strlen(job->folder);
  memcpy(path, job->folder, length);
  snprintf(path + length, PATH_SIZE - length, "/estimate%s", ending);
}

static enum status save_json(struct job *job, struct error *error) {
  struct output_file file;
  name_file(job, ".json");
  enum status status = output_file_open(&file, job->files[job->file_count - 1], error);
  if (status != STATUS_OK) return status;
  status = estimate_report_json(&job->findings, 0, NULL, file.stream, error);
  if (status == STATUS_OK) return output_file_commit(&file, error);
  output_file_discard(&file);
  return status;
}

static enum status save_files(struct job *job, struct picture_option_drawing *drawing, struct error *error) {
  if (job->folder[0] == '\0') return STATUS_OK;
  bool formats[PICTURE_FORMAT_COUNT];
  picture_option_formats(job->line, formats);
  const enum status status = save_json(job, error);
  for (int i = 0; i < PICTURE_FORMAT_COUNT && status == STATUS_OK; i++) {
    if (!formats[i] || i == PICTURE_dumb) continue;
    struct error one;
    error_clear(&one);
    name_file(job, picture_format_rows[i].ending);
    const struct picture_target target =
        picture_option_target(drawing, (enum picture_format)i, job->files[job->file_count - 1], job->files[0]);
    const enum status drawn = picture_estimate_draw(&job->findings, &target, &one);
    if (!picture_option_end(drawing, drawn, &one)) job->file_count--;
  }
  return status;
}

/* Where no picture can be drawn the page is written without it, and that is told. */
static enum status save_html(const struct job *job, const char *path, struct output_file *file,
                             struct picture_option_drawing *drawing, struct error *error) {
  char *svg = NULL;
  size_t size = 0;
  struct error one;
  FILE *memory = open_memstream(&svg, &size);
  if (!memory) return error_set(error, STATUS_NO_MEMORY, "out of memory for a picture");
  struct picture_target target = picture_option_target(drawing, PICTURE_svg, NULL, path);
  target.form = PICTURE_FORM_paper; // the page is to print
  error_clear(&one);
  const bool drawn = picture_option_end(drawing, picture_estimate_draw_into(&job->findings, &target, memory, &one), &one);
  enum status status = STATUS_OK;
  if (!memory_stream_close(memory, &svg)) status = error_set(error, STATUS_NO_MEMORY, "out of memory for a picture");
  if (status == STATUS_OK)
    status = estimate_report_print(&job->findings, DOCUMENT_HTML, units_option_us(job->line), svg, drawn ? size : 0, file->stream,
                                   error);
  if (status == STATUS_OK) status = output_file_commit(file, error);
  free(svg);
  return status;
}

static enum status report(const struct job *job, const char *html, struct error *error) {
  if (job->line->json) {
    const char *files[FILE_MAX];
    for (size_t i = 0; i < job->file_count; i++) files[i] = job->files[i];
    return estimate_report_json(&job->findings, job->file_count, files, stdout, error);
  }
  if (job->line->quiet) return STATUS_OK;
  enum status status = STATUS_OK;
  if (html)
    printf("Report on %zu readings of %s: %s\n", job->question.readings.count, job->engine.name, html);
  else
    status = options_given(job->line, "all")
                 ? estimate_report_print(&job->findings, DOCUMENT_TEXT, units_option_us(job->line), NULL, 0, stdout, error)
                 : estimate_report_short(&job->findings, units_option_us(job->line), stdout, error);
  if (job->file_count > 0) printf("\nFiles\n");
  for (size_t i = 0; i < job->file_count; i++) printf("  %s\n", job->files[i]);
  bool formats[PICTURE_FORMAT_COUNT];
  picture_option_formats(job->line, formats);
  if (status == STATUS_OK && formats[PICTURE_dumb])
    status = picture_estimate_draw(&job->findings, &(struct picture_target){.format = PICTURE_dumb}, error);
  return status;
}

static void print_car(const struct job *job) {
  const char *files[FIT_CAR_MAX] = {NULL};
  if (!job->car || job->line->json || job->line->quiet) return;
  const struct fit_report car = {job->car->fit, options_text(job->line, "car", ""), files, job->question.readings.left_out, NULL};
  fit_report_print_car(&car, stdout);
}

static enum status compute(struct job *job, struct error *error) {
  struct progress progress;
  progress_begin(&progress, job->line, "estimating");
  progress.stepwise = true;
  const struct progress_for_each shown = progress_for_each(&job->for_each, &progress);
  enum status status = estimate_create(&job->question, &shown.for_each, &job->estimate, error);
  progress_end(&progress);
  job->wish.for_each = &job->for_each;
  if (status == STATUS_OK) status = estimate_findings_init(&job->findings, job->estimate, &job->wish, error);
  return status;
}

static bool is_anything_given(const struct command_line *line) {
  static const char *const options[] = {"readings", "reading", "curve", "codes", "freeze-frame", "complaint"};
  for (size_t i = 0; i < ARRAY_COUNT(options); i++)
    if (options_given(line, options[i])) return true;
  return false;
}

static enum status do_job(struct job *job, struct error *error) {
  job->for_each = threads_for_each((size_t)options_count(job->line, "threads", 0));
  job->question.engine = &job->engine;
  job->question.pairs = options_given(job->line, "pairs") > 0;
  estimate_setting_init(&job->question.setting);
  if (!is_anything_given(job->line))
    return error_set(error, STATUS_USAGE,
                     "estimate: give --readings FILE, or --reading NAME=VALUE@CONDITION as often as you like; or at least what "
                     "brought the car in, as --codes P0506 --complaint low-idle");
  enum status status = read_engine(job, error);
  if (status == STATUS_OK) status = read_settings(job, error);
  if (status == STATUS_OK) status = read_wishes(job, error);
  if (status == STATUS_OK) status = read_readings(job, error);
  if (status == STATUS_OK) status = check_readings(job, error);
  if (status == STATUS_OK) status = choose_folder(job, error);
  const char *html = options_text(job->line, "html", NULL);
  struct output_file file = {0};
  bool in_place = false;
  if (status == STATUS_OK && html) { // opened first: a folder that cannot be written to is told at once
    status = output_file_open(&file, html, error);
    in_place = status == STATUS_OK && file.direct;
  }
  if (status == STATUS_OK) status = compute(job, error);
  struct picture_option_drawing drawing;
  picture_option_begin(&drawing, job->line);
  if (status == STATUS_OK && html) status = save_html(job, html, &file, &drawing, error);
  if (status == STATUS_OK) status = save_files(job, &drawing, error);
  if (status == STATUS_OK && !(in_place && !job->line->json)) {
    status = report(job, html, error);
    print_car(job);
  }
  output_file_discard(&file);
  return status == STATUS_OK ? picture_option_result(&drawing, error) : status;
}

static enum status run(const struct command_line *line, struct error *error) {
  struct job *job = calloc(1, sizeof *job);
  if (!job) return error_set(error, STATUS_NO_MEMORY, "out of memory for an estimate");
  job->line = line;
  const enum status status = do_job(job, error);
  estimate_destroy(job->estimate);
  car_card_end(job->car);
  free(job);
  return status;
}

const struct command command_estimate = {
    .name = "estimate",
    .text = "how much film a car's readings imply, and what else could explain them",
    .operands = "ENGINE",
    .operand_least = 0,
    .operand_most = 1,
    .options = estimate_options,
    .option_count = ARRAY_COUNT(estimate_options),
    .run = run,
    .details =
        "It begins with four statements: what it is, how sure that is, what to do next, and what to expect after. From any "
        "readings of a car of this kind it works out the film they imply and how sure that is, the probability of every other "
        "cause, whether any of them explains the readings at all, what to measure next to learn most per minute, and what to "
        "expect after cleaning. Cars differ, days differ and instruments round; the answer allows for all of that.\n\nA short "
        "form is printed; --all prints everything. What to do next is the step with the lowest expected cost (docs/estimate.md); "
        "before anything is cleaned or bought, a look comes first.\n\nA reading belongs to a condition: key_on, idle, idle_ac, "
        "drive, hold_2500, cold_idle, ac_step, gear_step. Leave out whatever was not read. A reading that no such engine can "
        "show is questioned, with the unit that may have been meant, or the condition at which it may have been read.\n\n--curve "
        "takes the log of a slow opening as bladegap curve does: compared with one of the same car when clean, it measures the "
        "air area lost at idle, which is then one more reading, area_lost_pct@idle.\n\n--codes, --freeze-frame and --complaint "
        "are further evidence, each limited to a bounded factor; without any reading they say what is possible and what to "
        "measure first.\n\n  bladegap estimate models/four-16.cfg --codes P0506 --complaint low-idle\n  bladegap estimate "
        "models/four-16.cfg --readings scenarios/readings/film-full.csv --baseline scenarios/readings/film-full-when-good.csv\n  "
        "bladegap estimate models/four-16.cfg --reading speed_rpm=793rpm@idle --reading target_rpm=850@idle --reading "
        "tp_pct=13.4%@idle --reading maf_gps=1.97g/s@idle --reading spark_deg=15@idle",
};
