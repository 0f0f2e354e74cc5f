/* Threads behind base/for_each.h: items are taken one by one by as many threads as there are cores.
 *
 * The order of items is not fixed, so a job may write only to what belongs to its item or its worker. */
#ifndef COMMANDS_THREADS_H
#define COMMANDS_THREADS_H

#include "base/for_each.h"

enum { THREADS_MAX = 256 };

/* So many workers, at most THREADS_MAX; 0 for all cores. A thread that cannot be had is done without. */
struct for_each threads_for_each(size_t count);

#endif
