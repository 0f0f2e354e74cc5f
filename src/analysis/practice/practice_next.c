#include "analysis/practice/practice_next.h"

#include "base/matrix.h"
#include "base/probability.h"
#include "base/random.h"
#include "base/units.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define WORTH_TELLING 0.002 // probability below which a hypothesis does not count here
#define WORTH_A_NODE  1e-4
enum { SAMPLE_COUNT = 160, OPEN_MAX = 400, STATES_MOST = ESTIMATE_DECIDE_ACTION_MAX - 3, SEED_NODE = 11, SEED_NOISE = 12 };

uint64_t practice_next_remedies(const struct estimate_fault *fault) {
  uint64_t remedies = 0;
  for (size_t i = 0; i < fault->count; i++) {
    const size_t row = remedy_of_cause(cause_rows[fault->cause[i]].name);
    if (row < REMEDY_COUNT && remedy_rows[row].kind != REMEDY_NONE) remedies |= (uint64_t)1 << row;
  }
  return remedies;
}

void practice_next_decide(struct practice_decision *d, const struct practice_bank *bank,
                          const double probability[PRACTICE_HYPOTHESIS_MAX]) {
  struct remedy_costs costs;
  bool taken[PRACTICE_HYPOTHESIS_MAX] = {false};
  double rest = 1.0;
  size_t count = 0;
  remedy_costs_default(&costs);
  estimate_decide_begin(&d->decide, &costs);
  while (count < STATES_MOST) {
    size_t most = bank->hypothesis_count;
    for (size_t i = 0; i < bank->hypothesis_count; i++)
      if (!taken[i] && probability[i] > WORTH_TELLING && (most == bank->hypothesis_count || probability[i] > probability[most]))
        most = i;
    if (most == bank->hypothesis_count) break;
    taken[most] = true;
    rest -= probability[most];
    d->state[most] = count;
    d->hypothesis[count++] = most;
    estimate_decide_add(&d->decide, probability[most], practice_next_remedies(&bank->hypotheses[most].fault), true);
  }
  for (size_t i = 0; i < bank->hypothesis_count; i++)
    if (!taken[i]) d->state[i] = count;
  d->hypothesis[count] = bank->hypothesis_count;
  estimate_decide_add(&d->decide, fmax(rest, 0.0), 0, false);
  estimate_decide_finish(&d->decide);
}

/* Nodes that are still open, and what some readings would be at each. */
struct open {
  size_t count;
  size_t node[OPEN_MAX];
  double probability[OPEN_MAX]; // sums to 1
  bool reads[OPEN_MAX];         // else it stalls there
  double norm[OPEN_MAX];        // log of the density's factor
  double mean[OPEN_MAX][PRACTICE_SHOWN_MAX];
  double factor[OPEN_MAX][PRACTICE_SHOWN_MAX * PRACTICE_SHOWN_MAX];
};

static void open_nodes(const struct practice_belief *belief, struct open *o) {
  const struct practice_bank *bank = practice_belief_bank(belief);
  double least = WORTH_A_NODE, sum = 0.0;
  double *all = o->factor[0]; // room; PRACTICE_NODE_MAX numbers
  _Static_assert(PRACTICE_NODE_MAX <= OPEN_MAX * PRACTICE_SHOWN_MAX * PRACTICE_SHOWN_MAX, "room for all nodes");
  for (size_t i = 0; i < bank->node_count; i++) all[i] = practice_belief_node(belief, i);
  do {
    o->count = 0;
    for (size_t i = 0; i < bank->node_count && o->count <= OPEN_MAX; i++) {
      if (all[i] < least) continue;
      if (o->count < OPEN_MAX) {
        o->node[o->count] = i;
        o->probability[o->count] = all[i];
      }
      o->count++;
    }
    least *= 1.5;
  } while (o->count > OPEN_MAX);
  for (size_t i = 0; i < o->count; i++) sum += o->probability[i];
  for (size_t i = 0; i < o->count; i++) o->probability[i] /= sum;
}

static void foresee(const struct practice_belief *belief, const struct practice_test *test, struct open *o) {
  const struct practice_bank *bank = practice_belief_bank(belief);
  for (size_t i = 0; i < o->count; i++) {
    o->reads[i] = (bank->nodes[o->node[i]].runs >> test->condition) & 1u;
    for (size_t k = 0; k < test->count; k++)
      o->reads[i] = o->reads[i] && isfinite(practice_bank_mean(bank, o->node[i], test->shown[k]));
    if (!o->reads[i]) continue;
    practice_belief_predict(belief, o->node[i], test->count, test->shown, o->mean[i], o->factor[i]);
    o->reads[i] = matrix_cholesky(test->count, o->factor[i]);
    if (o->reads[i]) o->norm[i] = -0.5 * matrix_cholesky_log_determinant(test->count, o->factor[i]);
  }
}

/* One result as the node would give it. */
static void draw(const struct open *o, size_t i, size_t count, uint64_t sample, double *y) {
  for (size_t a = 0; a < count; a++) {
    y[a] = o->mean[i][a];
    for (size_t b = 0; b <= a; b++)
      y[a] += o->factor[i][a * count + b] * random_normal(SEED_NOISE, RANDOM_STREAM_CASE, sample * PRACTICE_SHOWN_MAX + b);
  }
}

static double log_density(const struct open *o, size_t i, size_t count, const double *y) {
  double off[PRACTICE_SHOWN_MAX], sum = 0.0;
  for (size_t a = 0; a < count; a++) off[a] = y[a] - o->mean[i][a];
  matrix_cholesky_forward(count, o->factor[i], off);
  for (size_t a = 0; a < count; a++) sum += off[a] * off[a];
  return o->norm[i] - 0.5 * sum;
}

static size_t pick(const struct open *o, double u) {
  size_t i = 0;
  while (i + 1 < o->count && u > o->probability[i]) u -= o->probability[i++];
  return i;
}

/* Probabilities of the hypotheses once this sample has been read. */
static void weigh(const struct practice_bank *bank, const struct open *o, size_t drawn, size_t count, const double *y,
                  double *logs, double *after) {
  for (size_t i = 0; i < o->count; i++) {
    logs[i] = o->reads[i] == o->reads[drawn] ? log(o->probability[i]) : -INFINITY;
    if (o->reads[drawn] && o->reads[i]) logs[i] += log_density(o, i, count, y);
  }
  const double all = probability_log_sum_exp(o->count, logs);
  memset(after, 0, bank->hypothesis_count * sizeof *after);
  for (size_t i = 0; i < o->count; i++) after[bank->nodes[o->node[i]].hypothesis] += exp(logs[i] - all);
}

static double decide_after(const struct practice_decision *d, size_t count, const double *after) {
  double weight[ESTIMATE_HYPOTHESIS_MAX] = {0.0};
  for (size_t i = 0; i < count; i++) weight[d->state[i]] += after[i];
  return estimate_decide_least(&d->decide, weight, NULL);
}

/* By strata of the nodes' probability, so that chance adds little. */
static struct practice_worth worth_of_readings(const struct practice_belief *belief, const struct practice_test *test,
                                               const struct practice_next *next, struct open *o) {
  const struct practice_bank *bank = practice_belief_bank(belief);
  struct practice_worth worth = {.gain_bits = next->entropy_bits, .cost = test->what.minutes};
  double logs[OPEN_MAX], after[PRACTICE_HYPOTHESIS_MAX], y[PRACTICE_SHOWN_MAX];
  foresee(belief, test, o);
  for (uint64_t s = 0; s < SAMPLE_COUNT; s++) {
    const size_t i = pick(o, ((double)s + random_uniform(SEED_NODE, RANDOM_STREAM_CASE, s)) / SAMPLE_COUNT);
    if (o->reads[i]) draw(o, i, test->count, s, y);
    weigh(bank, o, i, test->count, y, logs, after);
    worth.gain_bits -= probability_entropy_bits(bank->hypothesis_count, after) / SAMPLE_COUNT;
    worth.cost += decide_after(&next->decision, bank->hypothesis_count, after) / SAMPLE_COUNT;
  }
  worth.gain_bits = fmax(worth.gain_bits, 0.0);
  return worth;
}

static struct practice_worth worth_of_look(const struct practice_bank *bank, const struct practice_test *test,
                                           const struct practice_next *next) {
  double yes[PRACTICE_HYPOTHESIS_MAX], said_yes[PRACTICE_HYPOTHESIS_MAX], said_no[PRACTICE_HYPOTHESIS_MAX];
  for (size_t i = 0; i < bank->hypothesis_count; i++) {
    yes[i] = estimate_next_fault_yes(test->look, &bank->hypotheses[i].fault);
    said_yes[i] = next->probability[i] * yes[i];
    said_no[i] = next->probability[i] * (1.0 - yes[i]);
  }
  return (struct practice_worth){.gain_bits = probability_information_binary_bits(bank->hypothesis_count, next->probability, yes),
                                 .cost = test->what.minutes + decide_after(&next->decision, bank->hypothesis_count, said_yes) +
                                         decide_after(&next->decision, bank->hypothesis_count, said_no)};
}

enum status practice_next_find(const struct practice_belief *belief, size_t only, const bool *done, struct practice_next *next,
                               struct error *error) {
  const struct practice_bank *bank = practice_belief_bank(belief);
  struct open *o = calloc(1, sizeof *o);
  if (!o) return error_set(error, STATUS_NO_MEMORY, "out of memory for a practice case");
  practice_belief_hypotheses(belief, next->probability);
  next->entropy_bits = probability_entropy_bits(bank->hypothesis_count, next->probability);
  practice_next_decide(&next->decision, bank, next->probability);
  next->cost_now = estimate_decide_least(&next->decision.decide, next->decision.decide.probability, &next->action);
  open_nodes(belief, o);
  for (size_t i = 0; i < bank->tests->count; i++) {
    const struct practice_test *test = &bank->tests->tests[i];
    next->worth[i] = (struct practice_worth){0.0, NAN};
    if ((only < PRACTICE_TEST_MAX && i != only) || (done && done[i])) continue;
    next->worth[i] = test->kind == PRACTICE_LOOK ? worth_of_look(bank, test, next) : worth_of_readings(belief, test, next, o);
  }
  free(o);
  return STATUS_OK;
}
