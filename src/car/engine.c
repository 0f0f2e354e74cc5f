#include "car/engine.h"

const struct engine_part engine_parts[ENGINE_PART_COUNT] = {
    {plant_params_groups, &plant_params_group_count, offsetof(struct engine, plant)},
    {computer_params_groups, &computer_params_group_count, offsetof(struct engine, computer)},
    {scatter_groups, &scatter_group_count, offsetof(struct engine, scatter)},
    {cause_rate_groups, &cause_rate_group_count, offsetof(struct engine, rates)},
};
