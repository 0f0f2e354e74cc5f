/* Writes docs/claims.md from the tables of analysis/run/claim.h:  make_claims > docs/claims.md ; with --check FILE it compares instead. */
#include "analysis/run/claim.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static void print_rows(FILE *out, const char *heading, const struct claim_word_row *rows, int count) {
  fprintf(out, "\n| %s | is |\n|---|---|\n", heading);
  for (int i = 0; i < count; i++) fprintf(out, "| `%s` | %s |\n", rows[i].name, rows[i].text);
}

static const char head[] =
    "# The sentences of a run, and what each promises\n"
    "\n"
    "Which facts each kind of sentence in a summary rests on, for anybody who wants to check one. Written by `make_claims` from "
    "the tables of\n"
    "`src/analysis/run/claim.h` and `claim_kinds.h`; a test compares it. Do not edit it by hand.\n"
    "\n"
    "Every sentence of a summary is a claim. Its numbers are values measured on the rows of that run, or derived from such "
    "values. Its words are\n"
    "predicates that were tried on the run before the sentence was printed. If a window is empty, a value is not a number or a "
    "predicate does not\n"
    "hold, the sentence is left out. `bladegap run --json` gives all claims of a run as the array `why`, including those that "
    "stdout shows only\n"
    "with `--all`, so that anybody can check them on `run.csv` and `events.csv`:\n"
    "\n"
    "    {\"kind\": \"film_low\", \"part\": \"headline\", \"text\": \"With a film of 72 um the idle is at 720 rpm, 130 "
    "below target.\",\n"
    "     \"from_s\": 14.0, \"to_s\": 24.0, \"channels\": [\"speed_rpm\", \"target_rpm\", ...],\n"
    "     \"values\": [{\"name\": \"speed\", \"printed\": \"720\", \"value\": 719.8, \"unit\": \"rpm\", \"is\": \"mean\", "
    "\"channel\": \"speed_rpm\",\n"
    "                 \"from_s\": 14.0, \"to_s\": 24.0}, ...],\n"
    "     \"holds\": [{\"is\": \"below\", \"of\": [\"speed\", \"target\"], \"by\": 10.0}, ...]}\n"
    "\n"
    "* Parts: `headline`, one or two sentences; `chain`, at most five in order of time with at most three numbers each; "
    "`surprise`, at most\n"
    "  three; `code`, a row of the table of codes, with `code` and the standard's `name`; `more`, what `--all` adds.\n"
    "* `from_s` and `to_s` of a value are the times of its first and its last row; those of a claim cover everything that it "
    "speaks of.\n"
    "* `printed` is how a value appears in the text; a value without it is used by predicates only. Every number in a text is a "
    "value, except\n"
    "  digits that are part of a name (`mm2`, `P0505`, `tps1_v`).\n"
    "* On target, hidden and back mean within 10 rpm, everywhere. At rest means that over ten seconds the speed drifts by 8 rpm "
    "at most, the\n"
    "  learned share by 0.3 % and the film by 0.5 um, and that the controller's effort is 2 % at most or the learned share at "
    "its limit.\n"
    "* Reasons why a code was not set (`only_while`): `pedal`, above 1 %; `recent`, a start, a change of load or the pedal "
    "within the engine's\n"
    "  `monitor_delay_s`; `cold`, coolant below `warm_c`; `limp`, from a limp-home until the next start; `left`, not both at "
    "their limit; `loop`,\n"
    "  too cold or too soon for the oxygen sensor; `standing`, between a stall or key off and the next start.\n";

static void write_page(FILE *out) {
  fputs(head, out);
  fprintf(out, "\n## How a value is found: `is`\n");
  print_rows(out, "value", claim_statistic_rows, CLAIM_STATISTIC_COUNT);
  print_rows(out, "`how` of a pair", claim_pairing_rows, CLAIM_PAIRING_COUNT);
  fprintf(out, "\n## What is promised: `holds`\n");
  print_rows(out, "predicate", claim_predicate_rows, CLAIM_PREDICATE_COUNT);
  fprintf(out, "\n## Kinds\n\nEvery claim of a kind carries the predicates named; it may carry more.\n\n| kind | says | carries "
               "|\n|---|---|---|\n");
  for (int i = 0; i < CLAIM_KIND_COUNT; i++)
    fprintf(out, "| `%s` | %s | %s |\n", claim_kind_rows[i].name, claim_kind_rows[i].text, claim_kind_rows[i].needs);
}

/* 0 if the file says the same. */
static int check(const char *path) {
  char *text = NULL, *have = NULL;
  size_t size = 0, read = 0;
  FILE *fresh = open_memstream(&text, &size);
  if (!fresh) return 1;
  write_page(fresh);
  fclose(fresh);
  FILE *file = fopen(path, "r");
  have = calloc(1, size + 2);
  if (file && have) read = fread(have, 1, size + 1, file);
  if (file) fclose(file);
  const int different = read != size || memcmp(have, text, size) != 0;
  if (different) fprintf(stderr, "%s is not what the tables say: make_claims > %s\n", path, path);
  free(text);
  free(have);
  return different;
}

int main(int count, char **words) {
  if (count == 3 && strcmp(words[1], "--check") == 0) return check(words[2]);
  write_page(stdout);
  return 0;
}
