#include "analysis/practice/practice_prior.h"

#include "car/scatter.h"

#include <assert.h>
#include <math.h>

#define MIDDLE_SHARE  0.5
#define MOVED_SD      2.0  // so many standard deviations of a reading are seen
#define SPEED_LOW_RPM 20.0 // and so much of the speed

static const struct practice_level_row levels[] = {
    {"one cause, and severe", 0.0, 0.0, 0.0, false, false, 0.55, 0.95, 1.0},
    {"a film, or something that reads like one", 0.35, 0.0, 0.0, true, false, 0.25, 0.95, 1.0},
    {"one cause, two, or none; slight ones too; cars that differ more", 0.0, 0.12, 0.25, false, true, 0.15, 0.95, 1.4},
};

const struct practice_level_row *practice_prior_level(int level) {
  assert(level >= PRACTICE_LEVEL_LEAST && level <= PRACTICE_LEVEL_MOST);
  return &levels[level - PRACTICE_LEVEL_LEAST];
}

/* Not drawn: what is not listed, what a computer unlearns while it is read, and what whoever reads has done wrong. */
static bool can_be_hidden(const struct engine *engine, enum cause cause, bool odd_cars) {
  if (cause == CAUSE_nothing || cause == CAUSE_unlisted || !cause_applies(engine, cause)) return false;
  if (cause_place(cause) == CAUSE_IN_MEMORY) return false;
  if (cause_rows[cause].state) return odd_cars && (cause == CAUSE_target_other || cause == CAUSE_stop_other);
  return true;
}

static double idle_air(const struct estimate_point *p, enum estimate_quantity quantity) {
  return estimate_quantities[quantity].value(p);
}

/* Whether idling warm it reads to the same side as a film. */
static bool reads_like_film(struct estimate_forward *forward, enum cause cause, const struct estimate_point *good) {
  static const enum estimate_quantity risen[] = {ESTIMATE_QUANTITY_idle_air_pct, ESTIMATE_QUANTITY_tp_pct,
                                                 ESTIMATE_QUANTITY_bypass_steps};
  const struct estimate_fault fault = {.count = 1, .cause = {cause}, .severity = {cause_severity(cause, MIDDLE_SHARE)}};
  const double z[SCATTER_COUNT] = {0.0};
  struct estimate_setting setting;
  struct estimate_point points[ESTIMATE_CONDITION_COUNT];
  estimate_setting_init(&setting);
  estimate_forward_predict(forward, &setting, z, &fault, ESTIMATE_AT(idle), points);
  const struct estimate_point *idle = &points[ESTIMATE_CONDITION_idle];
  if (!idle->runs) return false;
  for (size_t i = 0; i < sizeof risen / sizeof *risen; i++) {
    const double sd = estimate_reading_sd(risen[i], idle_air(good, risen[i]), NAN, NAN);
    if (idle_air(idle, risen[i]) - idle_air(good, risen[i]) > MOVED_SD * sd) return true;
  }
  return good->values[CHANNEL_speed_rpm] - idle->values[CHANNEL_speed_rpm] > SPEED_LOW_RPM;
}

void practice_prior_find(const struct engine *engine, int level, struct estimate_forward *forward, struct practice_prior *prior) {
  const struct practice_level_row *row = practice_prior_level(level);
  const double z[SCATTER_COUNT] = {0.0};
  struct estimate_setting setting;
  struct estimate_point points[ESTIMATE_CONDITION_COUNT];
  double all = 0.0, others = 0.0;
  *prior = (struct practice_prior){.level = row};
  estimate_setting_init(&setting);
  estimate_forward_predict(forward, &setting, z, &(struct estimate_fault){0}, ESTIMATE_AT(idle), points);
  const struct estimate_point good = points[ESTIMATE_CONDITION_idle];
  for (int c = 0; c < CAUSE_COUNT; c++) {
    const enum cause cause = (enum cause)c;
    if (!can_be_hidden(engine, cause, row->odd_cars)) continue;
    if (row->mimics && cause != CAUSE_film && !reads_like_film(forward, cause, &good)) continue;
    all += prior->single[c] = cause_prior(engine, cause);
    if (cause != CAUSE_film && !cause_rows[c].state) others += prior->pair[c] = prior->single[c];
  }
  const double alone = 1.0 - row->nothing - row->pair, rest = all - prior->single[CAUSE_film];
  for (int c = 0; c < CAUSE_COUNT; c++) {
    prior->pair[c] *= row->pair / others;
    if (row->film > 0.0 && c != CAUSE_film)
      prior->single[c] *= (alone - row->film) / rest;
    else
      prior->single[c] = row->film > 0.0 ? row->film : prior->single[c] * alone / all;
  }
  prior->single[CAUSE_nothing] = row->nothing;
}
