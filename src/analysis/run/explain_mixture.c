/* Why the trims move, or do not: whether the air has been counted before it burns. */
#include "analysis/run/explain_account.h"

#include <math.h>
#include <stdio.h>

#define TRIM_PCT      2.0 // less is the scatter of a good engine's trims
#define UNMETERED_GPS 0.02
#define READING_RATIO 0.03 // a sensor this far from the truth
#define LEAN_LAMBDA   1.03 // beyond what trims leave when they work
#define RICH_LAMBDA   0.97
#define FALLEN_RATIO  0.6 // off idle the trim has fallen to less than this share: a fixed opening
#define ALIKE_RATIO   0.7 // or it has not

/* Nothing is written -0.0. */
static double plain(double value) { return fabs(value) < 0.05 ? 0.0 : value; }

static double reading(const struct story_moment *moment, enum channel channel) { return plain(moment->mean[channel]); }

static double trim(const struct story_moment *moment) { return plain(explain_account_trim_pct(moment, 0)); }

void explain_mixture_film(struct explain_account *a, const struct story_moment *clean, const struct story_moment *filmed) {
  const double before = trim(clean), after = trim(filmed);
  if (!isfinite(before) || !isfinite(after) || fabs(after - before) > TRIM_PCT) return;
  if (explain_account_by_air_flow(a))
    explain_account_say(a,
                        "The mixture never noticed: stft_pct + ltft_pct %.1f clean, %.1f with the film, "
                        "lambda %.2f. All air, "
                        "little as it is, passes the air-flow sensor (maf_gps %.2f) and gets its fuel. A "
                        "film starves, it does "
                        "not lean.",
                        before, after, reading(filmed, CHANNEL_lambda), reading(filmed, CHANNEL_maf_gps));
  else
    explain_account_say(a,
                        "The mixture never noticed: stft_pct + ltft_pct %.1f clean, %.1f with the film, lambda %.2f. Fuel "
                        "follows "
                        "manifold pressure and speed (map_kpa %.1f), whichever way the air came. A film starves, it does not "
                        "lean.",
                        before, after, reading(filmed, CHANNEL_lambda), reading(filmed, CHANNEL_map_kpa));
}

/* What the metering saw of the air, in a sentence of its own. */
static void say_metered(struct explain_account *a, const struct story_moment *now, const struct story_moment *before) {
  const double air = reading(now, CHANNEL_airflow_gps), unmetered = reading(now, CHANNEL_unmetered_gps);
  const double added = unmetered - reading(before, CHANNEL_unmetered_gps);
  if (explain_account_by_air_flow(a)) {
    const double seen = reading(now, CHANNEL_maf_gps), due = air - unmetered;
    if (added > UNMETERED_GPS)
      explain_account_say(a,
                          "Of %.2f g/s into the engine the air-flow sensor saw %.2f (maf_gps); %.2f g/s, %.0f %%, came in "
                          "behind it.",
                          air, seen, unmetered, 100.0 * unmetered / air);
    if (fabs(seen / due - 1.0) > READING_RATIO)
      explain_account_say(a,
                          "The air-flow sensor read maf_gps %.2f where %.2f g/s went past it: fuel is given "
                          "for what it reads.",
                          seen, due);
    return;
  }
  const double map = reading(now, CHANNEL_map_kpa), manifold = reading(now, CHANNEL_manifold_kpa);
  if (added > UNMETERED_GPS)
    explain_account_say(a,
                        "%.2f g/s of the %.2f came in that way, past no throttle. The pressure sensor counts what is in the "
                        "manifold, whichever way it came: map_kpa %.1f (before %.1f).",
                        unmetered, air, map, reading(before, CHANNEL_map_kpa));
  if (fabs(map / manifold - 1.0) > READING_RATIO)
    explain_account_say(a, "The pressure sensor read map_kpa %.1f where a gauge shows %.1f: fuel is given for what it reads.",
                        map, manifold);
}

/* What the trims could not make good. */
static const char *left_over(const struct explain_account *a, const struct story_moment *now) {
  const double limit = 100.0 * a->sim->vehicle.engine->computer.fuel.long_limit_ratio, lambda = reading(now, CHANNEL_lambda);
  const bool at_limit = fabs(reading(now, CHANNEL_ltft_pct)) > limit - 0.5;
  if (lambda > LEAN_LAMBDA) return at_limit ? ": ltft_pct is at its limit, and it runs lean all the same" : ": still lean";
  if (lambda < RICH_LAMBDA) return at_limit ? ": ltft_pct is at its limit, and it runs rich all the same" : ": still rich";
  return "";
}

static void say_idle_trims(struct explain_account *a, const struct story_moment *before, const struct story_moment *now) {
  const double change = trim(now) - trim(before), lambda = reading(now, CHANNEL_lambda);
  const double unmetered = reading(now, CHANNEL_unmetered_gps), air = reading(now, CHANNEL_airflow_gps);
  const double added = unmetered - reading(before, CHANNEL_unmetered_gps);
  if (fabs(change) > TRIM_PCT)
    explain_account_say(a,
                        "The trims had to make it good at idle: stft_pct %.1f and ltft_pct %.1f (before %.1f "
                        "and %.1f), lambda "
                        "%.2f%s.",
                        reading(now, CHANNEL_stft_pct), reading(now, CHANNEL_ltft_pct), reading(before, CHANNEL_stft_pct),
                        reading(before, CHANNEL_ltft_pct), lambda, left_over(a, now));
  else if (!explain_account_by_air_flow(a) && added > UNMETERED_GPS)
    explain_account_say(a,
                        "So the trims stayed: stft_pct + ltft_pct %.1f (before %.1f). With an air-flow sensor the same "
                        "opening "
                        "would have been %.0f %% of the air unseen, and the trims would have had to add %.0f %%.",
                        trim(now), trim(before), 100.0 * unmetered / air, 100.0 * unmetered / (air - unmetered));
  else if (lambda > LEAN_LAMBDA || lambda < RICH_LAMBDA)
    explain_account_say(a, "lambda stood at %.2f at idle, stft_pct + ltft_pct at %.1f.", lambda, trim(now));
  else
    explain_account_say(a, "The trims stayed at idle: stft_pct + ltft_pct %.1f (before %.1f).", trim(now), trim(before));
  const double second = explain_account_trim_pct(now, 1);
  if (isfinite(second) && fabs(second - trim(now)) > TRIM_PCT)
    explain_account_say(a, "The banks do not agree: %.1f %% on bank 1, %.1f %% on bank 2. The fault is nearer to bank %d.",
                        trim(now), second, fabs(trim(now)) > fabs(second) ? 1 : 2);
}

/* Idle against off idle: what falls away is a fixed opening, what stays is a share of all air or fuel. */
static void say_held_trims(struct explain_account *a, const struct story_moment *now, const struct story_moment *before,
                           const struct story_moment *held_now) {
  const double idle = trim(now) - trim(before), off_idle = trim(held_now) - trim(before);
  const double speed = reading(held_now, CHANNEL_speed_rpm);
  if (fabs(idle) < TRIM_PCT && fabs(off_idle) < TRIM_PCT) {
    explain_account_say(a, "Held at %.0f rpm they stayed too: %.1f %%.", speed, trim(held_now));
    return;
  }
  if (fabs(off_idle) < FALLEN_RATIO * fabs(idle)) {
    const double share_idle = reading(now, CHANNEL_unmetered_gps) / reading(now, CHANNEL_airflow_gps);
    const double share_held = reading(held_now, CHANNEL_unmetered_gps) / reading(held_now, CHANNEL_airflow_gps);
    if (share_idle > 0.01)
      explain_account_say(a,
                          "Held at %.0f rpm they fell to %.1f %% from %.1f at idle. The opening is the same, the air is "
                          "more: "
                          "unseen are %.0f %% at idle and %.0f %% there. That falling trim is the mark of a leak.",
                          speed, trim(held_now), trim(now), 100.0 * share_idle, 100.0 * share_held);
    else
      explain_account_say(a, "Held at %.0f rpm they came back to %.1f %% from %.1f at idle: it weighs on a small flow only.",
                          speed, trim(held_now), trim(now));
    return;
  }
  if (fabs(off_idle) > ALIKE_RATIO * fabs(idle) && fabs(idle) > TRIM_PCT && fabs(off_idle) * ALIKE_RATIO < fabs(idle))
    explain_account_say(a,
                        "Held at %.0f rpm they say the same, %.1f %% against %.1f at idle: a share of all "
                        "there is, not a fixed "
                        "opening. A leak would have fallen.",
                        speed, trim(held_now), trim(now));
  else
    explain_account_say(a, "Held at %.0f rpm they stand at %.1f %%, at idle at %.1f.", speed, trim(held_now), trim(now));
}

void explain_mixture_faults(struct explain_account *a, const struct story_moment *before, const struct story_moment *now,
                            const struct story_moment *held_now) {
  say_metered(a, now, before);
  say_idle_trims(a, before, now);
  if (held_now->happened) say_held_trims(a, now, before, held_now);
}
