#include "sim/roughness.h"

#include <math.h>

double roughness_rad_s(const double *window, long size, long written) {
  const long count = written < size ? written : size;
  if (count < 3) return 0.0;
  const double middle = 0.5 * (double)(count - 1);
  const double base = window[(written - 1) % size]; // near the mean: keeps the sums small
  double sum = 0.0, squares = 0.0, slope = 0.0, spread = 0.0;
  const long first = (written - count) % size;
  const long before_wrap = count < size - first ? count : size - first;
  for (long i = 0; i < count; i++) {
    const double value = (i < before_wrap ? window[first + i] : window[i - before_wrap]) - base;
    const double x = (double)i - middle;
    sum += value;
    squares += value * value;
    slope += x * value;
  }
  // sum of x^2 over count whole steps round zero
  spread = (double)count * ((double)count * (double)count - 1.0) / 12.0;
  const double rest = squares - sum * sum / (double)count - slope * slope / spread;
  return sqrt(fmax(rest, 0.0) / (double)(count - 2));
}
