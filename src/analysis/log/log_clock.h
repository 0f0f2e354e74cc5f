/* Times that are written as a clock shows them.
 *
 *   23:59:40  23:59:40.250  23:59:40,25  11:59:40.250 PM  5:03.25 (minutes, seconds and a fraction)
 *   2024-12-31T23:59:40.250+01:00 (ISO 8601, T or a blank, also 20241231T235940)  31.12.2024 23:59:40  12/31/2024 11:59 PM */
#ifndef ANALYSIS_LOG_LOG_CLOCK_H
#define ANALYSIS_LOG_LOG_CLOCK_H

#include <stdbool.h>

struct log_clock {
  double time_s; // of the day; since 1970 if has_date
  bool has_date; // written so that year, month and day cannot be mistaken
  bool half_day; // the hour may be of either half of the day: 1 to 12, and no word on which
};

enum log_clock_answer {
  LOG_CLOCK_NONE, // no clock time
  LOG_CLOCK_TOLD,
  LOG_CLOCK_UNTOLD // 12:34, which may be hours and minutes or minutes and seconds
};

enum log_clock_answer log_clock_read(const char *text, struct log_clock *clock);

#endif
