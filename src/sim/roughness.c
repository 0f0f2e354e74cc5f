#include "sim/roughness.h"

#include <math.h>

enum { LANES = 4 }; // sums that grow side by side, so that one need not wait for the other

struct sums {
  double sum[LANES], squares[LANES], slope[LANES]; // of value, value^2 and x * value
};

/* Adds a stretch of the ring, whose x begins at first_x. */
static void add(struct sums *s, const double *values, long count, double base, double first_x) {
  long i = 0;
  for (; i + LANES <= count; i += LANES)
    for (int lane = 0; lane < LANES; lane++) {
      const double value = values[i + lane] - base;
      s->sum[lane] += value;
      s->squares[lane] += value * value;
      s->slope[lane] += (first_x + (double)(i + lane)) * value;
    }
  for (; i < count; i++) {
    const double value = values[i] - base;
    s->sum[0] += value;
    s->squares[0] += value * value;
    s->slope[0] += (first_x + (double)i) * value;
  }
}

static double total(const double lanes[LANES]) { return (lanes[0] + lanes[1]) + (lanes[2] + lanes[3]); }

double roughness_rad_s(const double *window, long size, long written) {
  const long count = written < size ? written : size;
  if (count < 3) return 0.0;
  const double middle = 0.5 * (double)(count - 1);
  const double base = window[(written - 1) % size]; // near the mean: keeps the sums small
  const long first = (written - count) % size;
  const long before_wrap = count < size - first ? count : size - first;
  struct sums sums = {0};
  add(&sums, window + first, before_wrap, base, -middle);
  add(&sums, window, count - before_wrap, base, (double)before_wrap - middle);
  const double n = (double)count, sum = total(sums.sum), slope = total(sums.slope);
  const double spread = n * (n * n - 1.0) / 12.0; // sum of x^2 over count whole steps round zero
  const double rest = total(sums.squares) - sum * sum / n - slope * slope / spread;
  return sqrt(fmax(rest, 0.0) / (n - 2.0));
}
