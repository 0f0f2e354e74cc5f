/* What mends each cause, one row each, and what that costs. Included by those who define the macro; there is no other list.
 *
 *   REMEDY(cause, remedy, kind, parts, minutes, text)
 *     the cause, by its name in fault_rows.h; what mends it; CLEAN, PART, SETTING, or NONE where nothing is wrong with the car; the
 *     part's price, in the worth of so many minutes of the workshop; the workshop's minutes; what is done.
 *   SAME(cause, as)
 *     it is mended by the same work as another.
 *
 * A cause without a row is found and mended by hand (costs.search). Prices and minutes: common practice, no source; a file of costs has
 * others (car/remedy.h). */
#ifndef REMEDY
#define REMEDY(cause, remedy, kind, parts, minutes, text)
#endif
#ifndef SAME
#define SAME(cause, as)
#endif

// clang-format off
// ---- deposits ----
REMEDY(film, clean_bore, CLEAN, 10, 45, "clean bore and blade by the maker's method, and relearn")
REMEDY(bypass_film, clean_bypass_valve, CLEAN, 10, 30, "clean the idle bypass valve and its seat, and relearn")
SAME(blade_stuck, film)
// ---- air that gets in ----
REMEDY(vacuum_leak, hose_or_gasket, PART, 25, 45, "replace the hose or gasket that leaks")
REMEDY(torn_boot, intake_boot, PART, 40, 20, "replace the intake boot")
REMEDY(charge_hose, charge_hose, PART, 45, 40, "replace the charge hose or its clamp")
REMEDY(ventilation_stuck, ventilation_valve, PART, 30, 25, "replace the crankcase ventilation valve")
REMEDY(purge_stuck, purge_valve, PART, 50, 25, "replace the canister purge valve")
REMEDY(egr_stuck, egr_valve, PART, 180, 60, "replace the exhaust-gas recirculation valve")
// ---- the way in and out ----
REMEDY(filter_clogged, air_cleaner, PART, 20, 10, "replace the air cleaner's element")
REMEDY(exhaust_blocked, catalyst, PART, 500, 120, "replace what is blocked, mostly the catalyst")
// ---- sensors ----
REMEDY(air_flow_low, air_flow_sensor, PART, 120, 20, "replace the air-flow sensor")
SAME(air_flow_high, air_flow_low)
REMEDY(pressure_low, pressure_sensor, PART, 60, 20, "replace the manifold pressure sensor")
SAME(pressure_high, pressure_low)
REMEDY(coolant_low, coolant_sensor, PART, 20, 30, "replace the coolant sensor")
REMEDY(intake_low, intake_sensor, PART, 20, 15, "replace the intake-air sensor")
REMEDY(track_shifted_up, throttle_unit, PART, 300, 60, "replace the throttle unit or its sensor, and relearn")
// ---- fuel, fire, metal ----
REMEDY(fuel_weak, pump_filter_injectors, PART, 150, 75, "replace the part that delivers too little: filter, pump or injectors")
REMEDY(fuel_strong, regulator_injectors, PART, 120, 75, "replace the part that delivers too much: regulator or injectors")
REMEDY(spark_missing, coil_or_plug, PART, 50, 25, "replace the coil, lead or plug of the cylinder that misses")
REMEDY(spark_late, timing, SETTING, 0, 120, "correct valve timing or ignition")
REMEDY(cylinder_compression, cylinder, PART, 300, 600, "repair valve or rings of that cylinder")
REMEDY(compression_lost, engine, PART, 900, 1200, "overhaul or replace the engine")
// ---- loads ----
REMEDY(drag, accessory, PART, 200, 90, "replace the accessory that drags")
REMEDY(steering_pump, steering_pump, PART, 220, 90, "replace the power-steering pump or its valve")
REMEDY(consumer_stuck, relay_or_switch, PART, 25, 45, "replace the relay or switch that keeps the consumer on")
REMEDY(battery_weak, battery, PART, 100, 15, "replace the battery")
REMEDY(generator, generator, PART, 250, 60, "replace the generator or its regulator")
REMEDY(load_left_on, switch_off, NONE, 0, 0, "switch everything off and read again")
SAME(compressor_left_on, load_left_on)
REMEDY(gear_left_on, neutral, NONE, 0, 0, "select P or neutral and read again")
REMEDY(not_warm, warm_up, NONE, 0, 0, "warm it up and read again")
// ---- what the computer remembers, and cars that are otherwise ----
REMEDY(position_lost, relearn_stop, SETTING, 0, 10, "relearn the closed position by the maker's procedure")
REMEDY(offset_stale, relearn_idle_air, SETTING, 0, 10, "relearn the idle air by the maker's procedure, or let it idle")
REMEDY(target_other, other_target, NONE, 0, 0, "nothing: this car idles at another speed")
REMEDY(stop_other, other_stop, NONE, 0, 0, "nothing: this car's closed stop reads differently")
// clang-format on
#undef REMEDY
#undef SAME
