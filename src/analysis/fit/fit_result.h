/* What a fit is asked, and what it answers. */
#ifndef ANALYSIS_FIT_FIT_RESULT_H
#define ANALYSIS_FIT_FIT_RESULT_H

#include "analysis/estimate/estimate_readings.h"
#include "analysis/estimate/estimate_scan.h"
#include "analysis/fit/card_engine.h"

enum { FIT_CAR_MAX = 12 };

struct fit_question {
  const struct card *card;
  const struct engine *start;   // the shipped one
  const struct engine *nominal; // card_engine_make() of it
  bool this_car;                // the first readings are of the very car that is asked about; else the model is
  size_t car_count;             // 0: the card alone
  struct estimate_setting settings[FIT_CAR_MAX];
  struct estimate_readings readings[FIT_CAR_MAX];
};

/* How the meaning of a reading came to be known. */
enum fit_meaning { FIT_MEANING_NOT_READ, FIT_MEANING_SAID, FIT_MEANING_INFERRED, FIT_MEANING_OPEN };
struct fit_definition {
  enum fit_meaning how;
  int choice;           // of the group `scan`
  double against;       // how many times likelier than the next, if inferred or open
  size_t reading_count; // left out if open
};

struct fit_car {
  struct estimate_readings readings; // that were used
  double expected[ESTIMATE_READING_MAX];
  double chi2, p_value;
};

/* Large, so on the heap. */
struct fit {
  const struct fit_question *question;
  struct engine nominal; // the card's, with what was found of the readings' meaning
  struct engine engine;  // fitted
  size_t count;          // deviations in use
  enum scatter scatter[SCATTER_COUNT];
  double mean[SCATTER_COUNT];                       // of the model, or of this car; road widths, by enum scatter
  double left[SCATTER_COUNT];                       // standard deviation of that mean
  double sd[SCATTER_COUNT];                         // the same as a share of what it was before anything was read
  double covariance[SCATTER_COUNT * SCATTER_COUNT]; // of the car to be asked about, of those in use
  struct fit_definition definitions[ESTIMATE_SCAN_COUNT];
  size_t computer_count; // readings of what the computer has learned or adds, which were left out
  double p_value;        // of the car that fits worst; NaN without readings
  struct fit_car cars[FIT_CAR_MAX];
};

#endif
