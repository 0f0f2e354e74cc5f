#include "analysis/curve/opening_blocks.h"

#include "base/attributes.h"
#include "base/units.h"
#include "physics/gas.h"
#include "physics/orifice.h"

#include <math.h>
#include <stdlib.h>

// Charge law of the header.
#define FILLING_PER_RAD_S   (0.03 / (1000.0 * UNITS_RAD_S_PER_RPM))
#define FILLING_MID_RAD_S   (1500.0 * UNITS_RAD_S_PER_RPM)
#define RESIDUAL_PA         6500.0
#define CHARGE_WARMER_K     20.0
#define INTAKE_ASSUMED_K    (25.0 + UNITS_KELVIN_AT_ZERO_C)
#define INTAKE_ASSUMED_SD_K 12.0 // a day between frost and summer
#define INTAKE_LOGGED_SD_K  8.0  // a sensor in a warm duct; day-to-day sd of a real car's reading, standing

// How far it may be off, one standard deviation each. Filling 8 % and warmth 10 K: the levels of the real car hang on its assumed law
// by 10 to 15 %. Offset 2.5 kPa: 6.2 to 7 with filling flat over speed, none at all if it falls. Sensor of air flow 3 %: common practice,
// no source.
#define FILLING_SD_RATIO    0.08
#define WARMTH_SD_K         10.0
#define FLOW_SD_RATIO       0.03
#define TILT_PRESSURE_RATIO 0.06 // per 1000 rpm: with no offset filling falls by 0.15
#define TILT_FLOW_RATIO     0.01 // of the sensor, per 1000 rpm; invented
#define RPM_1000_RAD_S      (1000.0 * UNITS_RAD_S_PER_RPM)

// Steadiness: rates between neighbouring blocks. Each is far above the noise of an idling engine and far below what a foot does on the
// road; at 3 % a second what fills the manifold is worth 0.7 % of the air.
#define DRIFT_MOST_1_S      0.03   // of speed and of air
#define SHIFT_MOST_1_S      0.0015 // of position: 0.15 % of its scale a second
#define SPREAD_MOST_1_S     0.004  // of position within a block
#define QUANTA_MOST         2.2    // a reading in steps may flicker by two
#define BLOCK_LEAST_S       2.0
#define BLOCK_MOST_S        9.0
#define ROUNDS_PER_BLOCK    2.0 // every value asked for twice
#define RUNNING_LEAST_RAD_S (350.0 * UNITS_RAD_S_PER_RPM)
#define PRESSURE_RATIO_MOST 0.90 // nearer to ambient Psi says nothing
#define UNTHROTTLED_RATIO   0.80 // an idling petrol engine draws 0.2 to 0.45 of ambient pressure
#define IDLE_SPEED_RATIO    1.20 // idle: up to so much above the slowest tenth
#define IDLE_MOST_RAD_S     (1300.0 * UNITS_RAD_S_PER_RPM)
#define WARM_C              60.0 // colder, and the charge is denser than the law takes it; air flow is measured anyhow
#define PEDAL_RELEASED_PCT  1.5
#define QUANTUM_LEAST_PCT   0.03
#define QUANTUM_LEAST_KPA   0.05
enum { QUANTUM_ROWS = 20000 };

/* ---- Which columns ---- */

static size_t values_of(const struct recording *log, enum channel channel) {
  size_t count = 0;
  for (size_t row = 0; row < log->row_count; row++)
    if (isfinite(recording_value(log, row, channel))) count++;
  return count;
}

/* What is asked of a log; CHANNEL_COUNT: not there. */
enum wanted { POSITION, SPEED, FLOW, PRESSURE, INTAKE, STEPS, PEDAL, TARGET, COOLANT, WANTED_COUNT };
struct columns {
  enum channel channel[WANTED_COUNT];
};

static enum channel first_of(const struct recording *log, enum channel one, enum channel other) {
  if (values_of(log, one) > 0) return one;
  return values_of(log, other) > 0 ? other : CHANNEL_COUNT;
}

static struct columns columns_of(const struct recording *log) {
  struct columns c;
  c.channel[POSITION] = first_of(log, CHANNEL_tp_pct, CHANNEL_blade_pct);
  c.channel[SPEED] = first_of(log, CHANNEL_speed_rpm, CHANNEL_speed_rpm);
  c.channel[FLOW] = first_of(log, CHANNEL_maf_gps, CHANNEL_maf_gps);
  c.channel[PRESSURE] = first_of(log, CHANNEL_manifold_kpa, CHANNEL_map_kpa);
  c.channel[INTAKE] = first_of(log, CHANNEL_intake_c, CHANNEL_intake_c);
  c.channel[STEPS] = first_of(log, CHANNEL_bypass_steps, CHANNEL_bypass_steps);
  c.channel[PEDAL] = first_of(log, CHANNEL_pedal_pct, CHANNEL_pedal_pct);
  c.channel[TARGET] = first_of(log, CHANNEL_target_rpm, CHANNEL_target_rpm);
  c.channel[COOLANT] = first_of(log, CHANNEL_coolant_c, CHANNEL_coolant_c);
  return c;
}

static enum status check_columns(const struct columns *c, const struct opening_setting *setting, struct error *error) {
  const char *name = setting->name;
  if (c->channel[POSITION] == CHANNEL_COUNT)
    return error_set(error, STATUS_BAD_DATA,
                     "%s:1: no column gives the throttle's position, so the air cannot be related to anything; log 'Absolute "
                     "Throttle Position' beside engine speed and air flow or manifold pressure",
                     name);
  if (c->channel[SPEED] == CHANNEL_COUNT)
    return error_set(error, STATUS_BAD_DATA, "%s:1: no column gives engine speed; log 'Engine RPM' as well", name);
  if (c->channel[FLOW] == CHANNEL_COUNT && c->channel[PRESSURE] == CHANNEL_COUNT)
    return error_set(
        error, STATUS_BAD_DATA,
        "%s:1: no column gives the air, neither 'Mass Air Flow' nor 'Intake Manifold Absolute Pressure'; log one of them "
        "as well",
        name);
  if (setting->displacement_m3 <= 0.0 && (c->channel[FLOW] == CHANNEL_COUNT || c->channel[PRESSURE] == CHANNEL_COUNT))
    return error_set(error, STATUS_USAGE, "%s has no %s, so the displacement is needed: --displacement-cc, or --engine", name,
                     c->channel[FLOW] == CHANNEL_COUNT ? "air flow" : "manifold pressure");
  return STATUS_OK;
}

/* ---- How old its readings are ---- */

/* Mean time between two changes of a channel; 0 if it hardly changes. */
static double refresh_s(const struct recording *log, enum channel channel) {
  if (channel == CHANNEL_COUNT) return 0.0;
  double last = NAN, from_s = NAN, to_s = NAN;
  size_t changes = 0;
  for (size_t row = 0; row < log->row_count; row++) {
    const double value = recording_value(log, row, channel);
    if (!isfinite(value)) continue;
    if (isfinite(last) && fabs(value - last) > 0.0) {
      to_s = recording_value(log, row, CHANNEL_time_s);
      if (changes++ == 0) from_s = to_s;
    }
    last = value;
  }
  return changes > 10 ? (to_s - from_s) / (double)(changes - 1) : 0.0;
}

static double age_s(const struct recording *log, const struct columns *c) {
  // speed always moves a little; what stands still for other reasons does not make a log slow
  double slow_s = refresh_s(log, c->channel[SPEED]);
  slow_s = fmax(slow_s, refresh_s(log, c->channel[FLOW] != CHANNEL_COUNT ? c->channel[FLOW] : c->channel[PRESSURE]));
  return slow_s;
}

/* Smallest step between two rows; 0 where it is below `least`, and so too fine to matter. */
static double quantum_of(const struct recording *log, enum channel channel, double least) {
  double smallest = INFINITY, last = NAN;
  if (channel == CHANNEL_COUNT) return 0.0;
  for (size_t row = 0; row < log->row_count && row < QUANTUM_ROWS; row++) {
    const double value = recording_value(log, row, channel);
    if (!isfinite(value)) continue;
    const double step = fabs(value - last);
    if (step > 1e-9) smallest = fmin(smallest, step);
    last = value;
  }
  return isfinite(smallest) && smallest >= least ? smallest : 0.0;
}

/* ---- Means of a block ---- */

struct sums {
  double from_s;
  size_t count[WANTED_COUNT];
  double sum[WANTED_COUNT], least[WANTED_COUNT], most[WANTED_COUNT];
};

static void sums_begin(struct sums *s, double from_s) {
  *s = (struct sums){.from_s = from_s};
  for (int i = 0; i < WANTED_COUNT; i++) {
    s->least[i] = INFINITY;
    s->most[i] = -INFINITY;
  }
}

static void sums_add(struct sums *s, const struct recording *log, size_t row, const struct columns *c) {
  for (int i = 0; i < WANTED_COUNT; i++) {
    if (c->channel[i] == CHANNEL_COUNT) continue;
    const double value = recording_value(log, row, c->channel[i]);
    if (!isfinite(value)) continue;
    s->count[i]++;
    s->sum[i] += value;
    s->least[i] = fmin(s->least[i], value);
    s->most[i] = fmax(s->most[i], value);
  }
}

static double mean_of(const struct sums *s, enum wanted i) { return s->count[i] ? s->sum[i] / (double)s->count[i] : NAN; }

static bool complete(const struct sums *s, const struct columns *c) {
  const bool air = c->channel[FLOW] != CHANNEL_COUNT ? s->count[FLOW] > 0 : s->count[PRESSURE] > 0;
  return s->count[POSITION] > 0 && s->count[SPEED] > 0 && air;
}

/* ---- From means to area ---- */

double opening_blocks_charge_pa(double manifold_pa) { return OPENING_BLOCKS_FILLING_RATIO * manifold_pa - RESIDUAL_PA; }

static double per_pressure_kg_s_pa(const struct opening_setting *setting, double speed_rad_s, double intake_k) {
  const double filling = 1.0 + FILLING_PER_RAD_S * (speed_rad_s - FILLING_MID_RAD_S);
  return setting->displacement_m3 * speed_rad_s / (4.0 * UNITS_PI) * filling /
         (GAS_AIR_CONSTANT_J_KG_K * (intake_k + CHARGE_WARMER_K));
}

static double square(double x) { return x * x; }

/* The area and what each doubt does to it; false where the throttle says nothing: manifold near ambient, or no air. */
static bool set_area(const struct sums *s, const struct columns *c, const struct opening_setting *setting, bool intake_assumed,
                     struct opening_block *block) {
  const double intake_k = isfinite(setting->intake_k) ? setting->intake_k
                          : s->count[INTAKE] > 0      ? mean_of(s, INTAKE) + UNITS_KELVIN_AT_ZERO_C
                                                      : INTAKE_ASSUMED_K;
  const double ambient = setting->ambient_pa, speed = block->speed_rad_s;
  const double per_pa = per_pressure_kg_s_pa(setting, speed, intake_k);
  double pressure = mean_of(s, PRESSURE) * UNITS_PA_PER_KPA, flow = mean_of(s, FLOW) * UNITS_KG_S_PER_GPS;
  const bool metered = c->channel[FLOW] != CHANNEL_COUNT;
  if (metered && !isfinite(pressure)) pressure = (flow / per_pa + RESIDUAL_PA) / OPENING_BLOCKS_FILLING_RATIO;
  if (!metered) flow = per_pa * opening_blocks_charge_pa(pressure);
  block->pressure_ratio = pressure / ambient;
  if (!(flow > 0.0) || !(block->pressure_ratio < PRESSURE_RATIO_MOST)) return false;
  const double psi = orifice_flow_function(fmax(block->pressure_ratio, 0.0));
  const double per_flow = sqrt(GAS_AIR_CONSTANT_J_KG_K * intake_k) / (ambient * psi);
  block->cda_m2 = flow * per_flow;
  const double intake_sd = (intake_assumed && !isfinite(setting->intake_k) ? INTAKE_ASSUMED_SD_K : INTAKE_LOGGED_SD_K) / intake_k;
  const double own = metered ? square(FLOW_SD_RATIO) + square(0.5 * intake_sd)
                             : square(FILLING_SD_RATIO) + square(WARMTH_SD_K / intake_k) + square(0.5 * intake_sd);
  block->per_doubt_m2[OPENING_DOUBT_level] = block->cda_m2 * sqrt(own + square(setting->ambient_sd_pa / ambient));
  block->per_doubt_m2[OPENING_DOUBT_offset] = metered ? 0.0 : -per_pa * OPENING_BLOCKS_OFFSET_SD_PA * per_flow;
  block->per_doubt_m2[OPENING_DOUBT_tilt] =
      block->cda_m2 * (metered ? TILT_FLOW_RATIO : TILT_PRESSURE_RATIO) * (speed - FILLING_MID_RAD_S) / RPM_1000_RAD_S;
  block->per_doubt_m2[OPENING_DOUBT_valve] = 0.0;
  return true;
}

/* ---- Steadiness ---- */

static bool hardly_moves(double before, double now, double after, double most_ratio) {
  const bool first = !isfinite(before), last = !isfinite(after);
  if (!first && fabs(now - before) > most_ratio * fabs(now)) return false;
  return last || fabs(after - now) <= most_ratio * fabs(now);
}

static bool steady(const struct sums *before, const struct sums *now, const struct sums *after, const struct columns *c,
                   double quantum, double length_s) {
  const enum wanted air = c->channel[FLOW] != CHANNEL_COUNT ? FLOW : PRESSURE;
  const double shift = fmax(SHIFT_MOST_1_S * length_s, QUANTA_MOST * quantum) / UNITS_RATIO_PER_PCT;
  const double spread = fmax(SPREAD_MOST_1_S * length_s, QUANTA_MOST * quantum) / UNITS_RATIO_PER_PCT;
  const double back = mean_of(before, POSITION), here = mean_of(now, POSITION), ahead = mean_of(after, POSITION);
  if (now->most[POSITION] - now->least[POSITION] > spread) return false;
  if (fabs(here - back) > shift || fabs(ahead - here) > shift) return false; // NAN at the ends: no objection
  return hardly_moves(mean_of(before, SPEED), mean_of(now, SPEED), mean_of(after, SPEED), DRIFT_MOST_1_S * length_s) &&
         hardly_moves(mean_of(before, air), mean_of(now, air), mean_of(after, air), DRIFT_MOST_1_S * length_s);
}

static enum status add_block(struct opening_blocks *blocks, const struct opening_block *block, struct error *error) {
  if (blocks->count == blocks->capacity) {
    const size_t capacity = blocks->capacity ? 2 * blocks->capacity : 256;
    struct opening_block *grown = realloc(blocks->blocks, capacity * sizeof *grown);
    if (!grown) return error_set(error, STATUS_NO_MEMORY, "out of memory for the blocks of a log");
    blocks->blocks = grown;
    blocks->capacity = capacity;
  }
  blocks->blocks[blocks->count++] = *block;
  return STATUS_OK;
}

/* How fast position moves, 1/s. */
static double rate_of(const struct sums *before, const struct sums *after, double length_s) {
  const double rate = (mean_of(after, POSITION) - mean_of(before, POSITION)) * UNITS_RATIO_PER_PCT / (2.0 * length_s);
  return isfinite(rate) ? rate : 0.0;
}

/* ---- The whole ---- */

/* What a log shows besides its blocks, for the refusals. */
struct census {
  size_t complete_count, running_count, cold_count;
  double slowest_rad_s, slowest_pressure_ratio; // of the blocks that ran
};

static enum status take_block(const struct sums *before, const struct sums *now, const struct sums *after,
                              const struct columns *c, const struct opening_setting *setting, struct opening_blocks *blocks,
                              struct census *census, struct error *error) {
  if (!complete(now, c)) return STATUS_OK;
  census->complete_count++;
  struct opening_block block = {
      .time_s = now->from_s + 0.5 * blocks->length_s,
      .position_ratio = mean_of(now, POSITION) * UNITS_RATIO_PER_PCT,
      .speed_rad_s = mean_of(now, SPEED) * UNITS_RAD_S_PER_RPM,
      .steps = blocks->has_steps && now->count[STEPS] > 0 ? mean_of(now, STEPS) : 0.0,
  };
  if (block.speed_rad_s < RUNNING_LEAST_RAD_S) return STATUS_OK;
  census->running_count++;
  const bool open = !set_area(now, c, setting, blocks->intake_assumed, &block);
  if (census->running_count == 1 || block.speed_rad_s < census->slowest_rad_s) {
    census->slowest_rad_s = block.speed_rad_s;
    census->slowest_pressure_ratio = block.pressure_ratio;
  }
  if (blocks->air == OPENING_AIR_PRESSURE && mean_of(now, COOLANT) < WARM_C) {
    census->cold_count++;
    return STATUS_OK;
  }
  if (!steady(before, now, after, c, blocks->quantum_ratio, blocks->length_s)) {
    blocks->unsteady_count++;
    return STATUS_OK;
  }
  block.position_1_s = rate_of(before, after, blocks->length_s);
  const bool released = !(mean_of(now, PEDAL) > PEDAL_RELEASED_PCT);
  const double target = mean_of(now, TARGET) * UNITS_RAD_S_PER_RPM;
  block.idle = released && !(block.speed_rad_s > IDLE_SPEED_RATIO * target);
  return open ? STATUS_OK : add_block(blocks, &block, error);
}

static enum status take_rows(const struct recording *log, const struct columns *c, const struct opening_setting *setting,
                             struct opening_blocks *blocks, struct census *census, struct error *error) {
  struct sums before, now, after;
  sums_begin(&before, NAN);
  sums_begin(&now, NAN);
  sums_begin(&after, recording_value(log, 0, CHANNEL_time_s));
  enum status status = STATUS_OK;
  for (size_t row = 0; row <= log->row_count && status == STATUS_OK; row++) {
    const bool end = row == log->row_count;
    const double time_s = end ? INFINITY : recording_value(log, row, CHANNEL_time_s);
    if (end || time_s >= after.from_s + blocks->length_s) { // `after` is full
      status = take_block(&before, &now, &after, c, setting, blocks, census, error);
      const bool gap = time_s >= after.from_s + 2.0 * blocks->length_s; // a pause in the log: no neighbours across it
      before = now;
      now = after;
      if (gap && status == STATUS_OK) {
        sums_begin(&after, NAN);
        status = take_block(&before, &now, &after, c, setting, blocks, census, error);
        sums_begin(&now, NAN);
      }
      sums_begin(&after, time_s);
    }
    if (!end) sums_add(&after, log, row, c);
  }
  return status;
}

/* Without pedal and target idle is where the engine turns slowest. */
static void mark_idle(struct opening_blocks *blocks, const struct columns *c) {
  if (c->channel[TARGET] != CHANNEL_COUNT && c->channel[PEDAL] != CHANNEL_COUNT) return;
  double slow = INFINITY;
  for (size_t i = 0; i < blocks->count; i++)
    if (blocks->blocks[i].idle) slow = fmin(slow, blocks->blocks[i].speed_rad_s);
  for (size_t i = 0; i < blocks->count; i++) {
    struct opening_block *block = &blocks->blocks[i];
    block->idle &= block->speed_rad_s <= fmin(IDLE_SPEED_RATIO * slow, IDLE_MOST_RAD_S);
  }
  if (c->channel[PEDAL] != CHANNEL_COUNT) return;
  // nor with the foot on it: at idle the blade is hardly further open than anywhere at that speed
  double least = INFINITY;
  for (size_t i = 0; i < blocks->count; i++)
    if (blocks->blocks[i].idle) least = fmin(least, blocks->blocks[i].position_ratio);
  for (size_t i = 0; i < blocks->count; i++)
    blocks->blocks[i].idle &= blocks->blocks[i].position_ratio <= least + fmax(0.006, QUANTA_MOST * blocks->quantum_ratio);
}

static enum status check_blocks(const struct opening_blocks *blocks, const struct census *census, const char *name,
                                struct error *error) {
  if (census->complete_count == 0)
    return error_set(error, STATUS_BAD_DATA, "%s: position, speed and air never appear at the same time; log the three together",
                     name);
  if (census->running_count == 0)
    return error_set(error, STATUS_BAD_DATA, "%s: the engine does not run in it; log it idling and slowly opened", name);
  if (census->slowest_pressure_ratio > UNTHROTTLED_RATIO && census->slowest_rad_s < IDLE_MOST_RAD_S)
    return error_set(error, STATUS_BAD_DATA,
                     "%s: at %.0f rpm manifold pressure is %.0f %% of the outside pressure: this engine is not throttled at "
                     "idle, and nothing here applies",
                     name, census->slowest_rad_s / UNITS_RAD_S_PER_RPM, 100.0 * census->slowest_pressure_ratio);
  if (blocks->count == 0 && census->cold_count > 0 && blocks->unsteady_count == 0)
    return error_set(
        error, STATUS_BAD_DATA,
        "%s: the coolant stays below %.0f C, and computing the air from manifold pressure needs a warm engine: warm it up first",
        name, WARM_C);
  if (blocks->count == 0)
    return error_set(error, STATUS_BAD_DATA,
                     "%s: position, speed and air are nowhere steady for %.0f s (%zu stretches looked at): this log tells "
                     "nothing; idle for half a minute, then open so slowly that 3000 rpm takes a minute and a half",
                     name, 3.0 * blocks->length_s, census->running_count);
  return STATUS_OK;
}

enum status opening_blocks_find(const struct recording *log, const struct opening_setting *setting, struct opening_blocks *blocks,
                                struct error *error) {
  *blocks = (struct opening_blocks){0};
  const struct columns columns = columns_of(log);
  enum status status = check_columns(&columns, setting, error);
  if (status != STATUS_OK) return status;
  blocks->air = columns.channel[FLOW] != CHANNEL_COUNT ? OPENING_AIR_FLOW : OPENING_AIR_PRESSURE;
  blocks->position_channel = columns.channel[POSITION];
  blocks->has_steps = columns.channel[STEPS] != CHANNEL_COUNT;
  blocks->intake_assumed = columns.channel[INTAKE] == CHANNEL_COUNT;
  blocks->age_s = age_s(log, &columns);
  blocks->length_s = fmin(fmax(ROUNDS_PER_BLOCK * blocks->age_s, BLOCK_LEAST_S), BLOCK_MOST_S);
  blocks->quantum_ratio = UNITS_RATIO_PER_PCT * quantum_of(log, blocks->position_channel, QUANTUM_LEAST_PCT);
  if (blocks->air == OPENING_AIR_PRESSURE)
    blocks->quantum_pa = UNITS_PA_PER_KPA * quantum_of(log, columns.channel[PRESSURE], QUANTUM_LEAST_KPA);
  struct census census = {0};
  status = take_rows(log, &columns, setting, blocks, &census, error);
  if (status == STATUS_OK) mark_idle(blocks, &columns);
  return status == STATUS_OK ? check_blocks(blocks, &census, setting->name, error) : status;
}

void opening_blocks_destroy(struct opening_blocks *blocks) {
  if (!blocks) return;
  free(blocks->blocks);
  *blocks = (struct opening_blocks){0};
}
