#include "analysis/curve/opening_points.h"

#include "base/attributes.h"
#include "base/units.h"

#include <math.h>
#include <stdlib.h>

#define GROUP_RATIO       0.002  // half a step of an 8-bit reading, or one step if it has steps
#define REST_RATIO        0.001  // an idling blade stays within,
#define REST_MOST_1_S     0.0003 // and moves no faster: a foot that begins to press is no idle
#define GROUP_GROWTH      0.04   // of the distance from the lowest: higher up the curve is straight
#define HUBER_SDS         1.5
#define MAD_TO_SD         1.4826
#define FLOOR_RATIO       0.006  // of the area: what blocks have in common and scatter does not show; invented
#define POSITION_SD_RATIO 0.0002 // noise and slack of a potentiometer; invented
#define AGE_SHARE         0.3    // of the time between two askings, by which one value may be older than another in the mean
#define LONELY_RATIO      0.02   // a single block where no group shows any scatter
#define HELD_SHARE        0.3    // of a quantum: groups that scatter by less stood in one step
// Canister purge, which comes in behind the air-flow sensor and is in what manifold pressure tells: 0.19 mm2 per 10 % of duty on a real car
// (docs/curve.md), 0 to 30 % at idle.
#define PURGE_SD_M2 0.2e-6
// What a step of an idle valve opens: a stepper's pintle of 255 steps passes some 15 to 25 mm2 in all. 0.08 mm2 in docs/physics.md.
#define STEP_M2          0.08e-6
#define STEP_SD_M2       0.04e-6
#define STEP_RANGE_LEAST 15.0 // a valve that moved less tells nothing: position within its step of reading moves with it
#define STEP_NOISE_RATIO 0.01 // of a block's area, at least
enum { HUBER_ROUNDS = 4 };

static double square(double x) { return x * x; }

/* ---- Medians ---- */

static int compare_doubles(const void *a, const void *b) {
  const double left = *(const double *)a, right = *(const double *)b;
  return (left > right) - (left < right);
}

static double median(double *values, size_t count) {
  qsort(values, count, sizeof *values, compare_doubles);
  return count % 2 ? values[count / 2] : 0.5 * (values[count / 2 - 1] + values[count / 2]);
}

/* ---- The idle valve ---- */

/* A reading in steps may flicker by one from block to block. */
static bool rests(const struct opening_blocks *blocks, const struct opening_block *block) {
  const double flicker_1_s = 1.05 * blocks->quantum_ratio / blocks->length_s;
  return block->idle && fabs(block->position_1_s) < fmax(REST_MOST_1_S, flicker_1_s);
}

/* Idle's blocks near the median of their positions into `some`; how many. scratch has room for a number a block. */
static size_t blocks_at_rest(const struct opening_blocks *blocks, double *scratch, const struct opening_block **some) {
  size_t count = 0, near = 0;
  for (size_t i = 0; i < blocks->count; i++)
    if (rests(blocks, &blocks->blocks[i])) scratch[count++] = blocks->blocks[i].position_ratio;
  if (count == 0) return 0;
  const double middle = median(scratch, count);
  const double reach = fmax(REST_RATIO, 0.6 * blocks->quantum_ratio);
  for (size_t i = 0; i < blocks->count; i++)
    if (rests(blocks, &blocks->blocks[i]) && fabs(blocks->blocks[i].position_ratio - middle) <= reach)
      some[near++] = &blocks->blocks[i];
  return near;
}

/* Least squares of area over steps with the blade at rest, and the prior above. */
static void find_step(const struct opening_blocks *blocks, double *scratch, const struct opening_block **some,
                      struct opening_points *points) {
  if (!blocks->has_steps) return;
  const size_t count = blocks_at_rest(blocks, scratch, some);
  double x = 0.0, y = 0.0, xx = 0.0, xy = 0.0, yy = 0.0;
  for (size_t i = 0; i < count; i++) {
    x += some[i]->steps / (double)count;
    y += some[i]->cda_m2 / (double)count;
  }
  for (size_t i = 0; i < count; i++) {
    xx += square(some[i]->steps - x);
    xy += (some[i]->steps - x) * (some[i]->cda_m2 - y);
    yy += square(some[i]->cda_m2 - y);
  }
  double least = INFINITY, most = -INFINITY;
  for (size_t i = 0; i < count; i++) {
    least = fmin(least, some[i]->steps);
    most = fmax(most, some[i]->steps);
  }
  const bool tells = count > 3 && most - least > STEP_RANGE_LEAST;
  const double rest = count > 3 && xx > 0.0 ? sqrt(fmax(yy - xy * xy / xx, 0.0) / (double)(count - 2)) : 0.0;
  const double noise = fmax(STEP_NOISE_RATIO * y, rest);
  const double weight = tells ? xx / square(noise) : 0.0, prior = 1.0 / square(STEP_SD_M2);
  points->step_m2 = ((tells ? xy / square(noise) : 0.0) + prior * STEP_M2) / (weight + prior);
  points->step_sd_m2 = 1.0 / sqrt(weight + prior);
}

static void take_off_steps(struct opening_blocks *blocks, const struct opening_points *points) {
  for (size_t i = 0; i < blocks->count; i++) {
    struct opening_block *block = &blocks->blocks[i];
    block->cda_m2 -= points->step_m2 * block->steps;
    block->per_doubt_m2[OPENING_DOUBT_valve] = -points->step_sd_m2 * block->steps;
  }
}

/* ---- A group ---- */

/* Blocks of one group with what is worked out of them; scratch for as many numbers. */
struct group {
  const struct opening_block **blocks;
  size_t count;
  double slope_m2; // of the curve there
  double *scratch;
};

static double level_of(const struct group *g, size_t i, double position) {
  return g->blocks[i]->cda_m2 - g->slope_m2 * (g->blocks[i]->position_ratio - position);
}

static double scale_of(const struct group *g, double position, double middle) {
  for (size_t i = 0; i < g->count; i++) g->scratch[i] = fabs(level_of(g, i, position) - middle);
  return MAD_TO_SD * median(g->scratch, g->count);
}

/* How much wider a mean is because neighbours in time are alike: sqrt((1 + r) / (1 - r)), r of lag one. */
static double widening(const struct group *g, double position, double middle, double block_s) {
  double same = 0.0, next = 0.0;
  size_t pairs = 0;
  for (size_t i = 0; i + 1 < g->count; i++) {
    if (g->blocks[i + 1]->time_s - g->blocks[i]->time_s > 1.5 * block_s) continue;
    const double one = level_of(g, i, position) - middle, other = level_of(g, i + 1, position) - middle;
    same += 0.5 * (one * one + other * other);
    next += one * other;
    pairs++;
  }
  const double r = pairs >= 4 && same > 0.0 ? fmin(fmax(next / same, 0.0), 0.9) : 0.3;
  return sqrt((1.0 + r) / (1.0 - r));
}

static void set_means(const struct group *g, struct opening_point *p) {
  *p = (struct opening_point){.block_count = g->count};
  const double n = (double)g->count;
  for (size_t i = 0; i < g->count; i++) {
    const struct opening_block *b = g->blocks[i];
    p->position_ratio += b->position_ratio / n;
    p->speed_rad_s += b->speed_rad_s / n;
    p->pressure_ratio += b->pressure_ratio / n;
    p->steps += b->steps / n;
    for (int k = 0; k < OPENING_DOUBT_COUNT; k++) p->per_doubt_m2[k] += b->per_doubt_m2[k] / n;
  }
}

/* Robust mean and scatter; g's blocks in order of time. The scatter of a single block: NAN. */
static void set_area(const struct group *g, const struct opening_points *points, struct opening_point *p, double *scatter_m2) {
  for (size_t i = 0; i < g->count; i++) g->scratch[i] = level_of(g, i, p->position_ratio);
  double middle = median(g->scratch, g->count);
  const double floor_m2 = FLOOR_RATIO * middle;
  const double scale = fmax(g->count > 2 ? scale_of(g, p->position_ratio, middle) : 0.0, 0.3 * floor_m2);
  for (int round = 0; round < HUBER_ROUNDS && g->count > 2; round++) {
    double weights = 0.0, sum = 0.0;
    for (size_t i = 0; i < g->count; i++) {
      const double off = fabs(level_of(g, i, p->position_ratio) - middle);
      const double weight = off > HUBER_SDS * scale ? HUBER_SDS * scale / off : 1.0;
      weights += weight;
      sum += weight * level_of(g, i, p->position_ratio);
    }
    middle = sum / weights;
  }
  p->cda_m2 = middle;
  *scatter_m2 = g->count > 2 ? scale : NAN;
  const double wide = g->count > 2 ? widening(g, p->position_ratio, middle, points->length_s) : 1.0;
  const double of_blocks = g->count > 2 ? scale * wide / sqrt((double)g->count) : NAN;
  const double purge = points->air == OPENING_AIR_PRESSURE ? PURGE_SD_M2 : 0.0;
  // pressure may stand anywhere within a step of its reading
  const double of_step = fabs(p->per_doubt_m2[OPENING_DOUBT_offset]) * OPENING_BLOCKS_FILLING_RATIO /
                         OPENING_BLOCKS_OFFSET_SD_PA * points->quantum_pa / sqrt(12.0);
  p->sd_m2 = sqrt(square(of_step) + (isfinite(of_blocks) ? square(of_blocks) : 0.0) + square(floor_m2) + square(purge));
}

static void set_position_error(const struct group *g, const struct opening_points *points, struct opening_point *p) {
  double variance = 0.0;
  for (size_t i = 0; i < g->count; i++) variance += square(g->blocks[i]->position_ratio - p->position_ratio) / (double)g->count;
  const double within = points->quantum_ratio / sqrt(12.0);
  const bool held = sqrt(variance) < HELD_SHARE * points->quantum_ratio;
  double rate_1_s = 0.0; // position and air are not asked for at the same moment
  for (size_t i = 0; i < g->count; i++) rate_1_s += g->blocks[i]->position_1_s / (double)g->count;
  p->position_sd_ratio =
      sqrt(square(AGE_SHARE * points->age_s * rate_1_s) + square(held ? within : 0.5 * within) + square(POSITION_SD_RATIO));
}

/* ---- Groups ---- */

static int compare_positions(const void *a, const void *b) {
  const struct opening_block *left = *(const struct opening_block *const *)a, *right = *(const struct opening_block *const *)b;
  const double d = left->position_ratio - right->position_ratio;
  return d != 0.0 ? (d > 0.0) - (d < 0.0) : (left->time_s > right->time_s) - (left->time_s < right->time_s);
}

static int compare_times(const void *a, const void *b) {
  const struct opening_block *left = *(const struct opening_block *const *)a, *right = *(const struct opening_block *const *)b;
  return (left->time_s > right->time_s) - (left->time_s < right->time_s);
}

/* How wide the first group is, and where the group that begins at `first` ends. */
static double least_width(const struct opening_points *points) { return fmax(GROUP_RATIO, points->quantum_ratio); }

static size_t group_end(const struct opening_block *const *by_position, size_t count, size_t first, double width_ratio) {
  const double start = by_position[first]->position_ratio;
  const double width = width_ratio + GROUP_GROWTH * (start - by_position[0]->position_ratio) * width_ratio / GROUP_RATIO;
  size_t end = first + 1;
  while (end < count && by_position[end]->position_ratio - start < 0.95 * width) end++;
  return end;
}

static size_t group_count(const struct opening_block *const *by_position, size_t count, double width_ratio) {
  size_t groups = 0;
  for (size_t first = 0; first < count; first = group_end(by_position, count, first, width_ratio)) groups++;
  return groups;
}

/* Blocks of no scatter of their own get the others'. */
static void fill_scatter(struct opening_points *points, const double *scatter_m2) {
  double ratios[OPENING_POINT_MAX];
  size_t known = 0;
  for (size_t i = 0; i < points->count; i++)
    if (isfinite(scatter_m2[i])) ratios[known++] = scatter_m2[i] / points->points[i].cda_m2;
  const double ratio = known > 0 ? fmax(median(ratios, known), FLOOR_RATIO) : LONELY_RATIO;
  for (size_t i = 0; i < points->count; i++) {
    struct opening_point *p = &points->points[i];
    if (!isfinite(scatter_m2[i])) p->sd_m2 = sqrt(square(p->sd_m2) + square(ratio * p->cda_m2) / (double)p->block_count);
  }
}

/* One pass over all groups; slopes from the curve that was found before, none at first. */
static void group_blocks(const struct opening_blocks *blocks, const struct opening_block **by_position, double *scratch,
                         const struct opening_points *before, struct opening_points *points) {
  double scatter[OPENING_POINT_MAX], width = least_width(points);
  qsort(by_position, blocks->count, sizeof *by_position, compare_positions);
  while (group_count(by_position, blocks->count, width) > OPENING_POINT_MAX) width *= 1.25;
  points->count = 0;
  for (size_t first = 0, end; first < blocks->count; first = end) {
    end = group_end(by_position, blocks->count, first, width);
    struct group g = {by_position + first, end - first, 0.0, scratch};
    struct opening_point *p = &points->points[points->count];
    set_means(&g, p);
    if (before) g.slope_m2 = opening_points_slope_m2(before, p->position_ratio);
    qsort(g.blocks, g.count, sizeof *g.blocks, compare_times);
    set_area(&g, points, p, &scatter[points->count++]);
    set_position_error(&g, points, p);
  }
  fill_scatter(points, scatter);
}

/* Idle is a group of its own: of what the engine did most of the time with the foot off. */
static void find_idle(const struct opening_blocks *blocks, const struct opening_block **some, double *scratch,
                      struct opening_points *points) {
  struct group g = {some, blocks_at_rest(blocks, scratch, some), 0.0, scratch};
  if (g.count == 0) return;
  g.slope_m2 = opening_points_slope_m2(points, some[0]->position_ratio);
  double scatter;
  set_means(&g, &points->idle);
  set_area(&g, points, &points->idle, &scatter);
  set_position_error(&g, points, &points->idle);
  if (!isfinite(scatter)) points->idle.sd_m2 = sqrt(square(points->idle.sd_m2) + square(LONELY_RATIO * points->idle.cda_m2));
  for (size_t i = 0; i < g.count; i++) scratch[i] = g.blocks[i]->steps;
  points->idle.steps = median(scratch, g.count); // not with the compressor on
  points->has_idle = true;
}

enum status opening_points_find(const struct recording *log, const struct opening_setting *setting, struct opening_points *points,
                                struct error *error) {
  *points = (struct opening_points){0};
  struct opening_blocks blocks;
  enum status status = opening_blocks_find(log, setting, &blocks, error);
  const struct opening_block **some = NULL;
  double *scratch = NULL;
  if (status == STATUS_OK) {
    some = malloc(blocks.count * sizeof *some);
    scratch = malloc(blocks.count * sizeof *scratch);
    if (!some || !scratch) status = error_set(error, STATUS_NO_MEMORY, "out of memory for the points of a curve");
  }
  if (status == STATUS_OK) {
    points->air = blocks.air;
    points->quantum_ratio = blocks.quantum_ratio;
    points->quantum_pa = blocks.quantum_pa;
    points->length_s = blocks.length_s;
    points->age_s = blocks.age_s;
    points->ambient_sd_ratio = setting->ambient_sd_pa / setting->ambient_pa;
    points->block_count = blocks.count;
    points->unsteady_count = blocks.unsteady_count;
    points->intake_assumed = blocks.intake_assumed && !isfinite(setting->intake_k);
    find_step(&blocks, scratch, some, points);
    take_off_steps(&blocks, points);
    for (size_t i = 0; i < blocks.count; i++) some[i] = &blocks.blocks[i];
    group_blocks(&blocks, some, scratch, NULL, points);
    const struct opening_points rough = *points;
    group_blocks(&blocks, some, scratch, &rough, points);
    find_idle(&blocks, some, scratch, points);
  }
  free(some);
  free(scratch);
  opening_blocks_destroy(&blocks);
  return status;
}

double opening_points_slope_m2(const struct opening_points *points, double position_ratio) {
  // the three points round it, by least squares: two that stand close together tell no slope
  const size_t wanted = 3;
  if (points->count < 2) return 0.0;
  size_t first = 0;
  while (first + wanted < points->count && fabs(points->points[first + wanted].position_ratio - position_ratio) <
                                               fabs(points->points[first].position_ratio - position_ratio))
    first++;
  const size_t last = first + wanted < points->count ? first + wanted : points->count;
  double n = 0.0, x = 0.0, y = 0.0, xx = 0.0, xy = 0.0;
  for (size_t i = first; i < last; i++) {
    n += 1.0;
    x += points->points[i].position_ratio;
    y += points->points[i].cda_m2;
  }
  for (size_t i = first; i < last; i++) {
    const double away = points->points[i].position_ratio - x / n;
    xx += away * away;
    xy += away * (points->points[i].cda_m2 - y / n);
  }
  return xx > 0.0 ? fmax(xy / xx, 0.0) : 0.0;
}

double opening_points_sd_m2(const struct opening_points *points, const struct opening_point *point) {
  return sqrt(square(point->sd_m2) + square(opening_points_slope_m2(points, point->position_ratio) * point->position_sd_ratio));
}
