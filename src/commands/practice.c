/* `bladegap practice`: a hidden fault, a budget of minutes, a mark. */
#include "base/attributes.h"
#include "commands/command.h"
#include "commands/practice_class.h"
#include "commands/practice_desk.h"
#include "commands/threads.h"

#include <string.h>

static const struct option_row practice_options[] = {
    OPTION_ROW_COUNT(
        "level", "L", PRACTICE_LEVEL_LEAST, PRACTICE_LEVEL_MOST,
        "open: 1 one severe cause; 2 a film or something that reads like one (default); 3 two, none, slight ones, odd cars"),
    OPTION_ROW_COUNT("seed", "S", 0, 2000000000, "open: the same seed, level and engine give the same case; 1 by default"),
    OPTION_ROW_TEXT("engine", "ENGINE", "open: the engine; by default one of the shipped ones, by the seed"),
    OPTION_ROW_COUNT("class", "N", 1, 999, "open: this many cases, into the folder given by --out"),
    OPTION_ROW_TEXT("out", "CASE|FOLDER", "open: the file of the case; with --class the folder"),
    OPTION_ROW_FLAG("careful", "measure, answer: the cautions have been read and will be followed"),
    OPTION_ROW_TEXT("csv", "FILE", "class: one row for each case"),
    OPTION_ROW_TEXT("picture", "FILE", "class: where the class lost its minutes, .png, .svg, .pdf or .txt"),
    OPTION_ROW_COUNT("threads", "N", 1, THREADS_MAX, "how many cores to use; all by default. The result is the same"),
};

static enum status run(const struct command_line *line, struct error *error) {
  const char *what = line->operands[0];
  if (line->json && strcmp(what, "measure") != 0 && strcmp(what, "mark") != 0)
    return error_set(error, STATUS_USAGE, "practice %s: it has no --json; measure and mark have", what);
  if (strcmp(what, "open") == 0) return practice_class_open(line, error);
  if (strcmp(what, "class") == 0) return practice_class_tell(line, error);
  const bool play = strcmp(what, "play") == 0, known = play || strcmp(what, "work") == 0;
  struct practice_desk desk = {.json = line->json,
                               .careful = options_given(line, "careful") > 0,
                               .for_each = threads_for_each((size_t)options_count(line, "threads", 0))};
  char *words[8] = {line->operands[0]};
  if (line->operand_count < 2 && !known) return error_set(error, STATUS_USAGE, "practice %s: give the CASE", what);
  if (line->operand_count < 2)
    return play ? error_set(error, STATUS_USAGE, "practice play: give the CASE") : practice_desk_do(&desk, 1, words, error);
  for (size_t i = 2; i < line->operand_count; i++) words[i - 1] = line->operands[i];
  enum status status = practice_desk_begin(&desk, line->operands[1], error);
  if (status == STATUS_OK)
    status = play ? practice_play(&desk, error) : practice_desk_do(&desk, line->operand_count - 1, words, error);
  practice_desk_end(&desk);
  return status;
}

static const char *const choices[] = {"open",   "show", "tests", "work",  "measure", "note",
                                      "answer", "mark", "play",  "class", NULL};

const struct command command_practice = {
    .name = "practice",
    .text = "a hidden fault: measure, answer, and get a mark",
    .operands = "open|ACTION [CASE] [...]",
    .operand_least = 1,
    .operand_most = 5,
    .options = practice_options,
    .option_count = ARRAY_COUNT(practice_options),
    .run = run,
    .details =
        "Actions: show, tests, work, measure TEST, note TEXT, answer CAUSE SEVERITY WORK, mark, play, class FOLDER. open draws a "
        "car with a hidden cause, or two, or none, and gives the complaint. Each test costs minutes and shows readings with the "
        "noise and resolution of its instrument; its cautions come first, and --careful says that they have been read. answer "
        "names the cause, how severe it is, and what to do; mark counts the points and shows what each test was worth compared "
        "with the best plan. The case is a file that keeps what was spent and does not contain the answer.\n\n  bladegap "
        "practice open --level 2 --seed 7 --out case.txt\n  bladegap practice measure case.txt data_stream@idle --careful\n  "
        "bladegap practice answer case.txt film 60 clean_bore --careful\n  bladegap practice mark case.txt\n  bladegap practice "
        "open --class 30 --level 2 --seed 1 --out monday\n  bladegap practice class monday --csv monday.csv --picture monday.png",
    .operand_choices = choices,
};
