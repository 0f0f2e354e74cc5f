#include "car/engine.h"

#include "base/digest.h"

const struct engine_part engine_parts[ENGINE_PART_COUNT] = {
    {plant_params_groups, &plant_params_group_count, offsetof(struct engine, plant)},
    {computer_params_groups, &computer_params_group_count, offsetof(struct engine, computer)},
    {scatter_groups, &scatter_group_count, offsetof(struct engine, scatter)},
    {cause_rate_groups, &cause_rate_group_count, offsetof(struct engine, rates)},
};

static uint64_t digest_field(uint64_t digest, const struct field *field, const char *base) {
  switch (field->kind) {
  case FIELD_REAL:
  case FIELD_SWITCH:
    return digest_add(digest, base + field->offset, sizeof(double));
  case FIELD_COUNT:
  case FIELD_CHOICE:
    return digest_add(digest, base + field->offset, sizeof(int));
  case FIELD_CURVE:
    break;
  }
  const struct curve *curve = (const void *)(base + field->offset);
  digest = digest_add(digest, curve->x, (size_t)curve->count * sizeof curve->x[0]);
  return digest_add(digest, curve->y, (size_t)curve->count * sizeof curve->y[0]);
}

uint64_t engine_digest(const struct engine *engine) {
  uint64_t digest = DIGEST_OF_NOTHING;
  for (size_t i = 0; i < ENGINE_PART_COUNT; i++)
    for (size_t j = 0; j < *engine_parts[i].count; j++) {
      const struct field_group *group = &engine_parts[i].groups[j];
      const char *base = (const char *)engine + engine_parts[i].base + group->base;
      for (size_t k = 0; k < group->count; k++) digest = digest_field(digest, &group->fields[k], base);
    }
  for (size_t i = 0; i < SCATTER_TIE_COUNT; i++) // as if they were not there, where there are none
    if (engine->scatter.ties[i] < 0.0F || engine->scatter.ties[i] > 0.0F) {
      digest = digest_add(digest, &i, sizeof i);
      digest = digest_add(digest, &engine->scatter.ties[i], sizeof engine->scatter.ties[i]);
    }
  if (engine->scatter.of_models) digest = digest_add(digest, "models", 6);
  return digest;
}
