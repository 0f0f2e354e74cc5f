#include "report.h"

#include "analysis/estimate/estimate.h"
#include "base/probability.h"

#include <math.h>
#include <stdlib.h>

#define DETECTABLE   3.3 // standard deviations: half of it is passed by chance one time in twenty
#define SURE         0.9
#define FILM_STEP_UM 10.0
enum { RANK_BINS = 10, RELIABILITY_BINS = 10, FILM_BINS = 11, TAKEN_FOR = 3, LEAST_CASES = 30 };

/* How far a share of cases may be off by chance: two standard deviations, with two cases of either kind added, so that none or all of a
 * few cases are not told for certain (A. Agresti, B. A. Coull, Am. Statist. 52 (1998) 119, from memory). */
static double share_error(size_t part, size_t whole) {
  const double n = (double)whole + 4.0, share = ((double)part + 2.0) / n;
  return 2.0 * sqrt(share * (1.0 - share) / n);
}

/* Nothing where there are no cases. */
static void print_share(size_t part, size_t whole) {
  if (whole) printf("%.1f ± %.1f %%", 100.0 * (double)part / (double)whole, 100.0 * share_error(part, whole));
}

static void print_percent(const char *format, double part, size_t whole) {
  if (whole) printf(format, 100.0 * part / (double)whole);
}

/* ---- coverage, rank and bias of severities ---- */
struct severities {
  size_t count, inside, below, above, bins[RANK_BINS];
  double bias, square, width;
};

static struct severities severities_of(const struct result_list *list, enum reading_set set, bool film) {
  struct severities s = {0};
  for (size_t i = 0; i < list->count; i++) {
    const struct result *r = &list->results[i];
    if (r->set != set || isnan(r->rank) || (r->cause == CAUSE_film) != film) continue;
    const double outside = 0.5 * (1.0 - ESTIMATE_INTERVAL);
    s.count++;
    s.below += r->rank < outside;
    s.above += r->rank > 1.0 - outside;
    s.inside += r->rank >= outside && r->rank <= 1.0 - outside;
    s.bias += r->mean - r->severity;
    s.square += (r->mean - r->severity) * (r->mean - r->severity);
    s.width += fabs(r->high - r->low);
    const int bin = (int)(r->rank * RANK_BINS);
    s.bins[bin < RANK_BINS ? bin : RANK_BINS - 1]++;
  }
  return s;
}

/* How often a flat histogram is as uneven as this one. */
static double flatness(const struct severities *s) {
  const double expected = (double)s->count / RANK_BINS;
  double chi2 = 0.0;
  for (int i = 0; i < RANK_BINS; i++) chi2 += ((double)s->bins[i] - expected) * ((double)s->bins[i] - expected) / expected;
  return probability_chi2_tail(chi2, RANK_BINS - 1);
}

static void print_coverage(const struct result_list *list) {
  printf("## Severity: do 90 %% intervals hold the truth?\n\n"
         "Interval, mean and rank are those of the true cause's severity. `flat` is how often a flat rank histogram of ten bins "
         "would be as\n"
         "uneven as this one.\n\n"
         "| readings | cases | inside | below | above | flat | mean less truth | r.m.s. off | mean width "
         "|\n|---|---|---|---|---|---|---|---|---|\n");
  for (int film = 1; film >= 0; film--)
    for (int set = 0; set < READING_SET_COUNT; set++) {
      const struct severities s = severities_of(list, (enum reading_set)set, film == 1);
      if (s.count < LEAST_CASES) continue;
      const double n = (double)s.count;
      printf("| %s, %s | %zu | ", reading_set_names[set], film ? "film" : "all other causes", s.count);
      print_share(s.inside, s.count);
      printf(" | %.1f %% | %.1f %% | %.3f |", 100.0 * (double)s.below / n, 100.0 * (double)s.above / n, flatness(&s));
      if (film)
        printf(" %+.2f µm | %.1f µm | %.1f µm |\n", s.bias / n, sqrt(s.square / n), s.width / n);
      else
        printf(" | | |\n");
    }
  printf("\n");
}

/* ---- stated probabilities ---- */
struct reliability {
  size_t count[RELIABILITY_BINS], true_count[RELIABILITY_BINS];
  double stated[RELIABILITY_BINS];
};

static struct reliability reliability_of(const struct result_list *list, enum reading_set set) {
  struct reliability y = {0};
  for (size_t i = 0; i < list->count; i++) {
    const struct result *r = &list->results[i];
    for (int c = 0; r->set == set && c < CAUSE_COUNT; c++) {
      if (!(r->probability[c] > 0.0) && (int)r->cause != c) continue;
      const int bin = (int)fmin(r->probability[c] * RELIABILITY_BINS, RELIABILITY_BINS - 1);
      y.count[bin]++;
      y.stated[bin] += r->probability[c];
      y.true_count[bin] += (int)r->cause == c;
    }
  }
  return y;
}

static void print_reliability(const struct result_list *list) {
  printf("## Probabilities: do they come true?\n\nEvery cause of every car, by the probability stated for it: how many, mean "
         "stated, share that was the case.\n\n"
         "| stated |");
  for (int set = 0; set < READING_SET_COUNT; set++) printf(" %s: cases | stated | true |", reading_set_names[set]);
  printf("\n|---|---|---|---|---|---|---|---|---|---|\n");
  struct reliability y[READING_SET_COUNT];
  for (int set = 0; set < READING_SET_COUNT; set++) y[set] = reliability_of(list, (enum reading_set)set);
  for (int bin = 0; bin < RELIABILITY_BINS; bin++) {
    printf("| %d to %d %% |", 100 * bin / RELIABILITY_BINS, 100 * (bin + 1) / RELIABILITY_BINS);
    for (int set = 0; set < READING_SET_COUNT; set++) {
      const size_t n = y[set].count[bin];
      printf(" %zu | ", n);
      print_percent("%.1f %%", y[set].stated[bin], n);
      printf(" | ");
      print_share(y[set].true_count[bin], n);
      printf(" |");
    }
    printf("\n");
  }
  printf("\n");
}

/* ---- which cause comes first ---- */
static void print_first(const struct result_list *list) {
  printf("## The true cause first\n\n"
         "Detectable, laid down beforehand: the readings without noise lie more than %.1f standard deviations from those of the "
         "same car\n"
         "when good (Mahalanobis; noise and all that is unknown of a good car). `stated` is the mean probability of what came "
         "first: what a\n"
         "calibrated estimate can reach with these readings at all. A good car is called filmed if film is first with more than "
         "half.\n\n"
         "| readings | cars | first | stated | detectable | of them first | stated | among the first two | good cars | called "
         "filmed | fit p < 0.01 |\n"
         "|---|---|---|---|---|---|---|---|---|---|---|\n",
         DETECTABLE);
  for (int set = 0; set < READING_SET_COUNT; set++) {
    size_t cars = 0, first = 0, detectable = 0, detected = 0, second = 0, good = 0, filmed = 0, poor = 0;
    double stated = 0.0, stated_detectable = 0.0;
    for (size_t i = 0; i < list->count; i++) {
      const struct result *r = &list->results[i];
      if ((int)r->set != set) continue;
      const enum cause best = result_first(r);
      int above = 0;
      for (int c = 0; c < CAUSE_COUNT; c++) above += r->probability[c] > r->probability[r->cause];
      cars++;
      first += best == r->cause;
      stated += r->probability[best];
      poor += r->p_value < ESTIMATE_P_VALUE_LEAST;
      good += r->cause == CAUSE_nothing;
      filmed += r->cause == CAUSE_nothing && best == CAUSE_film && r->probability[CAUSE_film] > 0.5;
      if (!(r->distance > DETECTABLE)) continue;
      detectable++;
      detected += best == r->cause;
      second += above < 2;
      stated_detectable += r->probability[best];
    }
    if (cars == 0) continue;
    printf("| %s | %zu | ", reading_set_names[set], cars);
    print_share(first, cars);
    printf(" | %.1f %% | %zu | ", 100.0 * stated / (double)cars, detectable);
    print_share(detected, detectable);
    printf(" | ");
    print_percent("%.1f %%", stated_detectable, detectable);
    printf(" | ");
    print_percent("%.1f %%", (double)second, detectable);
    printf(" | %zu | ", good);
    print_share(filmed, good);
    printf(" | %.1f %% |\n", 100.0 * (double)poor / (double)cars);
  }
  printf("\n");
}

static void print_confusion(const struct result_list *list, enum reading_set set) {
  printf(
      "### Readings: %s\n\n| cause | cars | detectable | of them first | the others of them taken for |\n|---|---|---|---|---|\n",
      reading_set_texts[set]);
  for (int c = 0; c < CAUSE_COUNT; c++) {
    size_t cars = 0, detectable = 0, taken[CAUSE_COUNT] = {0};
    for (size_t i = 0; i < list->count; i++) {
      const struct result *r = &list->results[i];
      if (r->set != set || (int)r->cause != c) continue;
      cars++;
      if (!(r->distance > DETECTABLE) && c != CAUSE_nothing) continue;
      detectable++;
      taken[result_first(r)]++;
    }
    if (cars == 0) continue;
    printf("| %s | %zu | %zu | ", cause_rows[c].name, cars, detectable);
    print_percent("%.0f %%", (double)taken[c], detectable);
    printf(" |");
    taken[c] = 0;
    for (int k = 0; k < TAKEN_FOR; k++) {
      int most = 0;
      for (int i = 1; i < CAUSE_COUNT; i++)
        if (taken[i] > taken[most]) most = i;
      if (taken[most] == 0) break;
      printf("%s %s %zu", k ? "," : "", cause_rows[most].name, taken[most]);
      taken[most] = 0;
    }
    printf(" |\n");
  }
  printf("\n");
}

/* ---- film resolution ---- */
static void print_resolution(const struct result_list *list) {
  printf("## How thin a film is seen\n\nShare of filmed cars whose film is stated with at least %.0f %%; and where film and "
         "nothing wrong are the only choice.\n\n| film |",
         100.0 * SURE);
  for (int set = 0; set < READING_SET_COUNT; set++)
    printf(" %s: cars | sure of film | told from clean |", reading_set_names[set]);
  printf("\n|---|---|---|---|---|---|---|---|---|---|\n");
  for (int bin = 0; bin < FILM_BINS; bin++) {
    printf("| %.0f to %.0f µm |", bin * FILM_STEP_UM, (bin + 1) * FILM_STEP_UM);
    for (int set = 0; set < READING_SET_COUNT; set++) {
      size_t cars = 0, sure = 0, told = 0;
      for (size_t i = 0; i < list->count; i++) {
        const struct result *r = &list->results[i];
        if ((int)r->set != set || r->cause != CAUSE_film || (int)(r->severity / FILM_STEP_UM) != bin) continue;
        cars++;
        sure += r->probability[CAUSE_film] >= SURE;
        told += r->probability[CAUSE_film] >= SURE * (r->probability[CAUSE_film] + r->probability[CAUSE_nothing]);
      }
      printf(" %zu | ", cars);
      print_percent("%.0f %%", (double)sure, cars);
      printf(" | ");
      print_percent("%.0f %%", (double)told, cars);
      printf(" |");
    }
    printf("\n");
  }
  printf("\n");
}

/* ---- time ---- */
static int by_size(const void *a, const void *b) {
  const double x = *(const double *)a, y = *(const double *)b;
  return (x > y) - (x < y);
}

static void print_time(const struct result_list *list) {
  printf("## CPU time of one estimate\n\n| readings | median | 90 %% below | longest |\n|---|---|---|---|\n");
  double *taken = calloc(list->count + 1, sizeof *taken);
  for (int set = 0; taken && set < READING_SET_COUNT; set++) {
    size_t n = 0;
    for (size_t i = 0; i < list->count; i++)
      if ((int)list->results[i].set == set) taken[n++] = list->results[i].cpu_s;
    qsort(taken, n, sizeof *taken, by_size);
    if (n) printf("| %s | %.2f s | %.2f s | %.2f s |\n", reading_set_names[set], taken[n / 2], taken[n * 9 / 10], taken[n - 1]);
  }
  free(taken);
  printf("\n");
}

void report_print(const struct result_list *list) {
  for (int set = 0; set < READING_SET_COUNT; set++) printf("* `%s`: %s\n", reading_set_names[set], reading_set_texts[set]);
  printf("\n");
  print_coverage(list);
  print_reliability(list);
  print_first(list);
  print_resolution(list);
  for (int set = 0; set < READING_SET_COUNT; set++) print_confusion(list, (enum reading_set)set);
  print_time(list);
}

/* Columns: ranks: middle of the bin, cases of each set, expected of each set; reliability: for each set stated, true, twice its
 * standard deviation. */
void report_print_data(const struct result_list *list) {
  printf("ranks\n");
  struct severities s[READING_SET_COUNT];
  for (int set = 0; set < READING_SET_COUNT; set++) s[set] = severities_of(list, (enum reading_set)set, true);
  for (int bin = 0; bin < RANK_BINS; bin++) {
    printf("%.3f", (bin + 0.5) / RANK_BINS);
    for (int set = 0; set < READING_SET_COUNT; set++) printf(" %zu", s[set].bins[bin]);
    for (int set = 0; set < READING_SET_COUNT; set++) printf(" %g", (double)s[set].count / RANK_BINS);
    printf("\n");
  }
  for (int set = 0; set < READING_SET_COUNT; set++) {
    const struct reliability y = reliability_of(list, (enum reading_set)set);
    printf("\n\n%s\n", reading_set_names[set]);
    for (int bin = 0; bin < RELIABILITY_BINS; bin++) {
      if (y.count[bin] < LEAST_CASES) continue;
      const double n = (double)y.count[bin], share = (double)y.true_count[bin] / n;
      printf("%g %g %g\n", y.stated[bin] / n, share, share_error(y.true_count[bin], y.count[bin]));
    }
  }
}
