#include "analysis/estimate/estimate_next.h"

#include "analysis/estimate/estimate_compare.h"
#include "analysis/estimate/estimate_next_gain.h"
#include "analysis/estimate/estimate_predictive.h"
#include "analysis/estimate/estimate_scan.h"
#include "base/attributes.h"
#include "base/matrix.h"
#include "base/probability.h"
#include "base/random.h"
#include "base/units.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define WORTH_TELLING 0.003 // probability below which a hypothesis does not count here
#define LEAST_BITS    0.002 // a gain nobody would go for
_Static_assert(CAUSE_COUNT <= 64, "a set of causes is 64 bits");

/* How often a look by torch says that a filmed bore is dirty, and that a clean one is: common practice, no source. */
#define TORCH_FINDS       0.9
#define TORCH_FALSE_ALARM 0.1

/* ---- tests that say yes or no ---- */
enum look {
#define LOOK(name, minutes, false_alarm, steps, text) LOOK_##name,
#include "car/fault_rows.h"
  LOOK_COUNT
};

struct look_row {
  const char *name;
  double minutes;
  double false_alarm; // how often it says yes without any of its causes
  unsigned steps;     // bits of enum caution_step
  const char *text;
};
#define STEP(name) CAUTION_STEP_##name
static const struct look_row look_rows[LOOK_COUNT] = {
#define LOOK(name, minutes, false_alarm, steps, text) {#name, minutes, false_alarm, steps, text},
#include "car/fault_rows.h"
};

/* Which causes a look finds, and how often. */
static const struct {
  enum look look;
  enum cause cause;
  double share;
} finds[] = {
#define FINDS(look, cause, share) {LOOK_##look, CAUSE_##cause, share},
#include "car/fault_rows.h"
};

static double says_yes(enum look look, const struct estimate_fault *fault) {
  double no = 1.0 - look_rows[look].false_alarm;
  for (size_t i = 0; i < ARRAY_COUNT(finds); i++)
    for (size_t k = 0; k < fault->count; k++)
      if (finds[i].look == look && finds[i].cause == fault->cause[k]) no *= 1.0 - finds[i].share;
  return 1.0 - no;
}

static int find_look(const char *name) {
  for (int i = 0; i < LOOK_COUNT; i++)
    if (strcmp(look_rows[i].name, name) == 0) return i;
  return -1;
}

bool estimate_next_is_look(const char *name) { return find_look(name) >= 0; }

double estimate_next_look_yes(const char *name, const struct estimate_hypothesis *hypothesis) {
  const int look = find_look(name);
  if (strcmp(name, "closed_gap_mm2@key_on") == 0)
    return estimate_hypothesis_place(hypothesis, CAUSE_film) < 0 ? TORCH_FALSE_ALARM : TORCH_FINDS;
  return look < 0 ? NAN : says_yes((enum look)look, &hypothesis->fault);
}

/* False if no hypothesis that is still open has one of its causes. */
static bool concerns(enum look look, const struct estimate *e) {
  for (size_t i = 0; i < e->count; i++)
    for (size_t k = 0; k < ARRAY_COUNT(finds); k++)
      if (finds[k].look == look && e->hypotheses[i].probability > WORTH_TELLING &&
          estimate_hypothesis_place(&e->hypotheses[i], finds[k].cause) >= 0)
        return true;
  return false;
}

/* ---- tests that read a number ---- */
/* ---- the list ---- */
static void add_test(struct estimate_next *next, const struct estimate_next_test *test) {
  if (test->gain_bits < LEAST_BITS || next->count >= ESTIMATE_NEXT_MAX) return;
  size_t place = next->count++;
  const double worth = test->gain_bits / test->minutes;
  for (; place > 0 && next->tests[place - 1].gain_bits / next->tests[place - 1].minutes < worth; place--)
    next->tests[place] = next->tests[place - 1];
  next->tests[place] = *test;
}

/* What a reading takes on the car. */
static unsigned condition_steps(const struct engine *engine, enum estimate_condition condition,
                                const struct estimate_quantity_row *quantity) {
  const unsigned features = engine_features(engine);
  unsigned steps = condition == ESTIMATE_CONDITION_key_on ? STEP(key_on) : STEP(run);
  if (condition == ESTIMATE_CONDITION_drive || condition == ESTIMATE_CONDITION_gear_step) steps |= STEP(gear);
  if (quantity && quantity->instrument == ESTIMATE_METER) steps |= STEP(meter);
  if (quantity == &estimate_quantities[ESTIMATE_QUANTITY_battery_v]) steps |= STEP(battery);
  if (quantity && quantity->instrument == ESTIMATE_TORCH) steps = caution_torch_steps(features); // key off
  return steps;
}

static unsigned cautions_of(const struct engine *engine, unsigned steps) { return caution_for(steps, engine_features(engine)); }

static double money(const struct estimate_decide *decide, double minutes) {
  return decide ? decide->costs.minute * minutes : NAN;
}

static struct estimate_next_test plain_look(const struct engine *engine, enum look look) {
  struct estimate_next_test test = {.minutes = look_rows[look].minutes, .cautions = cautions_of(engine, look_rows[look].steps)};
  for (size_t i = 0; i < ARRAY_COUNT(finds); i++)
    if (finds[i].look == look) test.finds |= (uint64_t)1 << finds[i].cause;
  snprintf(test.name, sizeof test.name, "%s", look_rows[look].name);
  snprintf(test.text, sizeof test.text, "%s", look_rows[look].text);
  return test;
}

static struct estimate_next_test look_test(const struct estimate *e, const struct estimate_decide *decide, enum look look) {
  struct estimate_next_test test = plain_look(e->problem.engine, look);
  double yes[ESTIMATE_HYPOTHESIS_MAX];
  for (size_t i = 0; i < e->count; i++) yes[i] = says_yes(look, &e->hypotheses[i].fault);
  test.cost = decide ? money(decide, test.minutes) + estimate_decide_after_look(decide, yes) : NAN;
  return test;
}

/* Light through the closed gap, as a look that says yes or no: dirty, or not. */
static struct estimate_next_test torch_test(const struct estimate *e, const struct estimate_decide *decide) {
  const unsigned features = engine_features(e->problem.engine);
  struct estimate_next_test test = {.minutes = estimate_conditions[ESTIMATE_CONDITION_key_on].minutes +
                                               estimate_instruments[ESTIMATE_TORCH].minutes,
                                    .cautions = cautions_of(e->problem.engine, caution_torch_steps(features)),
                                    .finds = (uint64_t)1 << CAUSE_film};
  double yes[ESTIMATE_HYPOTHESIS_MAX];
  for (size_t i = 0; i < e->count; i++)
    yes[i] = estimate_hypothesis_place(&e->hypotheses[i], CAUSE_film) < 0 ? TORCH_FALSE_ALARM : TORCH_FINDS;
  test.cost = decide ? money(decide, test.minutes) + estimate_decide_after_look(decide, yes) : NAN;
  snprintf(test.name, sizeof test.name, "closed_gap_mm2@key_on");
  snprintf(test.text, sizeof test.text, "%s (closed_gap_mm2=light, none or one_side)", caution_torch(features));
  return test;
}

bool estimate_next_confirm(const struct estimate *e, enum cause cause, const struct estimate_decide *decide,
                           struct estimate_next_test *test) {
  double most = 0.0;
  if (cause == CAUSE_film) {
    if (estimate_readings_find(e->problem.readings, ESTIMATE_QUANTITY_closed_gap_mm2, ESTIMATE_CONDITION_key_on)) return false;
    *test = torch_test(e, decide);
    return true;
  }
  for (size_t i = 0; i < ARRAY_COUNT(finds); i++) {
    if (finds[i].cause != cause || finds[i].share <= most) continue;
    most = finds[i].share;
    *test = look_test(e, decide, finds[i].look);
  }
  return most > 0.0;
}

static struct estimate_next_test plain_reading(const struct engine *engine, enum estimate_quantity quantity,
                                               enum estimate_condition condition) {
  const struct estimate_quantity_row *row = &estimate_quantities[quantity];
  const struct estimate_condition_row *at = &estimate_conditions[condition];
  struct estimate_next_test test = {.minutes = at->minutes + estimate_instruments[row->instrument].minutes,
                                    .cautions = cautions_of(engine, condition_steps(engine, condition, row))};
  if (row->instrument == ESTIMATE_TORCH) test.finds = (uint64_t)1 << CAUSE_film;
  snprintf(test.name, sizeof test.name, "%s@%s", row->name, at->name);
  if (row->instrument == ESTIMATE_TORCH)
    snprintf(test.text, sizeof test.text, "%s (%s=light, none or one_side)", caution_torch(engine_features(engine)), row->name);
  else if ((1u << condition) & ESTIMATE_AT_STEPS)
    snprintf(test.text, sizeof test.text, "%s", at->text);
  else
    snprintf(test.text, sizeof test.text, "%s: %s; %s", estimate_instruments[row->instrument].text, row->text, at->text);
  return test;
}

static void add_single(const struct estimate *e, struct open_question *q, size_t reading, struct estimate_next *next) {
  const struct estimate_reading *wanted = &q->wanted.readings[reading];
  struct estimate_next_test test = plain_reading(e->problem.engine, wanted->quantity, wanted->condition);
  test.gain_bits = estimate_next_gain_of_one(q, reading, &test.cost);
  test.apart_bits = estimate_next_gain_apart(q, reading);
  test.cost += money(q->wish->decide, test.minutes);
  add_test(next, &test);
}

/* What a meter, gauge or torch reads is shown by no scan tool, and can be read all the same; what nobody knows the meaning of tells nothing. */
static bool is_shown(const struct estimate *e, const struct estimate_next_wish *wish, const struct estimate_reading *wanted) {
  const enum estimate_quantity quantity = wanted->quantity;
  if (!estimate_scan_known(e->problem.engine, quantity, wanted->condition)) return false;
  return !wish->limited || wish->shown[quantity] || estimate_quantities[quantity].instrument != ESTIMATE_STREAM;
}

static bool stream_quantity(const struct estimate_reading *wanted) {
  return estimate_quantities[wanted->quantity].instrument == ESTIMATE_STREAM && !((1u << wanted->condition) & ESTIMATE_AT_STEPS);
}

static struct estimate_next_test plain_stream(const struct engine *engine, enum estimate_condition condition) {
  struct estimate_next_test test = {.minutes = estimate_conditions[condition].minutes,
                                    .cautions = cautions_of(engine, condition_steps(engine, condition, NULL))};
  snprintf(test.name, sizeof test.name, "data_stream@%s", estimate_conditions[condition].name);
  snprintf(test.text, sizeof test.text, "all of the data stream: %s", estimate_conditions[condition].text);
  return test;
}

static void add_stream(const struct estimate *e, struct open_question *q, enum estimate_condition condition,
                       struct estimate_next *next) {
  size_t readings[ESTIMATE_QUANTITY_COUNT], count = 0, looked = 0;
  double most = 0.0, apart = 0.0;
  const char *most_telling = NULL;
  for (size_t i = 0; i < e->problem.readings->count; i++)
    looked += e->problem.readings->readings[i].condition == condition && stream_quantity(&e->problem.readings->readings[i]);
  for (size_t i = 0; i < q->wanted.count; i++) {
    if (q->wanted.readings[i].condition != condition || !stream_quantity(&q->wanted.readings[i]) ||
        !estimate_next_gain_readable(q, i))
      continue;
    if (!is_shown(e, q->wish, &q->wanted.readings[i])) continue;
    if (estimate_readings_find(e->problem.readings, q->wanted.readings[i].quantity, condition)) continue;
    readings[count++] = i;
    apart = fmax(apart, estimate_next_gain_apart(q, i));
    const double gain = estimate_next_gain_of_one(q, i, NULL);
    if (gain <= most) continue;
    most = gain;
    most_telling = estimate_quantities[q->wanted.readings[i].quantity].name;
  }
  if (count == 0 || !most_telling) return;
  struct estimate_next_test test = plain_stream(e->problem.engine, condition);
  test.gain_bits = fmax(estimate_next_gain_of_many(q, count, readings, &test.cost), most);
  test.apart_bits = apart;
  test.cost += money(q->wish->decide, test.minutes);
  snprintf(test.text, sizeof test.text, "%s: %s; most telling: %s",
           q->wish->limited ? "what the scan tool shows"
           : looked > 0     ? "the rest of the data stream, as far as the scan tool shows it"
                            : "all of the data stream",
           estimate_conditions[condition].text, most_telling);
  add_test(next, &test);
}

/* What each open hypothesis expects, by workers that have a model each. */
struct forecast {
  const struct estimate *estimate;
  struct open_question *question;
  size_t forward_count;
  struct estimate_forward **forward;
};

static void forecast_job(size_t index, size_t worker, void *user) {
  struct forecast *f = user;
  struct open_question *q = f->question;
  estimate_predictive(f->estimate, q->hypothesis[index], f->forward[worker], &q->wanted, ESTIMATE_AS_IT_IS, false,
                      &q->predictive[index]);
}

static enum status forecast_begin(const struct estimate *e, size_t worker_count, struct forecast *f, struct error *error) {
  f->estimate = e;
  f->forward = calloc(worker_count, sizeof(struct estimate_forward *));
  enum status status = f->forward ? STATUS_OK : error_set(error, STATUS_NO_MEMORY, "out of memory for what to measure next");
  for (; status == STATUS_OK && f->forward_count < worker_count; f->forward_count++)
    status = estimate_forward_create(e->problem.engine, &f->forward[f->forward_count], error);
  return status;
}

static void forecast_end(struct forecast *f) {
  for (size_t i = 0; i < f->forward_count; i++) estimate_forward_destroy(f->forward[i]);
  free(f->forward);
}

static void open(const struct for_each *for_each, struct forecast *f) {
  const struct estimate *e = f->estimate;
  struct open_question *q = f->question;
  double sum = 0.0;
  for (size_t i = 0; i < e->count && q->count < ESTIMATE_NEXT_GAIN_LIKELY_MAX; i++) {
    const struct estimate_hypothesis *h = &e->hypotheses[e->order[i]];
    if (h->probability < WORTH_TELLING || !h->nodes[h->best].full) continue;
    q->hypothesis[q->count] = e->order[i];
    q->probability[q->count++] = h->probability;
    sum += h->probability;
  }
  for (size_t i = 0; i < q->count; i++) q->probability[i] /= sum;
  for (q->rival = 1; q->rival < q->count; q->rival++)
    if (!estimate_compare_alike(&e->hypotheses[q->hypothesis[q->rival]], &e->hypotheses[q->hypothesis[0]])) break;
  for_each->run(for_each, q->count, forecast_job, f);
  for (size_t i = 0; i < q->count; i++)
    if (!q->predictive[i].possible) q->probability[i] = 0.0;
}

/* All that is worth telling, however much: no reading has to be foretold for a look. */
static size_t all_open(const struct estimate *e, size_t hypothesis[ESTIMATE_HYPOTHESIS_MAX],
                       double probability[ESTIMATE_HYPOTHESIS_MAX]) {
  size_t count = 0;
  double sum = 0.0;
  for (size_t i = 0; i < e->count; i++) {
    if (e->hypotheses[i].probability < WORTH_TELLING) continue;
    hypothesis[count] = i;
    sum += probability[count++] = e->hypotheses[i].probability;
  }
  for (size_t i = 0; i < count; i++) probability[i] /= sum;
  return count;
}

static double gain_of_look(const struct estimate *e, enum look look) {
  size_t hypothesis[ESTIMATE_HYPOTHESIS_MAX];
  double probability[ESTIMATE_HYPOTHESIS_MAX], yes[ESTIMATE_HYPOTHESIS_MAX];
  const size_t count = all_open(e, hypothesis, probability);
  for (size_t i = 0; i < count; i++) yes[i] = says_yes(look, &e->hypotheses[hypothesis[i]].fault);
  return probability_information_binary_bits(count, probability, yes);
}

static double look_apart(const struct estimate *e, const struct open_question *q, enum look look) {
  static const double alike[] = {0.5, 0.5};
  if (q->rival >= q->count) return 0.0;
  const struct estimate_hypothesis *first = &e->hypotheses[q->hypothesis[0]], *rival = &e->hypotheses[q->hypothesis[q->rival]];
  const double yes[] = {says_yes(look, &first->fault), says_yes(look, &rival->fault)};
  return probability_information_binary_bits(2, alike, yes);
}

static void list_tests(const struct estimate *e, struct open_question *q, struct estimate_next *next) {
  for (int c = 0; c < ESTIMATE_CONDITION_COUNT; c++) add_stream(e, q, (enum estimate_condition)c, next);
  for (size_t i = 0; i < q->wanted.count; i++) {
    const struct estimate_reading *wanted = &q->wanted.readings[i];
    if (stream_quantity(wanted) || !estimate_next_gain_readable(q, i) || !is_shown(e, q->wish, wanted)) continue;
    if (estimate_readings_find(e->problem.readings, wanted->quantity, wanted->condition)) continue;
    add_single(e, q, i, next);
  }
  for (int r = 0; r < LOOK_COUNT; r++) {
    if (!concerns((enum look)r, e)) continue;
    struct estimate_next_test test = look_test(e, q->wish->decide, (enum look)r);
    test.gain_bits = gain_of_look(e, (enum look)r);
    test.apart_bits = look_apart(e, q, (enum look)r);
    add_test(next, &test);
  }
}

/* ---- the tests by themselves ---- */

void estimate_next_stream(const struct engine *engine, enum estimate_condition condition, struct estimate_next_test *test) {
  *test = plain_stream(engine, condition);
}

void estimate_next_reading(const struct engine *engine, enum estimate_quantity quantity, enum estimate_condition condition,
                           struct estimate_next_test *test) {
  *test = plain_reading(engine, quantity, condition);
}

bool estimate_next_look(const struct engine *engine, size_t look, struct estimate_next_test *test) {
  if (look >= LOOK_COUNT) return false;
  *test = plain_look(engine, (enum look)look);
  return true;
}

double estimate_next_fault_yes(size_t look, const struct estimate_fault *fault) { return says_yes((enum look)look, fault); }

enum status estimate_next(const struct estimate *e, const struct estimate_next_wish *wish, struct estimate_next *next,
                          struct error *error) {
  static const struct estimate_next_wish none;
  memset(next, 0, sizeof *next);
  struct open_question *q = calloc(1, sizeof *q);
  struct estimate_predictive *predictive = calloc(ESTIMATE_NEXT_GAIN_LIKELY_MAX, sizeof *predictive);
  const struct for_each *for_each = wish && wish->for_each ? wish->for_each : &for_each_serial;
  struct forecast forecast = {.question = q};
  enum status status = q && predictive ? STATUS_OK : error_set(error, STATUS_NO_MEMORY, "out of memory for what to measure next");
  if (status == STATUS_OK) status = forecast_begin(e, for_each->worker_count, &forecast, error);
  if (status == STATUS_OK) {
    q->predictive = predictive;
    q->wish = wish ? wish : &none;
    q->decide = q->wish->decide;
    estimate_predictive_everything(e, forecast.forward[0], &q->wanted);
    open(for_each, &forecast);
    size_t hypothesis[ESTIMATE_HYPOTHESIS_MAX];
    double probability[ESTIMATE_HYPOTHESIS_MAX];
    next->entropy_bits = probability_entropy_bits(all_open(e, hypothesis, probability), probability);
    list_tests(e, q, next);
  }
  forecast_end(&forecast);
  free(predictive);
  free(q);
  return status;
}
