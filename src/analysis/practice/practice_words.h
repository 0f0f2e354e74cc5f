/* What a case and its mark say, in sentences: the same in the program and in the page. */
#ifndef ANALYSIS_PRACTICE_PRACTICE_WORDS_H
#define ANALYSIS_PRACTICE_PRACTICE_WORDS_H

#include "analysis/practice/practice_mark.h"

enum { PRACTICE_WORDS_NAME_SIZE = 200, PRACTICE_WORDS_SIZE = 700, PRACTICE_WORDS_SHARE_SIZE = 16 };

/* Names of the causes of a fault, with + between them. */
void practice_words_fault(const struct estimate_fault *fault, char name[PRACTICE_WORDS_NAME_SIZE]);

/* A probability as people say it: never quite none or all. */
const char *practice_words_share(double probability, char text[PRACTICE_WORDS_SHARE_SIZE]);

/* Which car, what its driver says, which codes are stored. */
enum { PRACTICE_WORDS_CASE_LINES = 3 };
void practice_words_case(const struct practice_case *drawn, int line, char text[PRACTICE_WORDS_SIZE]);

/* What was hidden: a sentence for each cause, or one that there was none. */
size_t practice_words_truth_count(const struct practice_case *drawn);
void practice_words_truth(const struct practice_case *drawn, size_t place, char text[PRACTICE_WORDS_SIZE]);

/* What can be answered beside the remedies of car/remedy.h. */
enum { PRACTICE_WORDS_ACT_COUNT = 2 };
extern const struct practice_words_act { const char *name, *text; } practice_words_acts[PRACTICE_WORDS_ACT_COUNT];

/* What one's own readings give the answer. */
void practice_words_backed(const struct practice_answer *answer, const struct practice_mark *mark,
                           char text[PRACTICE_WORDS_SIZE]);

/* Which test settled it, and by which reading. */
void practice_words_settled(const struct practice_bank *bank, const struct practice_mark *mark, char text[PRACTICE_WORDS_SIZE]);

/* Where the best plan ends. */
void practice_words_best(const struct practice_bank *bank, const struct practice_plan *best, char text[PRACTICE_WORDS_SIZE]);

#endif
