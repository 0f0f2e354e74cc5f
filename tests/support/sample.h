/* Tests that would take long run a seeded sample of their cases, and all of them with the argument `all` (tests/run long). */
#ifndef SUPPORT_SAMPLE_H
#define SUPPORT_SAMPLE_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

/* True if the whole is asked for. */
bool sample_is_whole(int argc, char **argv);

/* Whether case `index` is in the sample: of each `one_in` that follow one another the seed draws one, so that every part of a table
 * has its share. whole: it is. */
bool sample_takes(bool whole, uint64_t seed, size_t index, size_t one_in);

#endif
