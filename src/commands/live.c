/* `bladegap live ENGINE|SCENARIO`: the bench on a terminal, with keys, words and a strip chart. */
#include "commands/command.h"
#include "commands/live_play.h"
#include "commands/live_screen.h"
#include "commands/scenario_any.h"
#include "commands/solver_list.h"
#include "io/config/engine_file.h"
#include "io/config/file_kind.h"
#include "io/config/find_file.h"
#include "io/config/record_file.h"
#include "io/config/scenario_file_write.h"
#include "io/format/json.h"
#include "io/format/output_file.h"
#include "io/terminal/terminal.h"

#include <errno.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

static const char *const chart_names[] = {
    "auto",
#define KIND(name, text) #name,
    STRIP_CHART_LIST(KIND)
#undef KIND
        NULL,
};
#define EVERY_S 5.0

static const struct option_row live_options[] = {
    OPTION_ROW_TEXT("record", "FILE", "write what was done to FILE, which run takes like a scenario: the same bytes again"),
    OPTION_ROW_TEXT("scenario", "FILE", "write the same as a scenario, to be edited; run gives the same values"),
    OPTION_ROW_TEXT("keys", "KEYS", "press these keys as fast as it goes, and end; a dot lets one second of watching pass"),
    OPTION_ROW_CHOICE(
        "terminal", "CHART", chart_names,
        "the strip chart: auto (default: sixel if the terminal says that it shows it, else a window where there is a "
        "display, else dumb), none, dumb: letters, sixel, or window. Line by line: none by default"),
    OPTION_ROW_FLAG("plain", "line by line, no screen and no control sequences, as for a screen reader"),
    OPTION_ROW_REAL("every", "S", 0.1, 3600, "line by line: seconds of watching from one line to the next; 5 by default"),
    OPTION_ROW_CHOICE(
        "solver", "SOLVER", solver_list_names,
        "fast (default): Runge-Kutta with steps as long as the equations allow, cvode, or fixed: steps of 1 ms; of a "
        "record that names one, that by default"),
    OPTION_ROW_COUNT("seed", "N", 0, 2147483647, "seed of the cycle scatter, instead of the scenario's"),
};

struct job {
  const struct command_line *line;
  char path[SCENARIO_PATH_SIZE];
  struct live_bench *bench;
  struct live_session *session;
  struct strip_chart chart;
  bool keyed, screen; // keys come from a text; it is shown on a screen
};

/* ---- what it begins with ---- */

/* Nothing is called so: the nearest engine, where find_file() knows no scenario. */
static enum status unknown(const char *word, enum status status, struct error *error) {
  char near[FIND_FILE_PATH_SIZE];
  if (status != STATUS_NO_INPUT || strstr(error->text, "did you mean") || !find_file_near("models", word, near)) return status;
  return error_set(error, status, "no engine, scenario or record is called %.200s; did you mean %.200s?", word, near);
}

static enum status load(struct job *job, struct error *error) {
  const char *word = job->line->operands[0];
  struct scenario *scenario = &job->bench->scenario;
  enum file_kind kind;
  const bool is_engine = find_file_is_name(word) && find_file_shipped("models", word, job->path);
  enum status status = find_file(is_engine ? "models" : "scenarios", word, job->path, error);
  if (status == STATUS_OK) status = file_kind_of(job->path, &kind, error);
  if (status != STATUS_OK) return unknown(word, status, error);
  if (kind != FILE_KIND_ENGINE) {
    char found[SCENARIO_PATH_SIZE];
    status = scenario_any_read(job->path, found, scenario, error);
    if (status == STATUS_OK) status = engine_file_read(scenario->engine_path, &job->bench->engine, error);
  } else {
    status = engine_file_read(job->path, &job->bench->engine, error);
    if (status == STATUS_OK) live_bench_idle(scenario, job->path, job->bench->engine.name);
  }
  if (status == STATUS_OK && options_given(job->line, "seed")) scenario->seed = (uint64_t)options_count(job->line, "seed", 1);
  return status;
}

static const struct solver_vtable *choose_solver(const struct job *job) {
  int choice = SOLVER_LIST_fast;
  for (int i = 0; i < SOLVER_LIST_COUNT; i++)
    if (strcmp(job->bench->scenario.solver, solver_list_names[i]) == 0) choice = i;
  return solver_list_rows[options_choice(job->line, "solver", choice)];
}

/* A file that cannot be written is told before an hour of work goes into it. */
static enum status check_writable(const struct job *job, const char *option, struct error *error) {
  const char *path = options_text(job->line, option, NULL);
  if (!path) return STATUS_OK;
  struct output_file *file = calloc(1, sizeof *file);
  if (!file) return error_set(error, STATUS_NO_MEMORY, "out of memory for %s", path);
  const enum status status = output_file_open(file, path, error);
  output_file_discard(file);
  free(file);
  return status;
}

static enum status choose_form(struct job *job, struct error *error) {
  job->keyed = options_given(job->line, "keys") || !terminal_has_keys();
  job->screen = !job->keyed && !options_given(job->line, "plain") && terminal_has_screen();
  const int chart = options_choice(job->line, "terminal", 0) - 1;
  if (chart == STRIP_CHART_sixel && !job->screen)
    return error_set(error, STATUS_USAGE, "--terminal sixel needs a screen; line by line allowed: none, dumb, window");
  return STATUS_OK;
}

/* ---- the chart ---- */

static void begin_chart(struct job *job) {
  const int asked = options_choice(job->line, "terminal", 0) - 1;
  enum strip_chart_kind kind = STRIP_CHART_none;
  if (asked >= 0)
    kind = (enum strip_chart_kind)asked;
  else if (job->screen)
    kind = terminal_shows_sixel() ? STRIP_CHART_sixel : strip_chart_has_window() ? STRIP_CHART_window : STRIP_CHART_dumb;
  strip_chart_begin(&job->chart, kind);
}

/* ---- what it leaves ---- */

static enum status write_files(const struct job *job, struct error *error) {
  const char *record = options_text(job->line, "record", NULL), *scenario = options_text(job->line, "scenario", NULL);
  char engine[SCENARIO_PATH_SIZE];
  enum status status = STATUS_OK;
  scenario_any_engine(job->bench->scenario.engine_path, engine);
  if (record) status = record_file_write(record, &job->bench->record, engine, error);
  if (status == STATUS_OK && scenario) status = scenario_file_write(scenario, &job->bench->record, engine, error);
  return status;
}

static enum status print_json(const struct job *job, struct error *error) {
  const struct live_bench *bench = job->bench;
  struct json *json = json_create();
  json_put_text(json, "engine", bench->engine.name);
  json_put_real(json, "duration_s", bench->record.duration_s, 2);
  json_put_count(json, "actions", (long long)job->session->actions);
  json_put_count(json, "marks", job->session->marks);
  json_open_object(json, "values");
  for (int i = 0; i < CHANNEL_COUNT; i++) json_put_real(json, channel_rows[i].name, bench->row[i], channel_rows[i].decimals);
  json_close(json);
  json_open_array(json, "events");
  for (size_t i = 0; i < bench->events.event_count; i++) {
    const struct recording_event *event = &bench->events.events[i];
    json_open_object(json, NULL);
    json_put_real(json, "time_s", event->time_s, 2);
    json_put_text(json, "kind", recording_kind_names[event->kind]);
    json_put_text(json, "code", event->kind == RECORDING_CODE ? monitor_rows[event->code].code : "");
    json_put_text(json, "text", event->text);
    json_close(json);
  }
  json_close(json);
  json_open_array(json, "files");
  if (options_given(job->line, "record")) json_put_text(json, NULL, options_text(job->line, "record", ""));
  if (options_given(job->line, "scenario")) json_put_text(json, NULL, options_text(job->line, "scenario", ""));
  json_close(json);
  const enum status status = json_print(json, stdout, error);
  json_destroy(json);
  return status;
}

static void print_end(const struct job *job) {
  static const char *const options[] = {"record", "scenario"};
  printf("%s: %.2f s, actions: %zu, marks: %d.\n", job->bench->engine.name, job->bench->record.duration_s, job->session->actions,
         job->session->marks);
  for (size_t i = 0; i < ARRAY_COUNT(options); i++)
    if (options_given(job->line, options[i]))
      printf("What was done is in %s; bladegap run %s plays it again.\n", options_text(job->line, options[i], ""),
             options_text(job->line, options[i], ""));
}

/* ---- the session ---- */

/* What was done at the last moment acts at the next tick; and a scenario lasts a tenth of a second at least. */
static enum status settle_last(struct live_bench *bench, struct error *error) {
  enum status status = STATUS_OK;
  long passed = 1;
  while (status == STATUS_OK && passed > 0 && (bench->sim->waiting_count > 0 || bench->sim->tick < LIVE_BENCH_ROW_TICKS))
    status = live_bench_pass(bench, 1, &passed, error);
  return status;
}

static enum status play(struct job *job, struct error *error) {
  struct live_play play = {.session = job->session,
                           .chart = &job->chart,
                           .silent = job->line->json || job->line->quiet,
                           .every_s = options_real(job->line, "every", EVERY_S),
                           .keys = options_text(job->line, "keys", NULL)};
  enum status status = STATUS_OK;
  terminal_catch();
  if (!job->keyed) status = terminal_take(job->screen, error);
  if (status == STATUS_OK) {
    begin_chart(job);
    status = job->keyed    ? live_play_keys(&play, error)
             : job->screen ? live_play_on_screen(&play, error)
                           : live_play_in_lines(&play, error);
    strip_chart_end(&job->chart);
  }
  terminal_give_back();
  struct error last;
  error_clear(&last);
  const enum status settled = settle_last(job->bench, status == STATUS_OK ? error : &last);
  return status == STATUS_OK ? settled : status;
}

/* What was done is written however it ended. */
static enum status finish(const struct job *job, enum status status, struct error *error) {
  struct error writing;
  error_clear(&writing);
  const enum status written = write_files(job, &writing);
  if (status == STATUS_OK && written != STATUS_OK) {
    *error = writing;
    status = written;
  }
  const int ended_by = terminal_ended_by();
  terminal_release();
  if (ended_by && ended_by != SIGINT) raise(ended_by); // SIGINT is a way to end
  if (status != STATUS_OK) return status;
  if (job->line->json) return print_json(job, error);
  if (!job->line->quiet) print_end(job);
  return STATUS_OK;
}

static enum status run(const struct command_line *line, struct error *error) {
  struct job job = {.line = line, .bench = live_bench_create(), .session = calloc(1, sizeof *job.session)};
  enum status status = STATUS_OK;
  if (!job.bench || !job.session) status = error_set(error, STATUS_NO_MEMORY, "out of memory for a live session");
  if (status == STATUS_OK) status = load(&job, error);
  if (status == STATUS_OK) status = choose_form(&job, error);
  if (status == STATUS_OK) status = check_writable(&job, "record", error);
  if (status == STATUS_OK) status = check_writable(&job, "scenario", error);
  if (status == STATUS_OK) status = live_bench_begin(job.bench, choose_solver(&job), error);
  if (status == STATUS_OK) {
    live_session_init(job.session, job.bench);
    status = play(&job, error);
    status = finish(&job, status, error);
  }
  free(job.session);
  live_bench_destroy(job.bench);
  return status;
}

const struct command command_live = {
    .name = "live",
    .text = "the engine in real time on a terminal, with keys; what was done can be played again",
    .operands = "ENGINE|SCENARIO",
    .operand_least = 1,
    .operand_most = 1,
    .options = live_options,
    .option_count = ARRAY_COUNT(live_options),
    .run = run,
    .details = "Shows speed, opening, air, codes and the chain of reasons, and below them a strip chart, drawn by gnuplot. The "
               "key ? lists "
               "the keys: film, clean, pedal, gear, loads, key, faults, speeds from x1 to x60, stop, mark. = takes an action in "
               "words, as a "
               "record has it: leak_mm2 12. A scenario or a record goes on by itself, and you act on it.\n\n"
               "With --plain there are no control sequences: a line every few seconds, and one for each key. Where stdin is no "
               "terminal, or "
               "with --keys, keys are read as a text and time passes with the dots in it alone (a dot is one second of watching, "
               "at x10 ten "
               "seconds of the engine), so that the same keys give the same record, byte by byte.\n\n"
               "  bladegap live four-16\n"
               "  bladegap live film-droop --record my-droop.txt\n"
               "  bladegap live four-16 --keys '++ ffff ..... a .... cy ....' --record lesson.txt\n"
               "  bladegap run lesson.txt",
};
