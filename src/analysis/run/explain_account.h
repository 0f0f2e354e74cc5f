/* What the files explain_THEME.c share: the run, what was wrong when, and the claim that is being written. */
#ifndef ANALYSIS_RUN_EXPLAIN_ACCOUNT_H
#define ANALYSIS_RUN_EXPLAIN_ACCOUNT_H

#include "analysis/run/explanation.h"
#include "analysis/run/phases.h"
#include "base/attributes.h"
#include "sim/simulation.h"

/* Idle is on target within so much: as near as a needle shows; a mean over ten seconds scatters by some 3 rpm. The one criterion of
 * "hidden", "holds" and "back". */
#define EXPLAIN_TARGET_RPM 10.0
#define EXPLAIN_FILM_UM    0.5 // less is no deposit worth speaking of

struct explain_account {
  const struct simulation *sim;
  const struct recording *recording;
  const struct story *story;
  struct explanation *out;
  struct claim_draft draft;
  size_t phase_count;
  struct phase phases[PHASES_MAX];
};

/* Puts a moment into the table, unless the same stretch is there already. */
void explain_account_keep(struct explain_account *account, const struct story_moment *moment, const char *format, ...)
    PRINTF_LIKE(3, 4);

/* The same for an engine held off idle: speed_sd_rpm looks back further than that and is left out. */
void explain_account_keep_held(struct explain_account *account, const struct story_moment *moment, const char *format, ...)
    PRINTF_LIKE(3, 4);

/* The draft's window becomes the moment's. */
void explain_account_window(struct explain_account *account, const struct story_moment *moment);

/* The most that the learned share drifts in a stretch at rest, and the speed. */
#define EXPLAIN_REST_PCT 0.3
#define EXPLAIN_REST_RPM 8.0

/* Promises that the moment in the window is at rest: speed, learned share and film no longer move. */
void explain_account_at_rest(struct explain_account *account);
bool explain_account_rests(const struct explain_account *account, const struct story_moment *moment);

/* By the scenario, no fault (other than the film on the wall) stands or changes between two times. */
bool explain_account_alone(const struct explain_account *account, double from_s, double to_s);

/* By the scenario, loads and world are the same at two times, and nothing of them moves there. */
bool explain_account_alike(const struct explain_account *account, double one_s, double other_s);

/* Promises that between the two moments only `but` differs: the film ("film_um") or a list of faults. */
void explain_account_promise_alike(struct explain_account *account, const struct story_moment *one,
                                   const struct story_moment *other, const char *but);

static inline double explain_account_reading(const struct story_moment *moment, enum channel channel) {
  return moment->mean[channel];
}

/* Time of the last row. */
double explain_account_end_s(const struct explain_account *account);

bool explain_account_is_cable(const struct explain_account *account);

/* Whether fuel is metered by an air-flow sensor. */
bool explain_account_by_air_flow(const struct explain_account *account);

/* stft_pct + ltft_pct of bank 1, or of bank 2. */
double explain_account_trim_pct(const struct story_moment *moment, int bank);

/* A condition for people: "vacuum leak" of "vacuum leak: unmetered opening behind the blade". */
void explain_account_plain(const struct condition_row *row, char text[CLAIM_WORDS_SIZE]);

/* Words {name} of the faults that a phase has and base (or NULL) has not, each with its size and its condition's name: "vacuum leak, 3 mm2
 * (leak_mm2)"; returns how many. capital: they open a sentence. */
size_t explain_account_faults(struct explain_account *account, const struct phase *phase, const struct phase *base,
                              const char *name, bool capital);

/* The first event of a kind and value at or after a time, NULL if there is none. */
const struct recording_event *explain_account_event(const struct explain_account *account, enum recording_event_kind kind,
                                                    int value, double after_s);

/* The moments of the film, apart from any fault. */
struct explain_film {
  struct story_moment clean;  // idle to measure a film against: no film, no fault
  struct story_moment hidden; // the last idle, before a clean, that is on target with a film
  struct story_moment low;    // the slowest idle with a film, at rest
  struct story_moment sag;    // the slowest idle with a film that still moves, below target
  struct story_moment cold;   // the last idle on target with a film, before a clean, engine cold; the others are warm
  double like_s;              // the first of all: loads and world of the others are as they were then
  double cleaned_s;           // INFINITY if never
};
void explain_film_find(const struct explain_account *account, struct explain_film *film);

/* The themes. */
void explain_start_tell(struct explain_account *account);
void explain_film_tell(struct explain_account *account, const struct explain_film *film);
void explain_clean_tell(struct explain_account *account, const struct explain_film *film);
void explain_faults_tell(struct explain_account *account);
void explain_repair_tell(struct explain_account *account);
void explain_loads_tell(struct explain_account *account);
void explain_stall_tell(struct explain_account *account);
void explain_codes_tell(struct explain_account *account);
void explain_quiet_tell(struct explain_account *account); // the idle as such, where nothing else happened

/* Mixture and trims: of a film against the clean idle; of faults against what the same engine read before. held: NULL or
 * with `happened` false where there is none. */
void explain_mixture_film(struct explain_account *account, const struct story_moment *clean, const struct story_moment *filmed);
void explain_mixture_faults(struct explain_account *account, const struct story_moment *before, const struct story_moment *now,
                            const struct story_moment *held_now, const char *but);

/* The starts that follow the first one, at most so many. */
void explain_start_again(struct explain_account *account, int most);

#endif
