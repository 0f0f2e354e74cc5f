#include "plant/state.h"

#include <math.h>
#include <string.h>

const struct plant_state_row plant_state_rows[PLANT_STATE_COUNT] = {
#define STATE(name, nominal, text) {#name, nominal, text},
    PLANT_STATE_LIST(STATE)
#undef STATE
};

const char *plant_state_not_finite(const struct plant_state *state) {
  double value[PLANT_STATE_COUNT];
  memcpy(value, state, sizeof value);
  for (size_t i = 0; i < PLANT_STATE_COUNT; i++)
    if (!isfinite(value[i])) return plant_state_rows[i].name;
  return NULL;
}
