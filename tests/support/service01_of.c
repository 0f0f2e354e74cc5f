#include "support/service01_of.h"

const struct service01_row *service01_of(unsigned identifier) {
  for (size_t i = 0; i < service01_count; i++)
    if (service01_rows[i].identifier == identifier) return &service01_rows[i];
  return NULL;
}
