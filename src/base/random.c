#include "base/random.h"

#include "base/units.h"

#include <math.h>

static uint64_t mix(uint64_t z) {
  z += 0x9e3779b97f4a7c15u;
  z = (z ^ (z >> 30)) * 0xbf58476d1ce4e5b9u;
  z = (z ^ (z >> 27)) * 0x94d049bb133111ebu;
  return z ^ (z >> 31);
}

double random_uniform(uint64_t seed, uint64_t stream, uint64_t index) {
  const uint64_t bits = mix(mix(mix(seed) ^ stream) ^ index);
  return ((double)(bits >> 11) + 0.5) * 0x1p-53;
}

double random_normal(uint64_t seed, uint64_t stream, uint64_t index) {
  const double u = random_uniform(seed, stream, 2 * index);
  const double v = random_uniform(seed, stream, 2 * index + 1);
  return sqrt(-2.0 * log(u)) * cos(2.0 * UNITS_PI * v);
}
