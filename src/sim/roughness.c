#include "sim/roughness.h"

#include <math.h>
#include <stdbool.h>

/* Of some speeds in a row, over the first of them. */
static struct roughness_sums sums_of(const double *speeds, long count) {
  struct roughness_sums s = {0.0, 0.0, 0.0};
  for (long i = 0; i < count; i++) {
    const double value = speeds[i] - speeds[0];
    s.sum += value;
    s.squares += value * value;
    s.slope += (double)i * value;
  }
  return s;
}

/* Takes in the sums of `count` speeds over `base`, seen over another base by `lift`, their first at x. */
static void join(struct roughness_sums *all, const struct roughness_sums *part, long count, double lift, double x) {
  const double n = (double)count, sum = part->sum + n * lift;
  all->sum += sum;
  all->squares += part->squares + lift * (2.0 * part->sum + n * lift);
  all->slope += x * sum + part->slope + 0.5 * n * (n - 1.0) * lift;
}

void roughness_clear(struct roughness *roughness) { roughness->written = 0; }

void roughness_add(struct roughness *roughness, double speed_rad_s) {
  const long place = roughness->written++ % ROUGHNESS_WINDOW;
  roughness->speeds_rad_s[place] = speed_rad_s;
  const long block = place / ROUGHNESS_BLOCK;
  if (place % ROUGHNESS_BLOCK == ROUGHNESS_BLOCK - 1)
    roughness->blocks[block] = sums_of(roughness->speeds_rad_s + block * ROUGHNESS_BLOCK, ROUGHNESS_BLOCK);
}

/* Sums over the ring from the oldest speed on, over the newest, x from -middle: whole blocks as they are, and what the newest block
 * leaves of the oldest. */
double roughness_rad_s(const struct roughness *roughness) {
  const long written = roughness->written, count = written < ROUGHNESS_WINDOW ? written : ROUGHNESS_WINDOW;
  if (count < 3) return 0.0;
  const double middle = 0.5 * (double)(count - 1);
  const double base = roughness->speeds_rad_s[(written - 1) % ROUGHNESS_WINDOW]; // near the mean: keeps the sums small
  struct roughness_sums all = {0.0, 0.0, 0.0};
  for (long done = 0; done < count;) {
    const long place = (written - count + done) % ROUGHNESS_WINDOW, in_block = place % ROUGHNESS_BLOCK;
    const double *speeds = roughness->speeds_rad_s + place;
    const long to_end = ROUGHNESS_BLOCK - in_block, take = to_end < count - done ? to_end : count - done;
    const bool whole = take == ROUGHNESS_BLOCK;
    const struct roughness_sums part = whole ? roughness->blocks[place / ROUGHNESS_BLOCK] : sums_of(speeds, take);
    join(&all, &part, take, speeds[0] - base, (double)done - middle);
    done += take;
  }
  const double n = (double)count;
  const double spread = n * (n * n - 1.0) / 12.0; // sum of x^2 over count whole steps round zero
  const double rest = all.squares - all.sum * all.sum / n - all.slope * all.slope / spread;
  return sqrt(fmax(rest, 0.0) / (n - 2.0));
}
