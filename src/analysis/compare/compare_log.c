#include "analysis/compare/compare_log.h"

#include "analysis/compare/compare_idle.h"
#include "analysis/estimate/estimate_log.h"

#include <math.h>

#define BLOCK_S         3.0
#define SWING_S         1.5 // longer above is no swing of the idle: the pedal, or a start
#define SETTLE_S        5.0 // after the pedal, a start or a load
#define RUNNING_RPM     350.0
#define PEDAL_PCT       1.5
#define IDLE_MOST_RATIO 1.15 // of the slowest stretch
#define ON              0.5
enum { BLOCK_MOST = 60 };

/* What is compared of a log, and what tells its day. */
static const enum estimate_quantity quantities[] = {
    ESTIMATE_QUANTITY_speed_rpm, ESTIMATE_QUANTITY_target_rpm,  ESTIMATE_QUANTITY_tp_pct,       ESTIMATE_QUANTITY_blade_pct,
    ESTIMATE_QUANTITY_maf_gps,   ESTIMATE_QUANTITY_map_kpa,     ESTIMATE_QUANTITY_charge_kpa,   ESTIMATE_QUANTITY_load_pct,
    ESTIMATE_QUANTITY_spark_deg, ESTIMATE_QUANTITY_stft_pct,    ESTIMATE_QUANTITY_ltft_pct,     ESTIMATE_QUANTITY_stft2_pct,
    ESTIMATE_QUANTITY_ltft2_pct, ESTIMATE_QUANTITY_learned_pct, ESTIMATE_QUANTITY_effort_pct,   ESTIMATE_QUANTITY_bypass_steps,
    ESTIMATE_QUANTITY_coolant_c, ESTIMATE_QUANTITY_intake_c,    ESTIMATE_QUANTITY_manifold_kpa, ESTIMATE_QUANTITY_charging_v,
};

struct moments {
  size_t count;
  double sum;
};

bool compare_log_mean(const struct recording *log, enum channel channel, double from_s, double to_s, double *mean,
                      double *error_of_mean) {
  struct moments blocks[BLOCK_MOST] = {0};
  const double length = fmax(BLOCK_S, (to_s - from_s) / BLOCK_MOST);
  double total = 0.0, least = INFINITY, most = -INFINITY, step = INFINITY, last = NAN;
  size_t count = 0;
  for (size_t row = 0; row < log->row_count; row++) {
    const double time = recording_value(log, row, CHANNEL_time_s), value = recording_value(log, row, channel);
    if (time < from_s || time > to_s || !isfinite(value)) continue;
    const size_t block = (size_t)fmin((time - from_s) / length, BLOCK_MOST - 1);
    blocks[block].count++;
    blocks[block].sum += value;
    total += value;
    count++;
    least = fmin(least, value);
    most = fmax(most, value);
    if (fabs(value - last) > 1e-9) step = fmin(step, fabs(value - last));
    last = value;
  }
  if (count == 0) return false;
  *mean = total / (double)count;
  double squares = 0.0;
  size_t used = 0;
  for (size_t i = 0; i < BLOCK_MOST; i++) {
    if (blocks[i].count == 0) continue;
    const double off = blocks[i].sum / (double)blocks[i].count - *mean;
    squares += off * off;
    used++;
  }
  const double of_blocks = used > 1 ? sqrt(squares / (double)(used * (used - 1))) : most - least;
  // a signal that stays within a code or two is no surer for being read often
  const double code = isfinite(step) && most - least < 2.5 * step ? step / sqrt(12.0) : 0.0;
  *error_of_mean = hypot(of_blocks, code);
  return true;
}

/* Whether a row says that more than idle is asked for. */
static bool asked(const struct recording *log, size_t row) {
  return recording_value(log, row, CHANNEL_pedal_pct) > PEDAL_PCT || recording_value(log, row, CHANNEL_air_conditioning) > ON ||
         recording_value(log, row, CHANNEL_drive) > ON;
}

static bool idles(double speed_rpm, double most_rpm) { return speed_rpm > RUNNING_RPM && speed_rpm < most_rpm; }

/* Lowest mean speed of a block: what is idle in this log. */
static double slowest_rpm(const struct recording *log) {
  double slowest = INFINITY, from_s = NAN, sum = 0.0;
  size_t count = 0;
  for (size_t row = 0; row < log->row_count; row++) {
    const double time = recording_value(log, row, CHANNEL_time_s), speed = recording_value(log, row, CHANNEL_speed_rpm);
    if (!isfinite(speed)) continue;
    if (speed < RUNNING_RPM || !(time < from_s + BLOCK_S)) {
      if (count > 2 && time >= from_s + BLOCK_S) slowest = fmin(slowest, sum / (double)count);
      from_s = time;
      sum = 0.0;
      count = 0;
      if (speed < RUNNING_RPM) from_s = NAN;
    }
    sum += speed;
    count++;
  }
  return slowest;
}

static bool speed_logged(const struct recording *log) {
  for (size_t row = 0; row < log->row_count; row++)
    if (isfinite(recording_value(log, row, CHANNEL_speed_rpm))) return true;
  return false;
}

bool compare_log_find_idle(const struct recording *log, struct compare_window *window) {
  const bool logged = speed_logged(log);
  const double most_rpm = IDLE_MOST_RATIO * slowest_rpm(log);
  struct compare_idle idle;
  double from_s = NAN, last_s = NAN; // of a stretch; the last row that was idle
  compare_idle_begin(log, &idle);
  for (size_t row = 0; row <= log->row_count; row++) {
    const bool end = row == log->row_count, cut = end || asked(log, row);
    const double time_s = end ? INFINITY : recording_value(log, row, CHANNEL_time_s);
    const double speed_rpm = end ? NAN : recording_value(log, row, CHANNEL_speed_rpm);
    if (!cut && logged && !isfinite(speed_rpm)) continue; // a row of another value says nothing of it
    if (!cut && (!logged || idles(speed_rpm, most_rpm))) {
      if (isnan(from_s)) from_s = time_s;
      last_s = time_s;
    } else if (!isnan(from_s) && (cut || time_s - last_s > SWING_S)) { // a rough idle looks out of its range for a moment
      compare_idle_offer(log, from_s, last_s, &idle);
      from_s = NAN;
    }
  }
  if (isnan(idle.best.from_s)) return false;
  const double length_s = idle.best.to_s - idle.best.from_s;
  *window = (struct compare_window){ESTIMATE_CONDITION_idle, idle.best.from_s + fmin(SETTLE_S, 0.25 * length_s), idle.best.to_s};
  return true;
}

void compare_log_add(const struct recording *log, const struct compare_window *window, struct compare_side *side) {
  struct estimate_readings *readings = &side->readings;
  for (size_t i = 0; i < ARRAY_COUNT(quantities); i++) {
    double mean, sd;
    if (!((estimate_quantities[quantities[i]].conditions >> window->condition) & 1u)) continue;
    if (readings->count == ESTIMATE_READING_MAX || estimate_readings_find(readings, quantities[i], window->condition)) continue;
    if (!compare_log_mean(log, estimate_log_channel(quantities[i]), window->from_s, window->to_s, &mean, &sd)) continue;
    readings->readings[readings->count++] = (struct estimate_reading){quantities[i], window->condition, mean, sd};
  }
  double on, sd;
  if (window->condition == ESTIMATE_CONDITION_idle &&
      compare_log_mean(log, CHANNEL_air_conditioning, window->from_s, window->to_s, &on, &sd))
    side->compressor_on = on > ON;
}
