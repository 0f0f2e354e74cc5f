/* What the files explain_THEME.c share: the run, what was wrong when, and where the sentences go. */
#ifndef ANALYSIS_RUN_EXPLAIN_ACCOUNT_H
#define ANALYSIS_RUN_EXPLAIN_ACCOUNT_H

#include "analysis/run/explain.h"
#include "analysis/run/phases.h"
#include "base/attributes.h"

struct explain_account {
  const struct simulation *sim;
  const struct recording *recording;
  const struct story *story;
  struct explanation *out;
  size_t phase_count;
  struct phase phases[PHASES_MAX];
};

/* One sentence or two; beyond EXPLAIN_SENTENCE_MAX nothing is added. */
void explain_account_say(struct explain_account *account, const char *format, ...) PRINTF_LIKE(2, 3);

/* Puts a moment into the table, unless the same stretch is there already. */
void explain_account_keep(struct explain_account *account, const struct story_moment *moment, const char *format, ...)
    PRINTF_LIKE(3, 4);

/* The same for an engine held off idle: speed_sd_rpm looks back further than that and is left out. */
void explain_account_keep_held(struct explain_account *account, const struct story_moment *moment, const char *format, ...)
    PRINTF_LIKE(3, 4);

/* "name from 2.13 to 1.83", or "name 2.13" where it moved by less than `least`. */
enum { EXPLAIN_CHANGE_SIZE = 80 };
const char *explain_account_change(char text[EXPLAIN_CHANGE_SIZE], enum channel channel, int decimals, double least,
                                   const struct story_moment *from, const struct story_moment *to);

static inline double explain_account_reading(const struct story_moment *moment, enum channel channel) {
  return moment->mean[channel];
}

/* Whether fuel is metered by an air-flow sensor. */
bool explain_account_by_air_flow(const struct explain_account *account);

/* The idle to measure a film against: the first one if the bore was clean then, else the last after a clean. NULL if none. */
const struct story_moment *explain_account_clean_idle(const struct story *story);

/* stft_pct + ltft_pct of bank 1, or of bank 2. */
double explain_account_trim_pct(const struct story_moment *moment, int bank);

/* The themes, in the order in which they are told. */
void explain_start_tell(struct explain_account *account);
void explain_film_tell(struct explain_account *account);
void explain_faults_tell(struct explain_account *account);
void explain_loads_tell(struct explain_account *account);
void explain_stall_tell(struct explain_account *account);
void explain_clean_tell(struct explain_account *account);
void explain_codes_tell(struct explain_account *account);

/* Mixture and trims: of a film against the clean idle; of faults against what the same engine read before. held: NULL or
 * with `happened` false where there is none. */
void explain_mixture_film(struct explain_account *account, const struct story_moment *clean, const struct story_moment *filmed);
void explain_mixture_faults(struct explain_account *account, const struct story_moment *before, const struct story_moment *now,
                            const struct story_moment *held_now);

/* When the learned offset and the controller came to their limits. */
void explain_film_limits(struct explain_account *account);

/* The starts that follow the first one, at most so many. */
void explain_start_again(struct explain_account *account, int most);

#endif
