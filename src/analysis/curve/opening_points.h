/* From blocks to the opening curve: open area at some dozens of positions, each with its error, and at idle.
 *
 * Blocks are put together by position, some 0.4 % of its scale wide where the curve bends and wider above. Within a group a robust mean
 * (Huber's, blocks that disagree count less); its error from the scatter of the blocks, widened by what neighbours in time have in
 * common. A position read in steps (8 bits: 0.39 %) may stand anywhere within one. */
#ifndef ANALYSIS_CURVE_OPENING_POINTS_H
#define ANALYSIS_CURVE_OPENING_POINTS_H

#include "analysis/curve/opening_blocks.h"

enum { OPENING_POINT_MAX = 40 };

struct opening_point {
  double position_ratio, position_sd_ratio;
  double cda_m2;                            // all that lets air in, the idle valve's steps taken off
  double sd_m2;                             // its own error; position's not in it
  double per_doubt_m2[OPENING_DOUBT_COUNT]; // what one standard deviation of each common doubt does to it
  double speed_rad_s, pressure_ratio, steps;
  size_t block_count;
};

struct opening_points {
  size_t count;
  struct opening_point points[OPENING_POINT_MAX]; // by position
  bool has_idle;
  struct opening_point idle;
  double step_m2, step_sd_m2; // what a step of the idle valve opens; 0 and 0 without one
  enum opening_air air;
  double quantum_ratio, quantum_pa, length_s, age_s; // as in struct opening_blocks
  double ambient_sd_ratio;
  size_t block_count, unsteady_count;
  bool intake_assumed;
};

/* Fills it from a log: what opening_blocks_find() says. */
MUST_CHECK enum status opening_points_find(const struct recording *log, const struct opening_setting *setting,
                                           struct opening_points *points, struct error *error);

/* Slope of the curve where a point stands, m2 per unit of position; from its neighbours, 0 if it has none. */
double opening_points_slope_m2(const struct opening_points *points, double position_ratio);

/* A point's own error with that of its position. */
double opening_points_sd_m2(const struct opening_points *points, const struct opening_point *point);

#endif
