#include "analysis/testsheet/sheet_complaint.h"

#include "base/attributes.h"

#include <string.h>

#define FILM   "a film of 60 um on the bore wall"
#define BYPASS "a film of 200 um in the bypass"

// clang-format off
const struct sheet_complaint sheet_complaints[] = {
    {"low_idle", "It idles low, or stalls", 0, FILM, BYPASS,
     {"idle_speed", "idle_opening", "idle_steps", "idle_learned", "air_idle", "sensor_idle", "trims_idle", "closed_gap", "stop_gap"}},
    {"high_idle", "It idles high, or races after a clean", 0, "a leak of 4 mm2 behind the blade", "a leak of 4 mm2 behind the blade",
     {"idle_speed", "idle_opening", "idle_steps", "idle_learned", "trims_idle", "trims_held"}},
    {"rough_idle", "It hunts or shakes", 0, "no spark at cylinder 1, every other time", "no spark at cylinder 1, every other time",
     {"idle_steadiness", "trims_idle", "trims2_idle", "gauge_idle", "follows_still"}},
    {"drops_in_gear", "It drops when a gear or a load goes in", FEATURE_converter, FILM, BYPASS,
     {"idle_learned", "idle_spark", "air_gear", "gauge_gear", "gear_steps"}},
    {"no_throttle", "It does not answer the pedal", FEATURE_electronic, "no supply at the drive", NULL,
     {"supply_key_on", "wake_travel", "key_on_position", "floored_position", "pedal1_floored", "pedal2_floored"}},
    {"battery", "The battery goes flat, lamps dim at idle", 0, "a generator that does not charge", "a generator that does not charge",
     {"battery_rest", "charging"}},
};
// clang-format on
const size_t sheet_complaint_count = ARRAY_COUNT(sheet_complaints);

bool sheet_complaint_applies(const struct sheet *sheet, const struct sheet_complaint *complaint) {
  return engine_has(sheet->engine, complaint->needs);
}

size_t sheet_complaint_tests(const struct sheet *sheet, const struct sheet_complaint *complaint,
                             const struct sheet_reading *tests[SHEET_COMPLAINT_TEST_MAX]) {
  size_t count = 0;
  for (size_t i = 0; i < SHEET_COMPLAINT_TEST_MAX && complaint->tests[i]; i++) {
    const struct sheet_reading *reading = sheet_find(sheet, complaint->tests[i]);
    if (reading) tests[count++] = reading;
  }
  return count;
}

const struct sheet_departure *sheet_complaint_departure(const struct sheet_reading *reading, const struct sheet_fault *fault) {
  for (size_t i = 0; i < reading->departure_count; i++)
    if (reading->departures[i].fault == fault) return &reading->departures[i];
  return NULL;
}

const struct sheet_fault *sheet_complaint_fault(const struct sheet *sheet, const struct sheet_complaint *complaint) {
  const char *label = engine_has(sheet->engine, FEATURE_cable) ? complaint->compared_cable : complaint->compared;
  const struct sheet_reading *tests[SHEET_COMPLAINT_TEST_MAX];
  const size_t count = sheet_complaint_tests(sheet, complaint, tests);
  for (size_t k = 0; label && k < sheet_fault_count; k++) {
    if (strcmp(sheet_fault_rows[k].label, label) != 0) continue;
    for (size_t i = 0; i < count; i++)
      if (sheet_complaint_departure(tests[i], &sheet_fault_rows[k])) return &sheet_fault_rows[k];
  }
  return NULL;
}

unsigned sheet_complaint_cautions(const struct sheet *sheet) {
  unsigned cautions = 0;
  for (size_t k = 0; k < sheet_complaint_count; k++) {
    if (!sheet_complaint_applies(sheet, &sheet_complaints[k])) continue;
    const struct sheet_reading *tests[SHEET_COMPLAINT_TEST_MAX];
    const size_t count = sheet_complaint_tests(sheet, &sheet_complaints[k], tests);
    for (size_t i = 0; i < count; i++) cautions |= tests[i]->cautions;
  }
  return cautions;
}
