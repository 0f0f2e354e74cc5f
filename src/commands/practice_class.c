#include "commands/practice_class.h"

#include "analysis/practice/practice_session.h"
#include "commands/engine_any.h"
#include "commands/threads.h"
#include "io/config/case_file.h"
#include "io/config/data_folder.h"
#include "io/config/find_file.h"
#include "io/format/output_file.h"
#include "io/picture/picture_practice.h"
#include "io/report/practice_report.h"

#include <dirent.h>
#include <errno.h>
#include <stdlib.h>
#include <string.h>

enum { PATH_SIZE = 4096, SESSION_MAX = 24, CASE_MAX = 999, LEVEL_USUAL = 2 };

/* Engines that were met, each with its level. */
struct garage {
  size_t count;
  struct practice_session *sessions[SESSION_MAX]; // owned
  char engines[SESSION_MAX][PRACTICE_TEXT_SIZE];
};

static enum status find_session(struct garage *g, const char *engine, int level, struct practice_session **session,
                                struct error *error) {
  for (size_t i = 0; i < g->count; i++)
    if (strcmp(g->engines[i], engine) == 0 && g->sessions[i]->drawn.level == level) {
      *session = g->sessions[i];
      return STATUS_OK;
    }
  if (g->count == SESSION_MAX) return error_set(error, STATUS_BAD_DATA, "a class has at most %d sorts of cars", (int)SESSION_MAX);
  struct engine *read = calloc(1, sizeof *read);
  if (!read) return error_set(error, STATUS_NO_MEMORY, "out of memory for an engine");
  enum status status = engine_any_read(engine, read, error);
  if (status == STATUS_OK) status = practice_session_create(read, level, session, error);
  free(read);
  if (status != STATUS_OK) return status;
  snprintf(g->engines[g->count], PRACTICE_TEXT_SIZE, "%s", engine);
  g->sessions[g->count++] = *session;
  return status;
}

static void close_garage(struct garage *g) {
  for (size_t i = 0; i < g->count; i++) practice_session_destroy(g->sessions[i]);
}

/* ---- opening ---- */

static enum status choose_engine(const struct command_line *line, uint64_t seed, char engine[PRACTICE_TEXT_SIZE],
                                 struct error *error) {
  const char *given = options_text(line, "engine", NULL);
  struct data_folder_files files;
  if (given && strlen(given) >= PRACTICE_TEXT_SIZE)
    return error_set(error, STATUS_USAGE, "--engine: the name is too long for a case");
  if (given) {
    snprintf(engine, PRACTICE_TEXT_SIZE, "%s", given);
    return STATUS_OK;
  }
  const enum status status = data_folder_list("models", &files, error);
  if (status != STATUS_OK) return status;
  if (files.count == 0) return error_set(error, STATUS_NO_INPUT, "there is no engine among the shipped models: give --engine");
  find_file_stem(files.paths[practice_session_seed(seed, 0) % files.count], PRACTICE_TEXT_SIZE, engine);
  data_folder_release(&files);
  return STATUS_OK;
}

static enum status open_one(const struct command_line *line, struct garage *g, uint64_t seed, const char *path,
                            struct error *error) {
  struct practice_record *record = calloc(1, sizeof *record);
  struct practice_session *session = NULL;
  if (!record) return error_set(error, STATUS_NO_MEMORY, "out of memory for a case");
  record->level = options_count(line, "level", LEVEL_USUAL);
  record->seed = seed;
  enum status status = choose_engine(line, seed, record->engine, error);
  if (status == STATUS_OK) status = find_session(g, record->engine, record->level, &session, error);
  if (status == STATUS_OK) practice_session_draw(session, seed);
  if (status == STATUS_OK) status = case_file_write(record, path, error);
  if (status == STATUS_OK && !line->quiet && !options_given(line, "class"))
    practice_report_case(&session->drawn, &session->tests, record, stdout);
  free(record);
  return status;
}

enum status practice_class_open(const struct command_line *line, struct error *error) {
  const char *out = options_text(line, "out", NULL);
  const int count = options_count(line, "class", 0), seed = options_count(line, "seed", 1);
  struct garage g = {.count = 0};
  if (!out || line->operand_count > 1)
    return error_set(error, STATUS_USAGE, "practice open: give --out with the file of the case, or with --class a folder");
  enum status status = count ? output_file_make_folder(out, error) : open_one(line, &g, (uint64_t)seed, out, error);
  for (int i = 1; status == STATUS_OK && i <= count; i++) {
    char path[PATH_SIZE];
    snprintf(path, sizeof path, "%s/case-%03d.txt", out, i);
    status = open_one(line, &g, practice_session_seed((uint64_t)seed, i), path, error);
  }
  if (status == STATUS_OK && !line->quiet && count) printf("%d cases in %s\n", count, out);
  close_garage(&g);
  return status;
}

/* ---- a class that comes back ---- */

struct class_of {
  const struct command_line *line;
  struct for_each for_each;
  struct garage garage;
  FILE *csv; // NULL: none
  int cases, answered;
  double total;
  struct picture_practice lost;
};

static void lose(struct class_of *c, const struct practice_tests *tests, const struct practice_step *steps, size_t count,
                 double sign) {
  for (size_t i = 0; i < count; i++) {
    const char *name = tests->tests[steps[i].result.test].what.name;
    size_t row = 0;
    while (row < c->lost.count && strcmp(c->lost.rows[row].test, name) != 0) row++;
    if (row == PICTURE_PRACTICE_MAX) continue;
    if (row == c->lost.count) snprintf(c->lost.rows[c->lost.count++].test, ESTIMATE_NAME_SIZE, "%s", name);
    c->lost.rows[row].minutes += sign * steps[i].minutes;
  }
}

static enum status mark_one(struct class_of *c, const char *folder, const char *name, struct error *error) {
  char path[PATH_SIZE];
  struct practice_record *record = calloc(1, sizeof *record);
  struct practice_mark *mark = calloc(1, sizeof *mark);
  struct practice_session *session = NULL;
  struct practice_answer answer;
  snprintf(path, sizeof path, "%s/%s", folder, name);
  enum status status =
      record && mark ? case_file_read(path, record, error) : error_set(error, STATUS_NO_MEMORY, "out of memory for %s", path);
  if (status == STATUS_OK) status = find_session(&c->garage, record->engine, record->level, &session, error);
  if (status == STATUS_OK) {
    c->cases++;
    practice_session_draw(session, record->seed);
    const bool answered = record->words[0][0] != '\0';
    if (answered) status = practice_session_mark(session, record, &c->for_each, &answer, mark, error);
    if (c->csv) fprintf(c->csv, "%s,%s,%d,%s", name, record->engine, record->level, answered ? "yes" : "no");
    if (answered && status == STATUS_OK) {
      c->answered++;
      c->total += mark->total;
      lose(c, &session->tests, mark->steps, mark->count, 1.0);
      lose(c, &session->tests, mark->best.steps, mark->best.count, -1.0);
    }
    for (int i = 0; c->csv && i < PRACTICE_PART_COUNT; i++)
      answered ? fprintf(c->csv, ",%.1f", mark->points[i]) : fprintf(c->csv, ",");
    if (c->csv && answered)
      fprintf(c->csv, ",%.1f,%.0f,%.0f,%zu\n", mark->total, mark->minutes, mark->best.minutes, record->done_count);
    else if (c->csv)
      fprintf(c->csv, ",,%.0f,,%zu\n", practice_report_minutes(&session->tests, record), record->done_count);
  }
  free(mark);
  free(record);
  return status;
}

static int by_name(const void *a, const void *b) { return strcmp(*(char *const *)a, *(char *const *)b); }

static enum status mark_all(struct class_of *c, const char *folder, struct error *error) {
  char *names[CASE_MAX];
  size_t count = 0;
  DIR *dir = opendir(folder);
  if (!dir) return error_set(error, STATUS_NO_INPUT, "%s: %s", folder, strerror(errno));
  for (const struct dirent *entry = readdir(dir); entry && count < CASE_MAX; entry = readdir(dir)) {
    const size_t length = strlen(entry->d_name);
    if (length > 4 && strcmp(entry->d_name + length - 4, ".txt") == 0 && strncmp(entry->d_name, "case-", 5) == 0)
      if ((names[count] = strdup(entry->d_name))) count++;
  }
  closedir(dir);
  enum status status = count ? STATUS_OK : error_set(error, STATUS_NO_INPUT, "%s: there is no case-*.txt in it", folder);
  qsort(names, count, sizeof *names, by_name);
  error_clear(error);
  if (status != STATUS_OK) return error_set(error, status, "%s: there is no case-*.txt in it", folder);
  enum status first = STATUS_OK; // one bad case does not keep the others back
  struct error one;
  for (size_t i = 0; i < count; i++) {
    error_clear(&one);
    const enum status here = mark_one(c, folder, names[i], &one);
    if (here != STATUS_OK) first = error_append(error, here, "%s", one.text);
    free(names[i]);
  }
  return first;
}

static int by_minutes(const void *a, const void *b) {
  const double x = ((const struct picture_practice_row *)a)->minutes, y = ((const struct picture_practice_row *)b)->minutes;
  return (x < y) - (x > y);
}

enum status practice_class_tell(const struct command_line *line, struct error *error) {
  const char *csv = options_text(line, "csv", NULL), *picture = options_text(line, "picture", NULL);
  struct output_file file = {0};
  struct class_of *c = calloc(1, sizeof *c);
  if (!c) return error_set(error, STATUS_NO_MEMORY, "out of memory for a class");
  c->line = line;
  c->for_each = threads_for_each((size_t)options_count(line, "threads", 0));
  enum status status = line->operand_count == 2 ? STATUS_OK : error_set(error, STATUS_USAGE, "practice class: give the FOLDER");
  if (status == STATUS_OK && csv) status = output_file_open(&file, csv, error);
  if (status == STATUS_OK && csv) {
    c->csv = file.stream;
    fputs("case,engine,level,answered", c->csv);
    for (int i = 0; i < PRACTICE_PART_COUNT; i++) fprintf(c->csv, ",%s_points", practice_mark_parts[i].name);
    fputs(",total_points,minutes,best_minutes,tests\n", c->csv);
  }
  struct picture_target target = {.path = picture};
  c->lost.title = line->operand_count == 2 ? line->operands[1] : "";
  if (status == STATUS_OK && picture) status = picture_practice_format(picture, &target.format, error);
  const enum status marked = status == STATUS_OK ? mark_all(c, line->operands[1], error) : status;
  if (status == STATUS_OK && csv && c->cases > 0) status = output_file_commit(&file, error);
  output_file_discard(&file);
  qsort(c->lost.rows, c->lost.count, sizeof *c->lost.rows, by_minutes);
  c->lost.cases = c->answered;
  if (status == STATUS_OK && c->cases > 0 && !line->quiet) {
    printf("%d cases, %d answered", c->cases, c->answered);
    if (c->answered) printf("; mean mark %.0f of 100", c->total / c->answered);
    puts("");
    if (c->lost.count > 0 && c->lost.rows[0].minutes > 0.0) puts("Minutes beyond the best plans went into:");
    for (size_t i = 0; i < c->lost.count && i < 8 && c->lost.rows[i].minutes > 0.0; i++)
      printf("  %-28s %5.0f min\n", c->lost.rows[i].test, c->lost.rows[i].minutes);
  }
  if (status == STATUS_OK && picture && c->answered > 0) status = picture_practice_draw(&c->lost, &target, error);
  close_garage(&c->garage);
  free(c);
  return status == STATUS_OK ? marked : status;
}
