/* "Did you mean ...?": the candidate that a mistyped word is nearest to.
 *
 * Distance: the fewest letters inserted, left out, replaced, or swapped with their neighbour, no letter
 * touched twice (optimal string alignment: F. J. Damerau, "A technique for computer detection and correction
 * of spelling errors", Comm. ACM 7 (1964) 171-176; V. I. Levenshtein, Soviet Physics Doklady 10 (1966)
 * 707-710). */
#ifndef BASE_NEAR_MISS_H
#define BASE_NEAR_MISS_H

#include <stddef.h>

enum { NEAR_MISS_WORD_MAX = 64 }; // bytes; every key is shorter, and nothing longer is compared

/* The distance between two words, neither longer than NEAR_MISS_WORD_MAX. */
size_t near_miss_distance(const char *a, const char *b);

/* The nearest candidate, the first of several equals; NULL if none is within max(2, length of word / 3), or
 * if word is too long to compare. A word that lacks only the last two letters of a candidate, or
 * the unit at its end (film of film_um), is taken for its abbreviation, before all others. A candidate that shares no letter in place with the word is never near. */
const char *near_miss_best(const char *word, const char *const *candidates, size_t count);

#endif
