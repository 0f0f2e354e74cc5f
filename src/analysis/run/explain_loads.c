/* Loads that cut in while it idled: how low the speed went, and what there was to catch it. */
#include "analysis/run/explain_account.h"

#include "analysis/run/window.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#define SETTLED_S 8.0 // a load must last so long for a settled reading
#define AVERAGE_S 3.0
#define SAME_UM   3.0

enum { SINGLE_MAX = 3, LIST_SIZE = 360 };

static double mean_of(const struct explain_account *a, double from_s, double to_s, enum channel channel) {
  return window_mean(a->recording, window_between(a->recording, from_s, to_s), channel);
}

/* When the next thing happens to the loads; the end of the run if nothing does. */
static double next_change_s(const struct explain_account *a, const struct load_step *step) {
  for (size_t i = 0; i < a->story->load_count; i++)
    if (a->story->loads[i].time_s > step->time_s + 0.05) return a->story->loads[i].time_s;
  return a->sim->scenario->duration_s;
}

/* why: also says why it dips; once is enough. */
static void say_single(struct explain_account *a, const struct load_step *step, bool why) {
  const char *text = load_steps_kind_rows[step->kind].text;
  if (step->stalled) {
    explain_account_say(a, "%s at %.0f s (film %.0f um): from %.0f rpm, and it stalled.", text, step->time_s, step->film_um,
                        step->before_rpm);
    return;
  }
  explain_account_say(a, "%s at %.0f s (film %.0f um): from %.0f rpm down to %.0f at the lowest.", text, step->time_s,
                      step->film_um, step->before_rpm, step->lowest_rpm);
  const double end = next_change_s(a, step);
  if (step->kind == LOAD_STEPS_pedal || end - step->time_s < SETTLED_S) return;
  explain_account_say(a,
                      "With the load on it settled at %.0f rpm (target_rpm %.0f): air from %.2f to %.2f g/s, manifold from "
                      "%.1f "
                      "to %.1f kPa, spark_reserve_pct from %.1f to %.1f.%s",
                      mean_of(a, end - AVERAGE_S, end - 0.2, CHANNEL_speed_rpm),
                      mean_of(a, end - AVERAGE_S, end - 0.2, CHANNEL_target_rpm),
                      mean_of(a, step->time_s - AVERAGE_S, step->time_s - 0.1, CHANNEL_airflow_gps),
                      mean_of(a, end - AVERAGE_S, end - 0.2, CHANNEL_airflow_gps),
                      mean_of(a, step->time_s - AVERAGE_S, step->time_s - 0.1, CHANNEL_manifold_kpa),
                      mean_of(a, end - AVERAGE_S, end - 0.2, CHANNEL_manifold_kpa),
                      mean_of(a, step->time_s - AVERAGE_S, step->time_s - 0.1, CHANNEL_spark_reserve_pct),
                      mean_of(a, end - AVERAGE_S, end - 0.2, CHANNEL_spark_reserve_pct),
                      !why ? ""
                      : step->kind == LOAD_STEPS_electrical
                          ? " The computer does not know of this load before the speed falls."
                          : " The computer knows of this load and gives its air at once; the speed dips because the manifold "
                            "must fill first.");
}

/* One sentence for a kind of load that came at several films. */
static void say_series(struct explain_account *a, enum load_steps_kind kind) {
  char list[LIST_SIZE] = "";
  size_t used = 0;
  for (size_t i = 0; i < a->story->load_count; i++) {
    const struct load_step *step = &a->story->loads[i];
    if (step->kind != kind || !step->on || used + 40 > sizeof list) continue;
    const char *between = used ? ", " : "";
    if (step->stalled)
      used += (size_t)snprintf(list + used, sizeof list - used, "%sstalled at %.0f um", between, step->film_um);
    else
      used +=
          (size_t)snprintf(list + used, sizeof list - used, "%s%.0f rpm at %.0f um", between, step->lowest_rpm, step->film_um);
  }
  explain_account_say(a, "%s, lowest speed after it: %s.", load_steps_kind_rows[kind].text, list);
}

/* Why the dip gets deeper: what was ready before the first and before the most filmed step of a kind. */
static void say_reserve(struct explain_account *a, enum load_steps_kind kind) {
  const struct load_step *least = NULL, *most = NULL;
  for (size_t i = 0; i < a->story->load_count; i++) {
    const struct load_step *step = &a->story->loads[i];
    if (step->kind != kind || !step->on) continue;
    if (!least || step->film_um < least->film_um) least = step;
    if (!most || step->film_um > most->film_um) most = step;
  }
  if (!least || !most || most->film_um - least->film_um < SAME_UM) return;
  explain_account_say(a,
                      "What catches a load before the air comes is spark: before it spark_reserve_pct was %.1f with %.0f um "
                      "and "
                      "%.1f with %.0f um. And the air comes slower through a filmed gap, for the step of the actuator buys "
                      "less "
                      "area there.",
                      mean_of(a, least->time_s - AVERAGE_S, least->time_s - 0.1, CHANNEL_spark_reserve_pct), least->film_um,
                      mean_of(a, most->time_s - AVERAGE_S, most->time_s - 0.1, CHANNEL_spark_reserve_pct), most->film_um);
}

void explain_loads_tell(struct explain_account *a) {
  enum load_steps_kind told = LOAD_STEPS_KIND_COUNT;
  for (int kind = 0; kind < LOAD_STEPS_KIND_COUNT; kind++) {
    int count = 0;
    for (size_t i = 0; i < a->story->load_count; i++)
      count += a->story->loads[i].kind == (enum load_steps_kind)kind && a->story->loads[i].on;
    const bool pedal = kind == LOAD_STEPS_pedal;
    if (count > SINGLE_MAX) {
      if (pedal && a->phase_count > 1) continue; // other faults lie between its steps
      say_series(a, (enum load_steps_kind)kind);
      if (told == LOAD_STEPS_KIND_COUNT && !pedal) told = (enum load_steps_kind)kind;
      continue;
    }
    int said = 0;
    for (size_t i = 0; i < a->story->load_count; i++) {
      const struct load_step *step = &a->story->loads[i];
      const bool film = a->story->largest_film_um > 0.5 || !pedal; // a sound return to idle says nothing
      if (step->kind == (enum load_steps_kind)kind && step->on && (film || step->stalled)) say_single(a, step, said++ == 0);
    }
    if (count > 1 && !pedal && told == LOAD_STEPS_KIND_COUNT) told = (enum load_steps_kind)kind;
  }
  if (told != LOAD_STEPS_KIND_COUNT) say_reserve(a, told);
}
