#include "analysis/practice/practice_case.h"

#include "analysis/estimate/estimate_symptoms_weigh.h"
#include "base/random.h"

#include <math.h>
#include <string.h>

#define NOTICED       0.5   // probability from which a driver says something; our own choice
#define STALLING_RPM  350.0 // a speed that falls so low under load is a stall to the driver; our own choice
#define STALLING_WIDE 60.0
#define KM_LEAST      30000.0
#define KM_MOST       240000.0
enum { KM_STEP = 1000, WEEKS_MOST = 26 };

/* Random numbers of one attempt, by what they are for; those of readings follow after all attempts. */
enum {
  NUMBER_KIND,
  NUMBER_CAUSE,
  NUMBER_SHARE,
  NUMBER_COMPLAINT = NUMBER_SHARE + ESTIMATE_CAUSE_MAX,
  NUMBER_KM,
  NUMBER_WEEKS,
  NUMBER_Z,
  NUMBER_COUNT = NUMBER_Z + SCATTER_COUNT,
  NUMBER_LOOK = PRACTICE_CASE_ATTEMPT_MAX * NUMBER_COUNT,
  NUMBER_READING = NUMBER_LOOK + 1000,
};

static double uniform(const struct practice_case *k, uint64_t number) {
  return random_uniform(k->seed, RANDOM_STREAM_CASE, number * PRACTICE_LEVEL_MOST + (uint64_t)(k->level - PRACTICE_LEVEL_LEAST));
}

static double normal(const struct practice_case *k, uint64_t number) {
  return random_normal(k->seed, RANDOM_STREAM_CASE, number * PRACTICE_LEVEL_MOST + (uint64_t)(k->level - PRACTICE_LEVEL_LEAST));
}

static enum cause pick(const double weight[CAUSE_COUNT], double u) {
  double all = 0.0, below = 0.0;
  enum cause last = CAUSE_nothing;
  for (int c = 0; c < CAUSE_COUNT; c++)
    if (c != CAUSE_nothing) all += weight[c];
  for (int c = 0; c < CAUSE_COUNT; c++) {
    if (c == CAUSE_nothing || !(weight[c] > 0.0)) continue;
    last = (enum cause)c;
    below += weight[c] / all;
    if (u < below) break;
  }
  return last;
}

static void add_cause(struct practice_case *k, const struct practice_level_row *level, enum cause cause, uint64_t number) {
  const double share = level->share_least + (level->share_most - level->share_least) * uniform(k, number);
  const size_t place = k->fault.count++;
  k->share[place] = share;
  k->fault.cause[place] = cause;
  k->fault.severity[place] = cause_severity(cause, share);
}

static void draw_fault(struct practice_case *k, const struct practice_prior *prior, uint64_t base) {
  const double kind = uniform(k, base + NUMBER_KIND), u = uniform(k, base + NUMBER_CAUSE);
  k->fault = (struct estimate_fault){0};
  if (kind < prior->level->nothing) return;
  if (kind < prior->level->nothing + prior->level->pair) {
    add_cause(k, prior->level, CAUSE_film, base + NUMBER_SHARE);
    add_cause(k, prior->level, pick(prior->pair, u), base + NUMBER_SHARE + 1);
  } else {
    add_cause(k, prior->level, pick(prior->single, u), base + NUMBER_SHARE);
  }
}

static unsigned conditions_of(const struct engine *engine) {
  unsigned conditions = 0;
  for (int c = 0; c < ESTIMATE_CONDITION_COUNT; c++)
    if (estimate_forward_has(engine, (enum estimate_condition)c)) conditions |= 1u << c;
  return conditions;
}

double practice_case_says(enum estimate_complaint complaint, const struct estimate_point points[ESTIMATE_CONDITION_COUNT],
                          unsigned conditions, double good_rpm, double misfires) {
  static const enum estimate_condition steps[] = {ESTIMATE_CONDITION_ac_step, ESTIMATE_CONDITION_gear_step};
  double says = estimate_symptoms_weigh_complaint(complaint, &points[ESTIMATE_CONDITION_idle], good_rpm, misfires);
  if (complaint != ESTIMATE_COMPLAINT_stalls) return says;
  for (size_t i = 0; i < sizeof steps / sizeof *steps; i++) {
    const struct estimate_point *step = &points[steps[i]];
    if (!(conditions & (1u << steps[i]))) continue;
    says = fmax(says, step->runs ? probability_normal_cdf((STALLING_RPM - step->lowest_rpm) / STALLING_WIDE) : 1.0);
  }
  return says;
}

/* True if somebody notices something. */
static bool complain(struct practice_case *k, unsigned conditions, double good_rpm, const struct monitor_measures *measures) {
  const double misfires = estimate_symptoms_weigh_code(MONITOR_P0300, measures);
  double most = 0.0;
  for (int c = 0; c < ESTIMATE_COMPLAINT_COUNT; c++) {
    const double says = practice_case_says((enum estimate_complaint)c, k->points, conditions, good_rpm, misfires);
    if (!(says > most)) continue;
    most = says;
    k->complaint = (enum estimate_complaint)c;
  }
  return most >= NOTICED;
}

/* The same car at all conditions; its codes are those of warm idle. */
static void read_car(struct practice_case *k, unsigned conditions, struct estimate_forward *forward,
                     struct monitor_measures *measures) {
  estimate_forward_predict(forward, &k->setting, k->z, &k->fault, ESTIMATE_AT(idle), k->points);
  *measures = *estimate_forward_measures(forward);
  measures->misfire_ratio = estimate_symptoms_weigh_misfires(k->engine, &k->fault);
  (void)monitors_rest(measures, &k->codes);
  if (k->points[ESTIMATE_CONDITION_idle].runs)
    estimate_forward_predict(forward, &k->setting, k->z, &k->fault, conditions, k->points);
}

void practice_case_draw(const struct practice_tests *tests, const struct practice_prior *prior, int level, uint64_t seed,
                        struct estimate_forward *forward, struct practice_case *k) {
  const unsigned conditions = conditions_of(tests->engine);
  double good_rpm = 0.0;
  for (size_t i = 0; i < tests->readings.count; i++)
    if (tests->readings.readings[i].quantity == ESTIMATE_QUANTITY_speed_rpm &&
        tests->readings.readings[i].condition == ESTIMATE_CONDITION_idle)
      good_rpm = tests->readings.readings[i].value;
  memset(k, 0, sizeof *k);
  k->engine = tests->engine;
  k->level = level;
  k->seed = seed;
  estimate_setting_init(&k->setting);
  for (uint64_t attempt = 0; attempt < PRACTICE_CASE_ATTEMPT_MAX; attempt++) {
    const uint64_t base = attempt * NUMBER_COUNT;
    struct monitor_measures measures;
    draw_fault(k, prior, base);
    for (int i = 0; i < SCATTER_COUNT; i++) k->z[i] = prior->level->spread * normal(k, base + NUMBER_Z + (uint64_t)i);
    read_car(k, conditions, forward, &measures);
    if (!k->points[ESTIMATE_CONDITION_idle].runs) continue; // it is to be measured
    const bool noticed = complain(k, conditions, good_rpm, &measures);
    const int any = (int)(uniform(k, base + NUMBER_COMPLAINT) * (ESTIMATE_COMPLAINT_hunts + 1));
    if (!noticed) k->complaint = k->codes ? ESTIMATE_COMPLAINT_COUNT : (enum estimate_complaint)any;
    k->driven_km = (int)((KM_LEAST + (KM_MOST - KM_LEAST) * uniform(k, base + NUMBER_KM)) / KM_STEP) * KM_STEP;
    k->weeks = 1 + (int)(uniform(k, base + NUMBER_WEEKS) * WEEKS_MOST);
    if (noticed || k->codes || k->fault.count == 0) return;
  }
}

static void read(const struct practice_case *k, const struct practice_tests *tests, const struct practice_test *test,
                 struct practice_result *result) {
  for (size_t i = 0; i < test->count; i++) {
    const struct estimate_reading *r = &tests->readings.readings[test->shown[i]];
    const struct estimate_quantity_row *row = &estimate_quantities[r->quantity];
    const double value = row->value(&k->points[r->condition]);
    const double flicker = hypot(row->flicker, row->flicker_share * value);
    const uint64_t number = NUMBER_READING + (uint64_t)result->repeat * ESTIMATE_READING_MAX + test->shown[i];
    result->values[i] = row->resolution * round((value + flicker * normal(k, number)) / row->resolution);
  }
}

void practice_case_measure(const struct practice_case *k, const struct practice_tests *tests, size_t number, unsigned repeat,
                           struct practice_result *result) {
  const struct practice_test *test = &tests->tests[number];
  *result = (struct practice_result){.test = number, .repeat = repeat};
  if (test->kind == PRACTICE_LOOK)
    result->outcome =
        uniform(k, NUMBER_LOOK + test->look) < estimate_next_fault_yes(test->look, &k->fault) ? PRACTICE_YES : PRACTICE_NO;
  else if (!k->points[test->condition].runs)
    result->outcome = PRACTICE_STALLS;
  else
    read(k, tests, test, result);
}
