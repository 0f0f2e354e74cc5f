#include "commands/progress.h"

#include "io/format/monotonic.h"

#include <math.h>
#include <stdio.h>
#include <unistd.h>

#define QUIET_S 1.0 // a shorter job says nothing on a terminal
#define EVERY_S 0.2

void progress_begin(struct progress *progress, const struct command_line *line, const char *what) {
  const bool terminal = isatty(STDERR_FILENO);
  *progress = (struct progress){.what = what, .lines = !terminal, .last_tenth = -1, .start_s = monotonic_s()};
  progress->on = !line->quiet && (terminal || options_given(line, "progress"));
}

static void show_line(struct progress *progress, double share) {
  const int tenth = (int)floor(10.0 * share + 1e-9);
  if (tenth <= progress->last_tenth) return;
  progress->last_tenth = tenth;
  fprintf(stderr, "bladegap: %s", progress->what);
  if (progress->step) fprintf(stderr, ", step %d", progress->step);
  fprintf(stderr, ": %d %%\n", 10 * tenth);
}

void progress_show(struct progress *progress, double share) {
  if (!progress->on) return;
  if (progress->lines) {
    show_line(progress, share);
    return;
  }
  const double time_s = monotonic_s();
  if (time_s - progress->start_s < QUIET_S || time_s - progress->last_s < EVERY_S) return;
  progress->last_s = time_s;
  progress->shown = true;
  fprintf(stderr, "\r%s", progress->what);
  if (progress->step) fprintf(stderr, ", step %d", progress->step);
  fprintf(stderr, ": %3.0f %%\033[K", 100.0 * share);
  fflush(stderr);
}

void progress_end(struct progress *progress) {
  if (progress->shown) fprintf(stderr, "\r\033[K");
  fflush(stderr);
  progress->shown = progress->on = false;
}

bool progress_simulation(double share, void *user) {
  progress_show(user, share);
  return true;
}

/* ---- work shared out ---- */

struct shown_work {
  for_each_job job;
  void *user;
  size_t item_count;
  struct progress *progress;
};

static void do_shown(size_t index, size_t worker, void *user) {
  const struct shown_work *work = user;
  work->job(index, worker, work->user);
  if (worker == 0) progress_show(work->progress, (double)(index + 1) / (double)work->item_count); // items are taken in order
}

static void run_shown(const struct for_each *for_each, size_t item_count, for_each_job job, void *user) {
  const struct progress_for_each *all = (const struct progress_for_each *)for_each;
  struct shown_work work = {job, user, item_count, all->progress};
  if (all->progress->stepwise) all->progress->step++;
  all->progress->last_tenth = -1;
  all->inner.run(&all->inner, item_count, do_shown, &work);
}

struct progress_for_each progress_for_each(const struct for_each *inner, struct progress *progress) {
  return (struct progress_for_each){{inner->worker_count, run_shown}, *inner, progress};
}
