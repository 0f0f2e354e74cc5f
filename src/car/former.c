#include "car/former.h"

#include "base/attributes.h"

#include <string.h>

static const struct {
  const char *name, *now;
} rows[] = {
#define FORMER(name, now) {#name, now},
#include "car/fault_rows.h"
};

const char *former_name_now(const char *name) {
  const char *point = strrchr(name, '.');
  const char *last = point ? point + 1 : name;
  for (size_t i = 0; i < ARRAY_COUNT(rows); i++)
    if (strcmp(rows[i].name, last) == 0) return rows[i].now;
  return NULL;
}
