#include "car/scatter_params.h"

#include "base/attributes.h"

static const struct field scatter_fields[] = {
#define SCATTER(key, factor, usual, road, most, needs, kind, text, why, why_road) \
  FIELD_ROW_REAL_OR(struct scatter_params, sd[SCATTER_##key], #key, factor, 0, most, usual, \
                    "standard deviation from car to car: " text "; " why),
    SCATTER_LIST(SCATTER)
#undef SCATTER
};

const struct field_group scatter_groups[] = {
    {"scatter", scatter_fields, ARRAY_COUNT(scatter_fields), 0,
     "how much cars of this kind, and days, differ: standard deviations", false},
};
const size_t scatter_group_count = ARRAY_COUNT(scatter_groups);

const double scatter_road[SCATTER_COUNT] = {
#define SCATTER(key, factor, usual, road, most, needs, kind, text, why, why_road) road,
    SCATTER_LIST(SCATTER)
#undef SCATTER
};
