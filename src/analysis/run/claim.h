/* A sentence about a run that has been checked on the run before it is said.
 *
 * A claim is drafted: values are measured on rows of the recording, derived from each other, or taken from the engine file, the scenario
 * or an event, each under a name; predicates say what the words promise; and at last a template is filled:
 *
 *   claim_begin(draft, CLAIM_idle_drooped, CLAIM_PART_CHAIN, 8, from_s);
 *   claim_window(draft, from_s, to_s);
 *   claim_mean(draft, "speed", CHANNEL_speed_rpm, 0);
 *   claim_mean(draft, "target", CHANNEL_target_rpm, 0);
 *   claim_difference(draft, "short", "target", "speed", 0);
 *   claim_below(draft, "speed", "target", 5.0);
 *   claim_say(draft, "The idle stands at {speed} rpm, {short} below its target.");
 *
 * A number is printed only as a value in braces: a template with digits of its own is a mistake of ours (asserted). An empty window, a
 * value that is not finite or a predicate that does not hold, and the sentence is not said. What each kind promises stands in
 * claim_kinds.h. */
#ifndef ANALYSIS_RUN_CLAIM_H
#define ANALYSIS_RUN_CLAIM_H

#include "analysis/run/claim_kinds.h"
#include "analysis/run/claim_pair.h"
#include "sim/recording.h"

#include <stdbool.h>

enum claim_kind {
#define KIND(name, needs, text) CLAIM_##name,
  CLAIM_KIND_LIST(KIND)
#undef KIND
      CLAIM_KIND_COUNT
};

struct claim_kind_row {
  const char *name;
  const char *needs; // predicates that every claim of the kind carries, a blank between two
  const char *text;  // what it says and promises
};
extern const struct claim_kind_row claim_kind_rows[CLAIM_KIND_COUNT];

enum claim_part {
  CLAIM_PART_HEADLINE,
  CLAIM_PART_CHAIN,
  CLAIM_PART_SURPRISE,
  CLAIM_PART_CODE,
  CLAIM_PART_MORE,
  CLAIM_PART_COUNT
};
extern const char *const claim_part_names[CLAIM_PART_COUNT];

/* STATISTIC(name, what it is) */
// clang-format off
#define CLAIM_STATISTIC_LIST(STATISTIC) \
  STATISTIC(mean, "mean of a channel over the rows of the window") \
  STATISTIC(min, "smallest value of a channel there") \
  STATISTIC(max, "largest value of a channel there") \
  STATISTIC(at, "value of a channel at the row nearest to from_s") \
  STATISTIC(range, "greatest less smallest value of a channel there") \
  STATISTIC(pair_max, "largest value in one row there of two channels combined as `how` says") \
  STATISTIC(pair_longest, "longest time without a break, row to row, in which that is above level") \
  STATISTIC(first, "time of the first row there at which a channel is at or beyond level, rising or falling") \
  STATISTIC(count, "number of events of that name in the window") \
  STATISTIC(difference, "the first value minus the second") \
  STATISTIC(sum, "the sum of both values") \
  STATISTIC(product, "one value times the other") \
  STATISTIC(quotient, "the first value divided by the second") \
  STATISTIC(percent_change, "from the first value to the second, per cent of the first") \
  STATISTIC(percent_less, "how much smaller the second value is than the first, per cent of the first") \
  STATISTIC(constant, "a value of the engine file, the scenario or a rule: source says which") \
  STATISTIC(event, "time of the event of that name")
// clang-format on

enum claim_statistic {
#define STATISTIC(name, text) CLAIM_STATISTIC_##name,
  CLAIM_STATISTIC_LIST(STATISTIC)
#undef STATISTIC
      CLAIM_STATISTIC_COUNT
};

/* PREDICATE(name, what it is) */
// clang-format off
#define CLAIM_PREDICATE_LIST(PREDICATE) \
  PREDICATE(below, "the first value is less than the second by more than `by`") \
  PREDICATE(above, "the first value is more than the second by more than `by`") \
  PREDICATE(equal, "the two values differ by `by` at most") \
  PREDICATE(before, "the first value, a time, is not later than the second") \
  PREDICATE(steady, "the means of a channel over the first and the second half of the window differ by `by` at most") \
  PREDICATE(zero, "a channel is nowhere in the window further from zero than `by`") \
  PREDICATE(nonzero, "a channel is everywhere in the window further from zero than `by`") \
  PREDICATE(event, "an event of that name lies in the window") \
  PREDICATE(no_event, "no event of that name lies in the window") \
  PREDICATE(only_while, "the value's pair is nowhere above its level for `by` seconds on end, except in rows at which one of `name` holds") \
  PREDICATE(alone, "by the scenario no fault except those of `except` is present or changes in the window") \
  PREDICATE(alike, "by the scenario loads and world are the same at from_s and at to_s; faults too, except those of `except`")
// clang-format on

enum claim_predicate {
#define PREDICATE(name, text) CLAIM_PREDICATE_##name,
  CLAIM_PREDICATE_LIST(PREDICATE)
#undef PREDICATE
      CLAIM_PREDICATE_COUNT
};

struct claim_word_row {
  const char *name, *text;
};
extern const struct claim_word_row claim_statistic_rows[CLAIM_STATISTIC_COUNT], claim_predicate_rows[CLAIM_PREDICATE_COUNT],
    claim_pairing_rows[CLAIM_PAIRING_COUNT];

enum {
  CLAIM_TEXT_SIZE = 560,
  CLAIM_VALUE_MAX = 26,
  CLAIM_HOLD_MAX = 10,
  CLAIM_NAME_SIZE = 20,
  CLAIM_WORDS_NAME_MOST = 14, // of the name of words, in those of their numbers
  CLAIM_PRINTED_SIZE = 16,
  CLAIM_SOURCE_SIZE = 128,
  CLAIM_EXCEPT_SIZE = 200, // the keys of all faults of a phase
  CLAIM_WORDS_MAX = 8,
  CLAIM_WORDS_SIZE = 300,
  CLAIM_NONE = -1
};

struct claim_value {
  char name[CLAIM_NAME_SIZE];
  char printed[CLAIM_PRINTED_SIZE]; // as it stands in the text; empty: for predicates only
  int nth;                          // of the numbers of the text, 1 is the first; 0 for predicates only
  enum claim_statistic is;
  double value;
  const char *unit;
  int decimals;
  int channel, other; // enum channel, CLAIM_NONE; other: of a pair
  enum claim_pairing how;
  double from_s, to_s;            // times of its first and its last row
  double level;                   // of `first`, `pair_longest`
  bool falling;                   // of `first`
  int of[2];                      // of derived values: places in the claim's list
  char source[CLAIM_SOURCE_SIZE]; // of constants; of events and counts their name
};

struct claim_hold {
  enum claim_predicate is;
  int of[2]; // places in the list of values, CLAIM_NONE
  int channel;
  double from_s, to_s, by;
  char name[CLAIM_EXCEPT_SIZE]; // of an event; conditions that are left out, a blank between two
};

struct claim {
  enum claim_kind kind;
  enum claim_part part;
  int code;    // enum monitor_code of a code's row, else CLAIM_NONE
  int weight;  // of those that want a place in the headline, the chain or the surprises the heaviest get it
  double at_s; // what it is told by: the moment it is about
  double from_s, to_s;
  size_t value_count, hold_count;
  struct claim_value values[CLAIM_VALUE_MAX];
  struct claim_hold holds[CLAIM_HOLD_MAX];
  char text[CLAIM_TEXT_SIZE];
};

/* A claim being written. */
struct claim_draft {
  const struct recording *recording;
  struct claim *claims; // where those go that hold
  size_t count, most;
  struct claim *claim; // the place behind them: the one in hand
  bool broken;         // an empty window, a value that is not finite, a predicate that does not hold
  double from_s, to_s;
  size_t words_count;
  struct {
    char name[CLAIM_NAME_SIZE], text[CLAIM_WORDS_SIZE];
  } words[CLAIM_WORDS_MAX];
};

/* The last of the places is for the claim in hand alone. */
void claim_draft_init(struct claim_draft *draft, const struct recording *recording, struct claim *claims, size_t places);

void claim_begin(struct claim_draft *draft, enum claim_kind kind, enum claim_part part, int weight, double at_s);

/* Of the values and predicates that follow. A window without a row breaks the claim. */
void claim_window(struct claim_draft *draft, double from_s, double to_s);

/* Measured in the window; decimals: as printed. */
void claim_mean(struct claim_draft *draft, const char *name, enum channel channel, int decimals);
void claim_min(struct claim_draft *draft, const char *name, enum channel channel, int decimals);
void claim_max(struct claim_draft *draft, const char *name, enum channel channel, int decimals);
void claim_range(struct claim_draft *draft, const char *name, enum channel channel, int decimals);
void claim_at(struct claim_draft *draft, const char *name, enum channel channel, int decimals); // at its first row
void claim_pair_max(struct claim_draft *draft, const char *name, enum claim_pairing how, enum channel channel, enum channel other,
                    int decimals);
void claim_pair_longest(struct claim_draft *draft, const char *name, enum claim_pairing how, enum channel channel,
                        enum channel other, double level, int decimals);

void claim_first(struct claim_draft *draft, const char *name, enum channel channel, double level, bool falling, int decimals);

/* Derived from two values by their names; is: difference to percent_less. */
void claim_derive(struct claim_draft *draft, const char *name, enum claim_statistic is, const char *first, const char *second,
                  int decimals, const char *unit);
void claim_difference(struct claim_draft *draft, const char *name, const char *first, const char *second, int decimals);

void claim_constant(struct claim_draft *draft, const char *name, double value, int decimals, const char *unit,
                    const char *source);

/* The time of an event of the recording, and how many there are of one name in the window. */
void claim_event(struct claim_draft *draft, const char *name, const struct recording_event *event, int decimals);
void claim_count(struct claim_draft *draft, const char *name, const char *event);

/* Words from a table; numbers in them become constants of that source. */
void claim_words(struct claim_draft *draft, const char *name, const char *text, const char *source);

/* What the words promise; of two values by their names, or of a channel in the window. */
void claim_below(struct claim_draft *draft, const char *first, const char *second, double by);
void claim_above(struct claim_draft *draft, const char *first, const char *second, double by);
void claim_equal(struct claim_draft *draft, const char *first, const char *second, double within);
void claim_before(struct claim_draft *draft, const char *first, const char *second);
void claim_steady(struct claim_draft *draft, enum channel channel, double most);
void claim_zero(struct claim_draft *draft, enum channel channel, double most);
void claim_nonzero(struct claim_draft *draft, enum channel channel, double least);
void claim_no_event(struct claim_draft *draft, const char *event);

/* One that the caller has tried: `alone`, `alike`. */
void claim_promise(struct claim_draft *draft, enum claim_predicate is, const char *except, bool holds);

/* The same: of a value that is a pair_longest. */
void claim_only_while(struct claim_draft *draft, const char *value, double seconds, const char *reasons);

/* Fills the template and keeps the claim, if all holds and there is room. Whether it was kept. */
bool claim_say(struct claim_draft *draft, const char *text);

/* What an event is called here and in events.csv: "stall", "learned_limit", "P0506 pending"; a note: "note". */
void claim_event_name(const struct recording_event *event, char name[CLAIM_SOURCE_SIZE]);

/* The value of the claim with this name, NULL if it has none. */
const struct claim_value *claim_value_of(const struct claim *claim, const char *name);

#endif
