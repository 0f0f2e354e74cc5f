#include "analysis/log/log_time.h"

#include "analysis/log/log_clock.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define HALF_DAY_S 43200.0

enum { FEW = 3 }; // a time or two that repeat are slips

/* ---- One cell ---- */

/* A clock that goes back by more than half a day has passed midnight; one of twelve hours goes back by eleven to twelve when it passes one o'clock. */
static double of_clock(struct log_group *group, const struct log_clock *clock, size_t line) {
  double now_s = clock->time_s + group->ahead_s;
  group->past_noon_told |= !clock->half_day;
  if (clock->has_date) return now_s;
  const double back_s = group->last_s - now_s;
  const bool twelve = !group->past_noon_told && back_s > HALF_DAY_S - 3600.0 && back_s < HALF_DAY_S;
  if (back_s > HALF_DAY_S || twelve) {
    const double step_s = twelve ? HALF_DAY_S : 2.0 * HALF_DAY_S;
    group->ahead_s += step_s;
    now_s += step_s;
    group->midnights += !twelve;
    group->again_line = line;
  }
  group->last_s = now_s;
  return now_s;
}

/* Run time begins again with every start of the engine; how long it stood between is not told. */
static double of_run(struct log_group *group, double told_s, size_t line) {
  if (told_s + group->ahead_s < group->last_s - 0.5) {
    group->ahead_s = group->last_s - told_s;
    group->restarts++;
    group->again_line = line;
  }
  group->last_s = told_s + group->ahead_s;
  return group->last_s;
}

double log_time_of(struct log_group *group, const struct log_table_column *column, double factor, double offset, const char *cell,
                   size_t line) {
  double value;
  struct log_clock clock;
  if (group->clock == LOG_READER_DAY) return log_clock_read(cell, &clock) == LOG_CLOCK_TOLD ? of_clock(group, &clock, line) : NAN;
  if (!log_number_read(cell, column->mark, &value)) return NAN;
  value = factor * value + offset;
  return group->clock == LOG_READER_RUN ? of_run(group, value, line) : value;
}

/* ---- Rows of one time ---- */

static double *row_of(const struct log_group *group, size_t row) { return group->values + row * group->source_count; }

static void move(struct log_group *group, size_t to, size_t from) {
  if (to == from) return;
  group->times[to] = group->times[from];
  group->lines[to] = group->lines[from];
  memcpy(row_of(group, to), row_of(group, from), group->source_count * sizeof *group->values);
}

/* Where each signal has a column of names or times of its own, a row has one value only. */
static void leave_out(struct log_reader *reader, const struct log_group *group, enum log_said_reason reason, size_t line,
                      double now_s, double last_s, size_t last_line) {
  const bool whole = reader->group_count == 1 || reader->is_long;
  struct log_faults *faults = whole ? &reader->log->rows : &reader->log->values;
  const char *name = group->source_count > 0 ? reader->log->columns[group->sources[0].told].name : "";
  if (whole)
    log_said_fault(faults, reason, line, "the time does not increase: %.10g s, after %.10g s in line %zu", now_s, last_s,
                   last_line);
  else
    log_said_fault(faults, LOG_SAID_value, line, "%.60s: its time does not increase: %.10g s, after %.10g s in line %zu", name,
                   now_s, last_s, last_line);
}

static void leave_out_back(struct log_reader *reader, struct log_group *group) {
  size_t kept = 0;
  for (size_t row = 0; row < group->count; row++) {
    if (kept > 0 && group->times[row] < group->times[kept - 1])
      leave_out(reader, group, LOG_SAID_back, group->lines[row], group->times[row], group->times[kept - 1],
                group->lines[kept - 1]);
    else
      move(group, kept++, row);
  }
  group->count = kept;
}

static size_t end_of(const struct log_group *group, size_t row) {
  size_t end = row + 1;
  while (end < group->count && group->times[end] <= group->times[row]) end++;
  return end;
}

/* Whether no signal has two values in these rows. */
static bool fit_together(const struct log_group *group, size_t from, size_t to) {
  for (size_t source = 0; source < group->source_count; source++) {
    size_t count = 0;
    for (size_t row = from; row < to && count < 2; row++) count += isnan(row_of(group, row)[source]) ? 0 : 1;
    if (count > 1) return false;
  }
  return true;
}

static void put_together(struct log_group *group) {
  size_t kept = 0;
  for (size_t row = 0, end; row < group->count; row = end) {
    end = end_of(group, row);
    for (size_t other = row + 1; other < end; other++)
      for (size_t source = 0; source < group->source_count; source++)
        if (!isnan(row_of(group, other)[source])) row_of(group, row)[source] = row_of(group, other)[source];
    move(group, kept++, row);
  }
  group->count = kept;
}

static void leave_out_equal(struct log_reader *reader, struct log_group *group) {
  size_t kept = 0;
  for (size_t row = 0; row < group->count; row++) {
    if (kept > 0 && group->times[row] <= group->times[kept - 1])
      leave_out(reader, group, LOG_SAID_back, group->lines[row], group->times[row], group->times[kept - 1],
                group->lines[kept - 1]);
    else
      move(group, kept++, row);
  }
  group->count = kept;
}

/* ---- A coarse clock ---- */

static int compare(const void *a, const void *b) {
  const double left = *(const double *)a, right = *(const double *)b;
  return (left > right) - (left < right);
}

/* The usual time between rows: the median, over the times that stand in the log, of time to the next by rows that have it. 0 if there is none. */
static double usual_step(const struct log_group *group, double *steps) {
  size_t count = 0;
  for (size_t row = 0, end; (end = end_of(group, row)) < group->count; row = end)
    if (row > 0) steps[count++] = (group->times[end] - group->times[row]) / (double)(end - row);
  if (count == 0 && end_of(group, 0) < group->count)
    steps[count++] = (group->times[end_of(group, 0)] - group->times[0]) / (double)end_of(group, 0);
  if (count == 0) return 0.0;
  qsort(steps, count, sizeof *steps, compare);
  return steps[count / 2];
}

/* The first rows are spread back from the second time, as the log may begin anywhere between two of its ticks; where a time stands in three times
 * as many rows as is usual, or the next is late, the clock stood still or the log paused, and the rows keep their usual step. */
static void spread(struct log_group *group, double step_s, size_t *still_count) {
  double ahead_s = 0.0;
  for (size_t row = 0, end; row < group->count; row = end) {
    end = end_of(group, row);
    const double here_s = group->times[row] + ahead_s, rows = (double)(end - row);
    const double next_s = end < group->count ? group->times[end] + ahead_s : here_s + rows * step_s;
    double each_s = fmin((next_s - here_s) / rows, 3.0 * step_s);
    if (3.0 * each_s < step_s) { // it stood still
      each_s = step_s;
      ahead_s += here_s + rows * step_s - next_s;
      ++*still_count;
    }
    const bool first = row == 0 && step_s < each_s;
    for (size_t i = row; i < end; i++)
      group->times[i] = first ? next_s - (double)(end - i) * step_s : here_s + (double)(i - row) * each_s;
  }
}

static bool spread_over_rows(struct log_reader *reader, struct log_group *group) {
  double *steps = malloc(group->count * sizeof *steps);
  size_t still_count = 0;
  if (!steps) return false;
  const double step_s = usual_step(group, steps);
  free(steps);
  if (step_s <= 0.0) return false;
  spread(group, step_s, &still_count);
  log_reader_note(reader, "several rows share each time, and these are some %.3g s apart: the rows were spread over them",
                  step_s);
  if (still_count > 0)
    log_reader_note(reader, "the time stops %zu time%s: those rows were assumed to be %.3g s apart like the others", still_count,
                    still_count == 1 ? "" : "s", step_s);
  return true;
}

void log_time_settle(struct log_reader *reader, struct log_group *group) {
  size_t repeats = 0;
  bool fit = true;
  leave_out_back(reader, group);
  for (size_t row = 0, end; row < group->count; row = end) {
    end = end_of(group, row);
    repeats += end - row - 1;
    fit = fit && (end == row + 1 || fit_together(group, row, end));
  }
  if (repeats == 0) return;
  if (fit)
    put_together(group);
  else if (repeats < FEW || 5 * repeats < group->count || !spread_over_rows(reader, group))
    leave_out_equal(reader, group);
}
