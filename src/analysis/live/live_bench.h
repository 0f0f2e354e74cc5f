/* The live bench: an engine that somebody acts on while it runs. What was done is kept as a record.
 *
 * A moment is looked at every LIVE_BENCH_ROW_TICKS, whoever is looking: so what is done between two of them acts at the same ticks
 * whatever is shown, drawn or written, and the same actions give the same record. */
#ifndef ANALYSIS_LIVE_LIVE_BENCH_H
#define ANALYSIS_LIVE_LIVE_BENCH_H

#include "sim/simulation.h"

enum {
  LIVE_BENCH_TICKS_PER_S = 100,
  LIVE_BENCH_ROW_TICKS = 10,       // every 0.1 s, the usual spacing of a run's rows
  LIVE_BENCH_HISTORY_ROWS = 18100, // half an hour of them, and a little more
};

/* Takes what was done for the history: channels that a strip chart shows. */
// clang-format off
#define LIVE_BENCH_TRACE_LIST(TRACE) \
  TRACE(time_s) TRACE(speed_rpm) TRACE(target_rpm) TRACE(blade_deg) TRACE(airflow_gps) TRACE(film_um) TRACE(learned_pct)
// clang-format on
enum live_bench_trace {
#define TRACE(channel) LIVE_BENCH_##channel,
  LIVE_BENCH_TRACE_LIST(TRACE)
#undef TRACE
      LIVE_BENCH_TRACE_COUNT
};

/* The last half hour, oldest first from `begin`; rows beyond the end of the array go on at its start. */
struct live_bench_history {
  size_t begin, count;
  double values[LIVE_BENCH_HISTORY_ROWS][LIVE_BENCH_TRACE_COUNT];
};

/* Some megabytes: to be owned, not to stand on a stack. The caller fills engine and scenario before live_bench_begin(). */
struct live_bench {
  struct engine engine;
  struct scenario scenario; // what it begins with
  struct simulation *sim;
  struct scenario record;    // what was done, to be written by record_write()
  struct recording events;   // what happened; no rows
  double row[CHANNEL_COUNT]; // the last moment looked at
  struct live_bench_history history;
};

/* An empty one; NULL without memory. */
struct live_bench *live_bench_create(void);
void live_bench_destroy(struct live_bench *bench);

/* A scenario in which nothing happens: the engine in its settled point. */
void live_bench_idle(struct scenario *scenario, const char *engine_path, const char *engine_name);

/* Begins. Of a film that is moved about the gap is integrated where it is looked at (film_on_demand). STATUS_BAD_CONFIG if the engine
 * does not keep running where it should begin to. */
MUST_CHECK enum status live_bench_begin(struct live_bench *bench, const struct solver_vtable *solver, struct error *error);

/* Goes on by so many ticks, up to a day in all; *passed: how many it were, fewer only at the end of the day. STATUS_INTERNAL if the equations cannot be integrated further. */
MUST_CHECK enum status live_bench_pass(struct live_bench *bench, long ticks, long *passed, struct error *error);

/* Row of the history, 0 the oldest. */
const double *live_bench_history_row(const struct live_bench *bench, size_t index);

/* One line of a record without its time, "film_um 40 7", "key off", "note lunch", as a step to be played. STATUS_USAGE says what is
 * wrong and what is allowed. */
MUST_CHECK enum status live_bench_read_step(const char *line, struct scenario_step *step, struct error *error);

#endif
