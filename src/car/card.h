/* A car card: what one knows of a car that nobody wrote an engine file for. Every entry may be left open.
 *
 * One row per entry: its name, how it is asked, its unit and range, what it sets. What becomes of a card: analysis/fit/card_engine.h. */
#ifndef CAR_CARD_H
#define CAR_CARD_H

#include "base/attributes.h"
#include "base/error.h"

#include <stdbool.h>
#include <stddef.h>

/* NUMBER(key, unit, least, most, question, what it sets); CHOICE(key, words, question, what it sets). The ranges are those of cars on the
 * road, wide; common practice, no source. */
// clang-format off
#define CARD_LIST(NUMBER, CHOICE)                                                                                                            \
  CHOICE(kind, (KIND, "electronic", "cable"), "Is the throttle blade moved by a motor (electronic), or by a cable from the pedal (cable)?",    \
         "the engine to start from")                                                                                                          \
  CHOICE(metering, (METERING, "air_flow", "pressure"),                                                                                         \
         "Is its air measured by an air-flow sensor (air_flow), or computed from manifold pressure (pressure)?", "the engine to start from")            \
  CHOICE(turbo, (TURBO, "no", "yes"), "Does it have a turbocharger?", "the engine to start from")                                                    \
  CHOICE(gearbox, (GEARBOX, "manual", "automatic"), "Is the gearbox manual, or automatic with a converter?", "drag and idle target in gear")   \
  NUMBER(displacement_l, "l", 0.6, 8, "What is its displacement, in litres?", "the size of everything")                                        \
  NUMBER(cylinders, "", 2, 12, "How many cylinders does it have?", "firing, banks, the engine to start from")                                        \
  NUMBER(compression, "", 7, 15, "What is its compression ratio? See the car's papers.", "residual gas, efficiency")                        \
  NUMBER(bore_mm, "mm", 25, 100, "How wide is the throttle bore, measured with a ruler, in mm?", "the gap round the blade")                                \
  NUMBER(stop_pct, "%", 3, 30, "Key on, engine off, foot off: what absolute throttle position does the scan tool show, in %?",                 \
         "position at the closed stop")                                                                                                       \
  NUMBER(floor_pct, "%", 50, 100, "Key on, engine off, pedal on the floor: what absolute throttle position, in %?", "position wide open")      \
  NUMBER(idle_rpm, "rpm", 450, 1200, "What is its target idle speed, warm, with nothing on, in rpm?", "idle target")                     \
  NUMBER(idle_drive_rpm, "rpm", 450, 1200, "And in gear (automatic), in rpm?", "idle target in gear")                                          \
  NUMBER(idle_ac_rpm, "rpm", 450, 1300, "And with the air conditioning on, in rpm?", "idle target with the compressor")                       \
  NUMBER(spark_idle_deg, "deg", -15, 35, "What is the spark advance at warm idle, in degrees before top dead centre?", "idle spark")               \
  NUMBER(spark_2500_deg, "deg", 0, 55, "And at 2500 rpm out of gear?", "spark off idle")                                                       \
  NUMBER(altitude_m, "m", -400, 4500, "How high above sea level is the car, in m?", "pressure of the air")                               \
  NUMBER(intake_c, "C", -40, 90, "How warm is the intake air, by the car's own sensor, in C?", "the day")                                       \
  CHOICE(fuel, (FUEL, "petrol", "e10", "e27", "e85", "lpg", "cng", "diesel"), "Which fuel does it use?", "air to fuel, heat of the fuel")            \
  CHOICE(load_means, (LOAD, "standard", "pressure_ratio", "sea_level", "unknown"),                                                             \
         "What does its calculated load mean: the standard's (standard), manifold over barometer (pressure_ratio), air over that of wide open " \
         "at sea level (sea_level), or unknown?", "how load_pct is read")                                                                      \
  CHOICE(relative_means, (RELATIVE, "travel", "above_stop", "above_rest", "unknown"),                                                          \
         "What does its relative throttle position mean: 0 to 100 over the travel (travel), position less that at the stop (above_stop), less " \
         "that at rest without power (above_rest), or unknown?", "how blade_pct is read")                                                      \
  CHOICE(key_on_means, (KEY_ON, "stop", "rest", "unknown"),                                                                                    \
         "Key on, engine off: does the blade stand at its closed stop (stop), or where its springs leave it (rest), or unknown?",              \
         "what the position with the key on tells")
// clang-format on

#define CARD_NUMBER_ITEM(key, unit, least, most, question, sets) CARD_##key,
#define CARD_CHOICE_ITEM(key, words, question, sets)             CARD_##key,
enum card_item { CARD_LIST(CARD_NUMBER_ITEM, CARD_CHOICE_ITEM) CARD_COUNT };
#undef CARD_NUMBER_ITEM
#undef CARD_CHOICE_ITEM

enum card_kind { CARD_KIND_ELECTRONIC, CARD_KIND_CABLE };
enum card_metering { CARD_METERING_AIR_FLOW, CARD_METERING_PRESSURE };
enum card_gearbox { CARD_GEARBOX_MANUAL, CARD_GEARBOX_AUTOMATIC };
enum card_fuel {
  CARD_FUEL_PETROL,
  CARD_FUEL_E10,
  CARD_FUEL_E27,
  CARD_FUEL_E85,
  CARD_FUEL_LPG,
  CARD_FUEL_CNG,
  CARD_FUEL_DIESEL,
};

struct card_row {
  const char *key, *question, *sets;
  const char *unit; // of a number; NULL for a choice
  double least, most;
  const char *const *choices; // NULL for a number; NULL after the last
};
extern const struct card_row card_rows[CARD_COUNT];

enum { CARD_PLACE_SIZE = 200 };

struct card {
  double values[CARD_COUNT];                // unit of the row; index of a choice; NaN: not known
  char places[CARD_COUNT][CARD_PLACE_SIZE]; // "file:line" where it was said
};

/* Nothing known. */
void card_init(struct card *card);

static inline bool card_has(const struct card *card, enum card_item item) { return card->values[item] == card->values[item]; }

/* The choice, or `otherwise` where it is open. */
int card_choice(const struct card *card, enum card_item item, int otherwise);

/* Index of the row with this name in any letter case, hyphens as underscores; -1 if none. */
int card_find(const char *key);

/* Takes what somebody wrote: a word of a choice, or a number, with its unit behind it or in `unit` (empty: that of the row). A faulty one
 * is appended to the error with its place and the range allowed: STATUS_BAD_DATA. */
MUST_CHECK enum status card_set(struct card *card, const char *place, const char *key, const char *value, const char *unit,
                                struct error *error);

/* What contradicts itself, a sentence each, appended with its place: STATUS_BAD_DATA. */
MUST_CHECK enum status card_check(const struct card *card, struct error *error);

/* Throttle bore that is usual for a displacement: the shipped engines lie within 0.95 to 1.04 of it, and a published 2.8 l with 58.7 mm
 * within 0.97. */
double card_usual_bore_mm(double litres);

/* The value as a card has it: a word, or a number without its unit. */
void card_text(const struct card *card, enum card_item item, size_t size, char *text);

#endif
