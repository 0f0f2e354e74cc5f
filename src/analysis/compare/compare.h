/* Did the repair work? Readings of a car before and after it, held against each other.
 *
 *   change = (after - before) - (model after - model before)      the model's part only where there is a file: what day, not repair, did
 *   variance = sd_before^2 + sd_after^2 + day_before^2 + day_after^2 + 2 load^2 + unequal^2
 *
 * sd: of each mean, rounding included (log), or of a single reading (list).
 *
 * Two logs of one untouched car differ by more than their standard errors: `day` is by how much a warm car's reading differs from one day
 * to another (compare_rows.c), `unequal` what unequal conditions may have done that nobody corrected. The verdict asks three things of the
 * changes: is what was wrong gone (speed off its target, trims, idle air added), does air come in more easily (position, steps), and is
 * something new wrong. What an implied film lets expect is a fourth, where an engine is known. Limits: on a car metered by pressure an air
 * leak that came with the repair looks like cleaning; the report says so. */
#ifndef ANALYSIS_COMPARE_COMPARE_H
#define ANALYSIS_COMPARE_COMPARE_H

#include "analysis/estimate/estimate_after.h"

/* VERDICT(name, exit code of the program, what it says) */
// clang-format off
#define COMPARE_VERDICT_LIST(VERDICT)                                                                             \
  VERDICT(repaired, 0, "Repaired")                                                                                \
  VERDICT(improved_relearn_open, 0, "Improved, relearn still open")                                               \
  VERDICT(improved, 1, "Improved; that it is repaired is not shown")                                              \
  VERDICT(no_effect, 1, "No effect")                                                                              \
  VERDICT(worse, 1, "Worse")                                                                                      \
  VERDICT(not_told, 1, "Not told by these readings")
// clang-format on

enum compare_verdict {
#define VERDICT(name, code, text) COMPARE_VERDICT_##name,
  COMPARE_VERDICT_LIST(VERDICT)
#undef VERDICT
      COMPARE_VERDICT_COUNT
};

struct compare_verdict_row {
  const char *name;
  int exit_code;
  const char *text;
};
extern const struct compare_verdict_row compare_verdict_rows[COMPARE_VERDICT_COUNT];

/* One of the two moments. A reading's sd is that of its mean or, of a list, of the single reading. */
struct compare_side {
  struct estimate_readings readings;
  double held_rpm;    // mean speed of a log while 2500 rpm were held; 0: not known
  bool compressor_on; // a log that has the compressor running in what is taken for idle
};

/* What an engine's file or card lets say; zeroed, and `known` false, without. */
struct compare_model {
  bool known;
  double target_rpm;                                                    // warm idle, nothing on; NAN: not known
  double displacement_l;                                                // for messages
  double day_change[ESTIMATE_CONDITION_COUNT][ESTIMATE_QUANTITY_COUNT]; // model after less before, the days alone; NAN: not known
  bool explained;                                     // some cause explains the readings before; else what follows is not used
  double film_probability;                            // before
  double lost_ratio, lost_low_ratio, lost_high_ratio; // share of idle air area that the film took; NAN
  struct estimate_after after;                        // what cleaning lets expect
};

enum { COMPARE_EFFECT_MAX = 64, COMPARE_WORDS_MAX = 12, COMPARE_WORDS_SIZE = 320 };

/* What a reading did. All in the unit of the name. */
struct compare_effect {
  enum estimate_condition condition;
  enum estimate_quantity quantity;
  double before, after;
  double change, low, high; // corrected; 90 %
  double sd;                // of the change
  double corrected;         // taken off the plain difference; 0: nothing
  double load;              // sd from electrical loads that nobody logs, in sd
  double unequal;           // sd from unequal conditions that nobody corrected; 0: none
};

struct compare_words {
  size_t count;
  char text[COMPARE_WORDS_MAX][COMPARE_WORDS_SIZE];
};

/* What the outlook let expect, and whether it came. */
struct compare_expected {
  enum estimate_quantity quantity;
  double low, high, after; // widened by a day
  bool met;
};

/* Some 15 kB. */
struct compare_result {
  enum compare_verdict verdict;
  bool other_car; // the two are not of one car
  size_t effect_count;
  struct compare_effect effects[COMPARE_EFFECT_MAX]; // those that tell most first
  bool expects;                                      // a film was implied, so there is an outlook
  bool expects_stale;                                // it is held against the outlook of a car not yet relearned
  bool won_known;                                    // the three below tell something
  double won_ratio, won_low_ratio, won_high_ratio;   // share of what the film took that came back; 90 %
  size_t expected_count;
  struct compare_expected expected[ESTIMATE_AFTER_MAX];
  struct compare_words why, unequal, next; // the verdict's reasons; conditions; what to do
};

/* The effect of a reading, NULL if it was not read on both sides. */
const struct compare_effect *compare_effect_find(const struct compare_result *result, enum estimate_condition condition,
                                                 enum estimate_quantity quantity);

#endif
