#include "car/cause_rates.h"

#include "base/attributes.h"

static const struct field rate_fields[] = {
#define CAUSE(name, condition, least, most, scale, needs, rate, text) \
  FIELD_ROW_REAL_OR(struct cause_rates, parts[CAUSE_##name], #name, 1.0, 0, 1e6, rate, "how many of all complaints: " text),
#include "car/fault_rows.h"
};

const struct field_group cause_rate_groups[] = {
    {"cause_rates", rate_fields, ARRAY_COUNT(rate_fields), 0,
     "how often each cause is behind an idle complaint, in parts of their sum", false},
};
const size_t cause_rate_group_count = ARRAY_COUNT(cause_rate_groups);
