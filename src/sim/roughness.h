/* How unsteady the idle is: standard deviation of speed over a window, a slow drift taken off. */
#ifndef SIM_ROUGHNESS_H
#define SIM_ROUGHNESS_H

enum { ROUGHNESS_WINDOW = 1000, ROUGHNESS_BLOCK = 50, ROUGHNESS_BLOCK_COUNT = ROUGHNESS_WINDOW / ROUGHNESS_BLOCK };

/* The newest speeds of a run, and sums over whole blocks of them, which hang on nothing but their own speeds. */
struct roughness {
  double speeds_rad_s[ROUGHNESS_WINDOW]; // a ring
  struct roughness_sums {
    double sum, squares, slope; // of v, v^2 and i v; v: speed over the block's first, i: 0 at that
  } blocks[ROUGHNESS_BLOCK_COUNT];
  long written; // in all
};

void roughness_clear(struct roughness *roughness);
void roughness_add(struct roughness *roughness, double speed_rad_s);

/* Of the newest ROUGHNESS_WINDOW speeds, or as many as there are; a straight line is fitted and taken off, so that a droop or a run-up is
 * not called rough. 0 for fewer than three. */
double roughness_rad_s(const struct roughness *roughness);

#endif
