/* What a claim can say, one row each: KIND(name, predicates that every claim of the kind carries, what it says and promises).
 *
 * docs/claims.md is written from this table (docs/make/claims.c), and a test walks all claims of the shipped scenarios by it. */
#ifndef ANALYSIS_RUN_CLAIM_KINDS_H
#define ANALYSIS_RUN_CLAIM_KINDS_H

// clang-format off
#define CLAIM_KIND_LIST(KIND) \
  /* ---- the idle as such ---- */ \
  KIND(idle_all_through, "equal zero nonzero", "the whole run is idle: pedal released, engine never standing, mean speed on target") \
  KIND(idle_first, "", "speed, target and air of the first steady idle") \
  KIND(idle_blade, "", "air and opening of the first steady idle") \
  KIND(speed_range, "", "lowest and highest speed of a run without a steady idle; or the engine stands throughout") \
  /* ---- the film ---- */ \
  KIND(film_hidden_then_low, "equal below steady alone", "the thickest film with which a steady idle is still on target, and the slowest idle at rest with a film: at rest means that speed, learned share and film no longer move and that there is nothing left to learn; no fault is present at either") \
  KIND(film_hidden, "equal alone", "the last steady idle with a film is on target, within 10 rpm as everywhere, and none at rest after it was not") \
  KIND(film_low, "below steady alone", "the slowest idle at rest with a film is below target") \
  KIND(film_learning, "below alone above", "the slowest idle with a film, neither on target nor at rest: its learned share rises") \
  KIND(film_there, "", "the thickest film of the run") \
  KIND(film_gap, "zero", "the gap of a clean idle, and its mean width: area over circumference") \
  KIND(film_compensated, "above equal alike", "between the clean idle and the last hidden one the idle actuator has opened, and the speed is on target; nothing but the film differs") \
  KIND(film_limit, "equal nonzero", "learned share and controller are both at their upper limit, with a film there") \
  KIND(film_starved, "below steady alike", "at the slowest idle at rest the engine gets less air than clean; nothing but the film differs. With spark: it is earlier than clean") \
  KIND(film_area, "below", "what the film leaves of the gap at the blade's own opening") \
  KIND(film_choked, "below alike", "the manifold is never above the critical share of the ambient pressure; electronic throttle only") \
  KIND(film_learned, "above equal alike", "the learned share has risen by the time of the last hidden idle") \
  KIND(film_sag, "below equal above", "an idle below target that still moves comes before the hidden one, whose learned share is larger") \
  KIND(film_torch, "below", "the gap at the closed stop, clean and with the film") \
  KIND(film_came, "", "a film comes, grows, shrinks or is taken away by the scenario, and when") \
  KIND(film_held, "below above", "off idle the film takes a smaller share of the gap than at idle, and the gap is wider") \
  KIND(film_cold, "below above equal", "a film with which the warm idle is below target, and a cold idle with it on target, with a wider gap") \
  KIND(film_mixture, "equal alike", "fuel trims are as without the film, lambda is one") \
  /* ---- the clean ---- */ \
  KIND(clean_raced_and_back, "above zero equal before", "after the clean an idle well above target, and later one on target") \
  KIND(clean_back, "equal before", "after the clean no steady idle is above target by 20 rpm or more, and one is on target; a reset of the learned share is an event") \
  KIND(clean_raced, "above zero", "after the clean an idle well above target, and none on target to the end") \
  KIND(clean_still_learned, "above zero", "the learned share at the time of the clean, and that some is left while the idle is too fast") \
  KIND(clean_lower_limit, "above equal", "while the idle is too fast the controller is at its lower limit") \
  KIND(clean_unlearned, "equal before below above", "the learned share is smaller when the idle is back than when it was fastest") \
  /* ---- faults ---- */ \
  KIND(fault_came, "", "the fault that the scenario introduces, and when; a second cause if there are others already") \
  KIND(fault_races, "above", "with the faults the idle is above target; a film, if present, is named as well") \
  KIND(fault_low, "below", "the same, below target") \
  KIND(fault_unsteady, "equal above", "the same, on target on average but with a larger standard deviation than before") \
  KIND(fault_and_clean, "before", "with the faults, and the bore cleaned since the idle they are measured against: two things at once") \
  KIND(fault_holds, "equal", "the same, within 30 rpm of target") \
  KIND(control_answered, "alike", "the idle actuator and what the computer adds have moved the same way") \
  KIND(control_lower_limit, "equal", "the controller is at its lower limit") \
  KIND(control_upper_limit, "equal", "the controller is at its upper limit") \
  KIND(residual_rose, "above alike", "more burned gas in the charge than before") \
  KIND(blade_astray, "above", "the blade is further from its command than before, and further than a good drive is; electronic throttle only") \
  KIND(spark_helped, "", "the spark is earlier below target, or later above it") \
  KIND(square_of_flow, "above", "loss of filter or exhaust at idle and off idle: its coefficient times the square of the flow") \
  KIND(held_pair, "", "pedal and air off idle at the same speed, before and with the fault") \
  KIND(air_unmetered, "above", "air that does not pass the throttle, more than before, and what the sensor says") \
  KIND(air_misread, "", "a sensor that reads another flow or pressure than there is") \
  KIND(trims_moved, "alike", "fuel trims differ from before; nothing but the faults differs. Lean or rich if they could not correct it") \
  KIND(trims_stayed, "equal alike", "fuel trims are as before") \
  KIND(trims_would_have, "equal above", "they are as before on an engine with pressure metering, although part of the air is unmetered") \
  KIND(trims_fall_off_idle, "", "off idle they are closer to where they were before; of a leak: so is the share of unmetered air") \
  KIND(trims_held, "equal", "off idle they are as at idle") \
  KIND(banks_apart, "", "the trims of the two banks differ") \
  KIND(closed_lost, "below zero alike", "speed before the closed stop is forgotten, the lowest after it, and how far the blade then stays below its command") \
  KIND(limp_home, "", "the computer goes into limp-home, an event") \
  KIND(limp_blade, "equal above", "in limp-home the pedal is well down and the blade does not move") \
  /* ---- repairs ---- */ \
  KIND(repair, "before alike", "a fault goes: the last steady idle before, and the last one without it, with the same film, loads and world") \
  KIND(repair_only, "", "a fault goes; there are no two idles to compare") \
  KIND(repair_fall, "below zero nonzero", "right after a repair the idle falls well below target, with a learned share below zero") \
  /* ---- loads ---- */ \
  KIND(load_dip, "below no_event", "lowest speed after a load, which does not stall it") \
  KIND(load_with, "no_event", "speed and air some seconds later, the load still on") \
  KIND(load_raised, "below above nonzero no_event", "an idle below target with a film is faster with the load on, and gets more air") \
  KIND(load_series, "", "lowest speed after each load of a kind, and the film at each") \
  KIND(load_deeper, "below no_event", "with the thickest film the same load brings the speed lower than with the thinnest") \
  KIND(load_flat, "equal no_event", "up to that film every dip of the kind is at most 25 rpm below that with the least film") \
  KIND(load_air_step, "", "the air that comes with the load, with the thinnest and with the thickest film: more, less or the same, as measured") \
  KIND(load_reserve, "below", "before the load, less spark torque is in reserve with the film than without") \
  /* ---- stalls and starts ---- */ \
  KIND(stall, "", "a stall that no load, fault or growing film just before explains") \
  KIND(stall_after, "before", "a stall soon after a load or a fault") \
  KIND(stall_film_grew, "above alone", "a stall while the film grows and nothing else") \
  KIND(stall_margin, "", "what spark and controller had left before the cause") \
  KIND(stall_uncounted, "above", "a large part of the last air was not metered") \
  KIND(stall_mixture, "", "the last mixture was too lean or too rich to burn well") \
  KIND(stall_residual, "above", "much burned gas in the last charges") \
  KIND(stall_count, "", "number of stalls") \
  KIND(start_first, "before", "the first start: battery and time") \
  KIND(start_again, "before", "a later one, and what was learned before") \
  KIND(start_failed, "no_event", "the starter is turned and the engine does not run by itself") \
  KIND(start_flare, "above nonzero", "highest speed right after a start, and some seconds later; it does not stall in between") \
  KIND(start_dies, "before", "a stall soon after a start") \
  KIND(cold_headline, "below above nonzero zero", "fast idle after a cold start, and a slower one at the end, warmer; pedal released") \
  KIND(cold_idle, "below nonzero", "target and mixture soon after a cold start: lambda is below one") \
  KIND(cold_sensor, "before", "when the coolant reaches the temperature at which the oxygen sensor is used") \
  KIND(cold_not_watched, "below", "until the end the coolant is below what the idle codes need") \
  KIND(cold_over_target, "above equal below", "cold, above target with the controller at its lower limit") \
  KIND(engine_stands, "zero above", "speed zero throughout, and the blade moves") \
  KIND(engine_stands_still, "zero equal above", "speed zero throughout, the pedal well down, and the blade does not move") \
  KIND(tracks_apart, "zero above", "at some point the two tracks of the blade together read less than their supply, engine standing") \
  KIND(track_read, "zero", "lowest and highest voltage of a track, engine standing") \
  /* ---- codes ---- */ \
  KIND(code_set, "", "when a code became pending, confirmed, erased: events") \
  KIND(code_sets_when, "", "what a set code monitors, from the table of codes") \
  KIND(code_below_limit, "below no_event", "not set: its limit is passed at no row of the run") \
  KIND(code_too_short, "below no_event", "not set: its limit is passed, but never as long as it must be") \
  KIND(code_only_while, "only_while no_event", "not set: its limit is passed as long as it must be only at rows at which a reason not to look holds") \
  KIND(code_takes, "no_event", "not set, for codes whose measure is not a channel: what it would take, from the table of codes")
// clang-format on

#endif
