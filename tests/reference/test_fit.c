/* A car that nobody wrote a file for, in our own world: four-16 with another displacement, friction and bore, from which cars are drawn
 * and read; what is made of card and readings is held against the car they come from. Truth: that car, and the probability that a fit
 * promises. */
#include "analysis/estimate/drawn_car.h"
#include "analysis/estimate/estimate.h"
#include "analysis/fit/fit.h"
#include "analysis/fit/fit_predict.h"
#include "base/units.h"
#include "io/config/engine_file.h"
#include "support/check.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { CAR_COUNT = 8, SEED = 3141 };

/* A kind of car: a shipped engine, and what is another on it; what its card says beside. */
struct world_kind {
  const char *model, *kind, *metering, *gearbox, *displacement, *bore, *idle;
  double litres, friction, wider_mm, closed_deg; // friction a factor; the others added
};
static const struct world_kind kinds[] = {
    {"four-16", "electronic", "air_flow", "automatic", "1.4", "54", "850", 1.4, 1.2, 1.0, 0.0},
    {"three-10", "electronic", "pressure", "manual", "1.25", "", "880", 1.25, 0.85, 1.5, 1.0},
    {"four-18-cable", "cable", "air_flow", "manual", "1.6", "52", "800", 1.6, 1.1, -1.0, 0.0},
};

/* Films asked of, over all kinds. */
struct tally {
  int asked, held, invented;
  double told; // probability of the film, all asked together
};

struct world {
  struct tally *tally;
  const struct world_kind *kind;
  struct engine start, truth, nominal; // shipped; what the cars are; what the card makes of it
  struct card card;
  struct estimate_forward *forward; // of the truth
  struct estimate_setting setting;
  struct fit_question question;
};

static void check_ok(enum status status, const struct error *error) {
  if (status == STATUS_OK) return;
  fprintf(stderr, "%s\n", error->text); // also where no test runs yet
  abort();
}

static void say(struct card *card, const char *key, const char *value) {
  struct error error;
  error_clear(&error);
  check_ok(card_set(card, "here", key, value, "", &error), &error);
}

static void make_truth(struct world *w) {
  struct error error;
  struct settle *settle;
  error_clear(&error);
  struct plant_params *plant = &w->truth.plant;
  plant->charge.displacement_m3 = w->kind->litres * UNITS_M3_PER_L;
  plant->friction.constant_pa *= w->kind->friction;
  plant->friction.per_krpm_pa *= w->kind->friction;
  plant->throttle.bore.radius_m += w->kind->wider_mm * UNITS_M_PER_MM;
  plant->throttle.bore.closed_angle_rad += w->kind->closed_deg * UNITS_RAD_PER_DEG;
  check_ok(settle_create(&w->truth, &settle, &error), &error);
  if (!card_engine_calibrate(settle, 0.0, &w->truth)) abort();
  settle_destroy(settle);
}

static struct world *create(const struct world_kind *kind, struct tally *tally) {
  struct world *w = calloc(1, sizeof *w);
  struct error error;
  char path[80];
  error_clear(&error);
  w->kind = kind;
  w->tally = tally;
  snprintf(path, sizeof path, "models/%s.cfg", kind->model);
  check_ok(engine_file_read(path, &w->start, &error), &error);
  w->truth = w->start;
  make_truth(w);
  check_ok(estimate_forward_create(&w->truth, &w->forward, &error), &error);
  estimate_setting_init(&w->setting);
  card_init(&w->card);
  say(&w->card, "kind", kind->kind);
  say(&w->card, "metering", kind->metering);
  say(&w->card, "gearbox", kind->gearbox);
  say(&w->card, "displacement_l", kind->displacement);
  say(&w->card, "cylinders", kind->model[0] == 't' ? "3" : "4");
  say(&w->card, "bore_mm", kind->bore);
  say(&w->card, "idle_rpm", kind->idle);
  say(&w->card, "altitude_m", "0");
  check_ok(card_engine_make(&w->card, &w->start, &w->nominal, &error), &error);
  w->question = (struct fit_question){.card = &w->card, .start = &w->start, .nominal = &w->nominal};
  return w;
}

static void destroy(struct world *w) {
  estimate_forward_destroy(w->forward);
  free(w);
}

/* ---- Cars and their readings ---- */

static const enum estimate_quantity read_at_idle[] = {
    ESTIMATE_QUANTITY_speed_rpm, ESTIMATE_QUANTITY_target_rpm, ESTIMATE_QUANTITY_tp_pct,
    ESTIMATE_QUANTITY_maf_gps,   ESTIMATE_QUANTITY_spark_deg,  ESTIMATE_QUANTITY_trim_pct,
    ESTIMATE_QUANTITY_load_pct,  ESTIMATE_QUANTITY_map_kpa,    ESTIMATE_QUANTITY_bypass_steps};
enum { READ_COUNT = sizeof read_at_idle / sizeof read_at_idle[0] };

/* A car that idles, by its number. */
static void draw(const struct world *w, uint64_t number, struct drawn_car *car) {
  for (uint64_t attempt = 0; attempt < DRAWN_CAR_ATTEMPT_MAX; attempt++) {
    drawn_car_draw(&w->truth, SEED, number, attempt, car);
    if (estimate_forward_idles(w->forward, &w->setting, car->z, &drawn_car_good) &&
        estimate_forward_idles(w->forward, &w->setting, car->z_then, &drawn_car_good))
      return;
  }
  fail_msg("no car %d idles", (int)number);
}

static void read_car(const struct world *w, const struct drawn_car *car, const double *z, const struct estimate_fault *fault,
                     bool then, unsigned conditions, struct estimate_readings *readings) {
  struct estimate_point points[ESTIMATE_CONDITION_COUNT];
  readings->count = 0;
  estimate_forward_predict(w->forward, &w->setting, z, fault, conditions, points);
  for (int c = 0; c < ESTIMATE_CONDITION_COUNT; c++)
    for (size_t q = 0; (conditions & (1u << c)) && q < READ_COUNT; q++)
      if (estimate_quantities[read_at_idle[q]].conditions & (1u << c))
        drawn_car_add_reading(car, read_at_idle[q], (enum estimate_condition)c, then, &points[c], 0.0, readings);
}

/* Puts a car's clean readings into the question. */
static void add_clean(struct world *w, const struct drawn_car *car, unsigned conditions) {
  const size_t i = w->question.car_count++;
  w->question.settings[i] = w->setting;
  read_car(w, car, car->z_then, &drawn_car_good, true, conditions, &w->question.readings[i]);
}

static struct fit *fitted(struct world *w, bool this_car) {
  struct fit *fit;
  struct error error;
  error_clear(&error);
  w->question.this_car = this_car;
  check_ok(fit_create(&w->question, &fit, &error), &error);
  return fit;
}

/* How far what a good car really does lies from what was promised, in promised standard deviations; sums of squares. */
struct score {
  double squares, worst;
  size_t count;
};

static void score_car(struct world *w, const struct fit *fit, const double *z, unsigned conditions, struct score *score) {
  struct estimate_readings asked = {0};
  struct estimate_point points[ESTIMATE_CONDITION_COUNT];
  struct error error;
  static const enum estimate_quantity quantities[] = {ESTIMATE_QUANTITY_tp_pct, ESTIMATE_QUANTITY_maf_gps,
                                                      ESTIMATE_QUANTITY_manifold_kpa, ESTIMATE_QUANTITY_bypass_steps};
  error_clear(&error);
  estimate_forward_predict(w->forward, &w->setting, z, &drawn_car_good, conditions, points);
  for (int c = 0; c < ESTIMATE_CONDITION_COUNT; c++)
    for (size_t q = 0; (conditions & (1u << c)) && q < 4; q++)
      if ((estimate_quantities[quantities[q]].conditions & (1u << c)) &&
          !isnan(estimate_quantities[quantities[q]].value(&points[c])))
        asked.readings[asked.count++] = (struct estimate_reading){quantities[q], (enum estimate_condition)c, 0.0, 0.0};
  check_ok(fit_predict(&fit->engine, &w->setting, false, &asked, &error), &error);
  for (size_t i = 0; i < asked.count; i++) {
    const struct estimate_reading *r = &asked.readings[i];
    const double off = (estimate_quantities[r->quantity].value(&points[r->condition]) - r->value) / r->sd;
    score->squares += off * off;
    score->worst = fmax(score->worst, fabs(off));
    score->count++;
  }
}

static void check_score(const struct world *w, const char *what, const struct score *score, double least) {
  const double rms = sqrt(score->squares / (double)score->count);
  printf("%s, %s: rms %.2f of what was promised, worst %.1f, of %zu\n", w->kind->model, what, rms, score->worst, score->count);
  check_below(rms, 1.25);
  check_above(rms, least);
  check_below(score->worst, 3.5);
}

static unsigned loaded(const struct world *w) {
  return estimate_forward_has(&w->truth, ESTIMATE_CONDITION_drive) ? ESTIMATE_AT(idle_ac) | ESTIMATE_AT(drive)
                                                                   : ESTIMATE_AT(idle_ac);
}

/* The same car on another day, at conditions that were read, and at others. */
static void this_car_does_as_promised(void **state) {
  struct world *w = *state;
  const unsigned read = ESTIMATE_AT(idle) | ESTIMATE_AT(hold_2500), beside = loaded(w);
  struct score at = {0}, elsewhere = {0};
  for (uint64_t i = 0; i < CAR_COUNT; i++) {
    struct drawn_car car;
    draw(w, i, &car);
    w->question.car_count = 0;
    add_clean(w, &car, read);
    struct fit *fit = fitted(w, true);
    score_car(w, fit, car.z, read, &at);
    score_car(w, fit, car.z, beside, &elsewhere);
    fit_destroy(fit);
  }
  check_score(w, "this car, where it was read", &at, 0.3);
  check_score(w, "this car elsewhere", &elsewhere, 0.2);
}

/* Another car of the model, from one good one and from four. */
static void other_cars_do_as_promised(void **state) {
  struct world *w = *state;
  const unsigned read = ESTIMATE_AT(idle) | ESTIMATE_AT(hold_2500);
  double width[2] = {0.0};
  for (int four = 0; four < 2; four++) {
    struct score score = {0};
    for (uint64_t i = 0; i < CAR_COUNT; i++) {
      struct drawn_car car, other;
      w->question.car_count = 0;
      for (uint64_t k = 0; k < (four ? 4 : 1); k++) {
        draw(w, 100 + 10 * i + k, &car);
        add_clean(w, &car, read);
      }
      draw(w, 50 + i, &other);
      struct fit *fit = fitted(w, false);
      score_car(w, fit, other.z, read, &score);
      width[four] += fit->left[SCATTER_friction_pct];
      fit_destroy(fit);
    }
    check_score(w, four ? "another car, from four" : "another car, from one", &score, 0.3);
  }
  check_below(width[1], width[0]);
}

/* What the scan tool's load means is found, whichever of the three it is; with the position at the key it is not asked about. */
static void meaning_is_inferred(void **state) {
  struct world *w = *state;
  struct drawn_car car;
  draw(w, 0, &car);
  for (int meaning = 0; meaning < COMPUTER_LOAD_UNKNOWN; meaning++) {
    w->truth.computer.scan.load_definition = meaning;
    w->question.car_count = 0;
    add_clean(w, &car, ESTIMATE_AT(idle) | ESTIMATE_AT(hold_2500));
    struct fit *fit = fitted(w, true);
    const struct fit_definition *definition = &fit->definitions[ESTIMATE_SCAN_load];
    printf("load meant as %d: taken as %d, how %d, %.3g times likelier\n", meaning, definition->choice, definition->how,
           definition->against);
    // at sea level and 20 C two of the three are within rounding of each other: then neither is taken
    if (definition->how == FIT_MEANING_INFERRED) assert_int_equal(definition->choice, meaning);
    if (meaning == COMPUTER_LOAD_PRESSURE_RATIO) assert_int_equal(definition->how, FIT_MEANING_INFERRED);
    fit_destroy(fit);
  }
  w->truth.computer.scan.load_definition = COMPUTER_LOAD_STANDARD;
}

/* As estimate --car CARD --baseline CLEAN does it: the engine stands where the clean readings put it, as unsure as without them, and they
 * are its baseline. */
static double ask_of_film(struct world *w, const struct fit *fit, const struct scatter_params *without,
                          const struct drawn_car *car, double film_um, int *held) {
  struct estimate_question *question = calloc(1, sizeof *question);
  struct engine *engine = calloc(1, sizeof *engine);
  struct estimate *estimate;
  struct error error;
  error_clear(&error);
  const struct estimate_fault film = {.count = film_um > 0.0 ? 1 : 0, .cause = {CAUSE_film}, .severity = {film_um}};
  *engine = fit->engine;
  engine->scatter = *without;
  question->engine = engine;
  question->setting = question->baseline_setting = w->setting;
  question->baseline = w->question.readings[0];
  estimate_scan_leave_out(engine, &question->baseline);
  read_car(w, car, car->z, &film, false, ESTIMATE_AT(idle) | ESTIMATE_AT(hold_2500), &question->readings);
  estimate_scan_leave_out(engine, &question->readings);
  check_ok(estimate_create(question, &for_each_serial, &estimate, &error), &error);
  const double told = estimate->film_probability;
  *held += estimate->film_low_um <= film_um && film_um <= estimate->film_high_um;
  printf("film of %.0f um: %.3f, %.0f um (%.0f to %.0f), nothing %.3f\n", film_um, estimate->film_probability,
         estimate->film_best_um, estimate->film_low_um, estimate->film_high_um, estimate->hypotheses[0].probability);
  estimate_destroy(estimate);
  free(question);
  free(engine);
  return told;
}

/* A film of 40 um that has come since, and a car that is still good: none is made up. */
static void films(void **state) {
  struct world *w = *state;
  struct tally *tally = w->tally;
  int ignored = 0;
  enum { TRIED = 3 };
  w->question.car_count = 0;
  struct fit *none = fitted(w, false);
  for (uint64_t i = 0; i < TRIED; i++) {
    struct drawn_car car;
    draw(w, i, &car);
    w->question.car_count = 0;
    add_clean(w, &car, ESTIMATE_AT(idle) | ESTIMATE_AT(hold_2500));
    struct fit *fit = fitted(w, true);
    tally->told += ask_of_film(w, fit, &none->engine.scatter, &car, 40.0, &tally->held);
    tally->invented += ask_of_film(w, fit, &none->engine.scatter, &car, 0.0, &ignored) > 0.5;
    tally->asked++;
    fit_destroy(fit);
  }
  fit_destroy(none);
  assert_int_equal(tally->invented, 0);
}

/* Of nine intervals of 90 % fewer than seven hold in one case of twenty (binomial). A film that is there is given more than all else together,
 * on average: the closed stop is not read here, so a shifted track reads alike. */
static void films_as_often_as_promised(void **state) {
  const struct tally *tally = *state;
  printf("a film is given %.2f on average, intervals that hold %d of %d\n", tally->told / tally->asked, tally->held,
         tally->asked);
  check_above(tally->told / tally->asked, 0.5);
  assert_true(tally->held >= 7);
}

int main(void) {
  int failed = 0;
  struct tally tally = {0};
  for (size_t k = 0; k < sizeof kinds / sizeof kinds[0]; k++) {
    struct world *w = create(&kinds[k], &tally);
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_prestate(this_car_does_as_promised, w),
        cmocka_unit_test_prestate(other_cars_do_as_promised, w),
        cmocka_unit_test_prestate(meaning_is_inferred, w),
        cmocka_unit_test_prestate(films, w),
    };
    failed += cmocka_run_group_tests(tests, NULL, NULL);
    destroy(w);
  }
  const struct CMUnitTest all[] = {cmocka_unit_test_prestate(films_as_often_as_promised, &tally)};
  return failed + cmocka_run_group_tests(all, NULL, NULL);
}
