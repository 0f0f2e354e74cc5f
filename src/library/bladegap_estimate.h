/* What is behind a bladegap_estimate. */
#ifndef LIBRARY_BLADEGAP_ESTIMATE_H
#define LIBRARY_BLADEGAP_ESTIMATE_H

#include "analysis/estimate/estimate_findings.h"
#include "analysis/estimate/estimate_readings.h"
#include "library/bladegap.h"
#include "library/edge.h"

struct bladegap_estimate {
  struct engine engine;
  struct estimate_question question;
  struct estimate_readings_input input, baseline;
  struct estimate_symptoms symptoms;
  bool trust;
  char *notes;                        // of logs, lines; owned; NULL: none
  struct estimate *estimate;          // NULL until it is computed
  struct estimate_findings *findings; // the same
};

/* Whether it has been computed; else the code of the text. */
int bladegap_estimate_done(const bladegap_estimate *estimate, struct edge edge);

#endif
