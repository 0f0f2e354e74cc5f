/* The opening curve of a car from a log of it, and what it proves.
 *
 * Without the same car's clean curve a bend at its bottom is no proof of a film: contours of sound bores bend as well. Then nothing is
 * claimed, and the film that a fit would allow is given with its error. With it the area lost at idle is measured. Only where nothing
 * passes although the blade stands well above its stop can it be no clean throttle, or the stop is not where it was said to be.
 *
 * For `estimate`: opening_curve_readings() gives what it may take as readings, each a number with a standard deviation. The lost share is a
 * function of the film (and of the blade) at the position where the engine idles: 1 - CdA(film) / CdA(none), all ways in; the points
 * are CdA at positions, with the doubts that move all of them together. */
#ifndef ANALYSIS_CURVE_OPENING_CURVE_H
#define ANALYSIS_CURVE_OPENING_CURVE_H

#include "analysis/curve/opening_fit.h"
#include "analysis/curve/opening_lost.h"
#include "analysis/curve/opening_points.h"

/* VERDICT(name, what it says) */
#define OPENING_VERDICT_LIST(VERDICT) \
  VERDICT(not_told, "not told by this log") \
  VERDICT(lost, "area is lost at idle, measured against the clean curve") \
  VERDICT(none_lost, "none is lost, measured against the clean curve") \
  VERDICT(dead_band, "nothing passes above the stop: no clean throttle, or not its stop")

enum opening_verdict {
#define VERDICT(name, text) OPENING_VERDICT_##name,
  OPENING_VERDICT_LIST(VERDICT)
#undef VERDICT
      OPENING_VERDICT_COUNT
};
extern const char *const opening_curve_verdict_names[OPENING_VERDICT_COUNT];
extern const char *const opening_curve_verdict_texts[OPENING_VERDICT_COUNT];

struct opening_curve {
  enum opening_verdict verdict;
  struct opening_points points;
  bool has_fit;
  struct opening_fit fit;
  bool has_baseline;
  struct opening_points clean; // the baseline's
  bool has_clean_fit;
  struct opening_fit clean_fit;
  struct opening_lost lost;
  double stop_ratio;    // as it was given; NAN
  double dead_to_ratio; // OPENING_VERDICT_dead_band: position up to which next to nothing passes; else NAN
};

/* log: the car as it is; baseline: the same when clean, NULL for none. What opening_points_find() says. Some tenths of a second at most;
 * allocates for the moment only. curve is some 60 kB: no place for it on a stack. */
MUST_CHECK enum status opening_curve_find(const struct recording *log, const struct opening_setting *setting,
                                          const struct recording *baseline, const struct opening_setting *baseline_setting,
                                          struct opening_curve *curve, struct error *error);

/* The same without the fit of a blade, a tenth of the time: what is lost, and whether that is told; dead_to_ratio is NAN. */
MUST_CHECK enum status opening_curve_compare(const struct recording *log, const struct opening_setting *setting,
                                             const struct recording *baseline, const struct opening_setting *baseline_setting,
                                             struct opening_curve *curve, struct error *error);

/* opening_curve_find() from points that are there already; clean NULL for none. */
void opening_curve_judge(const struct opening_points *points, const struct opening_points *clean,
                         const struct opening_setting *setting, struct opening_curve *curve);

/* A point of the curve as a reading. */
struct opening_curve_reading {
  double position_ratio;
  double cda_m2, sd_m2;                     // sd: its own
  double per_doubt_m2[OPENING_DOUBT_COUNT]; // shared with all other points
};

struct opening_curve_readings {
  bool has_lost; // measured against a clean curve; else the next two are NAN
  double idle_lost_ratio, idle_lost_sd_ratio;
  double idle_position_ratio; // NAN if it does not idle in the log
  size_t count;
  struct opening_curve_reading readings[OPENING_POINT_MAX];
};

void opening_curve_readings(const struct opening_curve *curve, struct opening_curve_readings *readings);

#endif
