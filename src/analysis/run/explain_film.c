/* The film's own chain: area lost, what the controller added, what was left over, what the clean changed. */
#include "analysis/run/explain_account.h"

#include "analysis/run/window.h"
#include "control/actuate.h"
#include "physics/orifice.h"

#include <math.h>
#include <stdio.h>

#define KPA UNITS_PA_PER_KPA
#define UM  UNITS_M_PER_UM
#define DEG UNITS_RAD_PER_DEG

#define FILM_UM   0.5  // less is no deposit worth speaking of
#define HIDDEN_UM 5.0  // hiding less is nothing to speak of
#define DROOP_RPM 10.0 // as near as a needle shows
#define RACE_RPM  20.0

static double reading(const struct story_moment *moment, enum channel channel) { return moment->mean[channel]; }

static bool is_cable(const struct explain_account *a) { return a->sim->vehicle.engine->plant.throttle.kind == THROTTLE_CABLE; }

static void say_first(struct explain_account *a) {
  const struct story_moment *first = &a->story->first;
  if (!first->happened) return;
  const double film = reading(first, CHANNEL_film_um), speed = reading(first, CHANNEL_speed_rpm);
  const bool at_start = first->time_s < 1.0;
  const char *when = at_start ? "At the start" : "In its first steady stretch";
  if (is_cable(a))
    explain_account_say(a,
                        "%s the engine idles at %.0f rpm (target_rpm %.0f, standard deviation %.0f) on %.2f g/s of air. The "
                        "blade rests on its screw and leaves %.1f mm2; the bypass valve stands at bypass_steps %.0f.",
                        when, speed, reading(first, CHANNEL_target_rpm), reading(first, CHANNEL_speed_sd_rpm),
                        reading(first, CHANNEL_airflow_gps), reading(first, CHANNEL_area_mm2),
                        reading(first, CHANNEL_bypass_steps));
  else
    explain_account_say(a,
                        "%s the engine idles at %.0f rpm (target_rpm %.0f, standard deviation %.0f) on %.2f g/s of air, "
                        "manifold at %.1f kPa. The blade stands %.2f degrees above its closed stop (tp_pct %.1f) and leaves "
                        "%.1f mm2 open%s.",
                        when, speed, reading(first, CHANNEL_target_rpm), reading(first, CHANNEL_speed_sd_rpm),
                        reading(first, CHANNEL_airflow_gps), reading(first, CHANNEL_manifold_kpa),
                        reading(first, CHANNEL_blade_deg), reading(first, CHANNEL_tp_pct), reading(first, CHANNEL_area_mm2),
                        film < FILM_UM ? ": no more than that keeps it running" : " beside the film that is there already");
}

/* Pure geometry: what the thickest film of the run takes at the blade angle of the clean idle. */
static void say_area_lost(struct explain_account *a) {
  const struct story_moment *clean = explain_account_clean_idle(a->story);
  const double film_um = a->story->largest_film_um;
  const struct throttle_params *throttle = &a->sim->vehicle.engine->plant.throttle;
  double angle = plant_rest_angle_rad(&a->sim->vehicle.engine->plant);
  if (clean)
    angle = throttle->bore.closed_angle_rad + reading(clean, CHANNEL_blade_deg) * DEG;
  else if (!is_cable(a)) // what the computer would command with nothing learned
    angle = actuate_clean_angle_rad(&a->sim->vehicle.design, a->sim->vehicle.engine->computer.air.base_kg_s,
                                    conditions_ambient_pa(&a->sim->vehicle.conditions), a->sim->vehicle.conditions.intake_k);
  const struct bore_film none = {0.0, 0.0}, film = {film_um * UM, 0.0};
  const double before = bore_area_m2(&throttle->bore, &throttle->film_shape, &none, angle) / UNITS_M2_PER_MM2;
  const double after = bore_area_m2(&throttle->bore, &throttle->film_shape, &film, angle) / UNITS_M2_PER_MM2;
  const double ring_mm = 2.0 * UNITS_PI * throttle->bore.radius_m / UNITS_M_PER_MM;
  explain_account_say(a,
                      "Why so little does so much: the film %s %.0f um, %.3f mm. Round a bore of %.0f mm circumference, "
                      "with the blade left at its clean idle angle, that cuts the gap from %.1f to %.1f mm2: %.0f %% of the "
                      "way past the blade gone.",
                      clean == &a->story->first ? "grew to" : "is", film_um, film_um * 1e-3, ring_mm, before, after,
                      100.0 * (1.0 - after / before));
  if (!clean) return;
  const double ambient = conditions_ambient_pa(&a->sim->vehicle.conditions) / KPA;
  const double ratio = reading(clean, CHANNEL_manifold_kpa) / ambient;
  if (ratio < orifice_critical_ratio())
    explain_account_say(a,
                        "The flow through the gap is choked (%.1f kPa behind, %.1f kPa before, ratio %.2f, below %.2f): more "
                        "vacuum cannot draw more. Air follows the gap's area and nothing else.",
                        reading(clean, CHANNEL_manifold_kpa), ambient, ratio, orifice_critical_ratio());
}

/* How the idle actuator moved, in words. */
static const char *actuator(const struct explain_account *a, const struct story_moment *from, const struct story_moment *to,
                            char text[160]) {
  if (is_cable(a))
    snprintf(text, 160, "bypass_steps had gone from %.0f to %.0f", reading(from, CHANNEL_bypass_steps),
             reading(to, CHANNEL_bypass_steps));
  else
    snprintf(text, 160, "the blade had gone from %.2f to %.2f degrees (tp_pct %.1f to %.1f)", reading(from, CHANNEL_blade_deg),
             reading(to, CHANNEL_blade_deg), reading(from, CHANNEL_tp_pct), reading(to, CHANNEL_tp_pct));
  return text;
}

static void say_hidden(struct explain_account *a) {
  const struct story_moment *clean = explain_account_clean_idle(a->story), *hidden = &a->story->hidden;
  if (!clean || !hidden->happened || reading(hidden, CHANNEL_film_um) < HIDDEN_UM) return;
  char moved[160];
  explain_account_say(a,
                      "The computer hid it up to %.0f um (at %.0f s): idle still %.0f rpm, because %s and learned_pct from "
                      "%.0f to %.0f. On the scan tool only these had moved; air was %.2f g/s against %.2f.",
                      reading(hidden, CHANNEL_film_um), hidden->time_s, reading(hidden, CHANNEL_speed_rpm),
                      actuator(a, clean, hidden, moved), reading(clean, CHANNEL_learned_pct),
                      reading(hidden, CHANNEL_learned_pct), reading(hidden, CHANNEL_airflow_gps),
                      reading(clean, CHANNEL_airflow_gps));
}

/* What a channel reads when a limit has been reached. */
static double value_at(const struct explain_account *a, double time_s, enum channel channel) {
  const struct window after = window_between(a->recording, time_s, time_s + 1.0);
  return window_rows(after) ? recording_value(a->recording, after.first, channel) : NAN;
}

void explain_film_limits(struct explain_account *a) {
  const struct story *s = a->story;
  const bool film = s->at_limit_film_um >= FILM_UM;
  char um[32] = "";
  if (s->learned_limit && s->learned_limit_s > 0.0) {
    if (s->learned_limit_film_um >= FILM_UM) snprintf(um, sizeof um, " (%.0f um)", s->learned_limit_film_um);
    explain_account_say(a, "At %.0f s%s the learned offset reached its limit of %.0f %%.", s->learned_limit_s, um,
                        value_at(a, s->learned_limit_s, CHANNEL_learned_pct));
  }
  if (!s->at_limit || s->at_limit_s <= 0.0) return;
  const double effort = value_at(a, s->at_limit_s, CHANNEL_effort_pct);
  um[0] = '\0';
  if (film) snprintf(um, sizeof um, " (%.0f um)", s->at_limit_film_um);
  if (effort > 0.0)
    explain_account_say(a, "At %.0f s%s the controller's own %.0f %% were used up too: from here on %s is speed.", s->at_limit_s,
                        um, effort, film ? "film" : "what is missing");
  else
    explain_account_say(a, "At %.0f s%s the controller had taken away its own %.0f %% too: what is still too much is speed.",
                        s->at_limit_s, um, -effort);
}

static void say_left_over(struct explain_account *a) {
  const struct story_moment *clean = explain_account_clean_idle(a->story), *low = &a->story->lowest;
  if (!clean || !low->happened) return;
  const double short_rpm = reading(low, CHANNEL_target_rpm) - reading(low, CHANNEL_speed_rpm);
  if (short_rpm < DROOP_RPM) return;
  const struct story_moment *hidden = &a->story->hidden;
  if (hidden->happened && hidden->time_s > low->time_s &&
      reading(hidden, CHANNEL_film_um) > reading(low, CHANNEL_film_um) - 3.0) {
    explain_account_say(a,
                        "While the film grew faster than the learned offset could follow, the idle sat at "
                        "%.0f rpm, %.0f below "
                        "target, with effort_pct at %.1f; then learned_pct caught up.",
                        reading(low, CHANNEL_speed_rpm), short_rpm, reading(low, CHANNEL_effort_pct));
    return;
  }
  const double air_lost = 1.0 - reading(low, CHANNEL_airflow_gps) / reading(clean, CHANNEL_airflow_gps);
  char moved[160];
  explain_account_say(a,
                      "What was left over with %.0f um: %s, where a clean bore would give %.1f mm2, and %.1f mm2 were open "
                      "(clean idle %.1f). Air %.2f g/s, %.0f %% less than clean.",
                      reading(low, CHANNEL_film_um), actuator(a, clean, low, moved), reading(low, CHANNEL_clean_area_mm2),
                      reading(low, CHANNEL_area_mm2), reading(clean, CHANNEL_area_mm2), reading(low, CHANNEL_airflow_gps),
                      100.0 * air_lost);
  if (reading(low, CHANNEL_spark_deg) - reading(clean, CHANNEL_spark_deg) > 1.0)
    explain_account_say(a,
                        "spark_deg went from %.0f to %.0f before top dead centre and its reserve from %.0f to %.1f %% of "
                        "torque: that softened the droop%s.",
                        reading(clean, CHANNEL_spark_deg), reading(low, CHANNEL_spark_deg),
                        reading(clean, CHANNEL_spark_reserve_pct), reading(low, CHANNEL_spark_reserve_pct),
                        reading(low, CHANNEL_spark_reserve_pct) < 1.0 ? " and is used up" : "");
  explain_account_say(a, "So the idle settled at %.0f rpm, %.0f below target, standard deviation %.0f rpm (clean %.0f).",
                      reading(low, CHANNEL_speed_rpm), short_rpm, reading(low, CHANNEL_speed_sd_rpm),
                      reading(clean, CHANNEL_speed_sd_rpm));
  if (reading(low, CHANNEL_closed_gap_mm2) < 0.2 && reading(clean, CHANNEL_closed_gap_mm2) > 0.5)
    explain_account_say(a,
                        "A torch behind the closed blade would show %.1f mm2 of light in the clean bore and as good as none "
                        "now.",
                        reading(clean, CHANNEL_closed_gap_mm2));
}

/* Held off idle, once without the film and once with it. */
static void say_held(struct explain_account *a) {
  const struct story_moment *clean = explain_account_clean_idle(a->story);
  const struct story_moment *filmed = a->story->lowest.happened ? &a->story->lowest : &a->story->hidden;
  const double end_s = a->sim->scenario->duration_s;
  if (!clean || !filmed->happened) return;
  struct story_moment with, without;
  if (!story_held_between(a->recording, 0.0, end_s, reading(filmed, CHANNEL_film_um), 0.0, &with)) return;
  const double speed = reading(&with, CHANNEL_speed_rpm);
  if (!story_held_between(a->recording, 0.0, end_s, 0.0, speed, &without)) return;
  explain_account_keep_held(a, &without, "held, clean");
  explain_account_keep_held(a, &with, "held, %.0f um", reading(&with, CHANNEL_film_um));
  if (is_cable(a)) return;
  const double more_pct = 100.0 * (reading(&with, CHANNEL_blade_deg) / reading(&without, CHANNEL_blade_deg) - 1.0);
  explain_account_say(a,
                      "Held at %.0f rpm the same film %s: blade_deg %.2f against %.2f clean, %.0f %% more, where "
                      "idle took %.0f %% more. The gap is wide there and the blade's edge has left the band.",
                      speed, more_pct < 15.0 ? "hardly shows" : "shows less", reading(&with, CHANNEL_blade_deg),
                      reading(&without, CHANNEL_blade_deg), more_pct,
                      100.0 * (reading(filmed, CHANNEL_blade_deg) / reading(clean, CHANNEL_blade_deg) - 1.0));
}

void explain_film_tell(struct explain_account *a) {
  say_first(a);
  if (a->story->largest_film_um < FILM_UM) return;
  say_area_lost(a);
  say_hidden(a);
  if (a->story->learned_limit_film_um >= FILM_UM) explain_film_limits(a);
  say_left_over(a);
  say_held(a);
  const struct story_moment *filmed = a->story->lowest.happened ? &a->story->lowest : &a->story->hidden;
  const struct story_moment *clean = explain_account_clean_idle(a->story);
  if (clean && filmed->happened) explain_mixture_film(a, clean, filmed);
}

/* When the learned offset was reset by the scan tool after the clean; NAN if never. */
static double reset_s(const struct explain_account *a) {
  for (size_t i = 0; i < a->recording->event_count; i++) {
    const struct recording_event *event = &a->recording->events[i];
    if (event->kind == RECORDING_CONTROLLER && event->value == RECORDING_VALUE_RESET && event->time_s >= a->story->clean.time_s)
      return event->time_s;
  }
  return NAN;
}

void explain_clean_tell(struct explain_account *a) {
  const struct story *s = a->story;
  const struct story_moment *fast = &s->fastest;
  if (!s->clean.happened || !fast->happened) return;
  const double over = reading(fast, CHANNEL_speed_rpm) - reading(fast, CHANNEL_target_rpm), reset = reset_s(a);
  if (isfinite(reset)) explain_account_say(a, "After the clean the scan tool set the learned offset back to 0 at %.0f s.", reset);
  if (over < RACE_RPM) {
    explain_account_say(a, "The bore was cleaned at %.0f s; the idle came back to %.0f rpm without racing%s.", s->clean.time_s,
                        reading(fast, CHANNEL_speed_rpm),
                        isfinite(reset) ? ", for nothing was left of what the film had taught" : "");
    return;
  }
  explain_account_say(a,
                      "The bore was cleaned at %.0f s, but the computer still added the %.0f %% it had learned for the film: "
                      "the idle raced at %.0f rpm, %.0f above target, on %.2f g/s.",
                      s->clean.time_s, reading(&s->clean, CHANNEL_learned_pct), reading(fast, CHANNEL_speed_rpm), over,
                      reading(fast, CHANNEL_airflow_gps));
  const double least_pct = 100.0 * a->sim->vehicle.engine->computer.air.effort_least_ratio;
  if (reading(fast, CHANNEL_effort_pct) < least_pct + 0.3)
    explain_account_say(a,
                        "It could not take that away at once: the controller stood at its lower limit, effort_pct %.0f, so "
                        "that it may not starve an engine.",
                        reading(fast, CHANNEL_effort_pct));
  if (s->relearned.happened)
    explain_account_say(a,
                        "It unlearned that by itself: %.0f s after the clean the idle was back at %.0f rpm, "
                        "learned_pct %.0f.",
                        s->relearned.time_s - s->clean.time_s, reading(&s->relearned, CHANNEL_speed_rpm),
                        reading(&s->relearned, CHANNEL_learned_pct));
  else
    explain_account_say(a, "At the end it had not yet unlearned it: %.0f rpm, learned_pct %.0f.",
                        reading(&s->last, CHANNEL_speed_rpm), reading(&s->last, CHANNEL_learned_pct));
}
