/* `bladegap lesson FILE.md`: a lesson, its runs and pictures and questions, as one HTML file. */
#include "commands/command.h"
#include "commands/lesson_compute.h"
#include "commands/page_file.h"
#include "commands/scenario_any.h"
#include "io/config/find_file.h"
#include "io/format/json.h"
#include "io/format/output_file.h"
#include "io/lesson/lesson_page.h"
#include "sim/record.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { PATH_SIZE = OUTPUT_FILE_PATH_SIZE };

#define AT_MOST_S 3600.0 // a bench in a document opens up to then

static const struct option_row lesson_options[] = {
    OPTION_ROW_TEXT("out", "FILE", "write the page there; by default NAME.html, NAME-key.html or NAME-slides.html here"),
    OPTION_ROW_FLAG("key", "the instructor's edition: with answers, talking points, and what was checked"),
    OPTION_ROW_FLAG("without-live", "write a sentence in place of the live bench, if it has not been built"),
    OPTION_ROW_FLAG("slides", "landscape slides, one idea each, without answers"),
};

/* Everything a lesson owns. */
struct job {
  const struct command_line *line;
  struct lesson_file file;
  struct lesson_results results;
  char *page; // the live bench; NULL until a block wants it
  char out[PATH_SIZE];
};

/* The record of a live block's scenario, for the bench to play; NULL after a fault, which has been told. */
static char *record_of(const struct lesson_text *text, const struct lesson_item *item) {
  struct scenario scenario;
  struct error what;
  char engine_name[SCENARIO_PATH_SIZE], *record = NULL;
  struct engine *engine = calloc(1, sizeof *engine);
  error_clear(&what);
  scenario_init(&scenario);
  if (engine && lesson_compute_scenario(item, &scenario, engine, &what) == STATUS_OK) {
    scenario_any_engine(scenario.engine_path, engine_name);
    const size_t size = record_write(&scenario, engine_name, NULL, 0) + 1;
    record = strchr(engine_name, '/') ? NULL : malloc(size);
    if (record) record_write(&scenario, engine_name, record, size);
    if (!record) error_set(&what, STATUS_BAD_CONFIG, "the live bench has the shipped engines only (bladegap list engines)");
  }
  if (!record) lesson_text_fault(text, item->line, what.text);
  scenario_destroy(&scenario);
  free(engine);
  return record;
}

static void put_live(const struct lesson_text *text, const struct lesson_item *item, void *user) {
  struct job *job = user;
  const struct lesson_field *at = lesson_file_field(item, "at"), *blind = lesson_file_field(item, "blind");
  double at_s = 0.0;
  if (at && !lesson_text_number(text, at, &at_s)) return;
  // without it at_s is 0, which may be. NOLINTNEXTLINE(clang-analyzer-core.NullDereference)
  if (!(at_s >= 0.0 && at_s <= AT_MOST_S)) lesson_text_fault(text, at->line, "a live bench opens at 0 to 3600 s");
  if (blind && strcmp(blind->value, "yes") != 0) lesson_text_fault(text, blind->line, "blind is yes, or left out");
  if (options_given(job->line, "without-live")) {
    lesson_text_put(text, "<p><b>", lesson_file_field(item, "title"),
                    ":</b> a live bench belongs here. This page was written without it.</p>\n");
    return;
  }
  if (!job->page) job->page = page_file_read();
  if (!job->page) {
    lesson_text_fault(text, item->line,
                      "the live bench has not been built here: scenarios/page builds it; or ask for --without-live");
    return;
  }
  char *record = record_of(text, item), *title = lesson_text_fill(text, lesson_file_value(item, "title"), item->line);
  if (record && title)
    page_file_put_bench(&(struct page_file_bench){.title = title,
                                                  .record = record,
                                                  .at_s = at_s,
                                                  .show = lesson_file_value(item, "show"),
                                                  .standing = true,
                                                  .blind = blind != NULL},
                        text->stream);
  free(title);
  free(record);
}

static void end_live(FILE *stream, void *user) {
  const struct job *job = user;
  if (job->page) page_file_put_once(job->page, stream);
}

static enum status choose_out(struct job *job, enum lesson_page_edition edition, struct error *error) {
  static const char *const endings[] = {"", "-key", "-slides"};
  char stem[PATH_SIZE / 2];
  find_file_stem(job->line->operands[0], sizeof stem, stem);
  const char *given = options_text(job->line, "out", NULL);
  const int length =
      given ? snprintf(job->out, PATH_SIZE, "%s", given) : snprintf(job->out, PATH_SIZE, "%s%s.html", stem, endings[edition]);
  return length < PATH_SIZE ? STATUS_OK : error_set(error, STATUS_CANNOT_CREATE, "--out: the path is too long");
}

static enum status write(struct job *job, enum lesson_page_edition edition, struct error *error) {
  struct output_file out;
  enum status status = output_file_open(&out, job->out, error);
  if (status != STATUS_OK) return status;
  const struct lesson_text text = {&job->file, &job->results, out.stream, error};
  const struct lesson_page_live live = {PAGE_FILE_POLICY, put_live, end_live, job};
  status = lesson_page_put(&text, edition, &live);
  if (status == STATUS_OK) return output_file_commit(&out, error);
  output_file_discard(&out);
  return status;
}

static size_t count_items(const struct lesson_file *file, enum lesson_kind kind) {
  size_t count = 0;
  for (size_t i = 0; i < file->count; i++) count += file->items[i].kind == kind;
  return count;
}

static enum status tell(const struct job *job, enum lesson_page_edition edition, struct error *error) {
  static const char *const editions[] = {"students", "key", "slides"};
  if (!job->line->json) {
    if (!job->line->quiet) printf("%s: open it in a browser\n", job->out);
    return STATUS_OK;
  }
  struct json *json = json_create();
  json_put_text(json, "file", job->out);
  json_put_text(json, "title", job->file.title);
  json_put_text(json, "edition", editions[edition]);
  json_put_count(json, "results", (long long)job->results.count);
  json_put_count(json, "questions", (long long)count_items(&job->file, LESSON_KIND_question));
  const enum status status = json_print(json, stdout, error);
  json_destroy(json);
  return status;
}

static enum status make(struct job *job, struct error *error) {
  const bool key = options_given(job->line, "key") > 0, slides = options_given(job->line, "slides") > 0;
  if (key && slides) return error_set(error, STATUS_USAGE, "lesson: --key and --slides are two files; ask for one at a time");
  const enum lesson_page_edition edition = key ? LESSON_PAGE_KEY : slides ? LESSON_PAGE_SLIDES : LESSON_PAGE_STUDENTS;
  enum status status = choose_out(job, edition, error);
  if (status == STATUS_OK) status = lesson_file_read(job->line->operands[0], &job->file, error);
  if (status == STATUS_OK) status = lesson_compute(&job->file, &job->results, error);
  if (status == STATUS_OK) status = write(job, edition, error);
  return status == STATUS_OK ? tell(job, edition, error) : status;
}

static enum status run(const struct command_line *line, struct error *error) {
  struct job *job = calloc(1, sizeof *job);
  if (!job) return error_set(error, STATUS_NO_MEMORY, "out of memory for a lesson");
  job->line = line;
  const enum status status = make(job, error);
  lesson_result_destroy_all(&job->results);
  lesson_file_destroy(&job->file);
  free(job->page);
  free(job);
  return status;
}

const struct command command_lesson = {
    .name = "lesson",
    .text = "a lesson: text, runs, pictures and questions as one HTML file",
    .operands = "FILE.md",
    .operand_least = 1,
    .operand_most = 1,
    .options = lesson_options,
    .option_count = ARRAY_COUNT(lesson_options),
    .run = run,
    .details = "A lesson is CommonMark in which fenced blocks ask for runs, settled points, sweeps, estimates, pictures, tables, "
               "the live bench and questions (docs/lessons.md). It is run, and its statements are checked on its runs: a lesson "
               "that contradicts its runs is refused, with file and line. The page needs no network and no other file, can be "
               "printed, and can be read on a phone. The students' edition does not contain the answers.\n\n  bladegap lesson "
               "docs/lessons/02-choked-flow.md\n  bladegap lesson docs/lessons/02-choked-flow.md --key --out answers.html\n  "
               "bladegap lesson docs/lessons/02-choked-flow.md --slides",
};
