#include "base/near_miss.h"

#include <assert.h>
#include <stdbool.h>
#include <string.h>

enum { UNIT_MAX = 4 }; // letters of the longest unit at the end of a name: inhg

static size_t smaller(size_t a, size_t b) { return a < b ? a : b; }
static size_t larger(size_t a, size_t b) { return a > b ? a : b; }

/* Row i of the table holds the distances of the first i letters of a to the first j letters of b; three rows
 * serve. */
size_t near_miss_distance(const char *a, const char *b) {
  const size_t a_length = strlen(a), b_length = strlen(b);
  assert(a_length <= NEAR_MISS_WORD_MAX && b_length <= NEAR_MISS_WORD_MAX);
  size_t rows[3][NEAR_MISS_WORD_MAX + 1];
  for (size_t j = 0; j <= b_length; j++) rows[0][j] = j;
  for (size_t i = 1; i <= a_length; i++) {
    size_t *row = rows[i % 3];
    const size_t *above = rows[(i + 2) % 3], *two_above = rows[(i + 1) % 3];
    row[0] = i;
    for (size_t j = 1; j <= b_length; j++) {
      const size_t replaced = above[j - 1] + (a[i - 1] == b[j - 1] ? 0 : 1);
      row[j] = smaller(replaced, smaller(above[j], row[j - 1]) + 1);
      const bool swapped = i > 1 && j > 1 && a[i - 1] == b[j - 2] && a[i - 2] == b[j - 1];
      if (swapped) row[j] = smaller(row[j], two_above[j - 2] + 1);
    }
  }
  return rows[a_length % 3][b_length];
}

/* An abbreviation is the nearest thing to its word. */
static bool begins_with(const char *candidate, const char *word) { return *word && strncmp(candidate, word, strlen(word)) == 0; }

/* A name that ends in its unit, without the unit: film of film_um. */
static bool lacks_unit(const char *candidate, const char *word) {
  const size_t length = strlen(word);
  if (length < 2 || strncmp(candidate, word, length) != 0 || candidate[length] != '_') return false;
  const char *unit = candidate + length + 1;
  return *unit && strlen(unit) <= UNIT_MAX && !strchr(unit, '_');
}

const char *near_miss_best(const char *word, const char *const *candidates, size_t count) {
  const size_t length = strlen(word);
  if (length > NEAR_MISS_WORD_MAX) return NULL;
  const char *best = NULL;
  size_t best_distance = larger(2, length / 3) + 1;
  for (size_t i = 0; i < count; i++) {
    const size_t candidate_length = strlen(candidates[i]);
    if (candidate_length > NEAR_MISS_WORD_MAX) continue;
    const bool short_form =
        (begins_with(candidates[i], word) && candidate_length <= length + 2) || lacks_unit(candidates[i], word);
    const size_t distance = short_form ? 0 : near_miss_distance(word, candidates[i]);
    if (distance >= best_distance || distance >= larger(length, candidate_length)) continue;
    best = candidates[i];
    best_distance = distance;
  }
  return best;
}
