/* compare_runs FILE FILE: two outputs of core_run.c of programs with different C libraries. Exit status 1, and what differs, if they
 * are further apart than the C libraries explain.
 *
 * exp, log, pow and the like differ between C libraries in the last digit, now and then; the core is the same. What becomes of a last
 * digit depends on what is computed, so each kind of line has a tolerance of its own, as a share of the range that the number has
 * over all lines of its kind and engine (largest less smallest, or largest if that is more). Figures measured: musl 1.2.3 against
 * glibc 2.36.
 *
 *   settled   measured 3e-15, 9e-11 over many more points. A root is found to 1e-10 of its bracket or better.
 *   ideal     a run in which nothing sticks, row by row; measured 5e-13 in 400 s. Events are located to 1e-10 s, and each starts the
 *             next stretch.
 *   shipped   the throttle drive as shipped. The tick at which a sticking blade breaks loose hangs on the last digit: rows were up to 7 rpm
 *             apart for a while, and no program has the right one. Means over ten seconds are compared: measured 0.23 rpm, where two
 *             tolerances of CVODE differ by 0.67 rpm (docs/architecture.md), and 0.9 % of the range of any other channel.
 *   estimate, next, after   measured 3e-12. Fits end where a step gains too little, which a last digit does not change. */
#include "sim/channels.h"

#include <inttypes.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { WINDOW_ROWS = 20 }; // of half a second
#define SHARE         1e-8
#define WINDOW_RPM    1.0
#define WINDOW_SHARE  0.03
#define HARDLY_RANGES 1e-12 // a number that is noise about nothing

enum { LABEL_SIZE = 160, VALUE_MAX = 64, LINE_SIZE = 2000, LINE_MAX = 20000, SHOWN_MAX = 20 };

struct line {
  char label[LABEL_SIZE]; // all before the colon
  size_t group;           // length of kind and engine in it
  size_t count;
  double values[VALUE_MAX];
};

struct output {
  size_t count;
  struct line *lines;
};

static void give_up(const char *path, const char *what) {
  fprintf(stderr, "%s: %s\n", path, what);
  exit(2);
}

static void read_line(const char *path, const char *text, struct line *line) {
  const char *colon = strrchr(text, ':');
  if (!colon || (size_t)(colon - text) >= sizeof line->label) give_up(path, "a line without a colon, or too long");
  snprintf(line->label, sizeof line->label, "%.*s", (int)(colon - text), text);
  const char *blank = strchr(line->label, ' ');
  line->group = blank ? (size_t)(blank - line->label) + 1 + strcspn(blank + 1, " ") : strlen(line->label);
  char *end;
  for (const char *at = colon + 1;; at = end) {
    const uint64_t bits = strtoull(at, &end, 16);
    if (end == at) break;
    if (line->count == VALUE_MAX) give_up(path, "too many values in a line");
    memcpy(&line->values[line->count++], &bits, sizeof bits);
  }
}

static struct output read_output(const char *path) {
  struct output output = {0, calloc(LINE_MAX, sizeof *output.lines)};
  FILE *file = fopen(path, "r");
  if (!file || !output.lines) give_up(path, "cannot be read");
  char text[LINE_SIZE];
  while (fgets(text, sizeof text, file)) {
    if (output.count == LINE_MAX || !strchr(text, '\n')) give_up(path, "too long");
    read_line(path, text, &output.lines[output.count++]);
  }
  fclose(file);
  if (output.count == 0) give_up(path, "is empty");
  return output;
}

static bool is_kind(const struct line *line, const char *kind) {
  const size_t length = strlen(kind);
  return strncmp(line->label, kind, length) == 0 && line->label[length] == ' ';
}

static bool same_group(const struct line *a, const struct line *b) {
  return a->group == b->group && strncmp(a->label, b->label, a->group) == 0;
}

/* Range of a value over the lines of its group. */
static double range_of(const struct output *output, size_t at, size_t value) {
  double least = INFINITY, most = -INFINITY;
  for (size_t i = 0; i < output->count; i++) {
    const struct line *line = &output->lines[i];
    if (!same_group(line, &output->lines[at]) || value >= line->count || !isfinite(line->values[value])) continue;
    least = fmin(least, line->values[value]);
    most = fmax(most, line->values[value]);
  }
  return fmax(fmax(most - least, fmax(fabs(most), fabs(least))), HARDLY_RANGES);
}

static int differing;

static void tell(const struct line *line, size_t value, double a, double b, double allowed) {
  if (differing++ < SHOWN_MAX)
    fprintf(stderr, "%s, number %zu: %.17g and %.17g, %.3g apart; allowed: %.3g\n", line->label, value, a, b, fabs(a - b),
            allowed);
}

/* No number on both sides, or two that are close. */
static bool close_enough(double a, double b, double allowed) {
  if (isnan(a) || isnan(b)) return isnan(a) && isnan(b);
  if (isinf(a) || isinf(b)) return isinf(a) && isinf(b) && (a > 0.0) == (b > 0.0);
  return fabs(a - b) <= allowed;
}

static void compare_rows(const struct output *a, const struct output *b, size_t at) {
  const struct line *one = &a->lines[at], *other = &b->lines[at];
  for (size_t value = 0; value < one->count; value++) {
    // the range is worth its while only where they differ
    if (close_enough(one->values[value], other->values[value], 0.0)) continue;
    const double allowed = SHARE * range_of(b, at, value);
    if (!close_enough(one->values[value], other->values[value], allowed))
      tell(one, value, one->values[value], other->values[value], allowed);
  }
}

/* Means of the rows from here, if that many of the same run follow. */
static void compare_window(const struct output *a, const struct output *b, size_t from) {
  const struct line *one = &a->lines[from];
  if (from + WINDOW_ROWS > a->count || !same_group(one, &a->lines[from + WINDOW_ROWS - 1])) return;
  for (size_t value = 0; value < one->count; value++) {
    double mean = 0.0, other = 0.0;
    for (size_t i = from; i < from + WINDOW_ROWS; i++) {
      mean += a->lines[i].values[value] / WINDOW_ROWS;
      other += b->lines[i].values[value] / WINDOW_ROWS;
    }
    if (close_enough(mean, other, 0.0)) continue;
    const double allowed = value == CHANNEL_speed_rpm ? WINDOW_RPM : WINDOW_SHARE * range_of(b, from, value);
    if (!close_enough(mean, other, allowed)) tell(one, value, mean, other, allowed);
  }
}

static void compare(const struct output *a, const struct output *b) {
  size_t row = 0; // of a run
  for (size_t i = 0; i < a->count; i++) {
    const struct line *one = &a->lines[i], *other = &b->lines[i];
    if (strcmp(one->label, other->label) != 0 || one->count != other->count) {
      if (differing++ < SHOWN_MAX) fprintf(stderr, "'%s' and '%s'\n", one->label, other->label);
    } else if (is_kind(one, "shipped")) {
      row = i > 0 && same_group(one, &a->lines[i - 1]) ? row + 1 : 0;
      if (row % WINDOW_ROWS == 0) compare_window(a, b, i);
    } else {
      compare_rows(a, b, i);
    }
  }
}

/* When, or whether, a blade that sticks lets an engine stall is not compared: runs may have other events. */
static size_t without_shipped_events(struct output *output) {
  size_t kept = 0;
  for (size_t i = 0; i < output->count; i++)
    if (!is_kind(&output->lines[i], "shipped_event")) output->lines[kept++] = output->lines[i];
  return output->count = kept;
}

int main(int argc, char **argv) {
  if (argc != 3) give_up("compare_runs", "wants two files");
  struct output a = read_output(argv[1]), b = read_output(argv[2]);
  if (without_shipped_events(&a) != without_shipped_events(&b)) give_up(argv[2], "has another number of lines than the first");
  compare(&a, &b);
  if (differing) fprintf(stderr, "%d differences in %zu lines\n", differing, a.count);
  free(a.lines);
  free(b.lines);
  return differing ? 1 : 0;
}
