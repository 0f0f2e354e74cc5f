#include "analysis/compare/compare_verdict.h"

#include "analysis/compare/compare_effects.h"
#include "analysis/compare/compare_outlook.h"
#include "analysis/compare/compare_same_car.h"
#include "base/attributes.h"

#include <math.h>

// When something counts as wrong; common practice, no source. 20 rpm below: as estimate_after.c; trims beyond 8 % are looked into long
// before the 20 to 25 % that set a code; idle air in shares of
// a new engine's: nineteen in twenty sound cars drawn from the shipped engines lie within 15 %.
#define LOW_RPM         20.0
#define RACES_RPM       40.0
#define TRIM_PCT        8.0
#define IDLE_AIR_PCT    15.0
#define IDLE_AIR_LEFT   0.33 // of what was added before: less left is gone, as cars add of themselves; invented
#define RISE_SHARE      0.5  // of the speed's rise: what metered air must be able to have risen by in a race; invented
#define COLD_C          70.0 // below, no reading of a warm engine
#define COOLANT_MOST_K  15.0
#define STALE_PCT       6.0  // learned air that the momentary one takes back
#define NO_TARGET_RATIO 1.12 // without a target: speed after against before that is a race, not a droop mended
#define SPEED_QUIET_RPM 15.0

static const enum estimate_condition IDLE = ESTIMATE_CONDITION_idle;

/* A change of the opening, what more or less air was asked for taken off it where the air was read. */
struct opening {
  const struct compare_effect *effect; // NULL: none was read
  double change, sd;
};

/* What is known for the verdict. */
struct facts {
  double target_rpm[2], speed_rpm[2], learned_pct[2], effort_pct[2];
  bool racing_before, racing_after;
  int fixed, left, fresh; // things that were wrong and are gone; still are; are new
  const struct compare_effect *speed, *air, *trim;
  struct opening opening;
  double opening_least;
  bool easier, harder, leaner;
};

static double value_of(const struct compare_side *side, enum estimate_quantity quantity) {
  return compare_effects_value(side, ESTIMATE_CONDITION_idle, quantity);
}

static bool certain(const struct compare_effect *e) { return e && fabs(e->change) > COMPARE_EFFECTS_CERTAIN * e->sd; }

static struct opening opening_of(const struct compare_effect *e, const struct compare_effect *air) {
  struct opening o = {e, e->change, e->sd};
  const double per_air = compare_rows_per_air(e->quantity);
  if (!air || !(per_air > 0.0) || !(air->before > 0.0)) return o;
  const double percent = 100.0 * air->change / air->before,
               of_air = 100.0 * sqrt(air->sd * air->sd - air->load * air->load) / air->before;
  o.change = e->change - per_air * percent;
  o.sd = sqrt(e->sd * e->sd - e->load * e->load + pow(per_air * of_air, 2.0) + pow(0.5 * per_air * percent, 2.0));
  return o;
}

/* The reading that shows most how far the idle had to open. */
static struct opening find_opening(const struct compare_result *result, const struct compare_effect *air) {
  struct opening best = {NULL, 0.0, 1.0};
  for (size_t i = 0; i < result->effect_count; i++) {
    const struct compare_effect *e = &result->effects[i];
    if (!(compare_rows_opening_least(e->quantity) > 0.0) || e->condition != ESTIMATE_CONDITION_idle) continue;
    const struct opening o = opening_of(e, air);
    if (!best.effect || fabs(o.change) / o.sd > fabs(best.change) / best.sd) best = o;
  }
  return best;
}

static void gather(const struct compare_side *before, const struct compare_side *after, const struct compare_model *model,
                   const struct compare_result *result, struct facts *f) {
  const struct compare_side *sides[2] = {before, after};
  *f = (struct facts){.target_rpm = {NAN, NAN}};
  for (int i = 0; i < 2; i++) {
    f->speed_rpm[i] = value_of(sides[i], ESTIMATE_QUANTITY_speed_rpm);
    f->learned_pct[i] = value_of(sides[i], ESTIMATE_QUANTITY_learned_pct);
    f->effort_pct[i] = value_of(sides[i], ESTIMATE_QUANTITY_effort_pct);
    f->target_rpm[i] = value_of(sides[i], ESTIMATE_QUANTITY_target_rpm);
  }
  for (int i = 0; i < 2; i++) // one car keeps its target
    if (!isfinite(f->target_rpm[i])) f->target_rpm[i] = f->target_rpm[1 - i];
  for (int i = 0; i < 2; i++)
    if (!isfinite(f->target_rpm[i]) && model->known) f->target_rpm[i] = model->target_rpm;
  f->speed = compare_effect_find(result, IDLE, ESTIMATE_QUANTITY_speed_rpm);
  f->air = compare_effect_find(result, IDLE, ESTIMATE_QUANTITY_maf_gps);
  f->trim = compare_effect_find(result, IDLE, ESTIMATE_QUANTITY_trim_pct);
  const struct compare_effect *pressure = compare_effect_find(result, IDLE, ESTIMATE_QUANTITY_map_kpa);
  f->opening = find_opening(result, f->air ? f->air : pressure);
  const struct opening *o = &f->opening;
  const bool moved = o->effect && fabs(o->change) > COMPARE_EFFECTS_CERTAIN * o->sd;
  if (o->effect) f->opening_least = compare_rows_opening_least(o->effect->quantity);
  f->easier = moved && o->change < -f->opening_least;
  f->harder = moved && o->change > f->opening_least;
  f->leaner = certain(f->trim) && f->trim->change > 0.0 && f->trim->after > TRIM_PCT;
  f->racing_before = f->speed_rpm[0] > f->target_rpm[0] + RACES_RPM;
  f->racing_after = f->speed_rpm[1] > f->target_rpm[1] + RACES_RPM ||
                    (!isfinite(f->target_rpm[1]) && f->speed_rpm[1] > NO_TARGET_RATIO * f->speed_rpm[0]);
}

/* It races, and did not before. */
static bool races(const struct facts *f) { return f->speed && f->racing_after && !f->racing_before; }

/* ---- What was wrong, what is ---- */

/* One thing that ought to be zero: how far it was off and is, and what is still well. sure: another reading shows that it changed. */
static void weigh(struct compare_words *why, struct facts *f, const char *what, const char *unit, double before, double after,
                  double most_below, double most_above, double sd, bool sure) {
  if (!isfinite(before) || !isfinite(after)) return;
  const double doubt = sd / sqrt(2.0); // of one of the two
  const bool was = before < -most_below || before > most_above, is = after < -most_below || after > most_above;
  const bool clearly_is = after < -most_below - doubt || after > most_above + doubt;
  const bool changed = fabs(after - before) > COMPARE_EFFECTS_CERTAIN * sd;
  if (was && !is && (changed || sure)) {
    f->fixed++;
    compare_effects_say(why, "%s: %+.1f %s before, %+.1f after.", what, before, unit, after);
  } else if (is && (!was || fabs(after) > fabs(before)) && changed) {
    f->fresh++;
    compare_effects_say(why, "%s: %+.1f %s before, %+.1f after, which is worse.", what, before, unit, after);
  } else if (clearly_is) {
    f->left++;
    compare_effects_say(
        why, was ? "%s: %+.1f %s before, still %+.1f after." : "%s: %+.1f %s before, %+.1f after, which may be due to the day.",
        what, before, unit, after);
  }
}

/* What it takes to be held at 2500 rpm: a film there, or its cleaning, changes the opening and not the air. */
static void weigh_held(struct facts *f, struct compare_result *result) {
  static const enum estimate_quantity airs[] = {ESTIMATE_QUANTITY_maf_gps, ESTIMATE_QUANTITY_map_kpa};
  for (size_t i = 0; i < ARRAY_COUNT(airs); i++) {
    const struct compare_effect *e = compare_effect_find(result, ESTIMATE_CONDITION_hold_2500, airs[i]);
    if (!certain(e) || !(e->change > 0.0)) continue;
    f->left++;
    compare_effects_say(&result->why,
                        "Held at 2500 rpm it needs more: %s was %.2f and is %.2f. Something new brakes the engine or weakens it.",
                        estimate_quantities[airs[i]].name, e->before, e->after);
    return;
  }
}

static void weigh_all(struct facts *f, struct compare_result *result) {
  if (races(f))
    compare_effects_say(&result->why, "Idle speed was %.0f rpm and is %.0f, above its target.", f->speed_rpm[0], f->speed_rpm[1]);
  else if (f->speed)
    weigh(&result->why, f, "Idle speed off its target", "rpm", f->speed_rpm[0] - f->target_rpm[0],
          f->speed_rpm[1] - f->target_rpm[1], LOW_RPM, RACES_RPM, f->speed->sd, f->easier);
  if (f->trim) weigh(&result->why, f, "Fuel trim", "%", f->trim->before, f->trim->after, TRIM_PCT, TRIM_PCT, f->trim->sd, false);
  const struct compare_effect *added = compare_effect_find(result, IDLE, ESTIMATE_QUANTITY_idle_air_pct);
  if (added && !f->racing_after)
    weigh(&result->why, f, "Air that idle control adds", "%", added->before, added->after, IDLE_AIR_PCT,
          fmax(IDLE_AIR_PCT, IDLE_AIR_LEFT * added->before), added->sd, false);
  weigh_held(f, result);
  if (f->easier || f->harder)
    compare_effects_say(&result->why, "Air comes in %s: %s at idle was %.2f and is %.2f (change %.2f to %.2f).",
                        f->easier ? "more easily" : "less easily", estimate_quantities[f->opening.effect->quantity].name,
                        f->opening.effect->before, f->opening.effect->after, f->opening.effect->low, f->opening.effect->high);
}

/* ---- The race after a clean ---- */

/* More metered air passes at an opening that is no wider, and the mixture knows of it: on a car that meters its air, no leak does that. */
static bool more_at_the_same_opening(const struct facts *f) {
  const struct opening *o = &f->opening;
  if (!o->effect || !f->air || !f->trim) return false;
  const double risen = RISE_SHARE * (f->speed_rpm[1] / f->speed_rpm[0] - 1.0) * f->air->before;
  return f->air->change > risen && o->effect->change < f->opening_least && o->change < -f->opening_least;
}

/* Whether the readings speak against the stale offset, which a sentence then says. */
static bool race_is_another(const struct facts *f, const struct compare_model *model, struct compare_result *result) {
  if (f->harder) {
    compare_effects_say(&result->why, "It opens further than before: the old learned air does not do that.");
    return true;
  }
  if (f->leaner) {
    compare_effects_say(&result->why, "Trims went lean with it: unmetered air comes in.");
    return true;
  }
  if (f->air && f->air->high < RISE_SHARE * (f->speed_rpm[1] / f->speed_rpm[0] - 1.0) * f->air->before) {
    compare_effects_say(&result->why, "Metered air did not rise with the speed: it comes in elsewhere.");
    return true;
  }
  if (isfinite(f->learned_pct[1]) && f->learned_pct[1] < STALE_PCT) {
    compare_effects_say(&result->why, "Almost nothing is learned (%+.1f %%) that could hold it up.", f->learned_pct[1]);
    return true;
  }
  const struct estimate_after_reading *speed = compare_outlook_find(model, ESTIMATE_QUANTITY_speed_rpm);
  if (speed && f->speed_rpm[1] > speed->stale.high + RACES_RPM) {
    compare_effects_say(&result->why, "Cleaned and not relearned it should race at %.0f to %.0f rpm: this is faster.",
                        speed->stale.low, speed->stale.high);
    return true;
  }
  return false;
}

/* Whether they speak for it: air comes in more easily, something learned is there to hold it up, or a film before lets expect it. */
static bool race_is_stale(const struct facts *f, const struct compare_model *model) {
  return f->easier || isfinite(f->learned_pct[1]) || compare_outlook_find(model, ESTIMATE_QUANTITY_speed_rpm) != NULL ||
         more_at_the_same_opening(f);
}

static enum compare_verdict judge_race(const struct facts *f, const struct compare_model *model, struct compare_result *result) {
  if (race_is_another(f, model, result)) return COMPARE_VERDICT_worse;
  if (race_is_stale(f, model)) {
    compare_outlook_hold(model, true, result);
    compare_effects_say(&result->why, "It races because more air now passes with the old learned air, as after a clean.");
    return COMPARE_VERDICT_improved_relearn_open;
  }
  compare_effects_say(
      &result->why, "Air learned before a clean would make it race like this, and so would a leak: not told by these readings.");
  return COMPARE_VERDICT_not_told;
}

/* ---- Verdict ---- */

/* Of the speed and of the opening it is known that they did not move by what is worth a word. */
static bool quiet(const struct facts *f) {
  const struct opening *o = &f->opening;
  if (!o->effect || !f->speed) return false;
  return fabs(o->change) < f->opening_least && COMPARE_EFFECTS_90 * o->sd < 2.0 * f->opening_least &&
         fabs(f->speed->change) < SPEED_QUIET_RPM && f->fixed + f->fresh == 0;
}

static enum compare_verdict better(const struct facts *f, const struct compare_model *model, struct compare_result *result) {
  const bool taken_back = f->learned_pct[1] > STALE_PCT && f->effort_pct[1] < -STALE_PCT;
  const enum compare_outlook_answer answer = compare_outlook_hold(model, false, result);
  const struct compare_effect *added = compare_effect_find(result, IDLE, ESTIMATE_QUANTITY_idle_air_pct);
  if (added && added->after < -IDLE_AIR_PCT && added->before > -IDLE_AIR_PCT) {
    compare_effects_say(&result->why, "Now idle control takes away %.0f %% of a new engine's air: a leak would look the same.",
                        -added->after);
    return COMPARE_VERDICT_improved;
  }
  if (f->left + f->fresh > 0) return COMPARE_VERDICT_improved;
  if (answer == COMPARE_OUTLOOK_SHORT) return COMPARE_VERDICT_improved;
  if (taken_back) {
    compare_effects_say(&result->why, "The momentary part (%+.1f %%) still takes back what was learned (%+.1f %%).",
                        f->learned_pct[1], f->effort_pct[1]);
    return COMPARE_VERDICT_improved_relearn_open;
  }
  if (f->fixed > 0 || answer == COMPARE_OUTLOOK_MET) return COMPARE_VERDICT_repaired;
  compare_effects_say(&result->why, "No single reading was wrong before, so a complete repair cannot be shown.");
  return COMPARE_VERDICT_improved;
}

static enum compare_verdict decide(const struct facts *f, const struct compare_model *model, struct compare_result *result) {
  if (!f->speed) {
    compare_effects_say(&result->why, "Idle speed was not read both before and after.");
    return COMPARE_VERDICT_not_told;
  }
  if (races(f)) return judge_race(f, model, result);
  if (f->leaner || f->fresh > f->fixed) return COMPARE_VERDICT_worse;
  if (f->fixed > 0 || f->easier) return better(f, model, result);
  if (f->harder || f->fresh > 0) return COMPARE_VERDICT_worse;
  if (quiet(f)) {
    compare_effects_say(&result->why, "Speed and %s at idle are as before: nothing changed by more than two such days differ.",
                        estimate_quantities[f->opening.effect->quantity].name);
    return COMPARE_VERDICT_no_effect;
  }
  compare_effects_say(&result->why, f->opening.effect
                                        ? "The changes are no larger than the differences between days and instruments."
                                        : "Neither position, steps nor added idle air were read in both.");
  return COMPARE_VERDICT_not_told;
}

/* Why they cannot be compared; false if they can. */
static bool unlike_moments(const struct compare_side *before, const struct compare_side *after, struct compare_result *result) {
  const double coolant[2] = {value_of(before, ESTIMATE_QUANTITY_coolant_c), value_of(after, ESTIMATE_QUANTITY_coolant_c)};
  const char *const names[2] = {"before", "after"};
  bool unlike = false;
  for (int i = 0; i < 2; i++)
    if (coolant[i] < COLD_C) {
      compare_effects_say(&result->why, "The engine was not warm %s (coolant %.0f C).", names[i], coolant[i]);
      unlike = true;
    }
  if (!unlike && fabs(coolant[1] - coolant[0]) > COOLANT_MOST_K) {
    compare_effects_say(&result->why, "Coolant was %.0f C before and %.0f C after: idle changes with it.", coolant[0],
                        coolant[1]);
    unlike = true;
  }
  if (before->compressor_on != after->compressor_on) {
    compare_effects_say(&result->why, "The compressor ran in only one of the two.");
    unlike = true;
  }
  return unlike;
}

/* ---- What to do next ---- */

static void say_relearn(struct compare_words *next) {
  compare_effects_say(next, "Let it relearn: by the maker's procedure if there is one (position and idle relearn, often with a "
                            "scan tool); otherwise by idling warm with nothing switched on. Then log again.");
  compare_effects_say(next,
                      "If it still races then, look for air from elsewhere: a hose left off, a gasket, a blade that sticks.");
}

static void say_next(const struct facts *f, bool unlike, struct compare_result *result) {
  struct compare_words *next = &result->next;
  switch (result->verdict) {
  case COMPARE_VERDICT_repaired:
    compare_effects_say(next, "Drive it warm and cold once, read codes, and keep this log: it is the clean baseline for later.");
    break;
  case COMPARE_VERDICT_improved_relearn_open:
    say_relearn(next);
    break;
  case COMPARE_VERDICT_improved:
    compare_effects_say(
        next, f->left + f->fresh > 0
                  ? "Something is still off (above): clean again if deposit is left, then look elsewhere."
                  : "Log again warm with the idle target and what was learned; or log a slow opening before the next clean and "
                    "after it: bladegap curve measures what is left.");
    break;
  case COMPARE_VERDICT_no_effect:
    compare_effects_say(
        next,
        "Look elsewhere: bladegap estimate on the readings after shows what else it may be. Do not change a part because of it.");
    break;
  case COMPARE_VERDICT_worse:
    compare_effects_say(
        next, "Look at what was touched: intake pipe and hoses tight, plugs fully in, gasket whole, blade returns freely.");
    compare_effects_say(next, "Then log again warm; bladegap estimate on those readings shows what else it may be.");
    break;
  default:
    if (!result->other_car && !unlike && races(f)) {
      say_relearn(next);
      break;
    }
    compare_effects_say(
        next, result->other_car
                  ? "Take both logs from the same car, with nothing switched on in either and the same scale of its position."
              : unlike ? "Log again, both warm (thermostat open), nothing switched on, out of gear, at a similar temperature."
                       : "Log again warm, two minutes of idle with nothing switched on: speed, target, position, air, trims, "
                         "coolant, intake air.");
    break;
  }
}

void compare_verdict(const struct compare_side *before, const struct compare_side *after, const struct compare_model *model,
                     struct compare_result *result) {
  struct facts f;
  gather(before, after, model, result, &f);
  bool unlike = false;
  result->other_car = !compare_same_car(before, after, result);
  if (!result->other_car) unlike = unlike_moments(before, after, result);
  if (result->other_car || unlike) {
    result->verdict = COMPARE_VERDICT_not_told;
  } else {
    weigh_all(&f, result);
    result->verdict = decide(&f, model, result);
  }
  say_next(&f, unlike, result);
}
