/* What is tried on every bench test, one row each: a label that reads after "with", the conditions that make it, where its readings are
 * told, and what to do next. The readings themselves come from running the model with the conditions. */
#include "analysis/bench_test.h"

#include "base/attributes.h"

#define KEY       (1u << BENCH_PROCEDURE_KEY)
#define UNPLUGGED (1u << BENCH_PROCEDURE_UNPLUGGED)
#define RUN       (1u << BENCH_PROCEDURE_RUN)
#define IN(name)  (1u << BENCH_TEST_SECTION_##name)

const struct bench_test_fault bench_test_fault_rows[] = {
    // ---- deposit ----
    {"a film of 30 um on the bore wall", {{"film_um", 30}}, 0, UNPLUGGED | RUN, IN(bore) | IN(air) | IN(mixture) | IN(idle),
     "early deposit: the computer still makes it good; note the reading and look again later"},
    {"a film of 60 um on the bore wall", {{"film_um", 60}}, 0, UNPLUGGED | RUN, IN(bore) | IN(air) | IN(mixture) | IN(idle),
     "the deposit closes the gap: clean by the maker's method, relearn, test again"},
    {"a film of 200 um in the bypass", {{"bypass_film_um", 200}}, BENCH_TEST_NEED_BYPASS, RUN, IN(air) | IN(idle),
     "deposit on the bypass valve's seat: take the valve out, clean it, test again"},
    // ---- power and motor ----
    {"a battery at 11.8 V", {{"battery_rest_v", 11.8}}, 0, KEY, IN(supply) | IN(movement),
     "charge and test the battery before anything else"},
    {"no supply at the drive", {{"motor_supply_lost", 1}}, BENCH_TEST_NEED_DRIVE, KEY, IN(supply) | IN(movement),
     "fuse, relay and the wire to 'throttle motor supply'"},
    {"the motor circuit broken", {{"motor_open", 1}}, BENCH_TEST_NEED_DRIVE, KEY, IN(movement),
     "continuity of 'throttle motor +' and '-' up to the motor, key off"},
    {"three times the motor's resistance", {{"motor_resistance_ratio", 3}}, BENCH_TEST_NEED_DRIVE, KEY, IN(movement),
     "contacts and brushes: voltage drop along each motor wire under load"},
    {"the blade jammed", {{"blade_jammed", 1}}, BENCH_TEST_NEED_DRIVE, KEY | UNPLUGGED, IN(movement) | IN(bore),
     "key off, unplug, look for what is in the bore or broken in the gear"},
    {"a blade that sticks by 2 deg", {{"blade_stick_deg", 2}}, BENCH_TEST_NEED_DRIVE, KEY | UNPLUGGED, IN(movement) | IN(bore),
     "clean the bore and the shaft's ends; if it stays, replace the unit"},
    {"the return springs broken", {{"spring_ratio", 0}}, BENCH_TEST_NEED_DRIVE, KEY | UNPLUGGED, IN(movement) | IN(bore),
     "replace the unit: nothing brings the blade to rest without current"},
    // ---- blade's tracks ----
    {"track 1 broken", {{"tps1_open", 1}}, 0, KEY, IN(tracks) | IN(movement), "continuity of 'position track 1 signal'"},
    {"track 1 shorted to its supply", {{"tps1_shorted", 1}}, 0, KEY | UNPLUGGED, IN(tracks) | IN(movement),
     "'position track 1 signal' against 'sensor supply', unplugged"},
    {"track 1 reading 0.4 V high", {{"tps1_offset_v", 0.4}}, 0, KEY | UNPLUGGED, IN(tracks) | IN(movement),
     "compare with track 2: only one has moved; replace the sensor or the unit"},
    {"track 2 broken", {{"tps2_open", 1}}, BENCH_TEST_NEED_TWO_TRACKS, KEY, IN(tracks), "continuity of 'position track 2 signal'"},
    {"track 2 reading 0.4 V high", {{"tps2_offset_v", 0.4}}, BENCH_TEST_NEED_TWO_TRACKS, KEY | UNPLUGGED, IN(tracks),
     "compare with track 1: only one has moved; replace the sensor or the unit"},
    {"track 1 worn at 20 deg", {{"tps1_worn_v", 0.6}, {"tps_worn_at_deg", 20}}, 0, KEY, IN(tracks) | IN(movement),
     "repeat slowly with the scope: a dip always in the same place is wear; replace"},
    {"200 ohm in the sensor's ground", {{"tps_ground_ohm", 200}}, 0, KEY | UNPLUGGED, IN(tracks) | IN(movement),
     "voltage drop 'sensor ground' to battery minus, plugged in, key on"},
    {"supply and ground of the sensor swapped", {{"tps_supply_swapped", 1}}, 0, KEY | UNPLUGGED, IN(tracks) | IN(movement),
     "'sensor supply' and 'sensor ground' at the plug, after any wiring repair"},
    {"a sensor supply of 4.5 V", {{"sensor_supply_v", 4.5}}, 0, KEY | UNPLUGGED, IN(tracks) | IN(pedal),
     "'sensor supply' to 'sensor ground'; unplug its sensors one by one"},
    // ---- pedal ----
    {"pedal track 1 broken", {{"app1_open", 1}}, BENCH_TEST_NEED_PEDAL_SENSOR, KEY, IN(pedal) | IN(movement),
     "continuity of 'pedal track 1 signal'"},
    {"pedal track 1 worn at 30 %", {{"app1_worn_v", 0.8}, {"app_worn_at_pct", 30}}, BENCH_TEST_NEED_PEDAL_SENSOR, KEY,
     IN(pedal) | IN(movement), "repeat slowly with the scope: a dip always in the same place is wear; replace"},
    {"pedal track 2 reading 0.4 V high", {{"app2_offset_v", 0.4}}, BENCH_TEST_NEED_PEDAL_SENSOR, KEY, IN(pedal) | IN(movement),
     "compare with track 1: only one has moved; replace the pedal"},
    // ---- air and fuel ----
    {"a leak of 2 mm2 behind the blade", {{"leak_mm2", 2}}, 0, RUN, IN(air) | IN(mixture) | IN(idle),
     "smoke into the manifold, hoses off one by one"},
    {"a leak of 4 mm2 behind the blade", {{"leak_mm2", 4}}, 0, RUN, IN(air) | IN(mixture) | IN(idle),
     "smoke into the manifold, hoses off one by one"},
    {"an air-flow sensor 20 % low", {{"maf_gain_ratio", 0.8}}, BENCH_TEST_NEED_AIR_FLOW, RUN, IN(air) | IN(mixture) | IN(idle),
     "look at its wire, then compare with the air the engine must draw at full load"},
    {"a broken air-flow signal wire", {{"maf_open", 1}}, BENCH_TEST_NEED_AIR_FLOW, KEY, IN(air), "continuity of 'air-flow signal'"},
    {"a pressure sensor 5 kPa high", {{"map_offset_kpa", 5}}, BENCH_TEST_NEED_PRESSURE, KEY | RUN, IN(air) | IN(mixture) | IN(idle),
     "compare with the barometer with the engine off"},
    {"15 % too little fuel delivered", {{"fuel_delivery_ratio", 0.85}}, 0, RUN, IN(mixture) | IN(idle),
     "fuel pressure and quantity, then the injectors"},
    {"a purge valve stuck open by 2 mm2", {{"purge_stuck_mm2", 2}}, 0, RUN, IN(mixture) | IN(idle) | IN(air),
     "pinch the purge hose shut and look again"},
    {"an exhaust almost blocked", {{"exhaust_ratio", 300}}, 0, RUN, IN(air) | IN(idle),
     "back pressure at the oxygen sensor's thread"},
    {"5 Nm of drag", {{"drag_nm", 5}}, 0, RUN, IN(air) | IN(idle), "engine off, take the belt off, and see in a short run whether the reading comes back"},
    {"cylinder 1 at half", {{"weak_cylinder_ratio", 0.5}}, 0, RUN, IN(idle) | IN(air) | IN(mixture),
     "cylinder balance, then spark, injector, compression of that cylinder"},
};
const size_t bench_test_fault_count = ARRAY_COUNT(bench_test_fault_rows);
_Static_assert(ARRAY_COUNT(bench_test_fault_rows) <= BENCH_TEST_DEPARTURE_MAX, "room for every fault in a reading");

/* How far good units and ordinary days lie apart; common practice, no source. */
const struct bench_test_allowance bench_test_allowances[] = {
    {"battery 0.2 V below full", {{"battery_rest_v", 12.4}}, 0, 0, KEY},
    {"sensor supply 0.05 V off", {{"sensor_supply_v", 4.95}}, 0, 0, KEY | UNPLUGGED},
    {"weather: 3 kPa and 10 K", {{"ambient_kpa", 98.3}, {"intake_c", 30}}, 0, 0, KEY | RUN},
    {"springs 15 % off", {{"spring_ratio", 1.15}}, 0, BENCH_TEST_NEED_DRIVE, KEY | UNPLUGGED},
    {"motor and wiring 10 % off", {{"motor_resistance_ratio", 1.1}}, 0, BENCH_TEST_NEED_DRIVE, KEY},
    {"clearance of the blade 3 um off", {{0}}, 3e-6, 0, UNPLUGGED | RUN},
    {"150 W more electrical load and 0.5 Nm more drag", {{"electrical_load_w", 450}, {"drag_nm", 0.5}}, 0, 0, RUN},
    {"air-flow sensor 3 % off", {{"maf_gain_ratio", 1.03}}, 0, BENCH_TEST_NEED_AIR_FLOW, RUN},
    {"pressure sensor 1 kPa off", {{"map_offset_kpa", 1}}, 0, BENCH_TEST_NEED_PRESSURE, KEY | RUN},
    {"fuel delivery 3 % off", {{"fuel_delivery_ratio", 0.97}}, 0, 0, RUN},
};
const size_t bench_test_allowance_count = ARRAY_COUNT(bench_test_allowances);
