/* Why the trims move, or do not: whether the air has been counted before it burns. */
#include "analysis/run/explain_account.h"

#include <math.h>
#include <stdio.h>

#define TRIM_PCT        2.0 // less is the scatter of a good engine's trims
#define NONE_PCT        3.0 // as good as no trim
#define UNMETERED_GPS   0.02
#define UNMETERED_RATIO 0.03 // of all air: less is not worth a word
#define READING_RATIO   0.03 // a sensor this far from the truth
#define LEAN_LAMBDA     1.03 // beyond what trims leave when they work
#define RICH_LAMBDA     0.97
#define LAMBDA          0.03
#define FALLEN_RATIO    0.6 // off idle the trim has fallen to less than this share: a fixed opening
#define ALIKE_RATIO     0.7 // or it has not

static double reading(const struct story_moment *moment, enum channel channel) { return moment->mean[channel]; }
static double trim(const struct story_moment *moment) { return explain_account_trim_pct(moment, 0); }

/* Short and long trim together under {name}, of bank 1 or 2. */
static void sum_trims(struct explain_account *a, const struct story_moment *moment, const char *name, int bank) {
  struct claim_draft *d = &a->draft;
  char shorter[CLAIM_NAME_SIZE], longer[CLAIM_NAME_SIZE];
  snprintf(shorter, sizeof shorter, "%.12s_short", name);
  snprintf(longer, sizeof longer, "%.12s_long", name);
  explain_account_window(a, moment);
  claim_mean(d, shorter, bank ? CHANNEL_stft2_pct : CHANNEL_stft_pct, 1);
  claim_mean(d, longer, bank ? CHANNEL_ltft2_pct : CHANNEL_ltft_pct, 1);
  claim_derive(d, name, CLAIM_STATISTIC_sum, shorter, longer, 1, "%");
}

void explain_mixture_film(struct explain_account *a, const struct story_moment *clean, const struct story_moment *filmed) {
  struct claim_draft *d = &a->draft;
  claim_begin(d, CLAIM_film_mixture, CLAIM_PART_SURPRISE, 8, filmed->time_s);
  sum_trims(a, clean, "before", 0);
  sum_trims(a, filmed, "after", 0);
  claim_mean(d, "lambda", CHANNEL_lambda, 2);
  claim_constant(d, "right", 1.0, 0, "", "rule: lambda of a complete mixture");
  claim_equal(d, "before", "after", TRIM_PCT);
  claim_equal(d, "lambda", "right", LAMBDA);
  claim_constant(d, "none", 0.0, 0, "%", "rule: no trim");
  claim_equal(d, "after", "none", NONE_PCT);
  explain_account_promise_alike(a, clean, filmed, "film_um");
  if (explain_account_by_air_flow(a))
    claim_say(d, "The mixture never notices (stft_pct + ltft_pct {after} %): the air is weighed.");
  else
    claim_say(d, "The mixture never notices (stft_pct + ltft_pct {after} %): fuel follows the manifold pressure.");
}

/* ---- Faults ---- */

/* What the metering saw of the air, in a sentence of its own. */
static void say_metered(struct explain_account *a, const struct story_moment *before, const struct story_moment *now) {
  struct claim_draft *d = &a->draft;
  const bool weighed = explain_account_by_air_flow(a);
  claim_begin(d, CLAIM_air_unmetered, CLAIM_PART_CHAIN, 7, now->time_s);
  explain_account_window(a, before);
  claim_mean(d, "unmetered_before", CHANNEL_unmetered_gps, 2);
  if (!weighed) claim_mean(d, "map_before", CHANNEL_map_kpa, 1);
  explain_account_window(a, now);
  claim_mean(d, "air", CHANNEL_airflow_gps, 2);
  claim_mean(d, "unmetered", CHANNEL_unmetered_gps, 2);
  claim_above(d, "unmetered", "unmetered_before", fmax(UNMETERED_GPS, UNMETERED_RATIO * reading(now, CHANNEL_airflow_gps)));
  if (weighed) {
    claim_mean(d, "maf", CHANNEL_maf_gps, 2);
    claim_say(d, "Of {air} g/s of air (airflow_gps) the air-flow sensor sees {maf} (maf_gps); {unmetered} come in behind it.");
  } else {
    claim_mean(d, "map", CHANNEL_map_kpa, 1);
    claim_say(d,
              "Of {air} g/s of air (airflow_gps) {unmetered} pass no throttle, but the pressure sensor counts them too (map_kpa "
              "{map}).");
  }
}

/* A sensor that reads another flow or pressure than there is. */
static void say_misread(struct explain_account *a, const struct story_moment *now) {
  struct claim_draft *d = &a->draft;
  const bool weighed = explain_account_by_air_flow(a);
  claim_begin(d, CLAIM_air_misread, CLAIM_PART_CHAIN, 8, now->time_s);
  explain_account_window(a, now);
  if (weighed) {
    claim_mean(d, "air", CHANNEL_airflow_gps, 2);
    claim_mean(d, "unmetered", CHANNEL_unmetered_gps, 2);
    claim_difference(d, "due", "air", "unmetered", 2);
    claim_mean(d, "seen", CHANNEL_maf_gps, 2);
  } else {
    claim_mean(d, "due", CHANNEL_manifold_kpa, 1);
    claim_mean(d, "seen", CHANNEL_map_kpa, 1);
  }
  const double seen = reading(now, weighed ? CHANNEL_maf_gps : CHANNEL_map_kpa);
  const double due =
      weighed ? reading(now, CHANNEL_airflow_gps) - reading(now, CHANNEL_unmetered_gps) : reading(now, CHANNEL_manifold_kpa);
  if (seen < due)
    claim_below(d, "seen", "due", READING_RATIO * due);
  else
    claim_above(d, "seen", "due", READING_RATIO * due);
  claim_say(
      d, weighed
             ? "The air-flow sensor reads {seen} g/s (maf_gps) where {due} go past it; fuel is given for what it reads."
             : "The pressure sensor reads {seen} kPa (map_kpa) where a gauge shows {due} kPa; fuel is given for what it reads.");
}

static void say_idle_trims(struct explain_account *a, const struct story_moment *before, const struct story_moment *now,
                           const char *but) {
  struct claim_draft *d = &a->draft;
  const double change = trim(now) - trim(before), lambda = reading(now, CHANNEL_lambda);
  if (before->time_s > now->time_s) return; // nothing goes "from" what was read later
  const bool moved = fabs(change) > TRIM_PCT, off = lambda > LEAN_LAMBDA || lambda < RICH_LAMBDA;
  claim_begin(d, moved ? CLAIM_trims_moved : CLAIM_trims_stayed, moved || off ? CLAIM_PART_CHAIN : CLAIM_PART_MORE, 7,
              now->time_s);
  sum_trims(a, before, "before", 0);
  sum_trims(a, now, "after", 0);
  claim_mean(d, "lambda", CHANNEL_lambda, 2);
  if (!moved)
    claim_equal(d, "after", "before", TRIM_PCT);
  else if (change > 0.0)
    claim_above(d, "after", "before", TRIM_PCT);
  else
    claim_below(d, "after", "before", TRIM_PCT);
  claim_constant(d, "limit", lambda > 1.0 ? LEAN_LAMBDA : RICH_LAMBDA, 2, "", "rule: what trims leave when they work");
  if (off && lambda > 1.0) claim_above(d, "lambda", "limit", 0.0);
  if (off && lambda < 1.0) claim_below(d, "lambda", "limit", 0.0);
  explain_account_promise_alike(a, before, now, but);
  if (moved)
    claim_say(
        d,
        !off ? "The fuel trims answer: from {before} to {after} % (stft_pct + ltft_pct), and the mixture is right again."
        : lambda > 1.0
            ? "The fuel trims answer, from {before} to {after} % (stft_pct + ltft_pct), but it still runs lean, lambda {lambda}."
            : "The fuel trims answer, from {before} to {after} % (stft_pct + ltft_pct), but it still runs rich, lambda "
              "{lambda}.");
  else
    claim_say(d, !off           ? "The fuel trims stay: {after} % (stft_pct + ltft_pct), before {before} %."
                 : lambda > 1.0 ? "It runs lean, lambda {lambda}, with fuel trims at {after} % (stft_pct + ltft_pct)."
                                : "It runs rich, lambda {lambda}, with fuel trims at {after} % (stft_pct + ltft_pct).");
}

/* With pressure metering: what an air-flow sensor would have missed. */
static void say_would_have(struct explain_account *a, const struct story_moment *before, const struct story_moment *now) {
  struct claim_draft *d = &a->draft;
  if (explain_account_by_air_flow(a)) return;
  claim_begin(d, CLAIM_trims_would_have, CLAIM_PART_SURPRISE, 7, now->time_s);
  sum_trims(a, before, "before", 0);
  sum_trims(a, now, "after", 0);
  claim_equal(d, "after", "before", TRIM_PCT);
  claim_mean(d, "air", CHANNEL_airflow_gps, 2);
  claim_mean(d, "unmetered", CHANNEL_unmetered_gps, 2);
  claim_difference(d, "metered", "air", "unmetered", 2);
  claim_derive(d, "due", CLAIM_STATISTIC_percent_change, "metered", "air", 0, "%");
  claim_constant(d, "least", TRIM_PCT, 0, "%", "rule: less is the scatter of trims");
  claim_above(d, "due", "least", 3.0);
  claim_constant(d, "none", 0.0, 0, "%", "rule: no trim");
  claim_equal(d, "before", "none", NONE_PCT);
  claim_equal(d, "after", "none", NONE_PCT);
  claim_say(
      d,
      "The fuel trims do not move, {after} % (stft_pct + ltft_pct). On an engine that weighs its air this opening would call for "
      "{due} % more.");
}

static void say_banks(struct explain_account *a, const struct story_moment *now) {
  struct claim_draft *d = &a->draft;
  const double first = trim(now), second = explain_account_trim_pct(now, 1);
  if (!isfinite(second) || fabs(second - first) < TRIM_PCT) return;
  claim_begin(d, CLAIM_banks_apart, CLAIM_PART_HEADLINE, 7, now->time_s);
  sum_trims(a, now, "one", 0);
  sum_trims(a, now, "two", 1);
  if (first > second)
    claim_above(d, "one", "two", TRIM_PCT);
  else
    claim_below(d, "one", "two", TRIM_PCT);
  const bool nearer_one = fabs(first) > fabs(second);
  claim_say(d, nearer_one
                   ? "The banks do not agree: fuel trims of {one} % on the first (stft_pct + ltft_pct), {two} % on the second "
                     "(stft2_pct + ltft2_pct); the fault is nearer to the first."
                   : "The banks do not agree: fuel trims of {one} % on the first (stft_pct + ltft_pct), {two} % on the second "
                     "(stft2_pct + ltft2_pct); the fault is nearer to the second.");
}

/* Idle against off idle: what falls away is a fixed opening, what stays is a share of all air or fuel. */
static void say_held_trims(struct explain_account *a, const struct story_moment *before, const struct story_moment *now,
                           const struct story_moment *held) {
  struct claim_draft *d = &a->draft;
  const double idle = trim(now) - trim(before), off_idle = trim(held) - trim(before);
  const bool quiet = fabs(idle) < TRIM_PCT && fabs(off_idle) < TRIM_PCT;
  const bool fallen = !quiet && fabs(off_idle) < FALLEN_RATIO * fabs(idle);
  const bool alike = !quiet && !fallen && fabs(off_idle) > ALIKE_RATIO * fabs(idle) && fabs(off_idle) * ALIKE_RATIO < fabs(idle);
  claim_begin(d, fallen ? CLAIM_trims_fall_off_idle : CLAIM_trims_held, quiet ? CLAIM_PART_MORE : CLAIM_PART_CHAIN,
              fallen ? 10 : 9, held->time_s);
  sum_trims(a, before, "before", 0);
  sum_trims(a, now, "idle", 0);
  claim_mean(d, "air", CHANNEL_airflow_gps, 2);
  claim_mean(d, "unmetered", CHANNEL_unmetered_gps, 2);
  claim_derive(d, "share", CLAIM_STATISTIC_quotient, "unmetered", "air", 2, "");
  sum_trims(a, held, "held", 0);
  claim_mean(d, "speed", CHANNEL_speed_rpm, 0);
  claim_mean(d, "held_air", CHANNEL_airflow_gps, 2);
  claim_mean(d, "held_unmetered", CHANNEL_unmetered_gps, 2);
  claim_derive(d, "held_share", CLAIM_STATISTIC_quotient, "held_unmetered", "held_air", 2, "");
  const bool leak = reading(now, CHANNEL_unmetered_gps) > 0.01 * reading(now, CHANNEL_airflow_gps) &&
                    reading(now, CHANNEL_unmetered_gps) > reading(before, CHANNEL_unmetered_gps) + UNMETERED_GPS;
  if (fallen && leak) claim_below(d, "held_share", "share", 0.0);
  if (fallen && idle > 0.0) claim_below(d, "held", "idle", 0.5);
  if (fallen && idle < 0.0) claim_above(d, "held", "idle", 0.5);
  if (!fallen) claim_equal(d, "held", "idle", fmax(TRIM_PCT, fabs(idle) * (1.0 / ALIKE_RATIO - 1.0) + TRIM_PCT));
  if (fallen && leak)
    claim_say(
        d,
        "Held at {speed} rpm the trims fall to {held} %, from {idle}: the same opening, but far more air. That is the mark of a "
        "leak.");
  else if (fallen)
    claim_say(d, "Held at {speed} rpm the trims come back to {held} %, from {idle} at idle: it weighs on a small flow only.");
  else if (quiet)
    claim_say(d, "Held at {speed} rpm the trims stay too: {held} % (stft_pct + ltft_pct).");
  else if (alike)
    claim_say(d,
              "Held at {speed} rpm the trims say the same, {held} % against {idle} at idle. With a leak they would have fallen.");
}

void explain_mixture_faults(struct explain_account *a, const struct story_moment *before, const struct story_moment *now,
                            const struct story_moment *held_now, const char *but) {
  say_metered(a, before, now);
  say_misread(a, now);
  say_idle_trims(a, before, now, but);
  say_would_have(a, before, now);
  say_banks(a, now);
  if (held_now && held_now->happened) say_held_trims(a, before, now, held_now);
}
