/* A 64-bit digest of bytes, to tell whether two things are the same and whether memory is as it was left. Not against anybody who
 * wants to deceive.
 *
 * FNV-1a (G. Fowler, L. C. Noll, K.-P. Vo; draft-eastlake-fnv) over words of eight bytes instead of single ones, with the high half
 * folded down after each, and the rest of less than eight as one word. */
#ifndef BASE_DIGEST_H
#define BASE_DIGEST_H

#include <stddef.h>
#include <stdint.h>

#define DIGEST_OF_NOTHING UINT64_C(0xcbf29ce484222325)

/* The digest of what stood before and these bytes. */
uint64_t digest_add(uint64_t digest, const void *bytes, size_t size);

#endif
