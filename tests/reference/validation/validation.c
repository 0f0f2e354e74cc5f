#include "reference/validation/validation.h"

#include "reference/validation/sections.h"

#include <math.h>

const char *const validation_mark_names[] = {"read", "abstract only", "from memory", "run"};
const char *const validation_verdict_names[] = {"holds", "**misses**", "**FAILS**"};

const struct validation_source_row validation_sources[VALIDATION_SOURCE_COUNT] = {
#define SOURCE(id, independent, mark, text) {independent, VALIDATION_##mark, text},
    VALIDATION_SOURCE_LIST(SOURCE)
#undef SOURCE
};

const struct validation_section *const validation_sections[VALIDATION_SECTION_COUNT] = {
    &section_gas,      &section_throttle, &section_film, &section_charge,    &section_spark,
    &section_friction, &section_idle,     &section_scan, &section_real_idle, &section_real_drive,
};

enum validation_verdict validation_judge(const struct validation_row *row, double ours) {
  const double off = fabs(ours - row->theirs);
  if (off <= row->tolerance) return VALIDATION_HOLDS;
  return off <= row->known_miss ? VALIDATION_MISSES : VALIDATION_FAILS;
}

void validation_each(const struct validation_section *section,
                     void (*tell)(const struct validation_row *row, double ours, void *user), void *user) {
  void *context = section->begin ? section->begin() : NULL;
  for (size_t i = 0; i < section->count; i++) tell(&section->rows[i], section->rows[i].ours(context, section->rows[i].at), user);
  if (section->end) section->end(context);
}
