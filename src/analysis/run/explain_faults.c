/* What else was wrong, and what each thing did: against the same engine without it, in the run's own readings. */
#include "analysis/run/explain_account.h"

#include "analysis/run/window.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#define BLADE_DEG    0.03 // least changes worth a word: about the scatter of a ten-second mean
#define STEPS        1.0
#define ADDED_PCT    1.0
#define SPARK_DEG    1.0
#define SPEED_RPM    12.0
#define ROUGH_RATIO  1.3
#define AIR_GPS      0.03
#define FILM_UM      0.5 // less is no deposit worth speaking of
#define RACE_RPM     30.0
#define PEDAL_PCT    0.3
#define SAME_NM      3.0 // work that counts as the same
#define RESIDUAL_PCT 4.0
#define ASTRAY_DEG   0.2 // a sound drive is nearer to its command

enum { PAIRS_TOLD_MAX = 4 };

/* A phase beside the one it is measured against. */
struct pair {
  const struct phase *phase, *base;
  struct story_moment before, now;           // idle
  struct story_moment held_before, held_now; // off idle, at the same speed
};

/* Nothing is written -0.0. */
static double reading(const struct story_moment *moment, enum channel channel) {
  const bool percent = channel == CHANNEL_effort_pct || channel == CHANNEL_learned_pct;
  return percent && fabs(moment->mean[channel]) < 0.05 ? 0.0 : moment->mean[channel];
}

static void list_faults(const struct phase *phase, const struct phase *base, char *text, size_t size) {
  size_t used = 0;
  text[0] = '\0';
  for (size_t i = 0; i < phase->fault_count && used + 1 < size; i++) {
    const struct phase_fault *fault = &phase->faults[i];
    if (base && phases_have(base, fault->row->field.key)) continue;
    used += (size_t)snprintf(text + used, size - used, "%s%s %.4g", used ? ", " : "", fault->row->field.key, fault->value);
  }
}

/* The phase in which a fault came that this phase still has. */
static const struct phase *came_with(const struct explain_account *a, const struct phase *phase,
                                     const struct phase_fault *fault) {
  while (phase > a->phases && phases_have_at(phase - 1, fault)) phase--;
  return phase;
}

static void say_what(struct explain_account *a, const struct pair *pair) {
  bool told_before = false;
  for (size_t i = 0; i < pair->phase->fault_count; i++) {
    const struct phase_fault *fault = &pair->phase->faults[i];
    if (pair->base && phases_have(pair->base, fault->row->field.key)) continue;
    const struct phase *phase = came_with(a, pair->phase, fault);
    if (phase != pair->phase) { // told where it came
      told_before = true;
      continue;
    }
    if (phase->from_s <= 0.0)
      explain_account_say(a, "From the start %s was %.4g (%s; a sound engine has %.4g).", fault->row->field.key, fault->value,
                          fault->row->field.text, fault->row->initial);
    else if (phase->full_s > phase->from_s)
      explain_account_say(a, "From %.0f to %.0f s %s went to %.4g (%s; a sound engine has %.4g).", phase->from_s, phase->full_s,
                          fault->row->field.key, fault->value, fault->row->field.text, fault->row->initial);
    else
      explain_account_say(a, "At %.0f s %s became %.4g (%s; a sound engine has %.4g).", phase->from_s, fault->row->field.key,
                          fault->value, fault->row->field.text, fault->row->initial);
  }
  if (!told_before) return;
  char all[EXPLAIN_TEXT_SIZE / 2];
  list_faults(pair->phase, NULL, all, sizeof all);
  explain_account_say(a, "From %.0f s they stood together: %s.", pair->phase->from_s, all);
}

/* The idle air that the computer's own actuator passes, and what it did about the fault. */
static void say_control(struct explain_account *a, const struct story_moment *before, const struct story_moment *now) {
  const bool cable = a->sim->vehicle.engine->plant.throttle.kind == THROTTLE_CABLE;
  const enum channel opening = cable ? CHANNEL_bypass_steps : CHANNEL_blade_deg;
  const double change = reading(now, opening) - reading(before, opening);
  const double added = reading(now, CHANNEL_learned_pct) + reading(now, CHANNEL_effort_pct) -
                       reading(before, CHANNEL_learned_pct) - reading(before, CHANNEL_effort_pct);
  if (fabs(change) < (cable ? STEPS : BLADE_DEG) && fabs(added) < ADDED_PCT) return;
  char moved[EXPLAIN_CHANGE_SIZE], position[EXPLAIN_CHANGE_SIZE];
  const bool obeyed = change * added >= 0.0 || fabs(added) < ADDED_PCT;
  explain_account_say(a, "%s: %s%s%s; learned_pct %.1f, effort_pct %.1f (before %.1f and %.1f).",
                      !obeyed       ? "The opening is not what the idle controller asked for"
                      : added < 0.0 ? "The idle controller took air away"
                                    : "The idle controller added air",
                      explain_account_change(moved, opening, cable ? 0 : 2, cable ? STEPS : BLADE_DEG, before, now),
                      cable ? "" : ", ", cable ? "" : explain_account_change(position, CHANNEL_tp_pct, 2, 0.03, before, now),
                      reading(now, CHANNEL_learned_pct), reading(now, CHANNEL_effort_pct), reading(before, CHANNEL_learned_pct),
                      reading(before, CHANNEL_effort_pct));
  const struct idle_air_params *air = &a->sim->vehicle.engine->computer.air;
  if (reading(now, CHANNEL_effort_pct) < 100.0 * air->effort_least_ratio + 0.2)
    explain_account_say(a,
                        "It stood at its lower limit: it may take away %.0f %% at once and learn down to "
                        "%.0f %%, at a crawl. "
                        "Air that is not its own it cannot shut off.",
                        -100.0 * air->effort_least_ratio, 100.0 * air->learned_least_ratio);
  else if (reading(now, CHANNEL_effort_pct) > 100.0 * air->effort_most_ratio - 0.2)
    explain_account_say(a, "It stood at its upper limit, effort_pct %.0f.", reading(now, CHANNEL_effort_pct));
}

static void say_residual(struct explain_account *a, const struct story_moment *before, const struct story_moment *now) {
  if (reading(now, CHANNEL_residual_pct) - reading(before, CHANNEL_residual_pct) < RESIDUAL_PCT) return;
  explain_account_say(a,
                      "residual_pct, burned gas left in the charge, went from %.0f to %.0f: such a charge burns late and "
                      "unevenly.",
                      reading(before, CHANNEL_residual_pct), reading(now, CHANNEL_residual_pct));
}

/* The blade of an electronic throttle that does not go where it is told. */
static void say_astray(struct explain_account *a, const struct story_moment *before, const struct story_moment *now) {
  if (a->sim->vehicle.engine->plant.throttle.kind == THROTTLE_CABLE) return;
  double most[2] = {0.0, 0.0}, blade_least = INFINITY, blade_most = -INFINITY;
  const struct story_moment *moments[2] = {before, now};
  for (int i = 0; i < 2; i++) {
    const struct window w = window_between(a->recording, moments[i]->time_s, moments[i]->time_s + moments[i]->length_s);
    for (size_t row = w.first; row < w.last; row++) {
      const double blade = recording_value(a->recording, row, CHANNEL_blade_deg);
      most[i] = fmax(most[i], fabs(blade - recording_value(a->recording, row, CHANNEL_command_deg)));
      if (i == 1) blade_least = fmin(blade_least, blade);
      if (i == 1) blade_most = fmax(blade_most, blade);
    }
  }
  if (most[1] < ASTRAY_DEG || most[1] < 2.0 * most[0]) return;
  if (blade_most - blade_least < BLADE_DEG)
    explain_account_say(a, "The blade did not go where it was told: it stood at %.2f degrees, up to %.2f from command_deg.",
                        blade_most, most[1]);
  else
    explain_account_say(a,
                        "The blade did not go where it was told: up to %.2f degrees from command_deg (before %.2f); in ten "
                        "seconds of idle it stood anywhere from %.2f to %.2f degrees.",
                        most[1], most[0], blade_least, blade_most);
}

static void say_speed(struct explain_account *a, const struct story_moment *before, const struct story_moment *now) {
  const double speed = reading(now, CHANNEL_speed_rpm), target = reading(now, CHANNEL_target_rpm);
  const double rough = reading(now, CHANNEL_speed_sd_rpm), rough_before = reading(before, CHANNEL_speed_sd_rpm);
  const bool rougher = rough > ROUGH_RATIO * rough_before && rough > rough_before + 2.0;
  char unsteady[EXPLAIN_CHANGE_SIZE] = "";
  if (rougher) snprintf(unsteady, sizeof unsteady, ", standard deviation %.0f rpm (before %.0f)", rough, rough_before);
  if (speed - target > RACE_RPM)
    explain_account_say(a, "So the idle raced at %.0f rpm, %.0f above target, on %.2f g/s of air (before %.2f)%s.", speed,
                        speed - target, reading(now, CHANNEL_airflow_gps), reading(before, CHANNEL_airflow_gps), unsteady);
  else if (target - speed > SPEED_RPM)
    explain_account_say(a, "So the idle sat at %.0f rpm, %.0f below target, on %.2f g/s of air (before %.2f)%s.", speed,
                        target - speed, reading(now, CHANNEL_airflow_gps), reading(before, CHANNEL_airflow_gps), unsteady);
  else if (rougher)
    explain_account_say(a, "The idle held %.0f rpm, but unsteadily%s.", speed, unsteady);
  else
    explain_account_say(a, "The idle itself held: %.0f rpm, target %.0f.", speed, target);
}

static void say_spark(struct explain_account *a, const struct story_moment *before, const struct story_moment *now) {
  const double change = reading(now, CHANNEL_spark_deg) - reading(before, CHANNEL_spark_deg);
  const double over = reading(now, CHANNEL_speed_rpm) - reading(now, CHANNEL_target_rpm);
  if (fabs(change) < SPARK_DEG || change * over > RACE_RPM) return; // late spark holds down, early spark pulls up
  explain_account_say(
      a, "spark_deg went from %.1f to %.1f, its reserve from %.1f to %.1f %%: %s.", reading(before, CHANNEL_spark_deg),
      reading(now, CHANNEL_spark_deg), reading(before, CHANNEL_spark_reserve_pct), reading(now, CHANNEL_spark_reserve_pct),
      reading(now, CHANNEL_speed_rpm) < reading(now, CHANNEL_target_rpm) ? "it pulls the speed up" : "it holds the speed down");
}

/* What a filter or an exhaust takes grows with the square of the flow: told where one of them is the fault. */
static void say_square(struct explain_account *a, const struct pair *pair) {
  const struct phase *phase = pair->phase;
  for (size_t i = 0; i < phase->fault_count; i++) {
    const bool filter = strcmp(phase->faults[i].row->field.key, "filter_ratio") == 0;
    const bool exhaust = strcmp(phase->faults[i].row->field.key, "exhaust_ratio") == 0;
    if (!filter && !exhaust) continue;
    const struct intake_params *intake = &a->sim->vehicle.engine->plant.intake;
    const double loss = (filter ? intake->filter_drop_pa_s2_kg2 : intake->exhaust_drop_pa_s2_kg2) * phase->faults[i].value;
    const double idle = pair->now.happened ? reading(&pair->now, CHANNEL_airflow_gps) * UNITS_KG_S_PER_GPS : NAN;
    const double held = pair->held_now.happened ? reading(&pair->held_now, CHANNEL_airflow_gps) * UNITS_KG_S_PER_GPS : NAN;
    const char *what = filter ? "filter takes" : "exhaust holds back";
    if (isfinite(idle) && isfinite(held))
      explain_account_say(a,
                          "The %s %.2f kPa at idle, on %.1f g/s, and %.1f kPa held at %.0f rpm, on %.1f g/s: "
                          "it goes with the "
                          "square of the flow.",
                          what, loss * idle * idle / UNITS_PA_PER_KPA, idle / UNITS_KG_S_PER_GPS,
                          loss * held * held / UNITS_PA_PER_KPA, reading(&pair->held_now, CHANNEL_speed_rpm),
                          held / UNITS_KG_S_PER_GPS);
    else if (isfinite(idle) || isfinite(held))
      explain_account_say(a, "The %s %.2f kPa on %.1f g/s.", what,
                          loss * (isfinite(idle) ? idle * idle : held * held) / UNITS_PA_PER_KPA,
                          (isfinite(idle) ? idle : held) / UNITS_KG_S_PER_GPS);
  }
}

static void say_held(struct explain_account *a, const struct pair *pair) {
  const struct story_moment *before = &pair->held_before, *now = &pair->held_now;
  if (!before->happened || !now->happened) return;
  const double pedal = reading(now, CHANNEL_pedal_pct) - reading(before, CHANNEL_pedal_pct);
  char opening[EXPLAIN_CHANGE_SIZE], air[EXPLAIN_CHANGE_SIZE], manifold[EXPLAIN_CHANGE_SIZE];
  explain_account_say(a, "Held at %.0f rpm, pedal_pct %.1f %s %.1f: %s, %s, %s.", reading(now, CHANNEL_speed_rpm),
                      reading(now, CHANNEL_pedal_pct), fabs(pedal) < PEDAL_PCT ? "and before" : "where before it took",
                      reading(before, CHANNEL_pedal_pct), explain_account_change(opening, CHANNEL_tp_pct, 1, 0.2, before, now),
                      explain_account_change(air, CHANNEL_airflow_gps, 2, AIR_GPS * 5.0, before, now),
                      explain_account_change(manifold, CHANNEL_manifold_kpa, 1, 0.5, before, now));
}

/* The phase with the most of its faults that has what is asked for; of several the one whose engine did most nearly the same
 * work, so that a brake on the bench is in both. */
static const struct phase *find_base(const struct explain_account *a, const struct pair *pair, bool idle,
                                     const struct story_moment *now, struct story_moment *moment) {
  const double film_um = reading(now, CHANNEL_film_um), near_rpm = reading(now, CHANNEL_speed_rpm);
  const double work_nm = reading(now, CHANNEL_torque_nm);
  const struct phase *best = NULL;
  struct story_moment found;
  for (size_t i = 0; i < a->phase_count; i++) {
    const struct phase *phase = &a->phases[i];
    if (!phases_within(phase, pair->phase) || (best && phase->fault_count < best->fault_count)) continue;
    const double from = phase->full_s;
    const bool there = idle ? story_idle_between(a->recording, from, phase->to_s, film_um, &found)
                            : story_held_between(a->recording, from, phase->to_s, film_um, near_rpm, &found);
    if (!there) continue;
    const bool equal = best && phase->fault_count == best->fault_count;
    const double off_nm = fabs(reading(&found, CHANNEL_torque_nm) - work_nm);
    if (equal && off_nm > fabs(reading(moment, CHANNEL_torque_nm) - work_nm) - SAME_NM) {
      // alike: the last one before the fault, rather than one after it
      if (phase->from_s > pair->phase->from_s || off_nm > fabs(reading(moment, CHANNEL_torque_nm) - work_nm) + SAME_NM) continue;
    }
    best = phase;
    *moment = found;
  }
  return best;
}

static void fill_pair(const struct explain_account *a, const struct phase *phase, struct pair *pair) {
  *pair = (struct pair){.phase = phase};
  const double from = phase->full_s;
  if (story_idle_between(a->recording, from, phase->to_s, STORY_ANY_FILM, &pair->now))
    pair->base = find_base(a, pair, true, &pair->now, &pair->before);
  if (story_held_between(a->recording, from, phase->to_s, STORY_ANY_FILM, 0.0, &pair->held_now)) {
    const struct phase *base = find_base(a, pair, false, &pair->held_now, &pair->held_before);
    if (!pair->base) pair->base = base;
  }
}

static void tell_pair(struct explain_account *a, const struct pair *pair) {
  char now[EXPLAIN_LABEL_SIZE];
  say_what(a, pair);
  list_faults(pair->phase, NULL, now, sizeof now);
  if (pair->now.happened && pair->before.happened) {
    explain_account_keep(a, &pair->before, pair->base->fault_count ? "less faults" : "sound");
    explain_account_keep(a, &pair->now, "%s", now);
    explain_mixture_faults(a, &pair->before, &pair->now, &pair->held_now);
    say_residual(a, &pair->before, &pair->now);
    say_control(a, &pair->before, &pair->now);
    say_astray(a, &pair->before, &pair->now);
    say_spark(a, &pair->before, &pair->now);
    say_speed(a, &pair->before, &pair->now);
  } else if (pair->now.happened) {
    explain_account_keep(a, &pair->now, "%s", now);
    explain_account_say(a,
                        "With it the engine idles at %.0f rpm (target_rpm %.0f) on %.2f g/s; stft_pct + ltft_pct %.1f, "
                        "learned_pct %.1f.",
                        reading(&pair->now, CHANNEL_speed_rpm), reading(&pair->now, CHANNEL_target_rpm),
                        reading(&pair->now, CHANNEL_airflow_gps), explain_account_trim_pct(&pair->now, 0),
                        reading(&pair->now, CHANNEL_learned_pct));
  }
  explain_account_keep_held(a, &pair->held_before, "held, %s", pair->base && pair->base->fault_count ? "less faults" : "sound");
  explain_account_keep_held(a, &pair->held_now, "held, %s", now);
  say_held(a, pair);
  say_square(a, pair);
}

void explain_faults_tell(struct explain_account *a) {
  int told = 0;
  for (size_t i = 0; i < a->phase_count; i++) {
    if (a->phases[i].fault_count == 0) continue;
    struct pair pair;
    fill_pair(a, &a->phases[i], &pair);
    // a phase that only takes faults away from the one before has been told
    if (i > 0 && phases_within(&a->phases[i], &a->phases[i - 1])) continue;
    if (told++ < PAIRS_TOLD_MAX) tell_pair(a, &pair);
  }
  const double limit_film_um = a->story->learned_limit_film_um;
  if (told && a->story->learned_limit && limit_film_um < FILM_UM) explain_film_limits(a); // else told with the film
}
