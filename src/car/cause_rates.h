/* How often each cause stands behind a complaint: the group `cause_rates` of an engine file. What the causes are: car/causes.h. */
#ifndef CAR_CAUSE_RATES_H
#define CAR_CAUSE_RATES_H

#include "base/field.h"

enum cause {
#define CAUSE(name, condition, least, most, scale, needs, rate, text) CAUSE_##name,
#include "car/fault_rows.h"
  CAUSE_COUNT
};

/* Parts in which each cause stands behind a complaint; only their ratios matter. */
struct cause_rates {
  double parts[CAUSE_COUNT];
};
extern const struct field_group cause_rate_groups[];
extern const size_t cause_rate_group_count;

#endif
