#include "analysis/explain.h"

#include "base/attributes.h"
#include "physics/orifice.h"

#include <math.h>
#include <stdarg.h>
#include <stdio.h>

#define KPA UNITS_PA_PER_KPA
#define UM  UNITS_M_PER_UM
#define DEG UNITS_RAD_PER_DEG
#define RPM UNITS_RAD_S_PER_RPM

/* What the sentences are made from. */
struct account {
  const struct simulation *sim;
  const struct recording *recording;
  const struct story *story;
  struct explanation *out;
};

static void say(struct account *account, const char *format, ...) PRINTF_LIKE(2, 3);

static void say(struct account *account, const char *format, ...) {
  if (account->out->count >= EXPLAIN_SENTENCE_MAX) return;
  va_list values;
  va_start(values, format);
  vsnprintf(account->out->text[account->out->count++], EXPLAIN_TEXT_SIZE, format, values);
  va_end(values);
}

static double reading(const struct story_moment *moment, enum channel channel) { return moment->mean[channel]; }

/* The idle to measure against: the first one if the bore was clean then, else the last after a clean. */
static const struct story_moment *clean_idle(const struct story *story) {
  if (story->first.happened && reading(&story->first, CHANNEL_film_um) < 0.5) return &story->first;
  if (story->relearned.happened) return &story->relearned;
  return NULL;
}

static void say_first(struct account *a) {
  const struct story_moment *first = &a->story->first;
  if (!first->happened) return;
  const double film = reading(first, CHANNEL_film_um);
  say(a,
      "At the start the engine idles at %.0f rpm (target %.0f, standard deviation %.0f) on %.2f g/s of air, manifold at "
      "%.1f kPa. The blade stands %.2f degrees above its closed stop (tp_pct %.1f, blade_pct %.1f) and leaves %.1f mm2 "
      "open%s.",
      reading(first, CHANNEL_speed_rpm), reading(first, CHANNEL_target_rpm), reading(first, CHANNEL_speed_sd_rpm),
      reading(first, CHANNEL_airflow_gps), reading(first, CHANNEL_manifold_kpa), reading(first, CHANNEL_blade_deg),
      reading(first, CHANNEL_tp_pct), reading(first, CHANNEL_blade_pct), reading(first, CHANNEL_area_mm2),
      film < 0.5 ? ": no more than that keeps it running" : " beside the film that is there already");
}

/* Pure geometry: what the thickest film of the run takes at the blade angle of the clean idle. */
static void say_area_lost(struct account *a) {
  const struct story_moment *clean = clean_idle(a->story);
  const double film_um = a->story->largest_film_um;
  if (!clean || film_um < 0.5) return;
  const struct throttle_params *throttle = &a->sim->engine->plant.throttle;
  const double angle = throttle->bore.closed_angle_rad + reading(clean, CHANNEL_blade_deg) * DEG;
  const struct bore_film none = {0.0, 0.0}, film = {film_um * UM, 0.0};
  const double before = bore_area_m2(&throttle->bore, &throttle->film_shape, &none, angle) / UNITS_M2_PER_MM2;
  const double after = bore_area_m2(&throttle->bore, &throttle->film_shape, &film, angle) / UNITS_M2_PER_MM2;
  const double ring_mm = 2.0 * UNITS_PI * throttle->bore.radius_m / UNITS_M_PER_MM;
  say(a,
      "Why so little does so much: the film grew to %.0f um, %.3f mm. Round a bore of %.0f mm circumference, with the "
      "blade left at the clean idle angle, that would cut the gap from %.1f to %.1f mm2: %.0f %% of the idle air's way "
      "gone.",
      film_um, film_um * 1e-3, ring_mm, before, after, 100.0 * (1.0 - after / before));
  const double ambient = conditions_ambient_pa(&a->sim->conditions) / KPA;
  const double ratio = reading(clean, CHANNEL_manifold_kpa) / ambient;
  if (ratio < orifice_critical_ratio())
    say(a,
        "The flow through the gap is choked (%.1f kPa behind, %.1f kPa before, ratio %.2f, below %.2f): more vacuum cannot "
        "draw more. Air follows the gap's area and nothing else.",
        reading(clean, CHANNEL_manifold_kpa), ambient, ratio, orifice_critical_ratio());
}

static void say_hidden(struct account *a) {
  const struct story *s = a->story;
  const struct story_moment *clean = clean_idle(s);
  if (!clean || !s->hidden.happened) return;
  say(a,
      "The computer hid it up to %.0f um (at %.0f s): idle still %.0f rpm, because the blade had gone from %.2f to %.2f "
      "degrees and the learned offset from %.0f to %.0f %%. On the scan tool nothing but these two had moved: air %.2f g/s "
      "against %.2f.",
      reading(&s->hidden, CHANNEL_film_um), s->hidden.time_s, reading(&s->hidden, CHANNEL_speed_rpm),
      reading(clean, CHANNEL_blade_deg), reading(&s->hidden, CHANNEL_blade_deg), reading(clean, CHANNEL_learned_pct),
      reading(&s->hidden, CHANNEL_learned_pct), reading(&s->hidden, CHANNEL_airflow_gps),
      reading(clean, CHANNEL_airflow_gps));
}

static void say_limits(struct account *a) {
  const struct story *s = a->story;
  const struct idle_air_params *air = &a->sim->engine->computer.air;
  if (s->learned_limit && s->learned_limit_s > 0.0)
    say(a, "At %.0f s (%.0f um) the learned offset reached its limit of %.0f %%.", s->learned_limit_s,
        s->learned_limit_film_um, 100.0 * air->learned_most_ratio);
  if (s->at_limit && s->at_limit_s > 0.0)
    say(a, "At %.0f s (%.0f um) the controller's own %.0f %% were used up too: from here on film is speed.",
        s->at_limit_s, s->at_limit_film_um, 100.0 * air->effort_most_ratio);
}

static void say_left_over(struct account *a) {
  const struct story *s = a->story;
  const struct story_moment *clean = clean_idle(s), *low = &s->lowest;
  if (!clean || !low->happened) return;
  const double short_rpm = reading(low, CHANNEL_target_rpm) - reading(low, CHANNEL_speed_rpm);
  if (short_rpm < 10.0) return;
  say(a,
      "What was left over with %.0f um: blade at %.2f degrees (clean %.2f), where a clean bore would give %.1f mm2, and "
      "%.1f mm2 open (clean idle %.1f). Air %.2f g/s, %.0f %% less than clean.",
      reading(low, CHANNEL_film_um), reading(low, CHANNEL_blade_deg), reading(clean, CHANNEL_blade_deg),
      reading(low, CHANNEL_clean_area_mm2), reading(low, CHANNEL_area_mm2), reading(clean, CHANNEL_area_mm2),
      reading(low, CHANNEL_airflow_gps),
      100.0 * (1.0 - reading(low, CHANNEL_airflow_gps) / reading(clean, CHANNEL_airflow_gps)));
  say(a,
      "Spark went from %.0f to %.0f degrees before top dead centre and its reserve from %.0f to %.1f %% of torque: that "
      "softened the droop and is used up.",
      reading(clean, CHANNEL_spark_deg), reading(low, CHANNEL_spark_deg), reading(clean, CHANNEL_spark_reserve_pct),
      reading(low, CHANNEL_spark_reserve_pct));
  say(a, "So the idle settled at %.0f rpm, %.0f below target, standard deviation %.0f rpm (clean %.0f).",
      reading(low, CHANNEL_speed_rpm), short_rpm, reading(low, CHANNEL_speed_sd_rpm),
      reading(clean, CHANNEL_speed_sd_rpm));
  if (reading(low, CHANNEL_closed_gap_mm2) < 0.2 && reading(clean, CHANNEL_closed_gap_mm2) > 0.5)
    say(a, "A torch behind the closed blade would show %.1f mm2 of light in the clean bore and as good as none now.",
        reading(clean, CHANNEL_closed_gap_mm2));
}

static void say_stall(struct account *a) {
  if (!a->story->stalled) return;
  say(a, "At %.1f s the engine stalled with %.0f um of film; in the five seconds before it turned at %.0f rpm on average.",
      a->story->stalled_s, a->story->stalled_film_um, a->story->stalled_speed_rpm);
}

static void say_loads(struct account *a) {
  for (size_t i = 0; i < a->story->load_count; i++) {
    const struct story_load *load = &a->story->loads[i];
    if (!load->on) continue;
    say(a, "%s at %.0f s (%.0f um): from %.0f rpm down to %.0f at the lowest.",
        load->air_conditioning ? "Compressor on" : "Into gear", load->time_s, load->film_um, load->before_rpm,
        load->lowest_rpm);
  }
}

/* Why a code that did not set kept quiet. */
static void say_quiet(struct account *a, int code) {
  const struct monitor_state *state = &a->sim->computer.memory.monitors.code[code];
  const struct monitor_row *row = &monitor_rows[code];
  const double debounce = row->debounce_ratio * a->sim->engine->computer.supervision.debounce_s;
  const double limit = row->threshold * row->user_factor;
  if (state->watched && state->largest_measure > row->threshold)
    say(a, "%s kept quiet: its limit of %.0f %s was passed for %.1f s at most, and it needs %.0f.", row->code, limit,
        row->user_unit, state->longest_failing_s, debounce);
  else if (state->missing)
    for (int bit = 0; bit < MONITOR_ENABLE_COUNT; bit++) {
      if (!(state->missing & (1u << bit))) continue;
      say(a, "%s kept quiet: while its limit of %.0f %s was passed, %s.", row->code, limit, row->user_unit,
          monitor_enable_texts[bit]);
      return;
    }
  else if (state->watched && (code == MONITOR_P0505 || code == MONITOR_P0506 || code == MONITOR_P0507))
    say(a, "%s kept quiet: the idle was never more than %.0f rpm off on its side while it was watching; it needs %.0f.",
        row->code, fmax(state->largest_measure, 0.0) / RPM, limit);
}

static void say_codes(struct account *a) {
  bool set[MONITOR_CODE_COUNT] = {false};
  for (size_t i = 0; i < a->recording->event_count; i++) {
    const struct recording_event *event = &a->recording->events[i];
    if (event->kind != RECORDING_CODE) continue;
    set[event->code] = true;
    const struct monitor_row *row = &monitor_rows[event->code];
    if (event->value == CODE_PENDING)
      say(a, "%s (%s) pending at %.0f s: %s for %.0f s.", row->code, row->text, event->time_s, row->condition,
          row->debounce_ratio * a->sim->engine->computer.supervision.debounce_s);
    else if (event->value == CODE_CONFIRMED)
      say(a, "%s confirmed at %.0f s, lamp on: found again in the next driving cycle.", row->code, event->time_s);
    else
      say(a, "%s erased at %.0f s.", row->code, event->time_s);
  }
  for (int i = 0; i < MONITOR_CODE_COUNT; i++)
    if (!set[i]) say_quiet(a, i);
}

static void say_clean(struct account *a) {
  const struct story *s = a->story;
  if (!s->clean.happened) return;
  const struct story_moment *fast = &s->fastest;
  if (!fast->happened) return;
  const double over = reading(fast, CHANNEL_speed_rpm) - reading(fast, CHANNEL_target_rpm);
  if (over < 20.0) {
    say(a, "The bore was cleaned at %.0f s; the idle came back to %.0f rpm without racing.", s->clean.time_s,
        reading(fast, CHANNEL_speed_rpm));
    return;
  }
  say(a,
      "The bore was cleaned at %.0f s, but the computer still added the %.0f %% it had learned for the film: the idle raced "
      "at %.0f rpm, %.0f above target, on %.2f g/s.",
      s->clean.time_s, reading(&s->clean, CHANNEL_learned_pct), reading(fast, CHANNEL_speed_rpm), over,
      reading(fast, CHANNEL_airflow_gps));
  if (s->relearned.happened)
    say(a, "It unlearned that by itself: %.0f s after the clean the idle was back at %.0f rpm, learned offset %.0f %%.",
        s->relearned.time_s - s->clean.time_s, reading(&s->relearned, CHANNEL_speed_rpm),
        reading(&s->relearned, CHANNEL_learned_pct));
  else
    say(a, "At the end it had not yet unlearned it: %.0f rpm, learned offset %.0f %%.", reading(&s->last, CHANNEL_speed_rpm),
        reading(&s->last, CHANNEL_learned_pct));
}

void explain_run(const struct simulation *sim, const struct recording *recording, const struct story *story,
                 struct explanation *explanation) {
  explanation->count = 0;
  struct account account = {sim, recording, story, explanation};
  say_first(&account);
  say_area_lost(&account);
  say_hidden(&account);
  say_limits(&account);
  say_left_over(&account);
  say_stall(&account);
  say_loads(&account);
  say_clean(&account);
  say_codes(&account);
}
