#include "plant/paths.h"

const struct plant_path_row plant_path_rows[PLANT_PATH_COUNT] = {
#define PATH(name, node, text) {#name, PLANT_NODE_##node, text},
    PLANT_PATH_LIST(PATH)
#undef PATH
};
