/* What is tried on the bench tests: the SHEET rows of car/fault_rows.h. The readings come from running the model with their
 * conditions. */
#include "analysis/testsheet/sheet.h"

#include "base/attributes.h"

#define KEY        (1u << SHEET_PROCEDURE_KEY)
#define UNPLUGGED  (1u << SHEET_PROCEDURE_UNPLUGGED)
#define RUN        (1u << SHEET_PROCEDURE_RUN)
#define IN(name)   (1u << SHEET_SECTION_##name)
#define STEP(name) CAUTION_STEP_##name

const struct sheet_fault sheet_fault_rows[] = {
#define SHEET(label, needs, procedures, sections, steps, meaning, ...) \
  {label, {__VA_ARGS__}, needs, procedures, sections, steps, meaning},
#include "car/fault_rows.h"
};
const size_t sheet_fault_count = ARRAY_COUNT(sheet_fault_rows);
_Static_assert(ARRAY_COUNT(sheet_fault_rows) <= SHEET_DEPARTURE_MAX, "room for every fault in a reading");
