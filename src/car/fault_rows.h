/* Every fault that the model knows, one row each, and beneath it what else is known of it. Included again and again by those who
 * define the macros they want; there is no other list of faults, causes, tests that say yes or no, or faults on a test sheet.
 *
 *   FAULT(needs, initial, field)
 *     A condition of car/conditions.c: bits of enum feature that an engine must have for it, value of a sound engine in the user's
 *     unit, row of base/field.h (key, unit, range, sentence).
 *   COMPOSED(key, needs, factor, min, max, text) and ACTS(key, condition, share)
 *     A FAULT without a place of its own in the model, zero on a sound engine: it acts through other conditions, to each of which it
 *     adds its value times the share, SI. Nothing but the row is needed for it.
 *   TRACK(member, needs, key, text)
 *     The six FAULTs that one potentiometer track can have.
 *   CAUSE(name, condition, least, most, scale, needs, rate, text)
 *     What can stand behind a complaint about the idle (car/causes.h): severity from what a workshop would call a fault to what an
 *     engine still idles with, in the unit of the condition; LINEAR or LOG; what an engine must have beyond what the condition
 *     needs; how often, in parts of all, unless the engine file says otherwise.
 *   STATE(name, what, least, most, scale, needs, rate, text)
 *     A CAUSE that is no fault: another car or another moment than the one that the readings were taken for, and what the computer
 *     remembers. `what` is a condition, a deviation of car/scatter_params.h, or learned_pct.
 *   LOOK(name, minutes, false alarm, steps, text)
 *     A test that says yes or no (analysis/estimate/estimate_next.c), how often it says yes without any of its causes, and the steps
 *     on the car that it takes: bits of enum caution_step, from which its cautions follow (car/caution.h).
 *   FINDS(look, cause, share)
 *     How often it says yes with this one.
 *   SHEET(label, needs, procedures, sections, steps, meaning, {condition, value}, ...)
 *     What is tried on the bench tests (analysis/testsheet/sheet.h): what it is called after "with"; what an engine must have
 *     beyond what the conditions need; where it is run and told; what to do next, after the steps on the car that this takes.
 *
 *   FORMER(name, now)
 *     A name that a condition or a cause had before, and what to write instead (car/former.h).
 *
 * What cannot be told apart from outside is one CAUSE: a vacuum leak for hoses, gaskets and brake booster, a film for deposit on
 * wall and on blade. Severities, minutes and shares: common practice, no source. Rates: invented, not statistics, and
 * no further apart than a workshop would agree to: what a cause is told by is readings, not its rate.
 *
 * What the outside world expects of each fault stands in tests/reference/fault_expectations.h: the model must not write its own
 * marks. */
#ifndef FAULT
#define FAULT(needs, initial, ...)
#endif
#ifndef COMPOSED
#define COMPOSED(key, needs, factor, min, max, text) \
  FAULT(needs, 0, REAL(composed[CONDITIONS_##key], #key, factor, min, max, text))
#endif
#ifndef ACTS
#define ACTS(key, condition, share)
#endif
#ifndef CAUSE
#define CAUSE(name, condition, least, most, scale, needs, rate, text)
#endif
#ifndef STATE
#define STATE(name, what, least, most, scale, needs, rate, text) CAUSE(name, what, least, most, scale, needs, rate, text)
#endif
#ifndef LOOK
#define LOOK(name, minutes, false_alarm, steps, text)
#endif
#ifndef FINDS
#define FINDS(look, cause, share)
#endif
#ifndef SHEET
#define SHEET(label, needs, procedures, sections, steps, meaning, ...)
#endif
#ifndef FORMER
#define FORMER(name, now)
#endif

// clang-format off
#define TRACK(member, needs, key, text) \
  FAULT(needs, 0, REAL(circuit_faults.member.offset_v, key "_offset_v", 1.0, -2, 2, text " reads this much more")) \
  FAULT(needs, 1, REAL(circuit_faults.member.gain_ratio, key "_gain_ratio", 1.0, 0.3, 1.7, text " reads this times the truth")) \
  FAULT(needs, 0, SWITCH(circuit_faults.member.open, key "_open", text ": signal wire broken")) \
  FAULT(needs, 0, SWITCH(circuit_faults.member.shorted_to_ground, key "_grounded", text ": signal shorted to ground")) \
  FAULT(needs, 0, SWITCH(circuit_faults.member.shorted_to_supply, key "_shorted", text ": signal shorted to the supply")) \
  FAULT(needs, 0, REAL(circuit_faults.member.worn_v, key "_worn_v", 1.0, 0, 4, text ": depth of a worn spot"))

// ---- deposits ----
FAULT(0, 0, REAL(film_m, "film_um", UM, 0, 300, "deposit on the bore wall: thickness at the closed line, mean round the bore"))
  CAUSE(nothing, film_um, 0, 0, LINEAR, 0, 12, "nothing wrong: a good car within its scatter")
  CAUSE(film, film_um, 5, 110, LINEAR, 0, 15, "deposit in the throttle bore")
FAULT(0, 0, REAL(edge_film_m, "edge_film_um", UM, 0, 300, "deposit on the blade's edge"))
FAULT(FEATURE_cable, 0, REAL(faults.bypass_film_m, "bypass_film_um", UM, 0, 1000,
      "deposit on seat and pintle of the idle bypass valve; cable throttle only"))
  CAUSE(bypass_film, bypass_film_um, 50, 500, LINEAR, 0, 12, "deposit in the idle bypass valve")
  LOOK(bypass_valve_off, 20, 0.1, STEP(unplug) | STEP(valve) | STEP(clean_valve),
      "idle bypass valve removed: deposit on seat and pintle?")
  FINDS(bypass_valve_off, bypass_film, 0.95)

// ---- air that gets in ----
FAULT(0, 0, REAL(faults.leak_area_m2, "leak_mm2", MM2, 0, 200, "vacuum leak: unmetered opening behind the blade"))
  CAUSE(vacuum_leak, leak_mm2, 0.7, 25, LOG, 0, 10, "vacuum leak: hose, gasket or brake booster")
  LOOK(smoke_test, 20, 0.05, STEP(smoke), "smoke into the manifold, engine off, and look where it comes out")
  FINDS(smoke_test, vacuum_leak, 0.95)
FAULT(0, 50, REAL(faults.leak_bank1_ratio, "leak_bank1_pct", PCT, 0, 100,
      "share of the leak's air that bank 1 draws; engines with two banks"))
FAULT(0, 0, REAL(faults.booster_leak_area_m2, "booster_leak_mm2", MM2, 0, 100, "brake booster leaks into the manifold"))
FAULT(FEATURE_air_flow, 0, REAL(faults.boot_leak_area_m2, "boot_leak_mm2", MM2, 0, 1500,
      "intake boot torn between air-flow sensor and throttle"))
  CAUSE(torn_boot, boot_leak_mm2, 5, 300, LOG, 0, 4, "intake boot torn behind the air-flow sensor")
  LOOK(boot_off, 8, 0.03, STEP(blade), "take the intake boot off and bend it open in the light: cracks")
  FINDS(smoke_test, torn_boot, 0.9)
  FINDS(boot_off, torn_boot, 0.95)
FAULT(FEATURE_charger, 0, REAL(faults.charge_leak_area_m2, "charge_leak_mm2", MM2, 0, 1500,
      "charge hose torn or slipped between charger and throttle: metered air escapes while there is charge pressure"))
  CAUSE(charge_hose, charge_leak_mm2, 10, 300, LOG, 0, 4, "charge hose torn or slipped between charger and throttle")
  LOOK(charge_hoses_blown, 20, 0.04, STEP(smoke),
      "charge pipes closed at the charger, smoke into them at low pressure, engine off: where does it come out?")
  FINDS(charge_hoses_blown, charge_hose, 0.95)
FAULT(0, 0, REAL(faults.ventilation_area_m2, "ventilation_stuck_mm2", MM2, 0, 40,
      "crankcase ventilation valve stuck further open by this"))
  CAUSE(ventilation_stuck, ventilation_stuck_mm2, 0.7, 12, LOG, 0, 4, "crankcase ventilation valve stuck open")
  LOOK(ventilation_hose_pinched, 3, 0.05, STEP(run),
      "pinch the crankcase ventilation hose, idling: does the reading come back?")
  FINDS(ventilation_hose_pinched, ventilation_stuck, 0.9)
FAULT(0, 0, REAL(faults.purge_area_m2, "purge_stuck_mm2", MM2, 0, 40, "canister purge valve stuck open"))
  CAUSE(purge_stuck, purge_stuck_mm2, 0.5, 8, LOG, 0, 3, "canister purge valve stuck open")
  LOOK(purge_hose_pinched, 3, 0.03, STEP(run), "pinch the purge hose, idling: does the reading come back?")
  FINDS(smoke_test, purge_stuck, 0.3)
  FINDS(purge_hose_pinched, purge_stuck, 0.95)
FAULT(0, 15, REAL(faults.purge_vapour_ratio, "purge_vapour_pct", PCT, 0, 60,
      "fuel vapour in what the purge brings; 6.4 is as much as burns, a full canister gives more"))
FAULT(0, 0, REAL(faults.recirculation_area_m2, "egr_stuck_mm2", MM2, 0, 60, "exhaust-gas recirculation valve stuck open"))
  CAUSE(egr_stuck, egr_stuck_mm2, 1, 12, LOG, 0, 3, "exhaust-gas recirculation valve stuck open")
  LOOK(egr_valve_off, 25, 0.05, STEP(run) | STEP(hot) | STEP(unplug),
      "exhaust-gas recirculation valve removed or blanked off: is the idle normal then?")
  FINDS(egr_valve_off, egr_stuck, 0.9)

// ---- the way in and out ----
FAULT(0, 1, REAL(faults.filter_ratio, "filter_ratio", 1.0, 0.2, 300, "loss of the air cleaner, times that of a new element"))
  CAUSE(filter_clogged, filter_ratio, 8, 200, LOG, 0, 2, "air cleaner clogged")
  LOOK(air_cleaner_out, 4, 0.02, STEP(run) | STEP(intake_open), "air cleaner removed, idling and in a short run: does anything change?")
  FINDS(air_cleaner_out, filter_clogged, 0.95)
  FINDS(air_flow_at_full_load, filter_clogged, 0.7)
FAULT(0, 1, REAL(faults.exhaust_ratio, "exhaust_ratio", 1.0, 0.2, 300, "exhaust back pressure, times that of a free one"))
  CAUSE(exhaust_blocked, exhaust_ratio, 8, 200, LOG, 0, 2, "exhaust blocked")
  LOOK(exhaust_back_pressure, 25, 0.03, STEP(run) | STEP(hot) | STEP(unplug), "gauge in the oxygen sensor's thread at 2500 rpm")
  FINDS(exhaust_back_pressure, exhaust_blocked, 0.92)

// ---- sensors ----
FAULT(FEATURE_air_flow, 1, REAL(sensor_faults.air_flow_gain_ratio, "maf_gain_ratio", 1.0, 0.3, 2,
      "air-flow sensor reads this times the truth"))
  CAUSE(air_flow_low, maf_gain_ratio, 0.95, 0.65, LINEAR, 0, 5, "air-flow sensor reads low")
  CAUSE(air_flow_high, maf_gain_ratio, 1.05, 1.3, LINEAR, 0, 2, "air-flow sensor reads high")
  LOOK(air_flow_at_full_load, 15, 0.07, STEP(road),
      "air-flow reading at full load, on the road or the dynamometer, compared with what the engine must draw")
  FINDS(air_flow_at_full_load, air_flow_low, 0.85)
  FINDS(air_flow_at_full_load, air_flow_high, 0.85)
FAULT(FEATURE_air_flow, 0, REAL(sensor_faults.air_flow_offset_kg_s, "maf_offset_gps", UNITS_KG_S_PER_GPS, -3, 3,
      "air-flow sensor reads this much more"))
FAULT(FEATURE_air_flow, 1, REAL(faults.air_sensor_lag_ratio, "maf_lag_ratio", 1.0, 0.2, 100,
      "air-flow sensor lags this many times longer"))
FAULT(FEATURE_manifold_sensor, 0, REAL(sensor_faults.pressure_offset_pa, "map_offset_kpa", UNITS_PA_PER_KPA, -30, 30,
      "manifold pressure sensor reads this much more"))
  CAUSE(pressure_low, map_offset_kpa, -1.5, -8, LINEAR, 0, 3, "manifold pressure sensor reads low")
  CAUSE(pressure_high, map_offset_kpa, 1.5, 8, LINEAR, 0, 3, "manifold pressure sensor reads high")
  LOOK(pressure_against_barometer, 5, 0.05, STEP(key_on), "manifold pressure sensor, engine off, compared with the barometer")
  FINDS(pressure_against_barometer, pressure_low, 0.9)
  FINDS(pressure_against_barometer, pressure_high, 0.9)
FAULT(FEATURE_charger, 0, REAL(sensor_faults.charge_offset_pa, "charge_offset_kpa", UNITS_PA_PER_KPA, -30, 15,
      "charge-pressure sensor reads this much more"))
FAULT(0, 0, REAL(sensor_faults.coolant_bias_k, "coolant_bias_c", 1.0, -100, 60, "coolant sensor reads this much more"))
  CAUSE(coolant_low, coolant_bias_c, -6, -50, LINEAR, 0, 3, "coolant sensor reads cold")
  LOOK(coolant_by_thermometer, 4, 0.05, STEP(run) | STEP(hot), "thermometer on the coolant outlet, compared with the sensor's reading")
  FINDS(coolant_by_thermometer, coolant_low, 0.92)
FAULT(0, 0, REAL(sensor_faults.intake_bias_k, "intake_bias_c", 1.0, -80, 80, "intake-air sensor reads this much more"))
  CAUSE(intake_low, intake_bias_c, -15, -50, LINEAR, 0, 1.5, "intake-air sensor reads cold")
  LOOK(intake_air_by_thermometer, 3, 0.05, STEP(key_on), "thermometer in the intake, cold engine, compared with the sensor's reading")
  FINDS(intake_air_by_thermometer, intake_low, 0.92)

// ---- fuel, fire, metal ----
FAULT(0, 1, REAL(faults.fuel_delivery_ratio, "fuel_delivery_ratio", 1.0, 0.2, 1.5,
      "fuel that arrives over fuel asked for; below 1 a weak pump or dirty injectors"))
  CAUSE(fuel_weak, fuel_delivery_ratio, 0.94, 0.7, LINEAR, 0, 5, "too little fuel arrives: pump, filter or injectors")
  CAUSE(fuel_strong, fuel_delivery_ratio, 1.06, 1.25, LINEAR, 0, 2, "too much fuel arrives: pressure or leaking injectors")
  LOOK(fuel_pressure, 20, 0.06, STEP(fuel) | STEP(run),
      "pressure let off, gauge on: fuel pressure and delivered quantity; injectors by a balance test")
  FINDS(fuel_pressure, fuel_weak, 0.85)
  FINDS(fuel_pressure, fuel_strong, 0.7)
FAULT(0, 0, REAL(faults.spark_missing_ratio, "spark_missing_pct", PCT, 0, 100,
      "firings of cylinder 1 without spark: coil, lead or plug; its air and petrol leave unburned; 100 is a dead one"))
  CAUSE(spark_missing, spark_missing_pct, 20, 100, LINEAR, 0, 4, "one cylinder without spark, often or always")
  LOOK(cylinder_balance, 10, 0.05, STEP(run) | STEP(ignition) | STEP(cylinder_off),
      "one injector off at a time, idling: which costs less speed?")
  LOOK(spark_tester, 8, 0.04, STEP(run) | STEP(ignition) | STEP(cylinder_off),
      "spark tester fitted at each cylinder's coil or lead in turn, engine off; then idling: does one miss?")
  FINDS(cylinder_balance, spark_missing, 0.9)
  FINDS(spark_tester, spark_missing, 0.9)
FAULT(0, 0, REAL(faults.cylinder_loss_ratio, "cylinder_compression_loss_pct", PCT, 0, 95,
      "charge that cylinder 1 loses; 95 is a dead one"))
FAULT(0, 0, REAL(faults.cylinder_exhaust_ratio, "cylinder_loss_exhaust_pct", PCT, 0, 100,
      "share of that charge which leaves past the exhaust valve, the rest past rings and inlet valve"))
  CAUSE(cylinder_compression, cylinder_compression_loss_pct, 15, 90, LINEAR, 0, 2, "compression lost in one cylinder")
  FINDS(cylinder_balance, cylinder_compression, 0.92)
  FINDS(compression_test, cylinder_compression, 0.9)
FORMER(weak_cylinder_ratio, "it has been split: spark_missing_pct for a cylinder without spark, cylinder_compression_loss_pct for one that has lost compression, both 0 when good")
FORMER(weak_cylinder, "it has been split: spark_missing for a cylinder without spark, cylinder_compression for one that has lost compression")
FAULT(0, 0, REAL(faults.spark_offset_rad, "spark_offset_deg", UNITS_RAD_PER_DEG, -30, 20,
      "spark at the crank against what the computer wants; negative is late"))
  CAUSE(spark_late, spark_offset_deg, -3, -12, LINEAR, 0, 2, "spark late at the crank")
  LOOK(spark_timing, 15, 0.04, STEP(run),
      "spark at the crank by a timing light, compared with the computer's value")
  FINDS(spark_timing, spark_late, 0.9)
FAULT(0, 0, REAL(faults.compression_loss_ratio, "compression_loss_pct", PCT, 0, 60,
      "charge lost past rings and valves, all cylinders"))
  CAUSE(compression_lost, compression_loss_pct, 4, 25, LINEAR, 0, 2, "compression lost in all cylinders")
  LOOK(compression_test, 45, 0.04, STEP(crank) | STEP(ignition),
      "compression of all cylinders, warm, ignition and injection off, throttle open")
  FINDS(compression_test, compression_lost, 0.9)
FAULT(0, 0, REAL(faults.drag_nm, "drag_nm", 1.0, 0, 200, "dragging accessory: unwanted torque on the crank"))
  CAUSE(drag, drag_nm, 1.5, 10, LINEAR, 0, 3, "dragging accessory")
  LOOK(belt_off, 20, 0.05, STEP(belt) | STEP(run),
      "engine off, belt off, a short run: does the reading come back? Every pulley by hand")
  FINDS(belt_off, drag, 0.88)
COMPOSED(steering_pump_pct, 0, PCT, 0, 100,
      "valve of the power-steering pump stuck: it works as if the wheel were turned this far; 100 is the wheel at its stop")
  ACTS(steering_pump_pct, steering_pct, 1.0)
  CAUSE(steering_pump, steering_pump_pct, 30, 100, LINEAR, 0, 1.5, "power-steering pump that works all the time")
  LOOK(steering_pressure, 20, 0.04, STEP(steering_oil) | STEP(run),
      "gauge in the pump's outlet, idling, wheel straight: more than 10 bar?")
  FINDS(steering_pressure, steering_pump, 0.92)
  FINDS(belt_off, steering_pump, 0.7)

// ---- the blade and its drive ----
FAULT(0, 0, REAL(blade_stick_rad, "blade_stick_deg", UNITS_RAD_PER_DEG, 0, 5,
      "sticking blade: it moves only when the command has gone further than this"))
// of tps1_offset_v, which stands in a TRACK below; here, so that causes keep their order
  CAUSE(track_shifted_up, tps1_offset_v, 0.04, 0.2, LINEAR, FEATURE_two_tracks, 2.5, "position track 1 reads high")
  LOOK(tracks_compared, 6, 0.03, STEP(key_on) | STEP(meter),
      "both position tracks by voltmeter over the whole travel: their sum must not move")
  FINDS(tracks_compared, track_shifted_up, 0.92)
FAULT(FEATURE_electronic, 0, REAL(position_offset_rad, "position_offset_deg", UNITS_RAD_PER_DEG, -3, 3,
      "learned closed position lost: how far the blade is from where the computer believes it is"))
  CAUSE(position_lost, position_offset_deg, -0.25, -1.8, LINEAR, FEATURE_drive, 3,
      "learned closed position lost: the blade is too far closed")
  LOOK(closed_position_relearned, 5, 0.05, STEP(key_on) | STEP(relearn),
      "relearn the closed position by the maker's procedure: does the opening come back?")
  FINDS(closed_position_relearned, position_lost, 0.9)
COMPOSED(pedal_stuck_pct, 0, PCT, 0, 20, "pedal that does not come back: mat, dry joint or tight cable; this much travel remains")
  ACTS(pedal_stuck_pct, pedal_pct, 1.0)
FAULT(0, 0, SWITCH(blade_jammed, "blade_jammed", "the blade is jammed where it stands"))
FAULT(FEATURE_drive, 0, SWITCH(faults.motor_open, "motor_open", "throttle motor or its wiring interrupted"))
FAULT(FEATURE_drive, 1, REAL(faults.motor_resistance_ratio, "motor_resistance_ratio", 1.0, 0.3, 20,
      "resistance of throttle motor and wiring, times that of a good one"))
FAULT(FEATURE_drive, 0, SWITCH(motor_supply_lost, "motor_supply_lost", "no supply at the throttle drive"))
FAULT(FEATURE_drive, 1, REAL(faults.spring_ratio, "spring_ratio", 1.0, 0, 3, "strength of the blade's return springs; 0 broken"))

// ---- wires and tracks ----
TRACK(track[CIRCUIT_TRACK1], 0, "tps1", "position track 1")
TRACK(track[CIRCUIT_TRACK2], FEATURE_two_tracks, "tps2", "position track 2")
TRACK(track[CIRCUIT_PEDAL1], FEATURE_electronic, "app1", "pedal track 1")
TRACK(track[CIRCUIT_PEDAL2], FEATURE_electronic, "app2", "pedal track 2")
FAULT(0, 3, REAL(circuit_faults.worn_at_rad, "tps_worn_at_deg", UNITS_RAD_PER_DEG, 0, 83,
      "blade opening where its tracks are worn; matters with tps1_worn_v or tps2_worn_v"))
FAULT(FEATURE_electronic, 20, REAL(circuit_faults.worn_pedal_ratio, "app_worn_at_pct", PCT, 0, 100,
      "pedal travel where its tracks are worn; matters with app1_worn_v or app2_worn_v"))
FAULT(0, 5, REAL(circuit_faults.supply_v, "sensor_supply_v", 1.0, 0, 5.5, "supply of the position sensors; 5 is right"))
FAULT(0, 0, REAL(circuit_faults.ground_ohm, "tps_ground_ohm", 1.0, 0, 1000, "resistance in the blade sensor's ground"))
FAULT(0, 0, SWITCH(circuit_faults.supply_swapped, "tps_supply_swapped", "blade sensor's supply and ground swapped"))
FAULT(FEATURE_air_flow, 0, SWITCH(circuit_faults.air_flow_open, "maf_open", "air-flow sensor's signal wire broken"))
FAULT(FEATURE_air_flow, 0, SWITCH(circuit_faults.air_flow_shorted, "maf_shorted",
      "air-flow sensor's signal shorted to the supply"))
FAULT(FEATURE_cable, 0, SWITCH(circuit_faults.bypass_open, "bypass_open", "a coil of the idle bypass valve broken: it stands half open"))
FAULT(FEATURE_cable, 0, SWITCH(circuit_faults.bypass_grounded, "bypass_grounded",
      "a wire of the idle bypass valve at ground: it stands half open"))
FAULT(FEATURE_cable, 0, SWITCH(circuit_faults.bypass_shorted, "bypass_shorted",
      "a wire of the idle bypass valve at the supply: it stands half open"))
FAULT(0, 12.6, REAL(battery_v, "battery_rest_v", 1.0, 6, 13.5, "battery at rest; 12.6 is full"))
  CAUSE(battery_weak, battery_rest_v, 12.1, 11.0, LINEAR, 0, 2, "battery weak")
  LOOK(battery_test, 8, 0.05, STEP(battery) | STEP(meter) | STEP(run), "battery under load, and charging voltage")
  FINDS(battery_test, battery_weak, 0.92)
FAULT(0, 14, REAL(charging_v, "charging_v", 1.0, 0, 17,
      "charging voltage of the generator; 14 is right, and below the battery's own voltage it does not charge"))
  CAUSE(generator, charging_v, 12.8, 10.0, LINEAR, 0, 2, "the generator does not charge")
  FINDS(battery_test, generator, 0.95)
COMPOSED(battery_dead_cells, 0, 1.0, 0, 2,
      "dead cells of the battery: 2.1 V less each, and the alternator keeps charging 10 A more; common practice, no source")
  ACTS(battery_dead_cells, battery_rest_v, -2.1)
  ACTS(battery_dead_cells, electrical_load_w, 140.0)
COMPOSED(consumer_stuck_w, 0, 1.0, 0, 1000, "a fan, heated window or other consumer that never switches off: the power it draws")
  ACTS(consumer_stuck_w, electrical_load_w, 1.0)
  CAUSE(consumer_stuck, consumer_stuck_w, 150, 600, LINEAR, 0, 2, "an electrical consumer that never switches off")
  LOOK(alternator_current, 5, 0.05, STEP(run) | STEP(meter),
      "clamp round the alternator's lead, idling, all switched off, battery charged: more than 30 A?")
  FINDS(alternator_current, consumer_stuck, 0.9)

// ---- no faults, but read like some ----
// what none of the rows knows; its readings are broad, see analysis/estimate/estimate_unlisted.h
STATE(unlisted, film_um, 0, 0, LINEAR, 0, 20, "something that is not listed here")
STATE(load_left_on, electrical_load_w, 600, 1500, LINEAR, 0, 3, "lamps, blower or heated window left on")
STATE(compressor_left_on, air_conditioning, 1, 1, LINEAR, 0, 2, "air conditioning left on")
STATE(gear_left_on, drive, 1, 1, LINEAR, 0, 1, "read in gear")
STATE(not_warm, coolant_c, 75, 20, LINEAR, 0, 3, "the engine was not warm")
  LOOK(look_again, 2, 0.02, STEP(run), "warm by the gauge, out of gear, everything switched off: read again")
  FINDS(look_again, load_left_on, 0.95)
  FINDS(look_again, compressor_left_on, 0.95)
  FINDS(look_again, gear_left_on, 0.98)
  FINDS(look_again, not_warm, 0.95)
STATE(target_other, target_rpm, -150, 150, LINEAR, 0, 4, "an idle target that differs from this engine's file")
STATE(stop_other, track_pct, -6, 10, LINEAR, 0, 4, "a reading at the closed stop that differs from this engine's file")
STATE(offset_stale, learned_pct, 4, 40, LINEAR, 0, 3, "cleaned or repaired, but the learned idle air is still the old one")
  LOOK(relearned, 15, 0.05, STEP(run) | STEP(relearn), "idle air relearned by the maker's method: does the idle come to its target?")
  FINDS(relearned, offset_stale, 0.95)

// ---- what the test sheet tries, in the order in which it tells of readings that are alike ----
// deposit
SHEET("a film of 30 um on the bore wall", 0, KEY | UNPLUGGED | RUN, IN(bore) | IN(air) | IN(mixture) | IN(idle), 0,
    "early deposit: the computer still compensates for it; note the reading and look again later", {"film_um", 30})
SHEET("a film of 60 um on the bore wall", 0, KEY | UNPLUGGED | RUN, IN(bore) | IN(air) | IN(mixture) | IN(idle),
    STEP(unplug) | STEP(blade) | STEP(clean_bore) | STEP(relearn),
    "the deposit closes the gap: clean by the maker's method, relearn, test again", {"film_um", 60})
SHEET("a film of 200 um in the bypass", 0, RUN, IN(air) | IN(idle), STEP(unplug) | STEP(valve) | STEP(clean_valve),
    "deposit on the bypass valve's seat: take the valve out, clean it, test again", {"bypass_film_um", 200})
SHEET("a dead coil in the bypass valve", 0, RUN, IN(air) | IN(idle), STEP(meter) | STEP(key_on) | STEP(unplug) | STEP(valve) | STEP(run),
    "key off, its plug pulled: each coil by ohmmeter (40 to 80 ohm is usual; common practice, no source); key on: battery voltage at the "
    "plug's supply; plugged in, idling, the scan tool's step test: does the speed follow?", {"bypass_open", 1})
// power and motor
SHEET("a battery at 11.8 V", 0, KEY, IN(supply) | IN(movement), STEP(battery), "charge and test the battery before anything else",
    {"battery_rest_v", 11.8})
SHEET("a generator that does not charge", 0, RUN, IN(supply), STEP(meter) | STEP(battery) | STEP(belt) | STEP(run),
    "not above the resting battery: check belt, charging lamp, cable and fuse of the generator, then its regulator", {"charging_v", 0})
SHEET("a generator that charges to 13.2 V", 0, RUN, IN(supply), STEP(meter) | STEP(battery) | STEP(belt) | STEP(run),
    "belt slip, then voltage drop from generator to battery, plus and ground, with loads on", {"charging_v", 13.2})
SHEET("a regulator that lets 15.5 V through", 0, RUN, IN(supply), STEP(meter) | STEP(battery) | STEP(run),
    "regulator or its sensing wire: repair it before it boils the battery", {"charging_v", 15.5})
SHEET("no supply at the drive", 0, KEY | RUN, IN(supply) | IN(movement), STEP(meter) | STEP(unplug) | STEP(blade),
    "fuse, relay and the wire to 'throttle motor supply'",
    {"motor_supply_lost", 1})
SHEET("the motor circuit broken", 0, KEY, IN(movement), STEP(meter) | STEP(unplug) | STEP(blade),
    "continuity of 'throttle motor +' and '-' up to the motor, key off",
    {"motor_open", 1})
SHEET("three times the motor's resistance", 0, KEY, IN(movement), STEP(meter) | STEP(key_on),
    "contacts and brushes: voltage drop along each motor wire under load", {"motor_resistance_ratio", 3})
SHEET("the blade jammed", FEATURE_drive, KEY | UNPLUGGED, IN(movement) | IN(bore), STEP(unplug) | STEP(blade),
    "key off, unplug, look for an object in the bore or a broken gear", {"blade_jammed", 1})
SHEET("a blade that sticks by 2 deg", FEATURE_drive, KEY | UNPLUGGED, IN(movement) | IN(bore),
    STEP(unplug) | STEP(blade) | STEP(clean_bore) | STEP(relearn),
    "clean the bore and the ends of the shaft; if it still sticks, replace the unit", {"blade_stick_deg", 2})
SHEET("the return springs broken", 0, KEY | UNPLUGGED, IN(movement) | IN(bore), STEP(unplug) | STEP(blade) | STEP(relearn),
    "replace the unit: nothing brings the blade to rest without current", {"spring_ratio", 0})
// the blade's tracks
SHEET("track 1 broken", 0, KEY, IN(tracks) | IN(movement), STEP(meter) | STEP(unplug) | STEP(blade),
    "continuity of 'position track 1 signal'", {"tps1_open", 1})
SHEET("track 1 shorted to its supply", 0, KEY | UNPLUGGED, IN(tracks) | IN(movement), STEP(meter) | STEP(unplug) | STEP(blade),
    "'position track 1 signal' against 'sensor supply', unplugged", {"tps1_shorted", 1})
SHEET("track 1 reading 0.4 V high", 0, KEY | UNPLUGGED, IN(tracks) | IN(movement),
    STEP(meter) | STEP(unplug) | STEP(blade) | STEP(relearn),
    "compare with track 2: only one has moved; replace the sensor or the unit", {"tps1_offset_v", 0.4})
SHEET("track 2 broken", 0, KEY, IN(tracks), STEP(meter) | STEP(unplug) | STEP(blade),
    "continuity of 'position track 2 signal'", {"tps2_open", 1})
SHEET("track 2 reading 0.4 V high", 0, KEY | UNPLUGGED, IN(tracks), STEP(meter) | STEP(unplug) | STEP(blade) | STEP(relearn),
    "compare with track 1: only one has moved; replace the sensor or the unit", {"tps2_offset_v", 0.4})
SHEET("track 1 worn at 20 deg", 0, KEY, IN(tracks) | IN(movement),
    STEP(meter) | STEP(key_on) | STEP(unplug) | STEP(blade) | STEP(relearn),
    "repeat slowly with the scope: a dip always in the same place is wear; replace", {"tps1_worn_v", 0.6},
    {"tps_worn_at_deg", 20})
SHEET("200 ohm in the sensor's ground", 0, KEY | UNPLUGGED, IN(tracks) | IN(movement), STEP(meter) | STEP(key_on),
    "voltage drop 'sensor ground' to battery minus, plugged in, key on", {"tps_ground_ohm", 200})
SHEET("supply and ground of the sensor swapped", 0, KEY | UNPLUGGED, IN(tracks) | IN(movement),
    STEP(meter) | STEP(unplug) | STEP(blade),
    "'sensor supply' and 'sensor ground' at the plug, after any wiring repair", {"tps_supply_swapped", 1})
SHEET("a sensor supply of 4.5 V", 0, KEY | UNPLUGGED, IN(tracks) | IN(pedal), STEP(meter) | STEP(unplug) | STEP(blade),
    "'sensor supply' to 'sensor ground'; unplug its sensors one by one", {"sensor_supply_v", 4.5})
// pedal
SHEET("pedal track 1 broken", 0, KEY, IN(pedal) | IN(movement), STEP(meter) | STEP(unplug),
    "continuity of 'pedal track 1 signal'", {"app1_open", 1})
SHEET("pedal track 1 worn at 30 %", 0, KEY, IN(pedal) | IN(movement), STEP(meter) | STEP(key_on) | STEP(unplug) | STEP(relearn),
    "repeat slowly with the scope: a dip always in the same place is wear; replace", {"app1_worn_v", 0.8},
    {"app_worn_at_pct", 30})
SHEET("pedal track 2 worn at 30 %", 0, KEY, IN(pedal) | IN(movement), STEP(meter) | STEP(key_on) | STEP(unplug) | STEP(relearn),
    "repeat slowly with the scope: a dip always in the same place is wear; replace", {"app2_worn_v", 0.4},
    {"app_worn_at_pct", 30})
SHEET("pedal track 2 reading 0.4 V high", 0, KEY, IN(pedal) | IN(movement), STEP(meter) | STEP(unplug) | STEP(relearn),
    "compare with track 1: only one has moved; replace the pedal", {"app2_offset_v", 0.4})
SHEET("a pedal that stays 5 % down", FEATURE_electronic, KEY, IN(pedal) | IN(movement), STEP(key_on),
    "take the mat away, move the pedal by hand: does it come back by itself?", {"pedal_stuck_pct", 5})
// air and fuel
SHEET("a leak of 2 mm2 behind the blade", 0, RUN, IN(air) | IN(mixture) | IN(idle), STEP(smoke),
    "smoke into the manifold, engine off; then look along the hoses", {"leak_mm2", 2})
SHEET("a leak of 4 mm2 behind the blade", 0, RUN, IN(air) | IN(mixture) | IN(idle), STEP(smoke),
    "smoke into the manifold, engine off; then look along the hoses", {"leak_mm2", 4})
SHEET("a charge hose torn open by 60 mm2", 0, RUN, IN(air) | IN(mixture) | IN(idle), STEP(smoke),
    "lean at idle, rich where there is charge pressure in the hoses: smoke into the charge pipes, engine off; clamps and coupling first",
    {"charge_leak_mm2", 60})
SHEET("an air-flow sensor 20 % low", 0, RUN, IN(air) | IN(mixture) | IN(idle), STEP(meter) | STEP(unplug) | STEP(road),
    "look at its wire, then compare with the air the engine must draw at full load", {"maf_gain_ratio", 0.8})
SHEET("a broken air-flow signal wire", 0, KEY, IN(air), STEP(meter) | STEP(unplug),
    "continuity of 'air-flow signal'", {"maf_open", 1})
SHEET("a pressure sensor 5 kPa high", 0, KEY | RUN, IN(air) | IN(mixture) | IN(idle), STEP(key_on),
    "compare with the barometer with the engine off", {"map_offset_kpa", 5})
SHEET("a charge-pressure sensor 5 kPa high", 0, KEY, IN(air), STEP(key_on),
    "compare with the barometer and the manifold's sensor with the engine off", {"charge_offset_kpa", 5})
SHEET("15 % too little fuel delivered", 0, RUN, IN(mixture) | IN(idle), STEP(fuel) | STEP(run),
    "fuel pressure and quantity, then the injectors",
    {"fuel_delivery_ratio", 0.85})
SHEET("a purge valve stuck open by 2 mm2", 0, RUN, IN(mixture) | IN(idle) | IN(air), STEP(run),
    "pinch the purge hose shut and look again",
    {"purge_stuck_mm2", 2})
SHEET("an exhaust almost blocked", 0, RUN, IN(air) | IN(idle), STEP(run) | STEP(hot) | STEP(unplug),
    "back pressure at the oxygen sensor's thread",
    {"exhaust_ratio", 300})
SHEET("5 Nm of drag", 0, RUN, IN(air) | IN(idle), STEP(belt) | STEP(run),
    "engine off, take the belt off, and see in a short run whether the reading comes back", {"drag_nm", 5})
SHEET("600 W drawn by a consumer that never switches off", 0, RUN, IN(air) | IN(idle), STEP(run) | STEP(meter),
    "clamp round the alternator's lead, then fuses out one by one", {"consumer_stuck_w", 600})
SHEET("a power-steering pump that works all the time", 0, RUN, IN(air) | IN(idle), STEP(steering_oil) | STEP(run),
    "pressure at the pump's outlet, wheel straight",
    {"steering_pump_pct", 100})
SHEET("no spark at cylinder 1, every other time", 0, RUN, IN(idle) | IN(air) | IN(mixture),
    STEP(run) | STEP(ignition) | STEP(cylinder_off) | STEP(unplug),
    "cylinder balance, then spark tester, coil, lead and plug of that cylinder", {"spark_missing_pct", 50})
SHEET("cylinder 1 with half its compression", 0, RUN, IN(idle) | IN(air) | IN(mixture),
    STEP(run) | STEP(ignition) | STEP(cylinder_off) | STEP(crank) | STEP(unplug),
    "cylinder balance, then the compression of that cylinder", {"cylinder_compression_loss_pct", 50})

#undef TRACK
#undef FAULT
#undef COMPOSED
#undef ACTS
#undef CAUSE
#undef STATE
#undef LOOK
#undef FINDS
#undef SHEET
#undef FORMER
// clang-format on
