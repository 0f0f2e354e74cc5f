#include "sim/engine.h"

const struct engine_part engine_parts[ENGINE_PART_COUNT] = {
    {plant_params_groups, &plant_params_group_count, offsetof(struct engine, plant)},
    {computer_params_groups, &computer_params_group_count, offsetof(struct engine, computer)},
};
