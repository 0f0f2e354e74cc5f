/* Writes docs/faults.md anew from runs:  make_faults > docs/faults.md  from the top of the source tree.
 *
 * The numbers are those of support/fault_table.h, the expectations those of reference/fault_expectations.h; test_faults.c
 * compares both with what the program computes. The words around them are here. */
#include "support/fault_table.h"

#include "reference/fault_expectations.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

enum { MODEL_MOST = 8, CASE_MOST = 128 };

struct results {
  struct fault_outcome clean, faulty[CASE_MOST];
};

static void print_head(void) {
  printf("# What each fault does to each reading\n"
         "\n"
         "How much each reading changes with each fault, on every engine, and what tells a film apart from its rivals. Written "
         "by `make_faults` from\n"
         "runs; `tests/reference/test_faults.c` compares it with what the program computes now and with what the trade expects. "
         "Do not edit it by hand.\n"
         "\n"
         "Every run begins with the same clean, warm, settled idle. The fault comes in over ten seconds (an electrical one at "
         "once), and the idle\n"
         "settles with the controller's effort moved into the learned offset, as minutes of idling would do. The means of twenty "
         "seconds are compared\n"
         "with those of the clean engine under the same cycle scatter. Then the driver's foot brings the engine to 2500 rpm "
         "without load, and the means\n"
         "of eight seconds are compared. The learned offset does not change there.\n"
         "\n"
         "A cell is the change: `0` is less than the dead band, `–` is a reading that this engine does not have (or that does "
         "not change), `stalls` an\n"
         "engine that stalled before it could be read. The first column gives the condition and its size in its unit.\n"
         "\n"
         "| reading | dead band | what it is, and why the band is that wide |\n"
         "|---|---|---|\n");
  for (int i = 0; i < FAULT_READING_COUNT; i++) {
    const struct fault_reading_row *row = &fault_reading_rows[i];
    printf("| %s | %g %s | %s |\n", row->name, row->dead_band, strcmp(row->unit, "1") == 0 ? "" : row->unit, row->text);
  }
  printf("\n");
}

static void print_case(const struct fault_case *fault) {
  printf("| %s = %g", fault->key, fault->severity);
  if (fault->with) printf(", %s = %g", fault->with, fault->with_value);
  printf(" |");
}

static bool has(const struct results *results, int point, int reading) { return !isnan(results->clean.reading[point][reading]); }

static void print_cells(const struct results *results, size_t fault, int point) {
  for (int i = 0; i < FAULT_READING_COUNT; i++) {
    const double change = fault_change(&results->clean, &results->faulty[fault], (enum fault_point)point, (enum fault_reading)i);
    if (!has(results, point, i))
      printf(" – |");
    else if (isnan(change))
      printf(" stalls |");
    else if (fabs(change) < fault_dead_band(&results->clean, (enum fault_point)point, (enum fault_reading)i))
      printf(" 0 |");
    else
      printf(" %+.*f |", fault_reading_rows[i].decimals, change);
  }
}

static void print_table(const struct results *results, int point) {
  printf("%s\n\n| fault |", point == FAULT_POINT_IDLE ? FAULT_TABLE_IDLE_HEADING : FAULT_TABLE_HELD_HEADING);
  for (int i = 0; i < FAULT_READING_COUNT; i++)
    printf(" %s%s%s |", fault_reading_rows[i].name, strcmp(fault_reading_rows[i].unit, "1") == 0 ? "" : ", ",
           strcmp(fault_reading_rows[i].unit, "1") == 0 ? "" : fault_reading_rows[i].unit);
  printf("%s\n|---|", point == FAULT_POINT_HELD ? " limp-home | codes in the run |" : "");
  for (int i = 0; i < FAULT_READING_COUNT; i++) printf("---|");
  printf("%s\n", point == FAULT_POINT_HELD ? "---|---|" : "");
  printf("| clean engine reads |");
  for (int i = 0; i < FAULT_READING_COUNT; i++)
    if (has(results, point, i))
      printf(" %.*f |", fault_reading_rows[i].decimals, results->clean.reading[point][i]);
    else
      printf(" – |");
  printf("%s\n", point == FAULT_POINT_HELD ? " – | – |" : "");
  for (size_t fault = 0; fault < FAULT_EXPECTATION_COUNT; fault++) {
    print_case(&fault_expectations[fault].trial);
    print_cells(results, fault, point);
    if (point == FAULT_POINT_HELD)
      printf(" %s | %s |",
             results->faulty[fault].limp == COMPUTER_LIMP_NONE ? "–" : computer_limp_names[results->faulty[fault].limp],
             results->faulty[fault].codes[0] ? results->faulty[fault].codes : "–");
    printf("\n");
  }
  printf("\n");
}

static int sign_of(const struct results *results, size_t fault, int point, int reading) {
  const double change =
      fault_change(&results->clean, &results->faulty[fault], (enum fault_point)point, (enum fault_reading)reading);
  if (isnan(change) || fabs(change) < fault_dead_band(&results->clean, (enum fault_point)point, (enum fault_reading)reading))
    return 0;
  return change > 0.0 ? 1 : -1;
}

static size_t case_of(const char *key) { return (size_t)(fault_expectations_find(key) - fault_expectations); }

static double at(const struct results *results, const char *key, int point, enum fault_reading reading) {
  return fault_change(&results->clean, &results->faulty[case_of(key)], (enum fault_point)point, reading);
}

/* Readings that differ in sign between two faults at a point; a letter of -1, 0, 1 each. No instrument shows the spark reserve,
 * and scatter makes roughness a poor witness. */
static bool tells_apart(const struct results *results, size_t a, size_t b, int point, int reading) {
  if (reading == FAULT_READING_RESERVE || reading == FAULT_READING_ROUGHNESS || !has(results, point, reading)) return false;
  return sign_of(results, a, point, reading) != sign_of(results, b, point, reading);
}

/* Faults that move the idle air as a film does: the rivals worth telling apart. */
static void print_rivals(const struct results *results, const char *film_key) {
  const size_t film = case_of(film_key);
  const double own = at(results, film_key, FAULT_POINT_IDLE, FAULT_READING_ADDED);
  printf("Faults that raise the idle air as `%s` does, and what tells them from it:\n\n", film_key);
  printf("| rival | at idle | at 2500 |\n|---|---|---|\n");
  for (size_t fault = 0; fault < FAULT_EXPECTATION_COUNT; fault++) {
    const double added = fault_change(&results->clean, &results->faulty[fault], FAULT_POINT_IDLE, FAULT_READING_ADDED);
    if (fault == film || !(added > 0.1 * own) || results->faulty[fault].limp != COMPUTER_LIMP_NONE) continue;
    printf("| %s |", fault_expectations[fault].trial.key);
    for (int point = 0; point < FAULT_POINT_COUNT; point++) {
      int count = 0;
      for (int i = 0; i < FAULT_READING_COUNT; i++) {
        if (!tells_apart(results, film, fault, point, i)) continue;
        static const char *const words[] = {"falls", "stays", "rises"};
        printf("%s %s %s", count++ ? "," : "", fault_reading_rows[i].name, words[1 + sign_of(results, fault, point, i)]);
      }
      printf("%s |", count ? "" : " nothing");
    }
    printf("\n");
  }
  printf("\n");
}

/* The three questions that separate a film from the rest, with this engine's numbers. */
static void print_film(const struct results *results, const struct engine *engine) {
  const bool air_flow = engine->computer.fuel.metering == METERING_AIR_FLOW;
  const bool cable = engine->plant.throttle.kind == THROTTLE_CABLE;
  const char *film = cable ? "bypass_film_um" : "film_um";
  const char *unit = cable ? "steps" : "%";
  printf("### What tells a film from its rivals\n\n");
  printf("*Metered or not.* The film's air is metered: opening %+.2f %s, idle air added %+.1f %%, trim %+.1f "
         "%%. ",
         at(results, film, FAULT_POINT_IDLE, FAULT_READING_OPENING), unit,
         at(results, film, FAULT_POINT_IDLE, FAULT_READING_ADDED), at(results, film, FAULT_POINT_IDLE, FAULT_READING_TRIM));
  printf("A vacuum leak goes the other way, opening %+.2f %s, idle air added %+.1f %%, and trim %+.1f %%: ",
         at(results, "leak_mm2", FAULT_POINT_IDLE, FAULT_READING_OPENING), unit,
         at(results, "leak_mm2", FAULT_POINT_IDLE, FAULT_READING_ADDED),
         at(results, "leak_mm2", FAULT_POINT_IDLE, FAULT_READING_TRIM));
  printf(air_flow ? "the trims alone tell the two apart.\n\n"
                  : "this engine meters by pressure, so its trims show neither; the direction of the "
                    "idle air does.\n\n");
  printf("*Idle or 2500.* At 2500 the film's opening is %+.2f %% off and the leak's trim %+.1f %% (%+.1f %% "
         "at idle); ",
         at(results, film, FAULT_POINT_HELD, FAULT_READING_OPENING),
         at(results, "leak_mm2", FAULT_POINT_HELD, FAULT_READING_TRIM),
         at(results, "leak_mm2", FAULT_POINT_IDLE, FAULT_READING_TRIM));
  printf("weak fuel delivery keeps %+.1f %% of %+.1f %%. An effect that stays is a share of all fuel or air; one that fades is a "
         "hole.\n\n",
         at(results, "fuel_delivery_ratio", FAULT_POINT_HELD, FAULT_READING_TRIM),
         at(results, "fuel_delivery_ratio", FAULT_POINT_IDLE, FAULT_READING_TRIM));
  printf("*Pressure.* The film leaves the manifold's pressure at %+.1f kPa: the engine gets the same air as before. Whatever "
         "takes torque raises it: drag %+.1f, a cylinder without spark %+.1f, late spark %+.1f, worn rings %+.1f kPa, all with "
         "the blade further open too. A gauge tells them apart from a film where the trims cannot.\n\n",
         at(results, film, FAULT_POINT_IDLE, FAULT_READING_PRESSURE),
         at(results, "drag_nm", FAULT_POINT_IDLE, FAULT_READING_PRESSURE),
         at(results, "spark_missing_pct", FAULT_POINT_IDLE, FAULT_READING_PRESSURE),
         at(results, "spark_offset_deg", FAULT_POINT_IDLE, FAULT_READING_PRESSURE),
         at(results, "compression_loss_pct", FAULT_POINT_IDLE, FAULT_READING_PRESSURE));
  print_rivals(results, film);
}

static void print_engines(unsigned engine) {
  static const struct {
    unsigned bit;
    const char *name;
  } rows[] = {{AIR_FLOW, "air-flow sensor"}, {PRESSURE, "pressure sensor"}, {ELECTRONIC, "electronic throttle"},
              {CABLE, "cable throttle"},     {ONE_BANK, "one bank"},        {TWO_BANKS, "two banks"}};
  int count = 0;
  for (size_t i = 0; i < ARRAY_COUNT(rows); i++)
    if (engine & rows[i].bit) printf("%s%s", count++ ? ", " : "", rows[i].name);
  if (!count) printf("all");
}

static void print_signs(const char *signs) {
  static const char *const words[] = {"up", "down", "no change", "not down", "not up"};
  static const char letters[] = "+-0pm";
  int count = 0;
  for (size_t w = 0; w < ARRAY_COUNT(words); w++) {
    int here = 0;
    for (int i = 0; i < FAULT_READING_COUNT; i++) {
      if (signs[i] != letters[w] || i == FAULT_READING_TRIM2) continue;
      printf("%s%s", here++ ? ", " : count++ ? "; " : "", fault_reading_rows[i].name);
    }
    if (here) printf(" %s", words[w]);
  }
  if (!count) printf("no opinion");
}

static void print_expectation(const char *key, const struct fault_signs *row) {
  printf("| %s | ", key);
  print_engines(row->engine);
  for (int point = 0; point < FAULT_POINT_COUNT; point++) {
    printf(" | ");
    print_signs(row->signs[point]);
  }
  printf(" | %s | %s |\n", row->why, row->source);
}

static void print_expectations(void) {
  printf("## What the trade expects\n\n"
         "The signs that a mechanic of long practice would expect of the faults above. Where the trade is of "
         "two minds the row says\n"
         "so. Trims of a second bank are as those of the first except for a leak on one bank.\n\n"
         "| fault | engines | at idle | at 2500 | why | source |\n|---|---|---|---|---|---|\n");
  for (size_t i = 0; i < FAULT_EXPECTATION_COUNT; i++)
    for (size_t k = 0; k < FAULT_SIGNS_MAX && fault_expectations[i].signs[k].source; k++)
      print_expectation(fault_expectations[i].trial.key, &fault_expectations[i].signs[k]);
}

static enum status run_model(const char *model, struct results *results, struct fault_bench *bench, struct error *error) {
  enum status status = fault_bench_init(bench, model, error);
  if (status == STATUS_OK) status = fault_bench_run(bench, NULL, 1, &results->clean, error);
  for (size_t i = 0; i < FAULT_EXPECTATION_COUNT && status == STATUS_OK; i++)
    status = fault_bench_run(bench, &fault_expectations[i].trial, 1, &results->faulty[i], error);
  return status;
}

int main(void) {
  char models[MODEL_MOST][FAULT_MODEL_SIZE];
  const size_t count = fault_models(models, MODEL_MOST);
  if ((int)FAULT_EXPECTATION_COUNT > (int)CASE_MOST) return EXIT_FAILURE;
  struct results *results = calloc(1, sizeof *results);
  print_head();
  for (size_t i = 0; i < count && results; i++) {
    struct fault_bench bench;
    struct error error;
    error_clear(&error);
    if (run_model(models[i], results, &bench, &error) != STATUS_OK) {
      fprintf(stderr, "%s: %s\n", models[i], error.text);
      return EXIT_FAILURE;
    }
    printf("## %s: %s\n\n", models[i], bench.engine.title);
    print_film(results, &bench.engine);
    for (int point = 0; point < FAULT_POINT_COUNT; point++) print_table(results, point);
    fault_bench_destroy(&bench);
  }
  print_expectations();
  free(results);
  return results && count ? EXIT_SUCCESS : EXIT_FAILURE;
}
