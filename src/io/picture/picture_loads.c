#include "io/picture/picture_loads.h"

#include "analysis/run/phases.h"

#include <math.h>

#define SAME_UM        3.0   // load steps this near count as one film
#define LEAST_SPAN_RPM 200.0 // of the axis of speed
#define OWN_TARGET_RPM 10.0  // from here on a load's own idle target is drawn
#define STALLED_RPM    -45.0 // where it ends at the bottom if an engine stalled: room for the word

/* The load steps that are compared: those with the same faults, beside the film, as the first has. */
struct chosen {
  size_t count;
  struct load_step steps[STORY_LOAD_MAX];
};

static const struct phase *phase_at(const struct phase *phases, size_t count, double time_s) {
  for (size_t i = count; i > 1; i--)
    if (phases[i - 1].from_s <= time_s) return &phases[i - 1];
  return &phases[0];
}

static bool same_faults(const struct phase *one, const struct phase *other) {
  if (one->fault_count != other->fault_count) return false;
  for (size_t i = 0; i < one->fault_count; i++)
    if (!phases_have_at(other, &one->faults[i])) return false;
  return true;
}

static struct chosen choose(const struct picture_loads *loads) {
  struct chosen chosen = {0};
  struct phase phases[PHASES_MAX];
  const size_t count = loads->scenario ? phases_find(loads->scenario, phases) : 0;
  const struct phase *first = NULL;
  for (size_t i = 0; i < loads->story->load_count; i++) {
    const struct load_step *step = &loads->story->loads[i];
    if (!step->on || !isfinite(step->film_um)) continue;
    const struct phase *phase = count ? phase_at(phases, count, step->time_s) : NULL;
    if (!first) first = phase;
    if (!count || same_faults(first, phase)) chosen.steps[chosen.count++] = *step;
  }
  return chosen;
}

bool picture_loads_drawable(const struct picture_loads *loads) {
  const struct chosen chosen = choose(loads);
  for (size_t i = 0; i < chosen.count; i++)
    for (size_t k = 0; k < i; k++)
      if (chosen.steps[i].kind == chosen.steps[k].kind && fabs(chosen.steps[i].film_um - chosen.steps[k].film_um) > SAME_UM)
        return true;
  return false;
}

/* The next step of this kind with a film not below the last one told: the lines go from thin to thick. */
static const struct load_step *next_step(const struct chosen *chosen, enum load_steps_kind kind, bool used[STORY_LOAD_MAX]) {
  size_t best = STORY_LOAD_MAX;
  for (size_t i = 0; i < chosen->count; i++) {
    if (used[i] || chosen->steps[i].kind != kind) continue;
    if (best == STORY_LOAD_MAX || chosen->steps[i].film_um < chosen->steps[best].film_um) best = i;
  }
  if (best == STORY_LOAD_MAX) return NULL;
  used[best] = true;
  return &chosen->steps[best];
}

/* The idle target with this load if it has one of its own, as in gear; NaN if not, or if it was another each time. */
static double own_target_rpm(const struct chosen *chosen, enum load_steps_kind kind, double idle_rpm) {
  double own_rpm = NAN;
  for (size_t i = 0; i < chosen->count; i++) {
    const struct load_step *step = &chosen->steps[i];
    if (step->kind != kind) continue;
    if (fabs(step->target_rpm - own_rpm) > OWN_TARGET_RPM) return NAN;
    own_rpm = step->target_rpm;
  }
  return fabs(own_rpm - idle_rpm) > OWN_TARGET_RPM ? own_rpm : NAN;
}

/* What a mark names that stands for itself. */
static void send_kind(struct picture_script *script, const struct chosen *chosen, enum load_steps_kind kind, int number,
                      double target_rpm) {
  char name[32];
  bool used[STORY_LOAD_MAX] = {false};
  int points = 0, stalls = 0; // points: films that differ, and stalls
  double last_um = -INFINITY;
  snprintf(name, sizeof name, "line_%d", number);
  picture_block_begin(script, name);
  for (const struct load_step *step = next_step(chosen, kind, used); step; step = next_step(chosen, kind, used)) {
    fprintf(script->stream, "%.7g %.7g %d\n", step->film_um, step->lowest_rpm, step->stalled);
    points += step->stalled || step->film_um > last_um + SAME_UM;
    if (!step->stalled) last_um = step->film_um;
    stalls += step->stalled;
  }
  picture_block_end(script);
  fprintf(script->stream, "line_title[%d] = ", number);
  picture_quote(script, load_steps_kind_rows[kind].text);
  fprintf(script->stream, "\nline_points[%d] = %d\nline_stalls[%d] = %d\nline_kind[%d] = %d\n", number, points, number, stalls,
          number, (int)kind + 1);
  fprintf(script->stream, "line_target[%d] = %.7g\n", number, isnan(target_rpm) ? 0.0 : target_rpm);
}

static bool occurs(const struct chosen *chosen, enum load_steps_kind kind) {
  for (size_t i = 0; i < chosen->count; i++)
    if (chosen->steps[i].kind == kind) return true;
  return false;
}

enum status picture_loads_draw(const struct picture_loads *loads, const struct picture_target *target, struct error *error) {
  static const char *const arrays[] = {"line_title", "line_points", "line_stalls", "line_kind", "line_target"};
  const struct story *story = loads->story;
  const struct chosen chosen = choose(loads);
  struct picture_script script;
  const enum status status = picture_begin(&script, PICTURE_OF_loads, target, 0, error);
  if (status != STATUS_OK) return status;
  for (size_t i = 0; i < ARRAY_COUNT(arrays); i++) fprintf(script.stream, "array %s[%d]\n", arrays[i], LOAD_STEPS_KIND_COUNT);
  picture_text(&script, "title_text", loads->title);
  picture_text(&script, "engine_text", loads->engine_title);
  double film_um = 1.0, speed_rpm = 0.0, lowest_rpm = INFINITY;
  bool any_stall = false;
  for (size_t i = 0; i < chosen.count; i++) {
    film_um = fmax(film_um, chosen.steps[i].film_um);
    speed_rpm = fmax(speed_rpm, chosen.steps[i].lowest_rpm);
    lowest_rpm = fmin(lowest_rpm, chosen.steps[i].lowest_rpm);
    any_stall |= chosen.steps[i].stalled;
  }
  if (story->first.happened) speed_rpm = fmax(speed_rpm, story->first.mean[CHANNEL_target_rpm]);
  picture_number(&script, "film_high", film_um);
  picture_number(&script, "speed_high", speed_rpm);
  picture_number(&script, "speed_low",
                 any_stall ? STALLED_RPM : fmin(lowest_rpm, speed_rpm - LEAST_SPAN_RPM) - 0.1 * LEAST_SPAN_RPM);
  picture_number(&script, "any_stall", any_stall);
  picture_number(&script, "target_rpm", story->first.happened ? story->first.mean[CHANNEL_target_rpm] : NAN);
  picture_number(&script, "has_target", story->first.happened);
  const double idle_rpm = story->first.happened ? story->first.mean[CHANNEL_target_rpm] : NAN;
  int count = 0;
  for (int i = 0; i < LOAD_STEPS_KIND_COUNT; i++) {
    const enum load_steps_kind kind = (enum load_steps_kind)i;
    if (occurs(&chosen, kind)) send_kind(&script, &chosen, kind, ++count, own_target_rpm(&chosen, kind, idle_rpm));
  }
  picture_number(&script, "line_count", count);
  return picture_finish(&script, error);
}
