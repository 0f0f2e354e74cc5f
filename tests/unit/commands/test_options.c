/* The option parser. Truth: the contract in commands/options.h (strict values; a usage error names option,
 * value and range), and POSIX's conventions for utility arguments: `--` ends the options, operands and
 * options may mix. */
#include "base/attributes.h"
#include "commands/command.h"
#include "support/check.h"

#include <stdio.h>
#include <string.h>

static enum status no_run(const struct command_line *line, struct error *error) {
  (void)line;
  return error_set(error, STATUS_INTERNAL, "not to be run");
}

static const char *const colour_names[] = {"amber", "green", NULL};
static const struct option_row rows[] = {
    OPTION_ROW_FLAG("fast", "a flag"),
    OPTION_ROW_TEXT("out", "DIR", "a text"),
    OPTION_ROW_TEXTS("set", "NAME=VALUE", "texts"),
    OPTION_ROW_REAL("film", "UM", -1.5, 300, "a number"),
    OPTION_ROW_COUNT("seed", "N", 0, 10, "a whole number"),
    OPTION_ROW_CHOICE("colour", "NAME", colour_names, "a choice"),
};
static const struct command command = {
    .name = "try",
    .text = "",
    .operands = "FILE [FILE]",
    .operand_least = 1,
    .operand_most = 2,
    .options = rows,
    .option_count = ARRAY_COUNT(rows),
    .run = no_run,
};

enum { WORD_MAX = 12 };

/* Parses words, ended by NULL; argv[0] is the command. */
static enum status parse(const char *const *words, struct command_line *line, struct error *error) {
  static char copies[WORD_MAX][64]; // getopt_long reorders argv, and values point into it
  char *argv[WORD_MAX + 1] = {NULL};
  static char *kept[WORD_MAX + 1];
  int argc = 0;
  for (; words[argc]; argc++) {
    snprintf(copies[argc], sizeof copies[argc], "%s", words[argc]);
    argv[argc] = copies[argc];
  }
  memcpy(kept, argv, sizeof argv);
  error_clear(error);
  return options_parse(&command, argc, kept, line, error);
}

#define WORDS(...) ((const char *const[]){"try", __VA_ARGS__, NULL})

static void reads_every_kind(void **state) {
  (void)state;
  struct command_line line;
  struct error error;
  const char *const *words = WORDS("--film", "-1.5", "a.cfg", "--seed=10", "--out", "x", "--colour", "green", "--fast", "b.cfg");
  assert_int_equal(parse(words, &line, &error), STATUS_OK);
  check_close(options_real(&line, "film", 0.0), -1.5, 0.0);
  assert_int_equal(options_count(&line, "seed", 3), 10);
  assert_int_equal(options_choice(&line, "colour", 0), 1);
  assert_string_equal(options_text(&line, "out", "else"), "x");
  assert_int_equal(options_given(&line, "fast"), 1);
  assert_int_equal(line.operand_count, 2);
  assert_string_equal(line.operands[0], "a.cfg");
  assert_string_equal(line.operands[1], "b.cfg");
  assert_false(line.json || line.quiet || line.help);
  options_destroy(&line);
}

static void answers_for_what_is_not_given(void **state) {
  (void)state;
  struct command_line line;
  struct error error;
  assert_int_equal(parse(WORDS("a", "--json", "--json"), &line, &error), STATUS_OK);
  assert_true(line.json);
  assert_int_equal(options_given(&line, "set"), 0);
  assert_string_equal(options_text(&line, "out", "else"), "else");
  check_close(options_real(&line, "film", 12.5), 12.5, 0.0);
  options_destroy(&line);
}

static void repeats_where_the_row_says_so(void **state) {
  (void)state;
  struct command_line line;
  struct error error;
  assert_int_equal(parse(WORDS("--set", "a=1", "f", "--set=b=2"), &line, &error), STATUS_OK);
  assert_int_equal(options_given(&line, "set"), 2);
  assert_string_equal(options_text_at(&line, "set", 0), "a=1");
  assert_string_equal(options_text_at(&line, "set", 1), "b=2");
  options_destroy(&line);
}

static void two_dashes_end_the_options(void **state) {
  (void)state;
  struct command_line line;
  struct error error;
  assert_int_equal(parse(WORDS("--fast", "--", "--json", "--help"), &line, &error), STATUS_OK);
  assert_false(line.json || line.help);
  assert_int_equal(line.operand_count, 2);
  assert_string_equal(line.operands[0], "--json");
  options_destroy(&line);
}

static void help_wins_over_mistakes(void **state) {
  (void)state;
  struct command_line line;
  struct error error;
  assert_int_equal(parse(WORDS("--nonsense", "--help"), &line, &error), STATUS_OK);
  assert_true(line.help);
  options_destroy(&line);
}

static void refuses(void **state) {
  (void)state;
  static const struct {
    const char *words[4];
    const char *message; // part of it
  } cases[] = {
      {{"try", "f", "--flim=1"}, "try has no option --flim; did you mean --film?"},
      {{"try", "f", "--fil=1"}, "try has no option --fil; did you mean --film?"},
      {{"try", "f", "-f"}, "try has no option -f "},
      {{"try", "f", "--film"}, "--film needs a value: --film UM"},
      {{"try", "f", "--film="}, "--film: '' is not a finite number; allowed: -1.5 to 300"},
      {{"try", "f", "--film=1x"}, "--film: '1x' is not a finite number; allowed: -1.5 to 300"},
      {{"try", "f", "--film=1,5"}, "--film: '1,5' is not a finite number; allowed: -1.5 to 300"},
      {{"try", "f", "--film= 1"}, "--film: ' 1' is not a finite number"},
      {{"try", "f", "--film=0x10"}, "--film: '0x10' is not a finite number"},
      {{"try", "f", "--film=nan"}, "--film: 'nan' is not a finite number"},
      {{"try", "f", "--film=inf"}, "--film: 'inf' is not a finite number"},
      {{"try", "f", "--film=1e999"}, "--film: '1e999' is not a finite number"},
      {{"try", "f", "--film=300.001"}, "--film: 300.001 is out of range; allowed: -1.5 to 300"},
      {{"try", "f", "--film=-1.6"}, "--film: -1.6 is out of range; allowed: -1.5 to 300"},
      {{"try", "f", "--seed=1.5"}, "--seed: '1.5' is not a whole number; allowed: 0 to 10"},
      {{"try", "f", "--seed=11"}, "--seed: 11 is out of range; allowed: 0 to 10"},
      {{"try", "f", "--colour=gren"}, "--colour: 'gren' is none of amber, green; did you mean green?"},
      {{"try", "f", "--out="}, "--out: DIR must not be empty"},
      {{"try", "f", "--fast=1"}, "--fast takes no value: '--fast=1'"},
      {{"try", "--out=a", "--out=b", "f"}, "--out is given twice: 'a' and 'b'"},
      {{"try", "--fast"}, "try: FILE [FILE] is missing"},
      {{"try", "a", "b", "c"}, "try: 'c' is one too many"},
      {{"try", "--out", "--fast", "f"}, "--out needs a value, and '--fast' looks like an option"},
  };
  for (size_t i = 0; i < ARRAY_COUNT(cases); i++) {
    const char *words[5] = {NULL};
    memcpy(words, cases[i].words, sizeof cases[i].words);
    struct command_line line;
    struct error error;
    const enum status status = parse(words, &line, &error);
    options_destroy(&line);
    if (status != STATUS_USAGE || !strstr(error.text, cases[i].message))
      fail_msg("case %zu: status %d, message '%s', wanted '%s'", i, (int)status, error.text, cases[i].message);
  }
}

static void rows_of_the_program_are_sound(void **state) {
  (void)state;
  for (size_t i = 0; i < command_count; i++) {
    const struct command *one = command_rows[i];
    assert_ptr_equal(command_find(one->name), one);
    assert_true(one->operand_least <= one->operand_most);
    for (size_t k = 0; k < one->option_count; k++) {
      const struct option_row *row = &one->options[k];
      assert_true((row->kind == OPTION_FLAG) == (row->argument == NULL));
      assert_true((row->kind == OPTION_CHOICE) == (row->choices != NULL));
      if (row->kind == OPTION_REAL || row->kind == OPTION_COUNT) assert_true(row->min < row->max);
      for (size_t m = 0; m < k; m++) assert_string_not_equal(row->name, one->options[m].name);
      for (size_t m = 0; m < options_common_count; m++) assert_string_not_equal(row->name, options_common_rows[m].name);
    }
  }
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(reads_every_kind),
      cmocka_unit_test(answers_for_what_is_not_given),
      cmocka_unit_test(repeats_where_the_row_says_so),
      cmocka_unit_test(two_dashes_end_the_options),
      cmocka_unit_test(help_wins_over_mistakes),
      cmocka_unit_test(refuses),
      cmocka_unit_test(rows_of_the_program_are_sound),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
