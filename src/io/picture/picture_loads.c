#include "io/picture/picture_loads.h"

#include <math.h>

#define SAME_UM 3.0 // load steps this near count as one film

bool picture_loads_drawable(const struct story *story) {
  for (size_t i = 0; i < story->load_count; i++)
    for (size_t k = 0; k < i; k++)
      if (story->loads[i].kind == story->loads[k].kind && story->loads[i].on && story->loads[k].on &&
          fabs(story->loads[i].film_um - story->loads[k].film_um) > SAME_UM)
        return true;
  return false;
}

/* The next step of this kind with a film not below the last one told: the lines go from thin to thick. */
static const struct load_step *next_step(const struct story *story, enum load_steps_kind kind, bool used[STORY_LOAD_MAX]) {
  size_t best = STORY_LOAD_MAX;
  for (size_t i = 0; i < story->load_count; i++) {
    const struct load_step *step = &story->loads[i];
    if (used[i] || step->kind != kind || !step->on || !isfinite(step->film_um)) continue;
    if (best == STORY_LOAD_MAX || step->film_um < story->loads[best].film_um) best = i;
  }
  if (best == STORY_LOAD_MAX) return NULL;
  used[best] = true;
  return &story->loads[best];
}

/* What a mark names that stands for itself. */
static void send_kind(struct picture_script *script, const struct story *story, enum load_steps_kind kind, int number) {
  char name[32];
  bool used[STORY_LOAD_MAX] = {false};
  int points = 0, stalls = 0; // points: films that differ, and stalls
  double last_um = -INFINITY;
  snprintf(name, sizeof name, "line_%d", number);
  picture_block_begin(script, name);
  for (const struct load_step *step = next_step(story, kind, used); step; step = next_step(story, kind, used)) {
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
}

static bool occurs(const struct story *story, enum load_steps_kind kind) {
  for (size_t i = 0; i < story->load_count; i++)
    if (story->loads[i].kind == kind && story->loads[i].on && isfinite(story->loads[i].film_um)) return true;
  return false;
}

enum status picture_loads_draw(const struct picture_loads *loads, const struct picture_target *target, struct error *error) {
  static const char *const arrays[] = {"line_title", "line_points", "line_stalls", "line_kind"};
  const struct story *story = loads->story;
  struct picture_script script;
  const enum status status = picture_begin(&script, PICTURE_OF_loads, target, 0, error);
  if (status != STATUS_OK) return status;
  for (size_t i = 0; i < ARRAY_COUNT(arrays); i++) fprintf(script.stream, "array %s[%d]\n", arrays[i], LOAD_STEPS_KIND_COUNT);
  picture_text(&script, "title_text", loads->title);
  picture_text(&script, "engine_text", loads->engine_title);
  double film_um = 1.0, speed_rpm = 0.0;
  for (size_t i = 0; i < story->load_count; i++) {
    film_um = fmax(film_um, story->loads[i].film_um);
    speed_rpm = fmax(speed_rpm, story->loads[i].lowest_rpm);
  }
  if (story->first.happened) speed_rpm = fmax(speed_rpm, story->first.mean[CHANNEL_target_rpm]);
  picture_number(&script, "film_high", film_um);
  picture_number(&script, "speed_high", speed_rpm);
  picture_number(&script, "target_rpm", story->first.happened ? story->first.mean[CHANNEL_target_rpm] : NAN);
  picture_number(&script, "has_target", story->first.happened);
  int count = 0;
  for (int kind = 0; kind < LOAD_STEPS_KIND_COUNT; kind++)
    if (occurs(story, (enum load_steps_kind)kind)) send_kind(&script, story, (enum load_steps_kind)kind, ++count);
  picture_number(&script, "line_count", count);
  return picture_finish(&script, error);
}
