/* Every stall explained: what came, and what margin there was; then the starts that followed. */
#include "analysis/run/explain_account.h"

#include "analysis/run/window.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#define BEFORE_S     2.0  // readings just before the cause
#define LOAD_S       6.0  // a load this recent is the last straw
#define FAULT_S      20.0 // and so is a fault
#define LEAN_LAMBDA  1.15 // an idling engine misfires from here on; common practice, no source
#define RICH_LAMBDA  0.75
#define UNSEEN_RATIO 0.15 // as much too little fuel
#define LIMIT_PCT    0.3

enum { TOLD_MAX = 4, STARTS_MAX = 4 };

static double mean_of(const struct explain_account *a, double from_s, double to_s, enum channel channel) {
  return window_mean(a->recording, window_between(a->recording, from_s, to_s), channel);
}

/* The last load step at or before the stall, NULL if it is too long ago. */
static const struct load_step *last_load(const struct explain_account *a, double stall_s) {
  const struct load_step *last = NULL;
  for (size_t i = 0; i < a->story->load_count; i++) {
    const struct load_step *step = &a->story->loads[i];
    const double patience = step->kind == LOAD_STEPS_pedal ? LOAD_S + 2.0 : LOAD_S;
    if (step->time_s <= stall_s && step->time_s > stall_s - patience) last = step;
  }
  return last;
}

/* The last change of what is wrong, likewise. */
static const struct phase *last_fault(const struct explain_account *a, double stall_s) {
  const struct phase *last = NULL;
  for (size_t i = 1; i < a->phase_count; i++)
    if (a->phases[i].from_s <= stall_s && a->phases[i].full_s > stall_s - FAULT_S) last = &a->phases[i];
  return last;
}

/* When the cause came; the pedal's is the engine coming down to idle, which ends in the stall itself. */
struct stall_cause {
  double time_s;
  bool pedal;
};

static struct stall_cause say_cause(struct explain_account *a, double stall_s) {
  const struct load_step *load = last_load(a, stall_s);
  const struct phase *fault = last_fault(a, stall_s);
  const double film = mean_of(a, stall_s - 0.5, stall_s, CHANNEL_film_um);
  const double film_before = mean_of(a, stall_s - FAULT_S, stall_s - FAULT_S + 0.5, CHANNEL_film_um);
  if (load) {
    explain_account_say(a, "At %.1f s the engine stalled, %.1f s after this: %s. Film %.0f um.", stall_s, stall_s - load->time_s,
                        load->on ? load_steps_kind_rows[load->kind].text : "a load cut out", film);
    return (struct stall_cause){load->time_s, load->kind == LOAD_STEPS_pedal};
  }
  if (fault) {
    const struct phase_fault *first = fault->fault_count ? &fault->faults[fault->fault_count - 1] : NULL;
    explain_account_say(a, "At %.1f s the engine stalled, %.1f s after %s %s. Film %.0f um.", stall_s, stall_s - fault->from_s,
                        first ? first->row->field.key : "a fault",
                        fault->fault_count > 1 ? "came to the other faults" : "began to change", film);
    return (struct stall_cause){fault->from_s, false};
  }
  if (isfinite(film_before) && film > film_before + 1.0)
    explain_account_say(a, "At %.1f s the engine stalled, with the film grown from %.0f to %.0f um in %.0f s.", stall_s,
                        film_before, film, FAULT_S);
  else
    explain_account_say(a,
                        "At %.1f s the engine stalled, with nothing switched: film %.0f um, and the scatter "
                        "of its own cycles.",
                        stall_s, film);
  return (struct stall_cause){stall_s - BEFORE_S, false};
}

static void say_margin(struct explain_account *a, const struct stall_cause *cause, double stall_s) {
  const struct idle_air_params *air = &a->sim->vehicle.engine->computer.air;
  const double from = cause->pedal ? stall_s - 0.8 : cause->time_s - BEFORE_S;
  const double to = cause->pedal ? stall_s - 0.1 : cause->time_s - 0.1;
  const double effort = mean_of(a, from, to, CHANNEL_effort_pct), learned = mean_of(a, from, to, CHANNEL_learned_pct);
  const double effort_left = 100.0 * air->effort_most_ratio - effort;
  const double reserve = mean_of(a, from, to, CHANNEL_spark_reserve_pct);
  explain_account_say(a,
                      "%s: %.0f rpm (target_rpm %.0f) on %.2f g/s; spark_reserve_pct %.1f; of the %.0f %% "
                      "the controller may add at once %.1f were left%s; learned_pct %.0f of %.0f.",
                      cause->pedal ? "What was left as it came down" : "What was left just before",
                      mean_of(a, from, to, CHANNEL_speed_rpm), mean_of(a, from, to, CHANNEL_target_rpm),
                      mean_of(a, from, to, CHANNEL_airflow_gps), reserve, 100.0 * air->effort_most_ratio, effort_left,
                      effort_left < LIMIT_PCT && reserve < 1.0 ? ": no air and no spark to catch anything" : "", learned,
                      100.0 * air->learned_most_ratio);
}

/* What the last second shows: a mixture that does not burn, or air that is not there. */
static void say_end(struct explain_account *a, double stall_s, double cause_s) {
  const struct window last = window_between(a->recording, fmax(cause_s, stall_s - 1.5), stall_s);
  const double lean = window_most(a->recording, last, CHANNEL_lambda);
  const double rich = window_least(a->recording, last, CHANNEL_lambda);
  const double unmetered = window_mean(a->recording, last, CHANNEL_unmetered_gps);
  const double air = window_mean(a->recording, last, CHANNEL_airflow_gps);
  if (explain_account_by_air_flow(a) && unmetered > UNSEEN_RATIO * air)
    explain_account_say(a,
                        "Of the last %.2f g/s %.2f had not been counted, so there was fuel for %.0f %% of "
                        "the air: too lean to "
                        "burn well, and trims take seconds where an engine stalls in one.",
                        air, unmetered, 100.0 * (1.0 - unmetered / air));
  else if (lean > LEAN_LAMBDA)
    explain_account_say(a, "The mixture went lean, lambda %.2f, and the oxygen sensor tells it only after it has burned.", lean);
  else if (rich < RICH_LAMBDA)
    explain_account_say(a, "The mixture went rich, lambda %.2f.", rich);
  const double residual = window_most(a->recording, last, CHANNEL_residual_pct);
  if (residual > 40.0)
    explain_account_say(a, "Burned gas made up %.0f %% of the last charges: it burns late and unevenly.", residual);
}

void explain_stall_tell(struct explain_account *a) {
  int told = 0, stalls = 0;
  for (size_t i = 0; i < a->recording->event_count; i++) {
    const struct recording_event *event = &a->recording->events[i];
    if (event->kind != RECORDING_ENGINE || event->value != RECORDING_VALUE_STALL) continue;
    stalls++;
    if (told++ >= TOLD_MAX) continue;
    const struct stall_cause cause = say_cause(a, event->time_s);
    if (told > 1) continue; // the margins of one stall teach it
    say_margin(a, &cause, event->time_s);
    say_end(a, event->time_s, cause.time_s);
  }
  if (stalls > TOLD_MAX) explain_account_say(a, "It stalled %d times in all.", stalls);
  explain_start_again(a, STARTS_MAX);
}
