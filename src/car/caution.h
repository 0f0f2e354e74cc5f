/* What is done with a car, and the caution each such step needs: one table, for every paper that sends somebody to a car.
 *
 * A step is anything a sheet, a report or a summary asks for: a row of its own table names the steps it is made of by their bits. A
 * caution names the steps it protects, and what an engine must have for it to mean anything: a cable engine has no drive that can
 * bite. What was asked for is turned into cautions by caution_for() alone. Common practice of the trade, no source. */
#ifndef CAR_CAUTION_H
#define CAR_CAUTION_H

#include "control/features.h"

/* STEP(name, what is done) */
// clang-format off
#define CAUTION_STEP_LIST(STEP)                                                           \
  STEP(meter, "meter, scope or clamp on the wiring")                                      \
  STEP(unplug, "a plug pulled")                                                           \
  STEP(key_on, "key on with the engine standing")                                         \
  STEP(blade, "a look into the bore, or work at the throttle")                            \
  STEP(press, "the blade pressed by hand")                                                \
  STEP(run, "the engine runs")                                                            \
  STEP(gear, "in gear with the brakes on")                                                \
  STEP(road, "on the road or on rollers")                                                 \
  STEP(intake_open, "running with the intake open")                                       \
  STEP(hot, "work at the exhaust or the cooling system")                                  \
  STEP(smoke, "smoke blown into the manifold")                                            \
  STEP(fuel, "a fuel line opened, injectors tested")                                      \
  STEP(ignition, "coils, leads or spark")                                                 \
  STEP(cylinder_off, "a cylinder that does not fire")                                           \
  STEP(crank, "cranked with the plugs out")                                               \
  STEP(battery, "the battery tested, charged, taken off")                                 \
  STEP(belt, "a belt taken off")                                                          \
  STEP(steering_oil, "the steering's pressure line opened")                               \
  STEP(valve, "work at the idle bypass valve")                                            \
  STEP(clean_bore, "bore and blade cleaned")                                              \
  STEP(clean_valve, "the idle bypass valve cleaned")                                      \
  STEP(relearn, "something learned is lost, or learned again")
// clang-format on

enum caution_step_index {
#define STEP(name, text) CAUTION_STEP_INDEX_##name,
  CAUTION_STEP_LIST(STEP)
#undef STEP
      CAUTION_STEP_COUNT
};
enum caution_step {
#define STEP(name, text) CAUTION_STEP_##name = 1 << CAUTION_STEP_INDEX_##name,
  CAUTION_STEP_LIST(STEP)
#undef STEP
};

/* CAUTION(name, what an engine must have: bits of enum feature, steps it protects, in a few words, in full) */
// clang-format off
#define CAUTION_LIST(CAUTION)                                                                                                     \
  CAUTION(fingers, FEATURE_electronic, ON(key_on) | ON(blade) | ON(press),                                                        \
          "the blade closes on fingers: key off, wait until the drive sleeps, unplug, only then touch",                           \
          "With the key on, and for some seconds after key off, the blade can close on fingers without warning: key off, wait "   \
          "until the drive sleeps, unplug it, and only then touch.")                                                              \
  CAUTION(park, 0, ON(key_on),                                                                                                    \
          "key on: out of gear or in park, parking brake on; a fan may start by itself",                                          \
          "Before the key goes on: out of gear or in park, parking brake on. A fan may start by itself.")                         \
  CAUTION(hand, FEATURE_electronic, ON(press),                                                                                    \
          "press the blade only if the maker allows it, key off and plug pulled, gently and square",                              \
          "Press the blade by hand only if the maker allows it, only with the key off and the plug pulled, gently and square "    \
          "to the blade: some gears are damaged by it.")                                                                          \
  CAUTION(stop_screw, 0, ON(blade) | ON(clean_bore),                                                                              \
          "never turn the stop screw of the blade to correct an idle",                                                               \
          "Never turn the stop screw of the blade to correct an idle: it sets the gap of the closed blade and what the computer treats as closed. Only the maker's procedure may do that.")                                                                     \
  CAUTION(unplugging, 0, ON(unplug) | ON(crank),                                                                                  \
          "key off before a plug is pulled; read and note stored codes first",                                                    \
          "Key off before a plug is pulled. Unplugging stores fault codes: read and note what is stored before, clear only "      \
          "what you caused, afterwards.")                                                                                         \
  CAUTION(leads, 0, ON(meter),                                                                                                    \
          "high-impedance meter on test leads meant for it; pierce no wire, bridge no circuit",                                   \
          "Measure with a high-impedance meter on test leads meant for it; do not pierce insulation or bridge circuits; a "       \
          "slipped lead can destroy the computer.")                                                                               \
  CAUTION(moving, 0, ON(run) | ON(crank) | ON(belt),                                                                              \
          "running: belts, pulleys and fans move, a fan may start by itself; hot parts burn",                                     \
          "Running engine: belts, pulleys and fans move, and a fan may start by itself; keep hair, sleeves and leads clear. "     \
          "Hot parts burn.")                                                                                                      \
  CAUTION(fumes, 0, ON(run),                                                                                                      \
          "exhaust gas is poisonous: extraction or open air only",                                                                     \
          "Exhaust gas is poisonous: run the engine with extraction or in the open only.")                                             \
  CAUTION(gear, FEATURE_converter, ON(gear),                                                                                      \
          "in gear: wheels chocked, both brakes on, nobody in front of or behind the car",                                             \
          "In gear: wheels chocked, parking brake and foot brake on, nobody in front of or behind the car.")                           \
  CAUTION(road, 0, ON(road),                                                                                                      \
          "road: one drives, another reads; on rollers the car strapped down, nobody near it",                                    \
          "On the road one drives and another reads, where traffic and law allow full load. On rollers: car strapped down, fan and extraction on, nobody in front of or behind it.")                                                                   \
  CAUTION(intake_open, 0, ON(intake_open),                                                                                        \
          "nothing loose near the open intake, no hand in front of it, no solvent nearby",                                              \
          "Running with the intake open: nothing loose near it, no hand or cloth in front of it, no solvent nearby; an engine can backfire.")                                                                                                           \
  CAUTION(hot, 0, ON(hot),                                                                                                        \
          "never open a hot cooling system; let the exhaust cool before you unscrew anything",                                    \
          "Coolant and exhaust burn: never open a hot cooling system; let the exhaust cool before anything is unscrewed "         \
          "from it.")                                                                                                             \
  CAUTION(smoke, 0, ON(smoke),                                                                                                    \
          "smoke test: engine off and cool, low pressure, no flame, do not breathe it",                                           \
          "Smoke test: engine off and cool, no more pressure than the maker allows, no flame or spark: what comes out carries "   \
          "fuel vapour. Do not breathe it.")                                                                                      \
  CAUTION(fuel, 0, ON(fuel),                                                                                                      \
          "fuel burns and sprays: cool engine, no flame, release the pressure first, goggles, extinguisher",                      \
          "Fuel stands under pressure and burns: engine cool, no flame or spark, release the pressure the maker's way before "    \
          "a line is opened (direct injection: above 100 bar, the maker's tools only), goggles, extinguisher at hand, look for "  \
          "leaks before starting.")                                                                                               \
  CAUTION(cranking, 0, ON(crank),                                                                                                 \
          "ignition and injection made dead before it is cranked; out of gear, hands out",                                        \
          "Before an engine is cranked with its plugs out, ignition and injection are made dead the maker's way; out of gear, "   \
          "brake on, all hands and leads out.")                                                                                   \
  CAUTION(high_voltage, 0, ON(ignition) | ON(crank),                                                                              \
          "ignition kills: engine off before a coil or lead is touched, tester earthed, no pacemaker near",                       \
          "Ignition carries tens of thousands of volts: engine off before a coil or a lead is touched, tester earthed, never "    \
          "pull one off a running engine, nobody with a pacemaker near.")                                                         \
  CAUTION(catalyst, 0, ON(cylinder_off),                                                                                          \
          "a cylinder off fills the catalyst with fuel: by its injector, for seconds only",                                       \
          "A cylinder that does not fire sends its fuel into the catalyst: switch it off by its injector, for seconds only, "     \
          "and let the exhaust cool in between.")                                                                                 \
  CAUTION(battery, 0, ON(battery),                                                                                                \
          "battery gas explodes: no spark or flame, goggles, gloves; no clamp off a running engine",                              \
          "A battery gives off gas that explodes, and holds acid: no flame or spark, fresh air, goggles and gloves; tester off "  \
          "while its clamps go on or off, no tool across the posts, never take a clamp off while the engine runs.")               \
  CAUTION(belt, 0, ON(belt),                                                                                                      \
          "engine off and key out before a belt comes off; without it only seconds",                                              \
          "Engine off and key out before a belt comes off. Without it run for seconds only: pump and generator may stand "        \
          "still.")                                                                                                               \
  CAUTION(oil_pressure, 0, ON(steering_oil),                                                                                      \
          "steering oil is hot, up to 100 bar: engine off before a line is opened",                                               \
          "Steering oil is hot and under up to 100 bar: engine off before a line is opened, a gauge made for it, goggles and "    \
          "gloves.")                                                                                                              \
  CAUTION(valve, FEATURE_cable, ON(valve) | ON(clean_valve),                                                                      \
          "bypass valve: never push its pintle, no battery on its coils, never let it step while it is out",                      \
          "The idle bypass valve: never push or turn its pintle, never put the battery on its coils, never let it step while it " \
          "is out: it can come apart.")                                                                                           \
  CAUTION(solvent, 0, ON(clean_bore) | ON(clean_valve),                                                                           \
          "solvent is flammable: cool engine, fresh air, eye and hand protection, no flame",                                      \
          "If you clean: solvent is flammable and hot parts ignite it. Engine cool, ventilate, eye and hand protection, no "      \
          "flame.")                                                                                                               \
  CAUTION(coating, 0, ON(clean_bore),                                                                                             \
          "never scrape a bore: some are coated, and some must not be cleaned",                                                   \
          "Some bores and blades are coated and must not be scraped; where the maker forbids cleaning, the unit is replaced.")    \
  CAUTION(relearn, 0, ON(relearn) | ON(unplug) | ON(clean_bore) | ON(clean_valve),                                                \
          "the maker's relearn steps may be due before readings mean anything",                                                   \
          "After cleaning, unplugging or loss of power the maker's relearn steps may be needed before readings mean anything.")
// clang-format on

enum caution_index {
#define CAUTION(name, needs, steps, brief, text) CAUTION_INDEX_##name,
  CAUTION_LIST(CAUTION)
#undef CAUTION
      CAUTION_COUNT
};
enum caution {
#define CAUTION(name, needs, steps, brief, text) CAUTION_##name = 1 << CAUTION_INDEX_##name,
  CAUTION_LIST(CAUTION)
#undef CAUTION
};

struct caution_row {
  const char *name;  // at the edge
  unsigned needs;    // bits of enum feature: else there is nothing to be careful of
  unsigned steps;    // bits of enum caution_step
  const char *brief; // a line
  const char *text;  // a sentence or two
};
extern const struct caution_row caution_rows[CAUTION_COUNT];
extern const char *const caution_step_texts[CAUTION_STEP_COUNT];

/* Bits of enum caution that these steps need on an engine with these features. */
unsigned caution_for(unsigned steps, unsigned features);

/* A look with a torch as it is done on this engine: how the blade is shut first, then what is told from the light. Its steps, bits
 * of enum caution_step, need their cautions before it. */
const char *caution_torch(unsigned features);
unsigned caution_torch_steps(unsigned features);

/* Whose word counts on a car. */
extern const char caution_disclaimer[];

#endif
