/* Readings of invented cars: files for bladegap estimate, and how often such a car is asked about.
 *
 *   bench_readings ENGINE SEED DAY CAUSE SEVERITY [NAME@CONDITION ...]   writes a file of readings; all that there are by default
 *   bench_readings --check ENGINE CARS                                  of so many cars, how many would be asked about
 *
 * A car is one drawn from the engine file's scatter (the seed), on a day of its own, with one cause; its readings are what the
 * model settles at, with the flicker of the instrument, rounded as the instrument rounds. */
#include "analysis/estimate/estimate_check.h"
#include "commands/threads.h"
#include "io/config/engine_file.h"

#include "base/random.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { CARS_MAX = 100000, DAY_STRIDE = 1000, NOISE_AT = 500000 };

struct car {
  const struct engine *engine;
  unsigned long seed, day;
  struct estimate_fault fault;
};

static void draw(const struct car *car, double z[SCATTER_COUNT]) {
  for (int i = 0; i < SCATTER_COUNT; i++) {
    const bool of_day = scatter_rows[i].kind == SCATTER_DAY;
    const uint64_t index = (uint64_t)i + (of_day ? DAY_STRIDE * (uint64_t)(1 + car->day) : 0);
    z[i] = scatter_applies(car->engine, (enum scatter)i) ? random_normal(car->seed, RANDOM_STREAM_CASE, index) : 0.0;
  }
}

/* What an instrument shows: flicker, then rounding; NaN where this car has nothing to read. */
static double shown_alone(const struct car *car, enum estimate_quantity quantity, enum estimate_condition condition,
                          const struct estimate_point *point) {
  const struct estimate_quantity_row *row = &estimate_quantities[quantity];
  const double value = row->value(point);
  if (!point->runs || isnan(value)) return NAN;
  const uint64_t index =
      NOISE_AT + DAY_STRIDE * (uint64_t)car->day + (uint64_t)(ESTIMATE_QUANTITY_COUNT * (int)condition + (int)quantity);
  const double noise = hypot(row->flicker, row->flicker_share * value) * random_normal(car->seed, RANDOM_STREAM_SENSOR, index);
  const double read = row->resolution * round((value + noise) / row->resolution);
  return quantity == ESTIMATE_QUANTITY_closed_gap_mm2 ? fmax(0.0, read) : read + 0.0; // and no -0
}

/* Columns: a part, the other part, the whole. What one part flickers up the other flickers down: the computer moves the same
 * correction to and fro between them. */
static const enum estimate_quantity parts[][3] = {
    {ESTIMATE_QUANTITY_stft_pct, ESTIMATE_QUANTITY_ltft_pct, ESTIMATE_QUANTITY_trim_pct},
    {ESTIMATE_QUANTITY_stft2_pct, ESTIMATE_QUANTITY_ltft2_pct, ESTIMATE_QUANTITY_trim2_pct},
    {ESTIMATE_QUANTITY_effort_pct, ESTIMATE_QUANTITY_learned_pct, ESTIMATE_QUANTITY_idle_air_pct},
};

static double shown(const struct car *car, enum estimate_quantity quantity, enum estimate_condition condition,
                    const struct estimate_point *point) {
  for (size_t i = 0; i < ARRAY_COUNT(parts); i++)
    if (parts[i][0] == quantity)
      return shown_alone(car, parts[i][2], condition, point) - shown_alone(car, parts[i][1], condition, point) + 0.0;
  return shown_alone(car, quantity, condition, point);
}

static void measure(struct estimate_forward *forward, const struct car *car, unsigned conditions,
                    struct estimate_readings *readings) {
  double z[SCATTER_COUNT];
  struct estimate_setting setting;
  struct estimate_point points[ESTIMATE_CONDITION_COUNT];
  estimate_setting_init(&setting);
  draw(car, z);
  estimate_forward_predict(forward, &setting, z, &car->fault, conditions, points);
  readings->count = 0;
  for (int c = 0; c < ESTIMATE_CONDITION_COUNT; c++) {
    if (!(conditions & (1u << c))) continue;
    for (int q = 0; q < ESTIMATE_QUANTITY_COUNT && readings->count < ESTIMATE_READING_MAX; q++) {
      if (!(estimate_quantities[q].conditions & (1u << c)) || estimate_quantities[q].instrument == ESTIMATE_LOG) continue;
      const enum estimate_quantity quantity = (enum estimate_quantity)q;
      const double value = shown(car, quantity, (enum estimate_condition)c, &points[c]);
      if (isnan(value)) continue;
      readings->readings[readings->count++] =
          (struct estimate_reading){quantity, (enum estimate_condition)c, value, estimate_reading_sd(quantity, value, NAN, NAN)};
    }
  }
}

static unsigned conditions_of(const struct engine *engine) {
  unsigned conditions = 0;
  for (int c = 0; c < ESTIMATE_CONDITION_COUNT; c++)
    if (estimate_forward_has(engine, (enum estimate_condition)c)) conditions |= 1u << c;
  return conditions;
}

static bool is_wanted(const struct estimate_reading *reading, int count, char **wanted) {
  char name[96];
  snprintf(name, sizeof name, "%s@%s", estimate_quantities[reading->quantity].name, estimate_conditions[reading->condition].name);
  for (int i = 0; i < count; i++)
    if (strcmp(wanted[i], name) == 0) return true;
  return count == 0;
}

static void print_file(const struct car *car, const struct estimate_readings *readings, int count, char **wanted) {
  const char *engine = car->engine->name;
  printf("# An invented car, drawn from the scatter of models/%s.cfg by bench_readings: seed %lu, day %lu, ", engine, car->seed,
         car->day);
  if (car->fault.count)
    printf("%s %g.\n", cause_rows[car->fault.cause[0]].condition, car->fault.severity[0]);
  else
    printf("nothing wrong.\n");
  printf("name,condition,value\n");
  bool cold = false;
  for (size_t i = 0; i < readings->count; i++) {
    const struct estimate_reading *r = &readings->readings[i];
    if (!is_wanted(r, count, wanted)) continue;
    cold = cold || r->condition == ESTIMATE_CONDITION_cold_idle;
    printf("%s,%s,%.5g\n", estimate_quantities[r->quantity].name, estimate_conditions[r->condition].name, r->value);
  }
  struct estimate_setting setting;
  estimate_setting_init(&setting);
  if (cold) printf("coolant_c,cold_idle,%g\n", setting.cold_coolant_c);
}

/* Cars with causes as often as the engine file has them, each at a severity drawn from its prior. */
static struct car draw_case(const struct engine *engine, unsigned long seed) {
  struct car car = {engine, seed, 0, {0}};
  double left = random_uniform(seed, RANDOM_STREAM_CASE, 900000);
  for (int c = 0; c < CAUSE_COUNT; c++) {
    left -= cause_prior(engine, (enum cause)c);
    if (left > 0.0) continue;
    if (c != CAUSE_nothing)
      car.fault =
          (struct estimate_fault){.count = 1,
                                  .cause = {(enum cause)c},
                                  .severity = {cause_severity((enum cause)c, random_uniform(seed, RANDOM_STREAM_CASE, 900001))}};
    return car;
  }
  return car;
}

static int count_asked(const struct engine *engine, long cars) {
  struct error error;
  struct estimate_forward *forward;
  struct estimate_setting setting;
  static struct estimate_readings_input input;
  static struct plausible_ranges ranges;
  const struct for_each workers = threads_for_each(0);
  long asked = 0, by_cause[CAUSE_COUNT] = {0};
  error_clear(&error);
  estimate_setting_init(&setting);
  if (estimate_readings_init(&input, engine, &error) != STATUS_OK) return 1;
  if (estimate_forward_create(engine, &forward, &error) != STATUS_OK) return 1;
  for (long i = 0; i < cars; i++) {
    const struct car car = draw_case(engine, (unsigned long)i);
    measure(forward, &car, conditions_of(engine), &input.given);
    error_clear(&error);
    if (input.given.count == 0) continue; // it stalls everywhere
    if (plausible_find(engine, &setting, &input.given, false, &workers, &ranges, &error) == STATUS_OK &&
        estimate_check_readings(&input, &setting, &ranges, &error) == STATUS_OK)
      continue;
    asked++;
    by_cause[car.fault.count ? car.fault.cause[0] : CAUSE_nothing]++;
    printf("seed %ld, %s %g\n%s\n", i, car.fault.count ? cause_rows[car.fault.cause[0]].name : "nothing", car.fault.severity[0],
           error.text);
  }
  printf("%s: %ld of %ld cars asked about\n", engine->name, asked, cars);
  for (int c = 0; c < CAUSE_COUNT; c++)
    if (by_cause[c]) printf("  %s %ld\n", cause_rows[c].name, by_cause[c]);
  estimate_forward_destroy(forward);
  return 0;
}

static int make_file(const struct engine *engine, int argc, char **argv) {
  const int cause = cause_find(argv[4]);
  if (cause < 0) return fprintf(stderr, "there is no cause %s\n", argv[4]), 1;
  struct car car = {engine, strtoul(argv[2], NULL, 10), strtoul(argv[3], NULL, 10), {0}};
  if (cause != CAUSE_nothing)
    car.fault = (struct estimate_fault){.count = 1, .cause = {(enum cause)cause}, .severity = {strtod(argv[5], NULL)}};
  struct error error;
  error_clear(&error);
  struct estimate_forward *forward;
  static struct estimate_readings readings;
  if (estimate_forward_create(engine, &forward, &error) != STATUS_OK) return fprintf(stderr, "%s\n", error.text), 1;
  measure(forward, &car, conditions_of(engine), &readings);
  estimate_forward_destroy(forward);
  print_file(&car, &readings, argc - 6, argv + 6);
  return 0;
}

int main(int argc, char **argv) {
  const bool check = argc == 4 && strcmp(argv[1], "--check") == 0;
  if (!check && argc < 6)
    return fprintf(stderr, "ENGINE SEED DAY CAUSE SEVERITY [NAME@CONDITION ...], or --check ENGINE CARS\n"), 1;
  static struct engine engine;
  struct error error;
  error_clear(&error);
  if (engine_file_read(argv[check ? 2 : 1], &engine, &error) != STATUS_OK) return fprintf(stderr, "%s\n", error.text), 1;
  if (!check) return make_file(&engine, argc, argv);
  const long cars = strtol(argv[3], NULL, 10);
  return cars > 0 && cars <= CARS_MAX ? count_asked(&engine, cars) : 1;
}
