#include "analysis/compare/compare_log.h"

#include "base/attributes.h"

#define ON 0.5

/* What is compared of a log, and what tells its day. */
static const enum estimate_quantity quantities[] = {
    ESTIMATE_QUANTITY_speed_rpm, ESTIMATE_QUANTITY_target_rpm,  ESTIMATE_QUANTITY_tp_pct,       ESTIMATE_QUANTITY_blade_pct,
    ESTIMATE_QUANTITY_maf_gps,   ESTIMATE_QUANTITY_map_kpa,     ESTIMATE_QUANTITY_charge_kpa,   ESTIMATE_QUANTITY_load_pct,
    ESTIMATE_QUANTITY_spark_deg, ESTIMATE_QUANTITY_stft_pct,    ESTIMATE_QUANTITY_ltft_pct,     ESTIMATE_QUANTITY_stft2_pct,
    ESTIMATE_QUANTITY_ltft2_pct, ESTIMATE_QUANTITY_learned_pct, ESTIMATE_QUANTITY_effort_pct,   ESTIMATE_QUANTITY_bypass_steps,
    ESTIMATE_QUANTITY_coolant_c, ESTIMATE_QUANTITY_intake_c,    ESTIMATE_QUANTITY_manifold_kpa, ESTIMATE_QUANTITY_charging_v,
};

static const enum log_phase_kind kinds[] = {LOG_PHASE_key_on, LOG_PHASE_idle_ac, LOG_PHASE_drive, LOG_PHASE_hold_2500};

static void add_condition(const struct recording *log, const struct estimate_log_windows *windows,
                          enum estimate_condition condition, struct compare_side *side) {
  struct estimate_readings *readings = &side->readings;
  for (size_t i = 0; i < ARRAY_COUNT(quantities) && windows->count > 0; i++) {
    double mean, sd;
    if (!((estimate_quantities[quantities[i]].conditions >> condition) & 1u)) continue;
    if (readings->count == ESTIMATE_READING_MAX || estimate_readings_find(readings, quantities[i], condition)) continue;
    if (!estimate_log_mean(log, windows, estimate_log_channel(quantities[i]), &mean, &sd)) continue;
    readings->readings[readings->count++] = (struct estimate_reading){quantities[i], condition, mean, sd};
  }
}

/* The longest of the warm ones: the others follow a load or 2500 rpm, and differ by what has not come to rest. Where none is warm the
 * longest of any kind, settled or not: it is not for comparing. */
static bool find_idle(const struct log_phases *phases, struct estimate_log_windows *windows) {
  estimate_log_windows_find(phases, LOG_PHASE_idle, windows);
  for (size_t i = 0, warm = windows->count; warm == 0 && i < phases->count; i++) {
    const struct log_phase *phase = &phases->phases[i];
    if (phase->kind == LOG_PHASE_warming_idle || phase->kind == LOG_PHASE_cold_idle)
      windows->windows[windows->count++] = (struct estimate_log_window){phase->from_s, phase->to_s};
  }
  struct estimate_log_window *best = windows->windows;
  for (size_t i = 1; i < windows->count; i++)
    if (windows->windows[i].to_s - windows->windows[i].from_s > best->to_s - best->from_s) *best = windows->windows[i];
  windows->count = windows->count > 0;
  return windows->count > 0;
}

bool compare_log_add(const struct recording *log, const struct log_phases *phases, struct compare_side *side,
                     struct estimate_log_window *idle) {
  struct estimate_log_windows windows;
  if (!find_idle(phases, &windows)) return false;
  *idle = windows.windows[0];
  add_condition(log, &windows, ESTIMATE_CONDITION_idle, side);
  double mean, sd;
  if (estimate_log_mean(log, &windows, CHANNEL_air_conditioning, &mean, &sd)) side->compressor_on = mean > ON;
  for (size_t i = 0; i < ARRAY_COUNT(kinds); i++) {
    estimate_log_windows_find(phases, kinds[i], &windows);
    add_condition(log, &windows, estimate_log_condition(kinds[i]), side);
    if (kinds[i] == LOG_PHASE_hold_2500 && estimate_log_mean(log, &windows, CHANNEL_speed_rpm, &mean, &sd)) side->held_rpm = mean;
  }
  return true;
}
