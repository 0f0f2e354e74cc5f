#include "io/report/sweep_report.h"

#include "base/attributes.h"
#include "io/format/text.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { LINE_MOST = 12, WORD_SIZE = 160 }; // more lines than that are for the CSV

/* Points along the first axis, by rising value, at one value of the second. */
struct line {
  const struct sweep *sweep;
  const struct sweep_table *table;
  size_t count;
  size_t *points; // owned
};

static size_t axis_count(const struct sweep *sweep, size_t axis) {
  return axis < sweep->axis_count ? sweep->axes[axis].count : 1;
}

static double first_value(const struct line *line, size_t i) { return sweep_axis_value(line->sweep, 0, line->points[i]); }

/* Index of a column, -1 if there is none. */
static int column_of(const struct sweep *sweep, const char *name) {
  for (size_t i = 0; i < sweep->column_count; i++)
    if (strcmp(sweep->columns[i].name, name) == 0) return (int)i;
  return -1;
}

static double value_at(const struct line *line, size_t i, const char *name) {
  const int column = column_of(line->sweep, name);
  return column < 0 ? NAN : line->table->values[line->points[i] * line->table->column_count + (size_t)column];
}

static bool line_init(struct line *line, const struct sweep *sweep, const struct sweep_table *table, size_t second) {
  const size_t stride = axis_count(sweep, 1);
  *line = (struct line){sweep, table, axis_count(sweep, 0), NULL};
  line->points = calloc(line->count, sizeof *line->points);
  if (!line->points) return false;
  for (size_t i = 0; i < line->count; i++) { // by value: insertion, for they nearly always rise
    size_t at = i;
    line->points[i] = i * stride + second;
    for (; at > 0 && first_value(line, at) < first_value(line, at - 1); at--) {
      const size_t kept = line->points[at];
      line->points[at] = line->points[at - 1];
      line->points[at - 1] = kept;
    }
  }
  return true;
}

/* ---- Settled points ---- */

/* The outcome at a point; SETTLE_OUTCOME_COUNT if the file holds none. */
static enum settle_outcome outcome_at(const struct line *line, size_t i) {
  const double value = value_at(line, i, "outcome");
  return value >= 0.0 && value < SETTLE_OUTCOME_COUNT ? (enum settle_outcome)value : SETTLE_OUTCOME_COUNT;
}

/* "850" or "846 to 353"; empty where nothing turns. */
static void speed_word(const struct line *line, size_t first, size_t last, char word[WORD_SIZE]) {
  const double from = value_at(line, first, "speed_rpm"), to = value_at(line, last, "speed_rpm");
  if (!isfinite(from) || !isfinite(to) || (from <= 0.0 && to <= 0.0))
    snprintf(word, WORD_SIZE, "-");
  else if (fabs(from - to) < 0.5)
    snprintf(word, WORD_SIZE, "%.0f", to);
  else
    snprintf(word, WORD_SIZE, "%.0f to %.0f", from, to);
}

/* Where codes begin to set along a line: "P0505 from 64". */
static void print_codes(const struct line *line, FILE *stream) {
  for (size_t c = 0; c < sweep_settled_code_count; c++) {
    const char *code = monitor_rows[sweep_settled_codes[c]].code;
    size_t first = line->count, last = 0, count = 0;
    for (size_t i = 0; i < line->count; i++)
      if (value_at(line, i, code) > 0.5) {
        if (first == line->count) first = i;
        last = i;
        count++;
      }
    if (first == line->count) continue;
    fprintf(stream, "  %s would set at %s %.10g", code, line->sweep->axes[0].name, first_value(line, first));
    if (last > first) fprintf(stream, " to %.10g", first_value(line, last));
    if (count < last - first + 1) fprintf(stream, ", not everywhere between");
    fprintf(stream, ": %s\n", monitor_rows[sweep_settled_codes[c]].text);
  }
}

static size_t end_of_stretch(const struct line *line, size_t first) {
  size_t last = first;
  while (last + 1 < line->count && outcome_at(line, last + 1) == outcome_at(line, first)) last++;
  return last;
}

/* One line: a row a stretch of one outcome. */
static enum status print_stretches(const struct line *line, FILE *stream, struct error *error) {
  const char *headings[] = {line->sweep->axes[0].name, "outcome", "rpm"};
  struct text_table table;
  size_t count = 0;
  char word[WORD_SIZE];
  text_table_init(&table, ARRAY_COUNT(headings), headings);
  for (size_t i = 0; i < line->count && count < LINE_MOST; count++) {
    const size_t last = end_of_stretch(line, i);
    const enum settle_outcome outcome = outcome_at(line, i);
    if (last > i)
      text_table_add(&table, "%.10g to %.10g", first_value(line, i), first_value(line, last));
    else
      text_table_add(&table, "%.10g", first_value(line, i));
    text_table_add(&table, "%s", outcome < SETTLE_OUTCOME_COUNT ? settle_outcome_names[outcome] : "unknown");
    speed_word(line, i, last, word);
    text_table_add(&table, "%s", word);
    i = last + 1;
  }
  fputc('\n', stream);
  const int failed = text_table_print(&table, stream, 2);
  text_table_destroy(&table);
  return failed ? error_set(error, STATUS_NO_MEMORY, "out of memory for the table") : STATUS_OK;
}

/* "The droop begins between film_um 60 and 61." for what a reader looks for; of the first of each. */
static void print_begin(const struct line *line, enum settle_outcome outcome, const char *what, FILE *stream) {
  for (size_t i = 0; i < line->count; i++) {
    if (outcome_at(line, i) != outcome) continue;
    const char *name = line->sweep->axes[0].name;
    if (i == 0)
      fprintf(stream, "  %s is there from the first value, %s %.10g.\n", what, name, first_value(line, 0));
    else
      fprintf(stream, "  %s begins between %s %.10g and %.10g.\n", what, name, first_value(line, i - 1), first_value(line, i));
    return;
  }
}

static enum status print_settled_line(const struct line *line, FILE *stream, struct error *error) {
  const enum status status = print_stretches(line, stream, error);
  fputc('\n', stream);
  print_begin(line, SETTLE_DROOPS, "The droop", stream);
  print_begin(line, SETTLE_RACES, "Racing", stream);
  print_begin(line, SETTLE_STALLS, "Stalling", stream);
  print_codes(line, stream);
  return status;
}

/* The first value of the first axis with this outcome: "61"; "-" if none. */
static void add_first(const struct line *line, enum settle_outcome outcome, struct text_table *table) {
  size_t i = 0;
  while (i < line->count && outcome_at(line, i) != outcome) i++;
  if (i < line->count)
    text_table_add(table, "%.10g", first_value(line, i));
  else
    text_table_add(table, "-");
}

/* Two axes: for values of the second, from which value of the first it droops, races, stalls. */
static enum status print_settled_map(const struct sweep *sweep, const struct sweep_table *values, FILE *stream,
                                     struct error *error) {
  char droops[WORD_SIZE], races[WORD_SIZE], stalls[WORD_SIZE];
  const char *name = sweep->axes[0].name;
  snprintf(droops, sizeof droops, "droops from %.60s", name);
  snprintf(races, sizeof races, "races from %.60s", name);
  snprintf(stalls, sizeof stalls, "stalls from %.60s", name);
  const char *headings[] = {sweep->axes[1].name, droops, races, stalls};
  const size_t all = axis_count(sweep, 1), shown = all < LINE_MOST ? all : LINE_MOST;
  struct text_table table;
  bool complete = true;
  text_table_init(&table, ARRAY_COUNT(headings), headings);
  for (size_t k = 0; k < shown && complete; k++) {
    const size_t second = shown > 1 ? k * (all - 1) / (shown - 1) : 0; // both ends, and evenly between
    struct line line;
    complete = line_init(&line, sweep, values, second);
    if (!complete) break;
    text_table_add(&table, "%.10g", sweep_axis_value(sweep, 1, second));
    add_first(&line, SETTLE_DROOPS, &table);
    add_first(&line, SETTLE_RACES, &table);
    add_first(&line, SETTLE_STALLS, &table);
    free(line.points);
  }
  fputc('\n', stream);
  complete = text_table_print(&table, stream, 2) == 0 && complete;
  text_table_destroy(&table);
  if (shown < all) fprintf(stream, "  %zu of the %zu values of %s; all are in the CSV\n", shown, all, sweep->axes[1].name);
  return complete ? STATUS_OK : error_set(error, STATUS_NO_MEMORY, "out of memory for the table");
}

/* ---- Runs ---- */

static void add_number(struct text_table *table, double value, int decimals) {
  if (isfinite(value))
    text_table_add(table, "%.*f", decimals, value);
  else
    text_table_add(table, "-");
}

/* What a run came to, shown where some run has it. */
static const struct {
  const char *metric, *heading;
} run_figures[] = {{"lowest_rpm", "lowest rpm after a load"},
                   {"settling_s", "s to idle on target"},
                   {"relearn_s", "s to relearn"},
                   {"end_speed_rpm", "rpm at the end"},
                   {"end_target_rpm", "its target"}};

static bool some_run_has(const struct line *line, const char *metric) {
  for (size_t i = 0; i < line->count; i++)
    if (value_at(line, i, "ran") > 0.5 && isfinite(value_at(line, i, metric))) return true;
  return false;
}

static void add_run(const struct line *line, size_t i, struct text_table *table) {
  const bool ran = value_at(line, i, "ran") > 0.5, stalled = value_at(line, i, "stalled") > 0.5;
  text_table_add(table, "%.10g", first_value(line, i));
  if (!ran)
    text_table_add(table, "does not idle at the start");
  else if (stalled)
    text_table_add(table, "stalls at %.1f s", value_at(line, i, "stalled_s"));
  else
    text_table_add(table, "keeps running");
  for (size_t k = 0; k < ARRAY_COUNT(run_figures); k++)
    if (some_run_has(line, run_figures[k].metric)) add_number(table, ran ? value_at(line, i, run_figures[k].metric) : NAN, 0);
}

static enum status print_runs_line(const struct line *line, FILE *stream, struct error *error) {
  const char *headings[2 + ARRAY_COUNT(run_figures)] = {line->sweep->axes[0].name, "the run"};
  size_t heading_count = 2;
  for (size_t k = 0; k < ARRAY_COUNT(run_figures); k++)
    if (some_run_has(line, run_figures[k].metric)) headings[heading_count++] = run_figures[k].heading;
  const size_t shown = line->count < LINE_MOST ? line->count : LINE_MOST;
  struct text_table table;
  text_table_init(&table, heading_count, headings);
  for (size_t k = 0; k < shown; k++) add_run(line, shown > 1 ? k * (line->count - 1) / (shown - 1) : 0, &table);
  fputc('\n', stream);
  const int failed = text_table_print(&table, stream, 2);
  text_table_destroy(&table);
  if (shown < line->count) fprintf(stream, "  %zu of %zu runs; all are in the CSV\n", shown, line->count);
  for (size_t i = 0; i < line->count; i++)
    if (value_at(line, i, "stalled") > 0.5 || value_at(line, i, "ran") < 0.5) {
      fprintf(stream, "  The first that stalls, or does not even start: %s %.10g.\n", line->sweep->axes[0].name,
              first_value(line, i));
      return failed ? error_set(error, STATUS_NO_MEMORY, "out of memory for the table") : STATUS_OK;
    }
  fprintf(stream, "  None stalls.\n");
  return failed ? error_set(error, STATUS_NO_MEMORY, "out of memory for the table") : STATUS_OK;
}

static void print_runs_map(const struct sweep *sweep, const struct sweep_table *table, FILE *stream) {
  size_t stalled = 0, unable = 0;
  const int stalled_column = column_of(sweep, "stalled"), ran_column = column_of(sweep, "ran");
  for (size_t i = 0; i < table->row_count; i++) {
    const double *row = table->values + i * table->column_count;
    stalled += row[stalled_column] > 0.5;
    unable += row[ran_column] < 0.5;
  }
  fprintf(stream, "\n  %zu of %zu runs stall, %zu more do not idle at the start\n", stalled, table->row_count, unable);
}

/* ---- The whole ---- */

static void print_counts(const struct sweep *sweep, const struct sweep_table *table, FILE *stream) {
  size_t counts[SETTLE_OUTCOME_COUNT] = {0};
  const int column = column_of(sweep, "outcome");
  for (size_t i = 0; i < table->row_count; i++) {
    const double value = table->values[i * table->column_count + (size_t)column];
    if (value >= 0.0 && value < SETTLE_OUTCOME_COUNT) counts[(int)value]++;
  }
  for (int i = 0; i < SETTLE_OUTCOME_COUNT; i++)
    if (counts[i]) fprintf(stream, "  %zu: %s\n", counts[i], settle_outcome_names[i]);
}

enum status sweep_report_print(const struct sweep *sweep, const struct sweep_table *table, FILE *stream, struct error *error) {
  if (!sweep->scenario) print_counts(sweep, table, stream);
  if (sweep->axis_count > 1 && sweep->scenario) {
    print_runs_map(sweep, table, stream);
    return STATUS_OK;
  }
  if (sweep->axis_count > 1) return print_settled_map(sweep, table, stream, error);
  struct line line;
  if (!line_init(&line, sweep, table, 0)) return error_set(error, STATUS_NO_MEMORY, "out of memory for the points");
  const enum status status = sweep->scenario ? print_runs_line(&line, stream, error) : print_settled_line(&line, stream, error);
  free(line.points);
  return status;
}
