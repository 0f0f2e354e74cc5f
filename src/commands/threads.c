#include "commands/threads.h"

#include <pthread.h>
#include <sched.h>
#include <stdatomic.h>
#include <unistd.h>

/* One run: the items not yet taken. */
struct work {
  size_t item_count;
  for_each_job job;
  void *user;
  atomic_size_t next;
};

struct worker {
  struct work *work;
  size_t number;
};

static void *take_items(void *user) {
  const struct worker *worker = user;
  struct work *work = worker->work;
  for (;;) {
    const size_t item = atomic_fetch_add(&work->next, 1);
    if (item >= work->item_count) return NULL;
    work->job(item, worker->number, work->user);
  }
}

static void run_threads(const struct for_each *for_each, size_t item_count, for_each_job job, void *user) {
  struct work work = {.item_count = item_count, .job = job, .user = user};
  atomic_init(&work.next, 0);
  const size_t wanted = for_each->worker_count < item_count ? for_each->worker_count : item_count;
  pthread_t threads[THREADS_MAX];
  struct worker workers[THREADS_MAX];
  size_t started = 1; // worker 0 is the caller
  for (; started < wanted; started++) {
    workers[started] = (struct worker){&work, started};
    if (pthread_create(&threads[started], NULL, take_items, &workers[started]) != 0) break;
  }
  workers[0] = (struct worker){&work, 0};
  take_items(&workers[0]);
  for (size_t i = 1; i < started; i++) pthread_join(threads[i], NULL);
}

/* How many cores this process may use, at least 1. */
static size_t core_count(void) {
  cpu_set_t set;
  if (sched_getaffinity(0, sizeof set, &set) == 0 && CPU_COUNT(&set) > 0) return (size_t)CPU_COUNT(&set);
  const long cores = sysconf(_SC_NPROCESSORS_ONLN);
  return cores > 0 ? (size_t)cores : 1;
}

struct for_each threads_for_each(size_t count) {
  if (count == 0) count = core_count();
  return (struct for_each){count < THREADS_MAX ? count : THREADS_MAX, run_threads};
}
