#include "support/sample.h"

#include "base/random.h"

#include <string.h>

bool sample_is_whole(int argc, char **argv) { return argc > 1 && strcmp(argv[1], "all") == 0; }

bool sample_takes(bool whole, uint64_t seed, size_t index, size_t one_in) {
  const double drawn = random_uniform(seed, RANDOM_STREAM_CASE, index / one_in);
  return whole || index % one_in == (size_t)(drawn * (double)one_in);
}
