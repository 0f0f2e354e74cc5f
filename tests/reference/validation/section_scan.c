/* Bytes of service 01, and when a lamp is lit. */
#include "reference/validation/sections.h"

#include "base/attributes.h"
#include "control/monitors.h"
#include "io/scantool/service01.h"
#include "support/scene.h"
#include "support/service01_of.h"

#define CYCLE_S 100.0

/* Raw number of a reading; the identifier in the thousands, the value's index below. */
struct reading_case {
  unsigned identifier;
  double value;
};
static const struct reading_case cases[] = {{0x0C, 750.0},     {0x10, 2.25}, {0x11, 14.902}, {0x06, 10.15625},
                                            {0x06, -10.15625}, {0x0E, 11.0}, {0x05, 90.0},   {0x42, 14.1}};

static double raw(const void *context, double at) {
  (void)context;
  const struct reading_case *row = &cases[(size_t)at];
  return (double)service01_encode(service01_of(row->identifier), row->value);
}

/* Driving cycles with a fault until the lamp is lit: weak injectors from the first on; read after key-off. */
static double lamp_cycles(const void *context, double at) {
  (void)context;
  for (int cycles = 1; cycles <= (int)at; cycles++) {
    struct scene scene;
    scene_init(&scene, "four-16", cycles * CYCLE_S - 19.0);
    scene.solver = &solver_fast;
    scene_ramp(&scene, 1.0, 5.0, "fuel_delivery_ratio", 0.78);
    for (int i = 0; i < cycles; i++) {
      const double begin = i * CYCLE_S;
      scene_key(&scene, begin + 80.0, KEY_OFF);
      scene_set(&scene, begin + 81.5, "coolant_c", 45);
      scene_key(&scene, begin + 95.0, KEY_ON);
      scene_key(&scene, begin + 98.0, KEY_START);
      scene_set(&scene, begin + CYCLE_S + 10.0, "coolant_c", 90);
    }
    scene_run(&scene);
    const bool lit = scene.sim->vehicle.computer.memory.monitors.code[MONITOR_P0171].lamp;
    scene_end(&scene);
    if (lit) return cycles;
  }
  return at + 1.0;
}

// clang-format off
#define RAW(text, theirs, index) {text, theirs, 0, 0, 0, VALIDATION_SOURCE_J1979, VALIDATION_USED, raw, index}

static const struct validation_row rows[] = {
    RAW("raw number of 750 rpm (0C)", 0x0BB8, 0), RAW("of 2.25 g/s (10)", 0x00E1, 1), RAW("of 14.9 % position (11)", 0x26, 2),
    RAW("of +10.16 % trim (06)", 0x8D, 3), RAW("of -10.16 % trim (06)", 0x73, 4), RAW("of 11 degrees of spark (0E)", 0x96, 5),
    RAW("of 90 C coolant (05)", 0x82, 6), RAW("of 14.1 V (42)", 0x3714, 7),
    {"driving cycles with a fault until the lamp is lit", 2, 0, 0, 0, VALIDATION_SOURCE_CARB, VALIDATION_USED, lamp_cycles, 4},
};
// clang-format on

const struct validation_section section_scan = {
    .kind = VALIDATION_ARITHMETIC,
    .title = "Scan tool",
    .text = "Copies of open standards. tests/reference/test_decoder.c also has another program's dissector (tshark) "
            "read our capture.",
    .rows = rows,
    .count = ARRAY_COUNT(rows),
};
