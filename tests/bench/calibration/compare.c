#include "compare.h"

#include "analysis/estimate/drawn_car.h"
#include "drive.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#define NORMAL_QUARTILES 1.349 // standard deviations between the quartiles of a normal distribution

struct compared {
  struct drawn_car car;
  double cold_read_c;
  struct estimate_point run[ESTIMATE_CONDITION_COUNT], expected[ESTIMATE_CONDITION_COUNT];
};

struct work {
  const struct engine *engine;
  size_t first; // number of cars[0]
  uint64_t seed;
  struct compared *cars;
  enum status status;
  struct error *error;
};

static void compare_job(size_t index, size_t worker, void *user) {
  (void)worker;
  struct work *w = user;
  struct compared *c = &w->cars[index];
  struct error error;
  error_clear(&error);
  enum status status = STATUS_OK;
  for (uint64_t attempt = 0; attempt < DRAWN_CAR_ATTEMPT_MAX && status == STATUS_OK && !c->run[ESTIMATE_CONDITION_idle].runs;
       attempt++) {
    drawn_car_draw(w->engine, w->seed, w->first + index, attempt, &c->car);
    status = drive_car(w->engine, c->car.z, &c->car.fault, c->car.cold_c, c->car.key, c->run, &error);
  }
  struct estimate_forward *forward = NULL;
  if (status == STATUS_OK) status = estimate_forward_create(w->engine, &forward, &error);
  if (status == STATUS_OK) {
    struct estimate_setting setting;
    estimate_setting_init(&setting);
    setting.cold_coolant_c = c->run[ESTIMATE_CONDITION_cold_idle].values[CHANNEL_coolant_c];
    estimate_forward_predict(forward, &setting, c->car.z, &c->car.fault, (1u << ESTIMATE_CONDITION_COUNT) - 1u, c->expected);
  }
  estimate_forward_destroy(forward);
  if (status != STATUS_OK) {
    w->status = status;
    *w->error = error;
  }
}

struct difference {
  double off; // in standard deviations of the reading
  size_t car;
};

static int by_size(const void *a, const void *b) {
  const double x = ((const struct difference *)a)->off, y = ((const struct difference *)b)->off;
  return (x > y) - (x < y);
}

/* Differences where both run, rising; returns how many. */
static size_t differences(const struct work *w, size_t count, int condition, int quantity, struct difference *found,
                          double *unit) {
  size_t n = 0;
  *unit = 0.0;
  for (size_t i = 0; i < count; i++) {
    const struct estimate_point *run = &w->cars[i].run[condition], *expected = &w->cars[i].expected[condition];
    if (!run->runs || !expected->runs) continue;
    const double value = estimate_quantities[quantity].value(run);
    const double sd = estimate_reading_sd((enum estimate_quantity)quantity, value, NAN, NAN);
    const double off = (value - estimate_quantities[quantity].value(expected)) / sd;
    if (isnan(off)) continue;
    *unit += sd;
    found[n++] = (struct difference){off, i};
  }
  *unit /= (double)n;
  qsort(found, n, sizeof *found, by_size);
  return n;
}

static void print_row(const struct work *w, size_t count, int condition, int quantity, struct difference *found) {
  double unit;
  const size_t n = differences(w, count, condition, quantity, found, &unit);
  if (n < 8) return;
  double sum = 0.0, squares = 0.0;
  for (size_t i = 0; i < n; i++) {
    sum += found[i].off;
    squares += found[i].off * found[i].off;
  }
  const double mean = sum / (double)n, sd = sqrt(fmax(squares / (double)n - mean * mean, 0.0));
  const double middle = found[n / 2].off, spread = (found[3 * n / 4].off - found[n / 4].off) / NORMAL_QUARTILES;
  const struct difference *worst = fabs(found[0].off) > fabs(found[n - 1].off) ? &found[0] : &found[n - 1];
  const struct drawn_car *car = &w->cars[worst->car].car;
  printf("| %s | %s | %zu | %.3g | %+.2f | %.2f | %+.2f | %.2f | %+.1f: car %zu, %s %.2f |%s\n",
         estimate_conditions[condition].name, estimate_quantities[quantity].name, n, unit, mean, sd, middle, spread, worst->off,
         worst->car, cause_rows[car->cause].name, car->share, fabs(mean) > 0.3 || sd > 0.5 ? " *" : "");
}

static void print_runs(const struct work *w, size_t count) {
  for (size_t i = 0; i < count; i++)
    for (int c = 0; c < ESTIMATE_CONDITION_COUNT; c++)
      if (w->cars[i].run[c].runs != w->cars[i].expected[c].runs && estimate_forward_has(w->engine, (enum estimate_condition)c))
        printf("car %zu (%s, share %.2f): %s: %s in the run, %s by the forward model\n", i, cause_rows[w->cars[i].car.cause].name,
               w->cars[i].car.share, estimate_conditions[c].name, w->cars[i].run[c].runs ? "runs" : "does not run",
               w->cars[i].expected[c].runs ? "runs" : "does not run");
}

enum status compare_print(const struct engine *engine, size_t car_count, uint64_t seed, const struct for_each *for_each,
                          struct error *error) {
  struct work work = {.engine = engine, .seed = seed, .error = error, .cars = calloc(car_count, sizeof *work.cars)};
  struct difference *found = calloc(car_count, sizeof *found);
  if (!work.cars || !found) {
    free(found);
    free(work.cars);
    return error_set(error, STATUS_NO_MEMORY, "out of memory for %zu cars", car_count);
  }
  for_each->run(for_each, car_count, compare_job, &work);
  if (work.status == STATUS_OK) {
    printf("Run less forward model, in standard deviations of the reading.\n\n"
           "| condition | quantity | cars | one sd | mean | sd | median | robust sd | farthest "
           "|\n|---|---|---|---|---|---|---|---|---|\n");
    for (int c = 0; c < ESTIMATE_CONDITION_COUNT; c++)
      for (int q = 0; q < ESTIMATE_QUANTITY_COUNT; q++)
        if (estimate_quantities[q].conditions & (1u << c)) print_row(&work, car_count, c, q, found);
    print_runs(&work, car_count);
  }
  free(found);
  free(work.cars);
  return work.status;
}

enum status compare_print_car(const struct engine *engine, size_t number, uint64_t seed, struct error *error) {
  struct work work = {.engine = engine, .first = number, .seed = seed, .error = error, .cars = calloc(1, sizeof *work.cars)};
  if (!work.cars) return error_set(error, STATUS_NO_MEMORY, "out of memory for a car");
  compare_job(0, 0, &work);
  const struct compared *c = &work.cars[0];
  if (work.status == STATUS_OK)
    printf("Car %zu: %s, share %.3f, severity %g; cold %.1f C\n\n| condition | quantity | run | forward model | sd | off "
           "|\n|---|---|---|---|---|---|\n",
           number, cause_rows[c->car.cause].name, c->car.share, c->car.fault.severity[0], c->car.cold_c);
  for (int k = 0; k < ESTIMATE_CONDITION_COUNT; k++)
    for (int q = 0; q < ESTIMATE_QUANTITY_COUNT; q++) {
      const double run = estimate_quantities[q].value(&c->run[k]), expected = estimate_quantities[q].value(&c->expected[k]);
      if (!(estimate_quantities[q].conditions & (1u << k)) || !c->run[k].runs || isnan(run)) continue;
      const double sd = estimate_reading_sd((enum estimate_quantity)q, run, NAN, NAN);
      printf("| %s | %s | %.3f | %.3f | %.3f | %+.2f |\n", estimate_conditions[k].name, estimate_quantities[q].name, run,
             expected, sd, (run - expected) / sd);
    }
  for (int i = 0; i < SCATTER_COUNT; i++)
    printf("%s %+.2f%s", scatter_rows[i].key, c->car.z[i], i + 1 < SCATTER_COUNT ? ", " : "\n");
  free(work.cars);
  return work.status;
}
