#include "io/picture/run_pictures.h"

#include "io/picture/picture_area.h"
#include "io/picture/picture_gap.h"
#include "io/picture/picture_loads.h"
#include "io/picture/picture_run.h"
#include "io/picture/picture_tracks.h"
#include "io/report/run_report.h"

#include <stdio.h>

static enum status draw_area(const struct run_pictures *p, const struct picture_target *target, struct error *error) {
  struct run_report_moment moments[RUN_REPORT_MOMENT_MAX];
  const size_t count = run_report_moments(p->story, moments);
  struct picture_area_point points[RUN_REPORT_MOMENT_MAX];
  for (size_t i = 0; i < count; i++) {
    const double *mean = moments[i].moment->mean;
    points[i].opening_rad = mean[CHANNEL_blade_deg] * UNITS_RAD_PER_DEG;
    points[i].area_m2 = mean[CHANNEL_area_mm2] * UNITS_M2_PER_MM2;
    points[i].film_m = mean[CHANNEL_film_um] * UNITS_M_PER_UM;
    snprintf(points[i].label, sizeof points[i].label, "%s: %.0f rpm", moments[i].label, mean[CHANNEL_speed_rpm]);
  }
  const struct throttle_params *throttle = &p->engine->plant.throttle;
  const struct picture_area area = {
      .bore = &throttle->bore,
      .shape = &throttle->film_shape,
      .on_a_screw = throttle->kind == THROTTLE_CABLE,
      .largest_film_m = p->story->largest_film_um * UNITS_M_PER_UM,
      .points = points,
      .point_count = count,
      .title = p->title,
      .engine_title = p->engine_title,
  };
  return picture_area_draw(&area, target, error);
}

/* The moment that shows the deposit at its worst, else the first idle. */
static enum status draw_gap(const struct run_pictures *p, const struct picture_target *target, struct error *error) {
  const struct story_moment *moment = p->story->lowest.happened ? &p->story->lowest : &p->story->first;
  const struct throttle_params *throttle = &p->engine->plant.throttle;
  const double film_um = moment->happened ? moment->mean[CHANNEL_film_um] : p->story->largest_film_um;
  const double opening_deg = moment->happened ? moment->mean[CHANNEL_blade_deg] : 0.0;
  const struct bore_film film = {film_um * UNITS_M_PER_UM, 0.0};
  char title[160];
  if (moment->happened)
    snprintf(title, sizeof title, "The gap at %.0f s: film %.0f µm, blade %.2f° open, %.0f rpm", moment->time_s, film_um,
             opening_deg, moment->mean[CHANNEL_speed_rpm]);
  else
    snprintf(title, sizeof title, "The gap with the blade closed: film %.0f µm", film_um);
  const struct picture_gap gap = {
      .bore = &throttle->bore,
      .shape = &throttle->film_shape,
      .film = &film,
      .angle_rad = throttle->bore.closed_angle_rad + opening_deg * UNITS_RAD_PER_DEG,
      .title = title,
      .engine_title = p->engine_title,
  };
  return picture_gap_draw(&gap, target, error);
}

static bool is_wanted(const struct run_pictures *p, enum picture picture) {
  if (p->other) return picture == PICTURE_OF_run;
  switch (picture) {
  case PICTURE_OF_run:
    return true;
  case PICTURE_OF_area:
  case PICTURE_OF_gap:
    return p->engine != NULL;
  case PICTURE_OF_loads:
    return picture_loads_drawable(&(struct picture_loads){.story = p->story, .scenario = p->scenario});
  case PICTURE_OF_tracks:
    return picture_tracks_drawable(p->recording);
  default:
    return false;
  }
}

static struct picture_run run_of(const struct run_pictures *p) {
  return (struct picture_run){p->recording, p->title, p->engine_title, p->is_log, p->other, p->other_title};
}

size_t run_pictures_list(const struct run_pictures *p, enum picture_form form, struct run_pictures_item items[RUN_PICTURES_MAX]) {
  size_t count = 0;
  for (int picture = 0; picture < PICTURE_COUNT; picture++) {
    if (!is_wanted(p, (enum picture)picture)) continue;
    const char *name = picture_rows[picture].name;
    if (picture != PICTURE_OF_run || form != PICTURE_FORM_slide) {
      items[count] = (struct run_pictures_item){.picture = (enum picture)picture, .part = PICTURE_RUN_WHOLE};
      snprintf(items[count].stem, sizeof items[count].stem, "%s", name);
      count++;
      continue;
    }
    const struct picture_run run = run_of(p);
    const size_t parts = picture_run_part_count(&run);
    for (size_t part = 0; part < parts; part++) {
      char text[PICTURE_PANELS_TEXT_SIZE];
      picture_run_part_name(&run, part, text);
      items[count] = (struct run_pictures_item){.picture = PICTURE_OF_run, .part = (int)part};
      snprintf(items[count].stem, sizeof items[count].stem, "%s-%s", name, text);
      count++;
    }
  }
  return count;
}

enum status run_pictures_draw(const struct run_pictures *p, const struct run_pictures_item *item,
                              const struct picture_target *target, struct error *error) {
  if (item->picture == PICTURE_OF_area) return draw_area(p, target, error);
  if (item->picture == PICTURE_OF_gap) return draw_gap(p, target, error);
  if (item->picture == PICTURE_OF_loads) {
    const struct picture_loads loads = {p->story, p->scenario, p->title, p->engine_title};
    return picture_loads_draw(&loads, target, error);
  }
  if (item->picture == PICTURE_OF_tracks) {
    const struct picture_tracks tracks = {p->recording, p->title, p->engine_title};
    return picture_tracks_draw(&tracks, target, error);
  }
  const struct picture_run run = run_of(p);
  return picture_run_draw(&run, item->part, target, error);
}
