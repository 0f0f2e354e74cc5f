/* Which codes each fault must set, and which it may: one row per fault and severity. Source of the expectations: the conditions that
 * the definitions of SAE J2012 / ISO 15031-6 name, and common practice, no source. A condition without a row fails the test.
 *
 * Protocol of a run: warm idle; the fault comes at 5 s; 2500 rpm without load from 60 to 90 s; key off at 110 s, on at 122 s, start
 * at 125 s; end at 150 s. */
#ifndef FAULT_CODES_H
#define FAULT_CODES_H

/* What an engine must have for `must` to hold; elsewhere the fault may set only what `may` says. */
enum fault_codes_need {
  NEED_NOTHING = 0,
  NEED_ELECTRONIC = 1,
  NEED_CABLE = 2,
  NEED_AIR_FLOW = 4,
  NEED_PRESSURE = 8,
  NEED_TWO_TRACKS = 16,
  NEED_ONE_TRACK = 32,
};

struct fault_codes_row {
  const char *fault;
  double value;
  unsigned need;
  const char *must, *may;
};

#define IDLE_CODES "P0505 P0506 P0507 P0300"
#define LEAN       "P0171 P0174"
#define LIMP       "P2106"

// clang-format off
static const struct fault_codes_row fault_codes_rows[] = {
    {"film_um", 30, NEED_NOTHING, "", IDLE_CODES},          // comes at once, the offset has had no time: a droop for a while
    {"edge_film_um", 30, NEED_NOTHING, "", IDLE_CODES},
    {"bypass_film_um", 30, NEED_NOTHING, "", IDLE_CODES},
    {"leak_mm2", 6, NEED_AIR_FLOW, LEAN, "P0507 P0300"},    // LEAN is cut to the engine's banks
    {"leak_bank1_pct", 80, NEED_NOTHING, "", ""},           // nothing without a leak
    {"booster_leak_mm2", 6, NEED_AIR_FLOW, LEAN, "P0507 P0300"},
    {"boot_leak_mm2", 300, NEED_NOTHING, "", LEAN},
    {"ventilation_stuck_mm2", 4, NEED_NOTHING, "", "P0507"}, // metered air: the idle controller takes it back
    {"purge_stuck_mm2", 4, NEED_NOTHING, "", "P0172 P0507"},
    {"purge_vapour_pct", 30, NEED_NOTHING, "", ""},         // nothing without a stuck purge valve
    {"egr_stuck_mm2", 5, NEED_NOTHING, "", "P0300 P0172 P0506 P0505"},
    {"filter_ratio", 60, NEED_NOTHING, "", ""},             // nothing at idle and at 2500 rpm without load
    {"exhaust_ratio", 60, NEED_NOTHING, "", ""},
    {"maf_gain_ratio", 0.85, NEED_NOTHING, "", LEAN},
    {"maf_offset_gps", 0.5, NEED_NOTHING, "", "P0172 P0101"},
    {"maf_lag_ratio", 5, NEED_NOTHING, "", ""},
    {"map_offset_kpa", 12, NEED_PRESSURE, "P0106", "P0172 P0300 P0507 P0505 P0506"},
    {"coolant_bias_c", -50, NEED_NOTHING, "", "P0172 P0507"},
    {"intake_bias_c", 30, NEED_NOTHING, "", LEAN},
    {"fuel_delivery_ratio", 0.85, NEED_NOTHING, "", LEAN},
    {"weak_cylinder_ratio", 0, NEED_NOTHING, "P0300", IDLE_CODES},
    {"weak_cylinder_ratio", 0.25, NEED_NOTHING, "P0300", IDLE_CODES},
    {"spark_offset_deg", -8, NEED_NOTHING, "", "P0300 P0506"},
    {"compression_loss_pct", 15, NEED_NOTHING, "", "P0506"},
    {"drag_nm", 5, NEED_NOTHING, "", IDLE_CODES},
    {"blade_stick_deg", 0.3, NEED_NOTHING, "", ""},
    {"blade_stick_deg", 1, NEED_NOTHING, "", ""},             // it hunts; no firing is missing
    {"blade_stick_deg", 3, NEED_NOTHING, "", "P0638 P0505 P0506 P0507 P2119"},
    {"position_offset_deg", 0.5, NEED_NOTHING, "", "P0507 P0505"},
    {"blade_jammed", 1, NEED_ELECTRONIC, "P2112 P2106", "P2118 P0638 P2119 P2176 " IDLE_CODES},
    {"motor_open", 1, NEED_ELECTRONIC, "P2100 P2106", "P0638"},
    {"motor_resistance_ratio", 3, NEED_ELECTRONIC, "P2101", "P0638"},
    {"motor_supply_lost", 1, NEED_ELECTRONIC, "P2112 P2106", "P0638 P2119 P0507 P0505"},
    {"spring_ratio", 0, NEED_ELECTRONIC, "P2119", ""},
    {"tps1_offset_v", 0.4, NEED_TWO_TRACKS, "P2135 P2106", "P2119 P0121"},
    {"tps1_gain_ratio", 0.6, NEED_NOTHING, "", "P2135 P2106 P2119 P0121 P0101 P0507 P0122 P0300"},
    {"tps1_open", 1, NEED_NOTHING, "P0122", "P2106 P0121"},
    {"tps1_grounded", 1, NEED_NOTHING, "P0122", "P2106 P0121"},
    {"tps1_shorted", 1, NEED_NOTHING, "P0123", "P2106 P0121"},
    {"tps1_worn_v", 1, NEED_NOTHING, "", "P2135 P2106 P0122 P0300 P0101 P0507 P2101"},
    {"tps2_offset_v", 0.4, NEED_TWO_TRACKS, "P2135 P2106", "P2119"},
    {"tps2_gain_ratio", 0.7, NEED_NOTHING, "", "P2135 P2106 P2119 P0222"},
    {"tps2_open", 1, NEED_TWO_TRACKS, "P0222 P2106", ""},
    {"tps2_grounded", 1, NEED_TWO_TRACKS, "P0222 P2106", ""},
    {"tps2_shorted", 1, NEED_TWO_TRACKS, "P0223 P2106", ""},
    {"tps2_worn_v", 1, NEED_NOTHING, "", "P2135 P2106 P0222"},
    {"app1_offset_v", 0.5, NEED_ELECTRONIC, "P2138 P2106", ""},
    {"app1_gain_ratio", 0.6, NEED_NOTHING, "", "P2138 P2106"},
    {"app1_open", 1, NEED_ELECTRONIC, "P2122 P2106", ""},
    {"app1_grounded", 1, NEED_ELECTRONIC, "P2122 P2106", ""},
    {"app1_shorted", 1, NEED_ELECTRONIC, "P2138 P2106", ""},
    {"app1_worn_v", 1, NEED_NOTHING, "", "P2138 P2106 P2122"},
    {"app2_offset_v", 0.5, NEED_ELECTRONIC, "P2138 P2106", ""},
    {"app2_gain_ratio", 0.6, NEED_NOTHING, "", "P2138 P2106"},
    {"app2_open", 1, NEED_ELECTRONIC, "P2127 P2106", ""},
    {"app2_grounded", 1, NEED_ELECTRONIC, "P2127 P2106", ""},
    {"app2_shorted", 1, NEED_ELECTRONIC, "P2138 P2106", ""},
    {"app2_worn_v", 1, NEED_NOTHING, "", "P2138 P2106 P2127"},
    {"tps_worn_at_deg", 5, NEED_NOTHING, "", ""},           // where; nothing without depth
    {"app_worn_at_pct", 50, NEED_NOTHING, "", ""},
    {"sensor_supply_v", 4, NEED_TWO_TRACKS, "P2106", "P2135 P2119 P0507 P0101 P0300 P2138"},
    {"tps_ground_ohm", 200, NEED_TWO_TRACKS, "P2106", "P2135 P2119 P0121"},
    {"tps_supply_swapped", 1, NEED_TWO_TRACKS, "P2106", "P2111 P2112 P2119 P0638 P2135 P0121"},
    {"maf_open", 1, NEED_AIR_FLOW, "P0102", ""},
    {"maf_shorted", 1, NEED_AIR_FLOW, "P0103", ""},
    {"battery_rest_v", 11, NEED_NOTHING, "", ""},
};
// clang-format on

#endif
