/* A file of costs: groups `costs`, `parts` and `minutes` of car/remedy.h; what it leaves out is as usual. */
#ifndef IO_CONFIG_COSTS_FILE_H
#define IO_CONFIG_COSTS_FILE_H

#include "base/error.h"
#include "car/remedy.h"

/* STATUS_NO_INPUT; STATUS_BAD_CONFIG with every fault and its line. */
MUST_CHECK enum status costs_file_read(const char *path, struct remedy_costs *costs, struct error *error);

#endif
