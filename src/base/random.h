/* Random numbers without a hidden state: the value is a function of seed, stream and index, so that a run can be
 * repeated, split over threads or restarted in the middle and gives the same bytes.
 *
 * Bits: the finaliser of SplitMix64 (G. L. Steele, D. Lea, C. H. Flood, "Fast splittable pseudorandom number
 * generators", OOPSLA 2014), applied to seed, stream and index in turn. */
#ifndef BASE_RANDOM_H
#define BASE_RANDOM_H

#include <stdint.h>

enum random_stream {
  RANDOM_STREAM_CYCLE_SCATTER = 1,
  RANDOM_STREAM_SENSOR = 2,
  RANDOM_STREAM_CASE = 3,
  RANDOM_STREAM_SPARK = 4,
  RANDOM_STREAM_LOG = 5
};

/* Uniform in the open interval (0, 1). */
double random_uniform(uint64_t seed, uint64_t stream, uint64_t index);

/* Standard normal, by Box and Muller. */
double random_normal(uint64_t seed, uint64_t stream, uint64_t index);

#endif
