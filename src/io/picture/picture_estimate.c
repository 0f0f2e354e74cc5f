#include "io/picture/picture_estimate.h"

#include "base/attributes.h"

#include <math.h>
#include <stdlib.h>

enum {
  GRID_COUNT = 1920, // points of the film's density: finer than a pixel of its panel is not seen
  SHOWN_COUNT = 240, // of which so many are drawn
  BAR_MAX = 9,
  ROW_HEIGHT = 34,     // pixels for one reading,
  ROWS_USUAL = 12,     // so many of which the usual height holds,
  USUAL_HEIGHT = 1165, // that of PICTURE_LIST
};
#define LEAST_STEP  1e-6  // of the grid: a share of nothing at all is no film, the least above it is a faint one
#define WINDOW      0.008 // half of it, of the width that is shown
#define LEAST_BAR   0.005 // probability of a cause from which it has a bar of its own
#define LEAST_WIDTH 15.0  // um: a narrower density is not shown more widely than this
#define OFF_LEAST   4.0   // standard deviations: the scale reaches at least so far,
#define OFF_MOST    9.0   // and no further; marks beyond stand at the edge, with their number

/* ---- The film's density ---- */

struct point {
  double share, log_density;
};

static int compare_points(const void *a, const void *b) {
  const double left = ((const struct point *)a)->share, right = ((const struct point *)b)->share;
  return (left > right) - (left < right);
}

/* The film alone, as a cause; NULL if it cannot be. */
static const struct estimate_hypothesis *film_of(const struct estimate *e) {
  for (size_t i = 0; i < e->count; i++)
    if (e->hypotheses[i].fault.count == 1 && e->hypotheses[i].fault.cause[0] == CAUSE_film && e->hypotheses[i].node_count > 1)
      return isfinite(e->hypotheses[i].log_evidence) ? &e->hypotheses[i] : NULL;
  return NULL;
}

/* Its log is linear between nodes, as the estimate takes it (analysis/estimate/estimate.h); the prior is uniform in the share. */
static double log_density_at(const struct point *points, size_t count, double share) {
  size_t i = 1;
  while (i + 1 < count && points[i].share < share) i++;
  const struct point *a = &points[i - 1], *b = &points[i];
  if (!isfinite(a->log_density) || !isfinite(b->log_density)) return -INFINITY;
  return a->log_density + (b->log_density - a->log_density) * (share - a->share) / (b->share - a->share);
}

/* What lies below a thickness, of the sums up to each point of the grid. */
static double below(const double um[GRID_COUNT + 1], const double sums[GRID_COUNT + 1], double at_um) {
  if (at_um <= um[0]) return 0.0;
  int i = 1;
  while (i < GRID_COUNT && um[i] < at_um) i++;
  const double part = um[i] > um[i - 1] ? (at_um - um[i - 1]) / (um[i] - um[i - 1]) : 1.0;
  return sums[i - 1] + (sums[i] - sums[i - 1]) * fmin(part, 1.0);
}

/* Density per um, which is not the even one of the share: the mean over a window that is narrow in the picture. */
static void send_density(struct picture_script *script, const struct point *points, size_t count, double most, double from_um,
                         double to_um) {
  double um[GRID_COUNT + 1], sums[GRID_COUNT + 1] = {0.0}, last = 0.0;
  for (int i = 0; i <= GRID_COUNT; i++) {
    const double share = fmax(LEAST_STEP, i) / GRID_COUNT;
    const double density = exp(log_density_at(points, count, share) - most);
    um[i] = cause_severity(CAUSE_film, share);
    if (i > 0) sums[i] = sums[i - 1] + 0.5 * (last + density);
    last = density;
  }
  const double half_um = WINDOW * (to_um - from_um);
  picture_block_begin(script, "film");
  for (int i = 0; i <= SHOWN_COUNT; i++) {
    double at_um = from_um + (to_um - from_um) * i / SHOWN_COUNT;
    if (at_um < um[0]) { // below the faintest there is none: the curve begins upright
      fprintf(script->stream, "%.6g 0\n", at_um);
      if (at_um + (to_um - from_um) / SHOWN_COUNT <= um[0]) continue;
      at_um = um[0];
      fprintf(script->stream, "%.6g 0\n", at_um);
    }
    const double low_um = fmax(um[0], at_um - half_um), high_um = at_um + half_um;
    fprintf(script->stream, "%.6g %.6g\n", at_um, (below(um, sums, high_um) - below(um, sums, low_um)) / (high_um - low_um));
  }
  picture_block_end(script);
}

static void send_film(struct picture_script *script, const struct estimate *e) {
  const struct estimate_hypothesis *film = film_of(e);
  picture_number(script, "has_film", film != NULL);
  if (!film) return;
  struct point points[ESTIMATE_NODE_MAX];
  double most = -INFINITY;
  for (size_t i = 0; i < film->node_count; i++) {
    const struct estimate_node *node = &film->nodes[i];
    points[i] = (struct point){node->share[0], node->fit.possible ? node->fit.log_likelihood : -INFINITY};
    most = fmax(most, points[i].log_density);
  }
  qsort(points, film->node_count, sizeof points[0], compare_points);
  const double width = fmax(film->high[0] - film->low[0], LEAST_WIDTH);
  const double from_um = fmax(0.0, film->low[0] - 1.5 * width);
  const double to_um = fmin(cause_severity(CAUSE_film, 1.0), film->high[0] + 1.5 * width);
  send_density(script, points, film->node_count, most, from_um, to_um);
  picture_number(script, "film_low", film->low[0]);
  picture_number(script, "film_high", film->high[0]);
  picture_number(script, "film_best", film->mean[0]);
  picture_number(script, "film_from", from_um);
  picture_number(script, "film_to", to_um);
}

/* ---- The causes ---- */

static void send_bars(struct picture_script *script, const struct estimate *e) {
  double rest = 1.0;
  int count = 0;
  fprintf(script->stream, "array bar_name[%d]\narray bar_value[%d]\n", BAR_MAX + 1, BAR_MAX + 1);
  for (size_t i = 0; i < e->count && count < BAR_MAX; i++) {
    const struct estimate_hypothesis *h = &e->hypotheses[e->order[i]];
    if (h->probability < LEAST_BAR) break;
    char name[ESTIMATE_NAME_SIZE];
    estimate_hypothesis_name(h, name);
    fprintf(script->stream, "bar_value[%d] = %.6g\nbar_name[%d] = ", count + 1, h->probability, count + 1);
    picture_quote(script, estimate_is_unlisted(h) ? "not listed" : h->fault.count == 0 ? "nothing wrong" : name);
    fputc('\n', script->stream);
    rest -= h->probability;
    count++;
  }
  fprintf(script->stream, "bar_value[%d] = %.6g\nbar_name[%d] = 'all others'\n", count + 1, fmax(0.0, rest), count + 1);
  picture_number(script, "bar_count", count + 1);
}

/* ---- The readings ---- */

static double scale_of(const struct estimate_findings *findings) {
  double most = OFF_LEAST;
  for (size_t k = 0; k < findings->leading_count; k++)
    for (size_t i = 0; i < findings->estimate->problem.readings->count; i++)
      if (!isnan(findings->comparisons[k][i].off)) most = fmax(most, fabs(findings->comparisons[k][i].off) + 1.0);
  return fmin(most, OFF_MOST);
}

static void send_readings(struct picture_script *script, const struct estimate_findings *findings) {
  const struct estimate_readings *readings = findings->estimate->problem.readings;
  const int count = (int)readings->count;
  fprintf(script->stream, "array reading_name[%d]\narray cause_name[%d]\n", count > 0 ? count : 1, ESTIMATE_FINDINGS_LEADING_MAX);
  picture_number(script, "reading_count", count);
  picture_number(script, "cause_count", (double)findings->leading_count);
  picture_number(script, "off_most", scale_of(findings));
  for (size_t k = 0; k < findings->leading_count; k++) {
    const struct estimate_hypothesis *h = &findings->estimate->hypotheses[findings->leading[k]];
    char name[ESTIMATE_NAME_SIZE];
    estimate_hypothesis_name(h, name);
    fprintf(script->stream, "cause_name[%zu] = ", k + 1);
    picture_quote(script, estimate_is_unlisted(h) ? "not listed" : h->fault.count == 0 ? "nothing wrong" : name);
    fputc('\n', script->stream);
  }
  for (int row = 0; row < count; row++) {
    const struct estimate_reading *r = &readings->readings[findings->order[row]];
    fprintf(script->stream, "reading_name[%d] = '%s@%s  %.*f'\n", row + 1, estimate_quantities[r->quantity].name,
            estimate_conditions[r->condition].name, estimate_findings_decimals(r->quantity), r->value);
  }
  picture_block_begin(script, "off");
  for (int row = 0; row < count; row++) {
    fprintf(script->stream, "%d ", row + 1);
    for (size_t k = 0; k < findings->leading_count; k++)
      picture_value(script, findings->comparisons[k][findings->order[row]].off);
    fputc('\n', script->stream);
  }
  picture_block_end(script);
}

static enum status make_script(const struct estimate_findings *findings, const struct picture_target *target,
                               struct picture_script *script, struct error *error) {
  const struct estimate *e = findings->estimate;
  const int rows = (int)e->problem.readings->count;
  int more_height = ROW_HEIGHT * (rows - ROWS_USUAL);
  if (target->form == PICTURE_FORM_screen) more_height += (USUAL_HEIGHT + more_height) / 3; // rows cannot be flatter
  const enum status status = picture_begin(script, PICTURE_OF_estimate, target, more_height, error);
  if (status != STATUS_OK) return status;
  char title[160];
  if (rows > 0)
    snprintf(title, sizeof title, "What %d readings imply%s", rows,
             e->p_value < ESTIMATE_P_VALUE_LEAST ? ": none of the causes explains them" : "");
  else
    snprintf(title, sizeof title, "What codes and complaint imply");
  picture_text(script, "title_text", title);
  picture_text(script, "engine_text", e->problem.engine->title);
  picture_number(script, "film_probability", e->film_probability);
  picture_number(script, "row_height", ROW_HEIGHT);
  send_film(script, e);
  send_bars(script, e);
  send_readings(script, findings);
  return STATUS_OK;
}

enum status picture_estimate_draw(const struct estimate_findings *findings, const struct picture_target *target,
                                  struct error *error) {
  struct picture_script script;
  const enum status status = make_script(findings, target, &script, error);
  return status == STATUS_OK ? picture_finish(&script, error) : status;
}

enum status picture_estimate_draw_into(const struct estimate_findings *findings, const struct picture_target *target,
                                       FILE *stream, struct error *error) {
  struct picture_script script;
  const enum status status = make_script(findings, target, &script, error);
  return status == STATUS_OK ? picture_finish_into(&script, stream, error) : status;
}
