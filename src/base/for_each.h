/* Work that can be shared out: one call per item, in any order, by any number of workers. The layers below the program know only this
 * interface; the program puts threads behind it, other places a plain loop. */
#ifndef BASE_FOR_EACH_H
#define BASE_FOR_EACH_H

#include <stddef.h>

/* Does item `index`; `worker` counts the workers from 0, so that each can have memory of its own. */
typedef void (*for_each_job)(size_t index, size_t worker, void *user);

struct for_each {
  size_t worker_count; // how many workers there may be; at least 1
  /* Returns when all items are done. */
  void (*run)(const struct for_each *for_each, size_t item_count, for_each_job job, void *user);
};

/* One worker, items in order. */
extern const struct for_each for_each_serial;

#endif
