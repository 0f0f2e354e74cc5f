#include "analysis/practice/practice_mark.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define RIGHT_ALONE   0.25 // of the points for the cause
#define HALF_OF_TWO   0.5  // one of two causes
#define HONEST        0.4  // "not told" where it could have been
#define NEAR_SHARE    0.1  // of the range
#define FAR_SHARE     0.5
#define TOO_LONG      3.0 // times the best plan
#define LEAST_MINUTES 5.0 // of a best plan: a minute more or less is no matter

const struct practice_part_row practice_mark_parts[PRACTICE_PART_COUNT] = {
    {"cause", 40.0}, {"work", 20.0}, {"minutes", 20.0}, {"severity", 10.0}, {"safety", 10.0}};

bool practice_mark_shown(const struct practice_case *drawn, const struct practice_tests *tests,
                         const struct practice_record *record, size_t done, struct practice_result *result) {
  const char *name = record->done[done].test;
  const size_t test = practice_tests_find(tests, name);
  unsigned repeat = 0;
  if (test == tests->count) return false;
  for (size_t i = 0; i < done; i++) repeat += strcmp(record->done[i].test, name) == 0;
  practice_case_measure(drawn, tests, test, repeat, result);
  return true;
}

/* ---- what each test was worth ---- */

static unsigned repeats(const struct practice_mark *m, size_t test) {
  unsigned count = 0;
  for (size_t i = 0; i < m->count; i++) count += m->steps[i].result.test == test;
  return count;
}

static enum status add_step(const struct practice_case *drawn, struct practice_belief *belief, size_t test,
                            struct practice_next *next, struct practice_mark *m, struct error *error) {
  const struct practice_tests *tests = practice_belief_bank(belief)->tests;
  const unsigned repeat = repeats(m, test);
  const bool again = repeat > 0 && tests->tests[test].kind == PRACTICE_LOOK;
  const enum status status = practice_next_find(belief, test, NULL, next, error);
  if (status != STATUS_OK) return status;
  struct practice_step *step = &m->steps[m->count++];
  *step = (struct practice_step){.minutes = tests->tests[test].what.minutes,
                                 .gain_bits = again ? 0.0 : next->worth[test].gain_bits,
                                 .cost = next->worth[test].cost,
                                 .truth_before = next->probability[m->truth]};
  practice_case_measure(drawn, tests, test, repeat, &step->result);
  practice_belief_add(belief, &step->result);
  practice_belief_hypotheses(belief, next->probability);
  step->likeliest = practice_belief_likeliest(next->probability, practice_belief_bank(belief)->hypothesis_count);
  step->probability = next->probability[step->likeliest];
  step->truth_after = next->probability[m->truth];
  m->minutes += step->minutes;
  return status;
}

/* The reading of the settling test that parts the truth from the likeliest other most, as both were foreseen before it. */
static void find_telling(const struct practice_belief *belief, const struct practice_step *step, struct practice_mark *m) {
  const struct practice_bank *bank = practice_belief_bank(belief);
  const struct practice_test *test = &bank->tests->tests[step->result.test];
  double probability[PRACTICE_HYPOTHESIS_MAX], most = 0.0;
  practice_belief_hypotheses(belief, probability);
  probability[m->truth] = 0.0;
  m->rival = practice_belief_likeliest(probability, bank->hypothesis_count);
  m->telling = PRACTICE_SHOWN_MAX;
  for (size_t i = 0; step->result.outcome == PRACTICE_READ && i < test->count; i++) {
    double a, sa, b, sb;
    if (!practice_belief_expect(belief, m->truth, test->shown[i], &a, &sa) ||
        !practice_belief_expect(belief, m->rival, test->shown[i], &b, &sb))
      continue;
    const double y = step->result.values[i];
    const double tells = 0.5 * ((y - b) * (y - b) / (sb * sb) - (y - a) * (y - a) / (sa * sa)) + log(sb / sa);
    if (!(tells > most)) continue;
    most = tells;
    m->telling = i;
    m->read = y;
    m->truth_mean = a;
    m->truth_sd = sa;
    m->rival_mean = b;
    m->rival_sd = sb;
  }
}

static enum status go_again(const struct practice_bank *bank, const struct practice_case *drawn, const struct practice_record *r,
                            struct practice_mark *m, double probability[PRACTICE_HYPOTHESIS_MAX], struct error *error) {
  struct practice_next *next = calloc(1, sizeof *next);
  struct practice_belief *belief = NULL;
  enum status status = next ? practice_belief_create(bank, drawn->complaint, drawn->codes, &belief, error)
                            : error_set(error, STATUS_NO_MEMORY, "out of memory for a mark");
  for (size_t i = 0; status == STATUS_OK && i < r->done_count; i++) {
    const size_t test = practice_tests_find(bank->tests, r->done[i].test);
    if (test < bank->tests->count) status = add_step(drawn, belief, test, next, m, error);
  }
  if (status == STATUS_OK) practice_belief_hypotheses(belief, probability);
  m->settled = m->count;
  while (m->settled > 0 && m->steps[m->settled - 1].truth_after >= PRACTICE_TOLD) m->settled--;
  practice_belief_destroy(belief);
  belief = NULL;
  if (status == STATUS_OK && m->settled < m->count)
    status = practice_belief_create(bank, drawn->complaint, drawn->codes, &belief, error);
  for (size_t i = 0; belief && i < m->settled; i++) practice_belief_add(belief, &m->steps[i].result);
  if (belief) find_telling(belief, &m->steps[m->settled], m);
  practice_belief_destroy(belief);
  free(next);
  return status;
}

/* ---- points, each as a share of its most ---- */

static size_t common_causes(const struct estimate_fault *fault, const struct practice_answer *a) {
  size_t common = 0;
  for (size_t i = 0; i < fault->count; i++)
    for (size_t k = 0; k < a->count; k++) common += fault->cause[i] == a->cause[k];
  return common;
}

static double cause_share(const struct practice_bank *bank, const struct estimate_fault *truth, const struct practice_answer *a,
                          const double *probability, struct practice_mark *m) {
  const size_t named = practice_bank_find(bank, a->count, a->cause);
  const size_t common = common_causes(truth, a);
  m->backed = named < bank->hypothesis_count ? probability[named] : 0.0;
  if (a->not_told) {
    m->backed = NAN;
    const double most = probability[practice_belief_likeliest(probability, bank->hypothesis_count)];
    return most >= PRACTICE_TOLD ? 0.5 * HONEST : m->best.told || m->count == 0 ? HONEST : 1.0;
  }
  const bool right = a->count == truth->count && common == truth->count;
  if (!right && common == 0) return 0.0;
  double backed = m->backed;
  if (!right) {
    backed = 0.0;
    for (size_t i = 0; i < bank->hypothesis_count; i++)
      if (common_causes(&bank->hypotheses[i].fault, a) > 0) backed += probability[i];
  }
  return (right ? 1.0 : HALF_OF_TWO) * (RIGHT_ALONE + (1.0 - RIGHT_ALONE) * fmin(1.0, backed / PRACTICE_TOLD));
}

static double range_share(enum cause cause, double severity) {
  const struct cause_row *row = &cause_rows[cause];
  if (row->scale == CAUSE_LOG) return severity > 0.0 ? log(severity / row->least) / log(row->most / row->least) : -INFINITY;
  return (severity - row->least) / (row->most - row->least);
}

static double severity_share(const struct estimate_fault *truth, const struct practice_answer *a, double cause) {
  double sum = 0.0;
  if (a->not_told || truth->count == 0) return cause;
  for (size_t i = 0; i < truth->count; i++)
    for (size_t k = 0; k < a->count; k++) {
      if (truth->cause[i] != a->cause[k] || isnan(a->severity[k])) continue;
      const double off = fabs(range_share(truth->cause[i], a->severity[k]) - range_share(truth->cause[i], truth->severity[i]));
      sum += fmin(fmax((FAR_SHARE - off) / (FAR_SHARE - NEAR_SHARE), 0.0), 1.0);
    }
  return sum / (double)truth->count;
}

/* Money of some work on a car, as estimate_decide.h counts it. */
static double work_cost(const struct remedy_costs *costs, uint64_t needed, uint64_t done, bool search) {
  double cost = search ? costs->minute * costs->search : 0.0;
  for (size_t i = 0; i < REMEDY_COUNT; i++)
    if (((search ? needed : done) >> i) & 1u) cost += remedy_cost(costs, i);
  if (search || !(needed & ~done)) return cost;
  cost += costs->comeback + costs->minute * costs->search;
  for (size_t i = 0; i < REMEDY_COUNT; i++)
    if ((needed >> i) & 1u) cost += remedy_cost(costs, i);
  return cost;
}

static double work_share(const struct estimate_fault *truth, const struct practice_answer *a, const struct practice_mark *m) {
  struct remedy_costs costs;
  remedy_costs_default(&costs);
  const uint64_t needed = practice_next_remedies(truth);
  const double missed = costs.comeback + costs.minute * costs.search;
  const double best = m->best.told ? work_cost(&costs, needed, needed, false) : work_cost(&costs, needed, 0, true);
  const double share = fmin(fmax(1.0 - (work_cost(&costs, needed, a->remedies, a->search) - best) / missed, 0.0), 1.0);
  bool bought = false;
  for (size_t i = 0; i < REMEDY_COUNT; i++) bought = bought || (((a->remedies >> i) & 1u) && remedy_needs_look(i));
  return bought && !(m->backed >= 0.5) ? 0.5 * share : share;
}

static double minutes_share(const struct practice_mark *m, double cause) {
  const double best = fmax(m->best.minutes, LEAST_MINUTES);
  return cause * fmin(fmax((TOO_LONG * best - m->minutes) / ((TOO_LONG - 1.0) * best), 0.0), 1.0);
}

/* Every step that has cautions: the tests, and the work. */
static double safety_share(const struct practice_bank *bank, const struct practice_record *r, const struct practice_answer *a) {
  double all = 0.0, careful = 0.0;
  for (size_t i = 0; i < r->done_count; i++) {
    const size_t test = practice_tests_find(bank->tests, r->done[i].test);
    if (test == bank->tests->count || bank->tests->tests[test].what.cautions == 0) continue;
    all += 1.0;
    careful += r->done[i].careful;
  }
  if (practice_answer_cautions(bank->tests->engine, a)) {
    all += 1.0;
    careful += a->careful;
  }
  return all > 0.0 ? careful / all : 1.0;
}

enum status practice_mark_find(const struct practice_bank *bank, const struct practice_case *drawn,
                               const struct practice_record *r, const struct practice_answer *a, struct practice_mark *m,
                               struct error *error) {
  double probability[PRACTICE_HYPOTHESIS_MAX], share[PRACTICE_PART_COUNT];
  memset(m, 0, sizeof *m);
  m->truth = practice_plan_truth(bank, drawn);
  enum status status = practice_plan_find(bank, drawn, &m->best, error);
  if (status == STATUS_OK) status = go_again(bank, drawn, r, m, probability, error);
  if (status != STATUS_OK) return status;
  const double cause = share[PRACTICE_CAUSE] = cause_share(bank, &drawn->fault, a, probability, m);
  share[PRACTICE_WORK] = work_share(&drawn->fault, a, m);
  share[PRACTICE_MINUTES] = minutes_share(m, cause);
  share[PRACTICE_SEVERITY] = severity_share(&drawn->fault, a, cause);
  share[PRACTICE_SAFETY] = safety_share(bank, r, a);
  for (int i = 0; i < PRACTICE_PART_COUNT; i++) m->total += m->points[i] = practice_mark_parts[i].most * share[i];
  return STATUS_OK;
}
