/* What somebody did on a case, what he answered, and the mark for it.
 *
 *   cause     40   right, and borne out by his own readings: right alone is worth a quarter of it
 *   work      20   what his work comes to on this car, against the best there is; halved where a part is bought or something cleaned
 *                  that no reading of his bears out
 *   minutes   20   against the best plan: all up to its minutes, none from three times as many; in the share of the points for the cause
 *   severity  10   against the range of the cause: all within a tenth of it, none from half of it
 *   safety    10   share of the steps with cautions that were read before
 *
 * "Not told" is right where the best plan ends there too. All figures: our own choice. */
#ifndef ANALYSIS_PRACTICE_PRACTICE_MARK_H
#define ANALYSIS_PRACTICE_PRACTICE_MARK_H

#include "analysis/practice/practice_plan.h"

enum { PRACTICE_FORMAT = 1, PRACTICE_DONE_MAX = 60, PRACTICE_NOTE_MAX = 40, PRACTICE_TEXT_SIZE = 200 };

/* One test that was done: whether its cautions had been read. */
struct practice_done {
  char test[ESTIMATE_NAME_SIZE];
  bool careful;
};

struct practice_answer {
  bool given, not_told;
  size_t count;
  enum cause cause[ESTIMATE_CAUSE_MAX];
  double severity[ESTIMATE_CAUSE_MAX]; // unit of the cause's condition; NaN: not given
  bool search;                         // by hand, from end to end
  uint64_t remedies;                   // none, and no search: the car is handed back
  bool careful;                        // the cautions of the work had been read
};

/* All that is kept of a case. */
struct practice_record {
  char engine[PRACTICE_TEXT_SIZE];
  int level;
  uint64_t seed;
  unsigned read; // bits of cautions that were shown
  size_t done_count;
  struct practice_done done[PRACTICE_DONE_MAX];
  size_t note_count;
  char notes[PRACTICE_NOTE_MAX][PRACTICE_TEXT_SIZE];
  char words[3][PRACTICE_TEXT_SIZE]; // cause, severity and work as they were answered; empty: not yet
  bool careful;                      // when answering
};

/* CAUSE: names with + between them, nothing, not_told. SEVERITY: a number for each, or -. WORK: remedies with + between them, search,
 * hand_back. STATUS_USAGE, with what may have been meant. */
MUST_CHECK enum status practice_answer_read(const struct engine *engine, const char *const words[3],
                                            struct practice_answer *answer, struct error *error);

/* Cautions before the work of an answer: bits. */
unsigned practice_answer_cautions(const struct engine *engine, const struct practice_answer *answer);

enum practice_part { PRACTICE_CAUSE, PRACTICE_WORK, PRACTICE_MINUTES, PRACTICE_SEVERITY, PRACTICE_SAFETY, PRACTICE_PART_COUNT };
extern const struct practice_part_row {
  const char *name;
  double most;
} practice_mark_parts[PRACTICE_PART_COUNT];

struct practice_mark {
  double points[PRACTICE_PART_COUNT], total; // of 100
  double minutes;                            // spent
  size_t count;
  struct practice_step steps[PRACTICE_DONE_MAX]; // what was done, and what each was worth
  size_t settled;                                // the test after which what is hidden was told and stayed so; count: none
  size_t telling; // of that test: the place of the reading that tells most; PRACTICE_SHOWN_MAX: a look
  size_t rival;   // hypothesis that it tells most against
  double read, truth_mean, truth_sd, rival_mean, rival_sd; // of that reading
  double backed;                                           // probability of the answer, by his own readings
  size_t truth;                                            // hypothesis
  struct practice_plan best;
};

/* What a test that was done showed, done counting from the first; false if the engine has no such test. */
bool practice_mark_shown(const struct practice_case *drawn, const struct practice_tests *tests,
                         const struct practice_record *record, size_t done, struct practice_result *result);

/* STATUS_NO_MEMORY. */
MUST_CHECK enum status practice_mark_find(const struct practice_bank *bank, const struct practice_case *drawn,
                                          const struct practice_record *record, const struct practice_answer *answer,
                                          struct practice_mark *mark, struct error *error);

#endif
