#include "analysis/estimate/estimate_symptoms_weigh.h"

#include "analysis/estimate/estimate_unlisted.h"
#include "base/attributes.h"
#include "base/matrix.h"
#include "base/random.h"
#include "base/units.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define LIMIT_SD         0.25 // of the log of a monitor's limit: known to some 20 to 30 %; common practice, no source
#define LIMIT_VOLT_SD    0.05 // of a limit in volts, as circuits are built alike
#define FORGOTTEN_SHARE  0.25 // of what has set codes, without what has been learned since; invented
#define UNKNOWN          0.5  // whether a code sets before an engine stalls
#define UNLISTED_CODE    0.25 // of a code that none of the listed causes sets; invented
#define NEVER_SET        0.1  // less than this is "does not set"
#define FRAME_INSTRUMENT 3.0  // errors of an instrument read once, while things move; our own choice
#define FRAME_MOVED      0.25 // and of what something unlisted may move; our own choice

/* What drivers feel: common practice, no source. Middle and width of a rising probability, rpm below or above the usual idle. */
#define LOW_RPM         75.0
#define LOW_WIDTH_RPM   40.0
#define HIGH_RPM        150.0
#define HIGH_WIDTH_RPM  75.0
#define STALL_RPM       150.0 // so far below it dies when a load comes on
#define STALL_WIDTH_RPM 60.0

/* Compression lost in one cylinder: from the first its firings begin to count as failed, at the second all of them do; our own choice. */
#define WEAK_LEAST_PCT 20.0
#define WEAK_MOST_PCT  50.0

#define WORTH_LOOKING 15.0 // log of probability below the likeliest beyond which no symptom brings a cause back
#define NODE_LEAST    0.01 // mass of a node that is looked at
enum { DRAW_COUNT = 6, LOOKED_MAX = 9, DRAW_SEED = 31415 };

/* Which codes watch the same thing. */
enum family { FAMILY_NONE, FAMILY_SPEED, FAMILY_MIXTURE, FAMILY_COUNT };

static enum family family_of(int code) {
  switch (code) {
  case MONITOR_P0505:
  case MONITOR_P0506:
  case MONITOR_P0507:
    return FAMILY_SPEED;
  case MONITOR_P0171:
  case MONITOR_P0172:
  case MONITOR_P0174:
    return FAMILY_MIXTURE;
  default:
    return FAMILY_NONE;
  }
}

/* ---- one code, one complaint ---- */

double estimate_symptoms_weigh_code(enum monitor_code code, const struct monitor_measures *measures) {
  const struct monitor_row *row = &monitor_rows[code];
  if (row->enable & ~measures->enabled) return 0.0;
  const double measure = row->measure(measures), limit = row->threshold;
  const double sd = strcmp(row->user_unit, "V") == 0 ? LIMIT_VOLT_SD : LIMIT_SD;
  if (limit > 0.0) return measure > 0.0 ? probability_normal_cdf(log(measure / limit) / sd) : 0.0;
  return measure < 0.0 ? probability_normal_cdf(log(limit / measure) / sd) : 1.0; // below -limit
}

static double rising(double value, double middle, double width) { return probability_normal_cdf((value - middle) / width); }

double estimate_symptoms_weigh_complaint(enum estimate_complaint complaint, const struct estimate_point *idle, double good_rpm,
                                         double misfires) {
  const bool stalls = idle->outcome == SETTLE_STALLS;
  const bool swings = idle->outcome == SETTLE_CUTS || idle->outcome == SETTLE_LIMITED || idle->outcome == SETTLE_NOT_SETTLED;
  const bool limps = idle->outcome == SETTLE_LIMPS || idle->outcome == SETTLE_CUTS;
  const double speed = idle->values[CHANNEL_speed_rpm];
  const double below = isnan(speed) ? 0.0 : good_rpm - speed;
  switch (complaint) {
  case ESTIMATE_COMPLAINT_low_idle:
    return stalls ? UNKNOWN : rising(below, LOW_RPM, LOW_WIDTH_RPM);
  case ESTIMATE_COMPLAINT_high_idle:
    return stalls ? 0.0 : rising(-below, HIGH_RPM, HIGH_WIDTH_RPM);
  case ESTIMATE_COMPLAINT_stalls:
    return stalls ? 1.0 : rising(below, STALL_RPM, STALL_WIDTH_RPM);
  case ESTIMATE_COMPLAINT_hunts:
    return swings ? 1.0 : misfires;
  case ESTIMATE_COMPLAINT_no_response:
    return limps || idle->outcome == SETTLE_UNCONTROLLED ? 1.0 : 0.0;
  default:
    return 0.0; // a settled point knows nothing of it: the same for all
  }
}

/* ---- likelihoods ---- */

/* No further from sure than a factor allows. */
static double bounded(double p) {
  const double least = 1.0 / (1.0 + ESTIMATE_SYMPTOMS_CODE_FACTOR);
  return least + (1.0 - 2.0 * least) * p;
}

static double floored(double p, double factor) { return 1.0 / factor + (1.0 - 1.0 / factor) * p; }

double estimate_symptoms_weigh_codes(const struct estimate_symptoms *s, const double code[MONITOR_CODE_COUNT]) {
  double family[FAMILY_COUNT] = {1.0, 1.0, 1.0}, sum = 0.0;
  if (!s->codes_given) return 0.0;
  for (int i = 0; i < MONITOR_CODE_COUNT; i++) {
    const bool stored = (s->stored & monitors_bit((enum monitor_code)i)) != 0;
    if (isnan(code[i]) || (!stored && s->codes_incomplete)) continue;
    const double likelihood = bounded(stored ? code[i] : 1.0 - code[i]);
    if (family_of(i) == FAMILY_NONE)
      sum += log(likelihood);
    else
      family[family_of(i)] = fmin(family[family_of(i)], likelihood);
  }
  for (int i = FAMILY_NONE + 1; i < FAMILY_COUNT; i++) sum += log(family[i]);
  return sum;
}

static double log_complaint(const struct estimate_symptoms *s, double p) {
  return s->complaint == ESTIMATE_COMPLAINT_COUNT ? 0.0 : log(floored(p, ESTIMATE_SYMPTOMS_COMPLAINT_FACTOR));
}

static bool has_frame(const struct estimate_symptoms *s) { return s->frame_given && !s->frame_left_out && s->frame.count > 0; }

static double log_frame(const struct estimate_symptoms *s, double density) {
  return has_frame(s) ? log(floored(density, ESTIMATE_SYMPTOMS_FRAME_FACTOR)) : 0.0;
}

/* Standard deviation of a reading of a frame, and how far something unlisted may move it. */
static double frame_sd(const struct estimate_reading *r, double *unlisted) {
  *unlisted = sqrt(estimate_unlisted_between(r, r));
  return hypot(FRAME_INSTRUMENT * r->sd, FRAME_MOVED * *unlisted);
}

/* exp(-chi2 / 2); 0 where the engine does not idle. */
static double frame_density(const struct estimate_symptoms *s, const struct estimate_point *idle) {
  double chi2 = 0.0, ignored;
  if (!idle->runs) return 0.0;
  for (size_t i = 0; i < s->frame.count; i++) {
    const struct estimate_reading *r = &s->frame.readings[i];
    const double off = (r->value - estimate_quantities[r->quantity].value(idle)) / frame_sd(r, &ignored);
    chi2 += off * off;
  }
  return exp(-0.5 * chi2);
}

/* Of something unlisted: about a good car, as broad as that. */
static double frame_density_unlisted(const struct estimate_symptoms *s, const struct estimate_point *good) {
  double log_density = 0.0;
  for (size_t i = 0; i < s->frame.count; i++) {
    const struct estimate_reading *r = &s->frame.readings[i];
    double unlisted;
    const double sd = frame_sd(r, &unlisted), broad = hypot(sd, unlisted);
    const double off = (r->value - estimate_quantities[r->quantity].value(good)) / broad;
    log_density += log(sd / broad) - 0.5 * off * off;
  }
  return good->runs ? exp(log_density) : 0.0;
}

/* ---- what a hypothesis shows ---- */

struct shown {
  double code[MONITOR_CODE_COUNT], complaint, frame;
};

struct work {
  const struct estimate_symptoms_case *what;
  struct estimate_worker *workers;
  struct estimate_setting setting; // the offset learned by long use
  bool monitored[MONITOR_CODE_COUNT];
  double good_rpm, least;
  struct shown (*looked)[LOOKED_MAX]; // of each hypothesis
  struct estimate_point good;
};

double estimate_symptoms_weigh_misfires(const struct engine *engine, const struct estimate_fault *fault) {
  const double one = 1.0 / engine->plant.charge.cylinder_count;
  double ratio = 0.0;
  for (size_t i = 0; i < fault->count; i++) {
    if (fault->cause[i] == CAUSE_spark_missing) ratio += one * fault->severity[i] * UNITS_RATIO_PER_PCT;
    if (fault->cause[i] == CAUSE_cylinder_compression)
      ratio += one * fmin(fmax((fault->severity[i] - WEAK_LEAST_PCT) / (WEAK_MOST_PCT - WEAK_LEAST_PCT), 0.0), 1.0);
  }
  return ratio;
}

/* Whether something keeps a settled point from knowing that a code sets: the engine stalls before it is judged, or the battery, which holds
 * its voltage in a point, runs down in a day. */
static bool is_unknown(enum monitor_code code, const struct estimate_fault *fault, const struct estimate_point *idle) {
  if (code == MONITOR_P0562)
    for (size_t i = 0; i < fault->count; i++)
      if (fault->cause[i] == CAUSE_generator || fault->cause[i] == CAUSE_battery_weak) return true;
  return idle->outcome == SETTLE_STALLS && (code == MONITOR_P0505 || code == MONITOR_P0506 || code == MONITOR_P0300);
}

/* What was wrong when the symptoms came: not what is left on or read cold now. */
static struct estimate_fault then(const struct estimate_fault *fault) {
  struct estimate_fault was = *fault;
  for (size_t i = 0; i < fault->count; i++)
    if (cause_rows[fault->cause[i]].state && cause_place(fault->cause[i]) == CAUSE_IN_CONDITIONS)
      was = estimate_forward_without(&was, fault->cause[i]);
  was.fresh = false;
  return was;
}

/* A code is set if it sets anywhere: one limit, so the likeliest place tells. */
static void set_most(const struct work *w, const struct monitor_measures *measures, double code[MONITOR_CODE_COUNT]) {
  for (int i = 0; i < MONITOR_CODE_COUNT; i++)
    if (w->monitored[i]) code[i] = fmax(code[i], estimate_symptoms_weigh_code((enum monitor_code)i, measures));
}

static void add_idle(const struct work *w, struct estimate_forward *forward, const double *z, const struct estimate_fault *fault,
                     double share, struct shown *shown) {
  const struct estimate_symptoms *s = w->what->symptoms;
  struct estimate_point points[ESTIMATE_CONDITION_COUNT];
  estimate_forward_predict(forward, &w->setting, z, fault, ESTIMATE_AT(idle), points);
  const struct estimate_point *idle = &points[ESTIMATE_CONDITION_idle];
  struct monitor_measures measures = *estimate_forward_measures(forward);
  measures.misfire_ratio = estimate_symptoms_weigh_misfires(w->what->problem->engine, fault);
  for (int i = 0; s->codes_given && i < MONITOR_CODE_COUNT; i++) {
    if (!w->monitored[i]) continue;
    const enum monitor_code code = (enum monitor_code)i;
    shown->code[i] += share * (is_unknown(code, fault, idle) ? UNKNOWN : estimate_symptoms_weigh_code(code, &measures));
  }
  if (s->complaint != ESTIMATE_COMPLAINT_COUNT)
    shown->complaint += share * estimate_symptoms_weigh_complaint(s->complaint, idle, w->good_rpm,
                                                                  estimate_symptoms_weigh_code(MONITOR_P0300, &measures));
  if (has_frame(s)) shown->frame += share * frame_density(s, idle);
}

/* A car of those that the readings leave; in pairs about the middle. factor: of the covariance. */
static void draw_car(const struct estimate_problem *p, const double *middle, const double *factor, int draw,
                     double z[SCATTER_COUNT]) {
  double normal[SCATTER_COUNT];
  const double sign = draw % 2 ? -1.0 : 1.0;
  for (int i = 0; i < SCATTER_COUNT; i++)
    normal[i] = sign * random_normal(DRAW_SEED, RANDOM_STREAM_CASE, (uint64_t)(draw / 2 * SCATTER_COUNT + i));
  memcpy(z, middle, SCATTER_COUNT * sizeof *z);
  for (size_t i = 0; i < p->count; i++) {
    double moved = 0.0;
    for (size_t k = 0; factor && k <= i; k++) moved += factor[i * p->count + k] * normal[p->scatter[k]];
    z[p->scatter[i]] = middle[p->scatter[i]] + moved;
  }
}

static void look(const struct work *w, struct estimate_forward *forward, const struct estimate_fault *today, const double *middle,
                 const double *factor, struct shown *shown) {
  const struct estimate_fault fault = then(today);
  struct estimate_fault forgotten = fault;
  forgotten.fresh = true;
  memset(shown, 0, sizeof *shown);
  for (int i = 0; i < DRAW_COUNT; i++) {
    double z[SCATTER_COUNT];
    draw_car(w->what->problem, middle, factor, i, z);
    add_idle(w, forward, z, &fault, (1.0 - FORGOTTEN_SHARE) / DRAW_COUNT, shown);
    add_idle(w, forward, z, &forgotten, FORGOTTEN_SHARE / DRAW_COUNT, shown);
  }
  if (!w->what->symptoms->codes_given) return;
  static const enum estimate_condition others[] = {ESTIMATE_CONDITION_key_on, ESTIMATE_CONDITION_hold_2500};
  for (size_t i = 0; i < ARRAY_COUNT(others); i++) {
    struct estimate_point points[ESTIMATE_CONDITION_COUNT];
    estimate_forward_predict(forward, &w->setting, middle, &fault, 1u << others[i], points);
    if (points[others[i]].runs) set_most(w, estimate_forward_measures(forward), shown->code);
  }
}

/* ---- over the nodes ---- */

/* The nodes that carry the hypothesis, in their order. */
static size_t choose_nodes(const struct estimate_hypothesis *h, size_t chosen[LOOKED_MAX]) {
  size_t count = 0;
  double least = NODE_LEAST;
  for (;;) {
    count = 0;
    for (size_t i = 0; i < h->node_count && count <= LOOKED_MAX; i++)
      if (h->nodes[i].mass >= least && h->nodes[i].fit.possible) {
        if (count < LOOKED_MAX) chosen[count] = i;
        count++;
      }
    if (count <= LOOKED_MAX) return count;
    least *= 1.3;
  }
}

static void blend(const struct shown *a, const struct shown *b, double weight, struct shown *between) {
  for (int i = 0; i < MONITOR_CODE_COUNT; i++) between->code[i] = (1.0 - weight) * a->code[i] + weight * b->code[i];
  between->complaint = (1.0 - weight) * a->complaint + weight * b->complaint;
  between->frame = (1.0 - weight) * a->frame + weight * b->frame;
}

/* Between the nodes that were looked at, linear in the share; two causes at once: as the nearest. */
static void shown_at(const struct estimate_hypothesis *h, size_t count, const size_t *chosen, const struct shown *looked,
                     size_t node, struct shown *shown) {
  if (h->fault.count == 2) {
    size_t nearest = 0;
    double least = INFINITY;
    for (size_t i = 0; i < count; i++) {
      const struct estimate_node *a = &h->nodes[chosen[i]], *b = &h->nodes[node];
      const double distance = hypot(a->share[0] - b->share[0], a->share[1] - b->share[1]);
      if (distance < least) {
        least = distance;
        nearest = i;
      }
    }
    *shown = looked[nearest];
    return;
  }
  size_t right = 0;
  while (right < count && chosen[right] < node) right++;
  const size_t left = right > 0 ? right - 1 : 0;
  if (right == count) right = count - 1;
  const double a = h->nodes[chosen[left]].share[0], b = h->nodes[chosen[right]].share[0];
  const double weight = b > a ? fmin(fmax((h->nodes[node].share[0] - a) / (b - a), 0.0), 1.0) : 0.0;
  blend(&looked[left], &looked[right], weight, shown);
}

static void mask(const struct work *w, struct shown *shown) {
  for (int i = 0; i < MONITOR_CODE_COUNT; i++)
    if (!w->monitored[i]) shown->code[i] = NAN;
}

/* Its nodes and its evidence; what it shows is told as the readings let expect it, before the symptoms. */
static void weigh_nodes(const struct work *w, size_t count, const size_t *chosen, const struct shown *looked,
                        struct estimate_hypothesis *h, struct estimate_symptoms_told *told) {
  const struct estimate_symptoms *s = w->what->symptoms;
  double codes = 0.0, frame = 0.0, complaint = 0.0, all = 0.0, mass = 0.0, by_node[ESTIMATE_NODE_MAX];
  memset(told, 0, sizeof *told);
  told->looked = true;
  for (size_t i = 0; i < h->node_count; i++) {
    struct shown shown;
    shown_at(h, count, chosen, looked, i, &shown);
    mask(w, &shown);
    const double m = h->nodes[i].mass, of_codes = estimate_symptoms_weigh_codes(s, shown.code);
    const double of_frame = log_frame(s, shown.frame), of_complaint = log_complaint(s, shown.complaint);
    by_node[i] = of_codes + of_frame + of_complaint;
    for (int k = 0; k < MONITOR_CODE_COUNT; k++) told->code[k] += m * shown.code[k];
    told->complaint += m * shown.complaint;
    told->frame += m * shown.frame;
    codes += m * exp(of_codes);
    frame += m * exp(of_frame);
    complaint += m * exp(of_complaint);
    all += m * exp(by_node[i]);
    mass += m;
  }
  told->log_codes = log(codes / mass);
  told->log_frame = log(frame / mass);
  told->log_complaint = log(complaint / mass);
  for (int k = 0; k < MONITOR_CODE_COUNT; k++) told->code[k] /= mass;
  told->complaint /= mass;
  told->frame /= mass;
  for (size_t i = 0; i < h->node_count; i++) {
    h->nodes[i].fit.log_likelihood += by_node[i]; // never more than before, so that what is kept of the likeliest node serves
    h->nodes[i].mass *= exp(by_node[i]) / all;
  }
  const double before = h->log_evidence; // of a cause that was not searched in full it is not that of its nodes
  if (h->fault.count < 2) estimate_search_weigh(w->what->problem, h);
  h->log_evidence = before + log(all / mass);
}

/* A car that is brought idles, somehow: readings at idle say so, and where there are none it is taken for granted. False: it never does. */
static bool leave_idling(const struct work *w, struct estimate_forward *forward, struct estimate_hypothesis *h) {
  double kept = 0.0;
  if (w->what->problem->conditions & ESTIMATE_AT(idle)) return true;
  for (size_t i = 0; i < h->node_count; i++) {
    const struct estimate_fault fault = estimate_node_fault(h, &h->nodes[i]);
    struct estimate_point points[ESTIMATE_CONDITION_COUNT];
    estimate_forward_predict(forward, w->what->problem->setting, h->nodes[i].fit.z, &fault, ESTIMATE_AT(idle), points);
    if (points[ESTIMATE_CONDITION_idle].runs)
      kept += h->nodes[i].mass;
    else {
      h->nodes[i].mass = 0.0;
      h->nodes[i].fit.possible = h->nodes[i].full = false;
      h->nodes[i].fit.log_likelihood = -INFINITY;
    }
  }
  h->log_evidence += log(kept);
  for (size_t i = 0; i < h->node_count && kept > 0.0; i++) h->nodes[i].mass /= kept;
  return kept > 0.0;
}

static void weigh_job(size_t index, size_t worker, void *user) {
  struct work *w = user;
  const struct estimate_symptoms_case *e = w->what;
  struct estimate_hypothesis *h = &e->hypotheses[index];
  const bool likely = h->log_evidence + log(h->prior) > w->least;
  if (estimate_hypothesis_is_unlisted(h) || !(likely || index == 0)) return; // nothing wrong is what all is told against
  size_t chosen[LOOKED_MAX];
  if (!leave_idling(w, w->workers[worker].forward, h)) return;
  const size_t count = choose_nodes(h, chosen);
  if (count == 0) return;
  double *factor = w->workers[worker].covariance;
  memcpy(factor, h->covariance, e->problem->count * e->problem->count * sizeof *factor);
  const bool drawn = e->problem->count > 0 && matrix_cholesky(e->problem->count, factor);
  for (size_t i = 0; i < count; i++) {
    const struct estimate_fault fault = estimate_node_fault(h, &h->nodes[chosen[i]]);
    look(w, w->workers[worker].forward, &fault, h->nodes[chosen[i]].fit.z, drawn ? factor : NULL, &w->looked[index][i]);
  }
  weigh_nodes(w, count, chosen, w->looked[index], h, &e->told[index]);
}

/* What is not listed, and what was not looked at, shows what the listed faults do on average. */
static void weigh_rest(const struct work *w) {
  const struct estimate_symptoms_case *e = w->what;
  const struct estimate_symptoms *s = e->symptoms;
  struct estimate_symptoms_told mean = {0};
  double parts = 0.0, most[MONITOR_CODE_COUNT] = {0};
  for (size_t i = 0; i < e->count; i++) {
    const struct estimate_hypothesis *h = &e->hypotheses[i];
    if (!e->told[i].looked || h->fault.count != 1 || cause_rows[h->fault.cause[0]].state) continue;
    for (int k = 0; k < MONITOR_CODE_COUNT; k++) {
      mean.code[k] += h->prior * e->told[i].code[k];
      most[k] = fmax(most[k], e->told[i].code[k]);
    }
    mean.complaint += h->prior * e->told[i].complaint;
    parts += h->prior;
  }
  for (int k = 0; k < MONITOR_CODE_COUNT; k++) {
    mean.code[k] = !w->monitored[k] ? NAN : parts > 0.0 ? mean.code[k] / parts : 0.0;
    if ((s->stored & monitors_bit((enum monitor_code)k)) && most[k] < NEVER_SET) mean.code[k] = UNLISTED_CODE;
  }
  if (parts > 0.0) mean.complaint /= parts;
  mean.frame = frame_density_unlisted(s, &w->good);
  mean.log_codes = estimate_symptoms_weigh_codes(s, mean.code);
  mean.log_complaint = log_complaint(s, mean.complaint);
  mean.log_frame = log_frame(s, mean.frame);
  for (size_t i = 0; i < e->count; i++) {
    if (e->told[i].looked) continue;
    e->told[i] = mean;
    e->told[i].looked = estimate_hypothesis_is_unlisted(&e->hypotheses[i]);
    e->hypotheses[i].log_evidence += mean.log_codes + mean.log_complaint + mean.log_frame;
  }
}

static void find_good(struct work *w) {
  const struct estimate_fault nothing = {0};
  struct estimate_point points[ESTIMATE_CONDITION_COUNT];
  estimate_forward_predict(w->workers[0].forward, &w->setting, w->what->problem->prior->mean, &nothing, ESTIMATE_AT(idle),
                           points);
  w->good = points[ESTIMATE_CONDITION_idle];
  w->good_rpm = w->good.values[CHANNEL_speed_rpm];
}

bool estimate_symptoms_weigh(const struct estimate_symptoms_case *e, struct estimate_worker *workers,
                             const struct for_each *for_each) {
  if (!e->symptoms || !estimate_symptoms_given(e->symptoms)) return true;
  struct work w = {.what = e, .workers = workers, .setting = *e->problem->setting, .least = -INFINITY};
  w.setting.stale = false;
  w.looked = calloc(e->count, sizeof *w.looked);
  if (!w.looked) return false;
  const unsigned possible = monitors_possible(engine_features(e->problem->engine));
  for (int i = 0; i < MONITOR_CODE_COUNT; i++) w.monitored[i] = !(monitor_rows[i].enable & ~possible);
  for (size_t i = 0; i < e->count; i++)
    w.least = fmax(w.least, e->hypotheses[i].log_evidence + log(e->hypotheses[i].prior) - WORTH_LOOKING);
  find_good(&w);
  for_each->run(for_each, e->count, weigh_job, &w);
  weigh_rest(&w);
  free(w.looked);
  return true;
}
