#include "base/for_each.h"

static void run_serially(const struct for_each *for_each, size_t item_count, for_each_job job, void *user) {
  (void)for_each;
  for (size_t i = 0; i < item_count; i++) job(i, 0, user);
}

const struct for_each for_each_serial = {1, run_serially};
