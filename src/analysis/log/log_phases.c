#include "analysis/log/log_phases.h"

#include "analysis/log/log_blocks.h"
#include "base/attributes.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

const struct log_phase_row log_phase_rows[LOG_PHASE_COUNT] = {
#define PHASE(name, least_s, text) {#name, least_s, text},
    LOG_PHASE_LIST(PHASE)
#undef PHASE
};
const char *const log_phase_step_names[] = {"unknown", "compressor", "gear"};

#define COLD_C         60.0  // below: the computer still idles fast (common practice, no source)
#define WARM_C         75.0  // above: a thermostat of 80 to 95 C is near its opening (common practice)
#define STANDS_RPM     30.0  // no starter turns an engine so slowly
#define RUNS_RPM       400.0 // a starter turns it at 150 to 300 (common practice)
#define PEDAL_PCT      2.0   // a released pedal reads no more
#define HELD_RPM       2500.0
#define HELD_BAND_RPM  250.0
#define HELD_DRIFT_RPM 100.0 // from its first half to its second
#define FAST_RATIO     1.3   // of the log's idle: more is no warm idle, where no pedal is logged
#define IDLE_RPM \
  1100.0 // no warm engine is driven or held that slowly, and none idles faster with nothing wrong (common practice)
#define FAST_COLD_RPM       1800.0 // no cold idle is faster (common practice)
#define STEP_RATIO          0.07   // of air: less than the smallest compressor asks for, more than a fan; our own choice
#define SIDE_BLOCKS         6      // what is looked at before and behind a step
#define TRANSIENT_BLOCKS    16     // behind a start or the pedal nothing is told of loads: 8 s
#define SPEED_RATIO         0.02   // a held speed is as good as that
#define LOWEST_S            2.0    // as at the conditions ac_step and gear_step of an estimate
#define LOWEST_VALUES       5      // of speed within it, to say that the lowest was seen
#define CRANKING_MOST_S     30.0   // longer is no start
#define OPENING_PCT         0.7    // two steps of a position of eight bits
#define OPENING_RATIO       1.4    // of the speed it begins with
#define OPENING_LEAST_RPM_S 6.0    // idle wanders by less
#define OPENING_MOST_RPM_S  100.0
#define OPENING_REST_S      6.0
#define ON                  0.5
#define BEGIN_S             5.0
enum { NOTHING = LOG_PHASE_COUNT, GLITCH_BLOCKS = 1 };

/* Where means may begin, seconds into the phase: the idle control is slow, and estimate_condition has its words. A log that begins with
 * it shows nothing that it would have to settle from. */
static double settling_s(const struct log_phase *phase, bool begins) {
  const double length_s = phase->to_s - phase->from_s;
  if (begins && phase->kind == LOG_PHASE_idle) return fmin(BEGIN_S, 0.25 * length_s);
  switch (phase->kind) {
  case LOG_PHASE_idle:
  case LOG_PHASE_idle_ac:
  case LOG_PHASE_drive:
  case LOG_PHASE_idle_loaded:
    return length_s >= 30.0 ? 15.0 : 0.5 * length_s;
  case LOG_PHASE_cold_idle:
    return 0.0;
  case LOG_PHASE_hold_2500:
    return fmin(5.0, 0.5 * length_s);
  case LOG_PHASE_key_on:
    return fmin(1.0, 0.5 * length_s);
  default:
    return length_s;
  }
}

struct finder {
  struct log_blocks blocks;
  unsigned char *kinds; // of each block
  double *air, *speed;  // of each block; NaN where not told
  struct log_phases *phases;
};

int log_phase_find(const char *name) {
  char plain[32] = "";
  for (size_t i = 0; i + 1 < sizeof plain && name[i]; i++) plain[i] = name[i] == '-' ? '_' : name[i];
  for (int i = 0; i < LOG_PHASE_COUNT; i++)
    if (strcmp(log_phase_rows[i].name, plain) == 0) return i;
  return -1;
}

static double side_mean(const double *values, size_t from, size_t to) {
  double sum = 0.0;
  size_t count = 0;
  for (size_t i = from; i < to; i++) {
    if (isnan(values[i])) continue;
    sum += values[i];
    count++;
  }
  return count ? sum / (double)count : NAN;
}

/* ---- What each block is ---- */

static bool pressed(const struct log_block *block) { return block->mean[LOG_SIGNAL_pedal] > PEDAL_PCT; }
static bool on(double flag) { return flag > ON; }

/* The lowest mean of some seconds at which the engine runs, pedal released as far as told, in no gear and without compressor. */
static double idle_speed(const struct finder *finder) {
  double slowest = INFINITY;
  const size_t count = finder->blocks.count, need = (size_t)(5.0 / finder->blocks.length_s) + 1;
  double sum = 0.0, least = INFINITY;
  size_t run = 0;
  for (size_t i = 0; i < count; i++) {
    const struct log_block *block = &finder->blocks.blocks[i];
    const double speed = block->mean[LOG_SIGNAL_speed];
    const bool good = speed > RUNS_RPM && !pressed(block) && !on(block->mean[LOG_SIGNAL_drive]);
    run = good ? run + 1 : 0;
    sum = good ? sum + speed : 0.0;
    least = good ? (run == 1 ? speed : fmin(least, speed)) : INFINITY;
    if (run < need) continue;
    const double mean = sum / (double)run;
    if (least > 0.9 * mean) slowest = fmin(slowest, mean); // not one that is falling through
    run = 0;
    sum = 0.0;
  }
  return isfinite(slowest) ? slowest : NAN;
}

static int kind_of_idle(const struct log_block *block) {
  const double coolant = block->mean[LOG_SIGNAL_coolant];
  if (on(block->mean[LOG_SIGNAL_drive])) return LOG_PHASE_drive;
  if (on(block->mean[LOG_SIGNAL_compressor])) return LOG_PHASE_idle_ac;
  if (coolant < COLD_C) return LOG_PHASE_cold_idle;
  return coolant < WARM_C ? LOG_PHASE_warming_idle : LOG_PHASE_idle;
}

/* Whether an engine that runs idles. Without a pedal column its speed must tell, against the target where that is logged. */
static bool idles(const struct finder *finder, const struct log_block *block) {
  const double speed = block->mean[LOG_SIGNAL_speed], target = block->mean[LOG_SIGNAL_target];
  if (!isnan(block->mean[LOG_SIGNAL_pedal])) return !pressed(block) && speed < FAST_COLD_RPM;
  if (block->mean[LOG_SIGNAL_coolant] < COLD_C) return speed < FAST_COLD_RPM;
  return speed < fmax(IDLE_RPM, FAST_RATIO * (isnan(target) ? finder->phases->idle_rpm : target));
}

static int kind_of(const struct finder *finder, const struct log_block *block) {
  const double speed = block->mean[LOG_SIGNAL_speed];
  if (isnan(speed)) return NOTHING;
  if (block->most[LOG_SIGNAL_speed] < STANDS_RPM) return pressed(block) ? NOTHING : LOG_PHASE_key_on;
  if (speed < RUNS_RPM || block->least[LOG_SIGNAL_speed] < STANDS_RPM) return NOTHING; // it starts, or dies
  if (idles(finder, block)) return kind_of_idle(block);
  if (fabs(speed - HELD_RPM) < HELD_BAND_RPM && !on(block->mean[LOG_SIGNAL_drive])) return LOG_PHASE_hold_2500;
  return on(block->mean[LOG_SIGNAL_drive]) && pressed(block) ? LOG_PHASE_drive_away : NOTHING;
}

static bool at_idle(int kind) {
  return kind == LOG_PHASE_idle || kind == LOG_PHASE_cold_idle || kind == LOG_PHASE_warming_idle || kind == LOG_PHASE_idle_ac ||
         kind == LOG_PHASE_drive || kind == LOG_PHASE_idle_loaded;
}

/* One block of another kind within a phase is a slip of a sensor, unless a switch says otherwise. */
static void mend_glitches(struct finder *finder) {
  unsigned char *kinds = finder->kinds;
  for (size_t i = 1; i + GLITCH_BLOCKS < finder->blocks.count; i++)
    if (kinds[i] != kinds[i - 1] && kinds[i - 1] == kinds[i + GLITCH_BLOCKS] && kinds[i] == NOTHING) kinds[i] = kinds[i - 1];
}

/* ---- Phases ---- */

static void add(struct finder *finder, const struct log_phase *phase) {
  struct log_phases *phases = finder->phases;
  if (phases->count == LOG_PHASES_MAX) {
    phases->left_out++;
    return;
  }
  struct log_phase *added = &phases->phases[phases->count++];
  *added = *phase;
  added->settled_s = fmin(added->to_s, added->from_s + settling_s(added, added->from_s <= finder->blocks.start_s));
}

static struct log_phase phase_of(const struct finder *finder, int kind, size_t first, size_t end) {
  const struct log_blocks *blocks = &finder->blocks;
  struct log_phase phase = {.kind = (enum log_phase_kind)kind,
                            .from_s = blocks->start_s + (double)first * blocks->length_s,
                            .to_s = fmin(blocks->start_s + (double)end * blocks->length_s, blocks->end_s),
                            .before_rpm = NAN,
                            .lowest_rpm = NAN};
  phase.warm_told = !isnan(blocks->blocks[first].mean[LOG_SIGNAL_coolant]);
  return phase;
}

/* Crossing 2500 rpm is not holding it. */
static bool held(const struct finder *finder, size_t first, size_t end) {
  const size_t middle = first + (end - first) / 2;
  return fabs(side_mean(finder->speed, first, middle) - side_mean(finder->speed, middle, end)) < HELD_DRIFT_RPM;
}

static void keep(struct finder *finder, int kind, size_t first, size_t end) {
  const struct log_phase phase = phase_of(finder, kind, first, end);
  if (kind == NOTHING || (kind == LOG_PHASE_hold_2500 && !held(finder, first, end))) return;
  if (phase.to_s - phase.from_s + 1e-6 >= log_phase_rows[kind].least_s) add(finder, &phase);
}

/* ---- Steps of load ---- */

/* How far air steps at a block, as share of what it was; 0 where it is not told, or where the speed goes the same way: that is no load
 * but the idle control, a reset, a leak. */
static double step_of(const struct finder *finder, size_t at, size_t first, size_t end) {
  if (at < first + TRANSIENT_BLOCKS || at + SIDE_BLOCKS > end) return 0.0;
  const double before = side_mean(finder->air, at - SIDE_BLOCKS, at), after = side_mean(finder->air, at, at + SIDE_BLOCKS);
  const double was = side_mean(finder->speed, at - SIDE_BLOCKS, at), is = side_mean(finder->speed, at, at + SIDE_BLOCKS);
  const double step = before > 0.0 && after > 0.0 ? after / before - 1.0 : 0.0;
  return (is / was - 1.0) * (step > 0.0 ? 1.0 : -1.0) > SPEED_RATIO ? 0.0 : step;
}

/* Within a stretch of warm idle with no switch told: the places where air steps and stays. Each step up is a
 * load more, each step down one less; with the fewest loads it idles, and a film that grows meanwhile changes nothing in that. */
static void part_idle(struct finder *finder, size_t first, size_t end) {
  enum { PIECES_MAX = 64 };
  size_t starts[PIECES_MAX + 1], count = 1;
  int levels[PIECES_MAX + 1] = {0}, least = 0;
  starts[0] = first;
  for (size_t i = first; i < end; i++) {
    const double step = fabs(step_of(finder, i, first, end));
    if (step < STEP_RATIO || count == PIECES_MAX) continue;
    size_t best = i;
    double largest = step;
    for (; i < end; i++) {
      const double next = fabs(step_of(finder, i, first, end));
      if (!(next >= STEP_RATIO)) break;
      if (next <= largest) continue;
      best = i;
      largest = next;
    }
    levels[count] = levels[count - 1] + (step_of(finder, best, first, end) > 0.0 ? 1 : -1);
    if (levels[count] < least) least = levels[count];
    starts[count++] = best;
  }
  starts[count] = end;
  if (count < 2) return;
  for (size_t i = 0; i < count; i++)
    if (levels[i] > least) memset(finder->kinds + starts[i], LOG_PHASE_idle_loaded, starts[i + 1] - starts[i]);
}

static void part_idles(struct finder *finder) {
  for (size_t first = 0; first < finder->blocks.count;) {
    size_t end = first + 1;
    while (end < finder->blocks.count && finder->kinds[end] == finder->kinds[first]) end++;
    if (finder->kinds[first] == LOG_PHASE_idle) part_idle(finder, first, end);
    first = end;
  }
}

/* Speed before and after the moment: enough values, or NaN. */
static void watch_speed(const struct recording *recording, double at_s, struct log_phase *phase) {
  double sum = 0.0, lowest = INFINITY, last = NAN;
  size_t before = 0, after = 0;
  for (size_t row = log_blocks_row_at(recording, at_s - LOWEST_S); row < recording->row_count; row++) {
    const double time_s = recording_value(recording, row, CHANNEL_time_s);
    const double speed = recording_value(recording, row, CHANNEL_speed_rpm);
    if (time_s > at_s + LOWEST_S) break;
    if (!isfinite(speed)) continue;
    if (time_s < at_s) {
      sum += speed;
      before++;
      continue;
    }
    lowest = fmin(lowest, speed);
    after += isnan(last) || fabs(speed - last) > 0.0; // a value that is held is one
    last = speed;
  }
  if (before) phase->before_rpm = sum / (double)before;
  if (after >= LOWEST_VALUES) phase->lowest_rpm = lowest;
}

static void add_step(struct finder *finder, const struct recording *recording, double at_s, enum log_step_cause cause,
                     bool comes) {
  struct log_phase phase = {.kind = LOG_PHASE_load_step,
                            .from_s = at_s,
                            .to_s = fmin(at_s + LOWEST_S, finder->blocks.end_s),
                            .cause = cause,
                            .on = comes,
                            .before_rpm = NAN,
                            .lowest_rpm = NAN};
  const size_t block = log_blocks_at(&finder->blocks, at_s);
  phase.warm_told = !isnan(finder->blocks.blocks[block].mean[LOG_SIGNAL_coolant]);
  watch_speed(recording, at_s, &phase);
  add(finder, &phase);
}

/* Where a switch is told, its own rows give the moment. */
static void switch_steps(struct finder *finder, const struct recording *recording, enum channel channel,
                         enum log_step_cause cause) {
  double last = NAN;
  for (size_t row = 0; row < recording->row_count && finder->phases->has[channel]; row++) {
    const double now = recording_value(recording, row, channel);
    if (!isfinite(now)) continue;
    const double at_s = recording_value(recording, row, CHANNEL_time_s);
    const size_t block = log_blocks_at(&finder->blocks, at_s);
    if (!isnan(last) && on(now) != on(last) && block > 0 && at_idle(finder->kinds[block - 1]))
      add_step(finder, recording, at_s, cause, on(now));
    last = now;
  }
}

/* The others are where a loaded piece begins or ends. */
static void unknown_steps(struct finder *finder, const struct recording *recording) {
  const unsigned char *kinds = finder->kinds;
  for (size_t i = 1; i < finder->blocks.count; i++) {
    const bool loaded = kinds[i] == LOG_PHASE_idle_loaded, was = kinds[i - 1] == LOG_PHASE_idle_loaded;
    if (loaded == was || (loaded ? kinds[i - 1] : kinds[i]) != LOG_PHASE_idle) continue;
    add_step(finder, recording, finder->blocks.start_s + (double)i * finder->blocks.length_s, LOG_STEP_unknown, loaded);
  }
}

/* ---- Starting ---- */

/* From the last row that stands to the first that runs, if rows between them turn slowly. A log may begin with it. */
static void find_cranking(struct finder *finder, const struct recording *recording) {
  double from_s = finder->blocks.start_s;
  bool possible = true;
  size_t turning = 0;
  for (size_t row = 0; row < recording->row_count; row++) {
    const double speed = recording_value(recording, row, CHANNEL_speed_rpm),
                 now_s = recording_value(recording, row, CHANNEL_time_s);
    if (!isfinite(speed)) continue;
    if (speed < STANDS_RPM) {
      from_s = now_s;
      possible = true;
      turning = 0;
    } else if (speed < RUNS_RPM) {
      turning++;
    } else {
      const struct log_phase phase = {
          .kind = LOG_PHASE_cranking, .from_s = from_s, .to_s = now_s, .before_rpm = NAN, .lowest_rpm = NAN};
      if (possible && turning > 0 && now_s - from_s < CRANKING_MOST_S) add(finder, &phase);
      possible = false;
      turning = 0;
    }
  }
}

/* ---- Slow opening ---- */

static double smooth(const double *values, size_t at, size_t reach, size_t count) {
  return side_mean(values, at < reach ? 0 : at - reach, at + reach < count ? at + reach + 1 : count);
}

/* Speed rises at a slow rate at this block. */
static bool rises(const struct finder *finder, size_t at, size_t reach) {
  const size_t count = finder->blocks.count;
  if (at < reach || at + reach >= count) return false;
  const double before = smooth(finder->speed, at - reach, reach / 2, count),
               after = smooth(finder->speed, at + reach, reach / 2, count);
  const double rate = (after - before) / (2.0 * (double)reach * finder->blocks.length_s);
  return before > RUNS_RPM && rate > OPENING_LEAST_RPM_S && rate < OPENING_MOST_RPM_S;
}

static bool opens(const struct finder *finder, size_t first, size_t last) {
  const struct log_block *from = &finder->blocks.blocks[first], *to = &finder->blocks.blocks[last];
  const double pedal = to->mean[LOG_SIGNAL_pedal] - from->mean[LOG_SIGNAL_pedal];
  const double position = to->mean[LOG_SIGNAL_position] - from->mean[LOG_SIGNAL_position];
  return to->mean[LOG_SIGNAL_speed] > OPENING_RATIO * from->mean[LOG_SIGNAL_speed] && !on(to->mean[LOG_SIGNAL_drive]) &&
         (position > OPENING_PCT || pedal > OPENING_PCT) &&
         (double)(last - first) * finder->blocks.length_s >= log_phase_rows[LOG_PHASE_slow_opening].least_s;
}

/* Speed and position rise slowly; a rest of some seconds on the way belongs to it. */
static void mark_openings(struct finder *finder) {
  const size_t count = finder->blocks.count, reach = (size_t)fmax(1.0, floor(2.0 / finder->blocks.length_s));
  const size_t rest = (size_t)fmax(1.0, floor(OPENING_REST_S / finder->blocks.length_s));
  for (size_t first = 0; first < count; first++) {
    if (!rises(finder, first, reach)) continue;
    size_t last = first;
    for (size_t i = first; i < count && i - last <= rest; i++)
      if (rises(finder, i, reach)) last = i;
    if (opens(finder, first, last)) memset(finder->kinds + first, LOG_PHASE_slow_opening, last - first + 1);
    first = last;
  }
}

/* ---- The whole ---- */

static int by_time(const void *left, const void *right) {
  const struct log_phase *a = left, *b = right;
  if (a->from_s < b->from_s || a->from_s > b->from_s) return a->from_s < b->from_s ? -1 : 1;
  return (int)a->kind - (int)b->kind;
}

static void find_all(struct finder *finder, const struct recording *recording) {
  struct log_blocks *blocks = &finder->blocks;
  finder->phases->idle_rpm = idle_speed(finder);
  for (size_t i = 0; i < blocks->count; i++) {
    finder->kinds[i] = (unsigned char)kind_of(finder, &blocks->blocks[i]);
    finder->air[i] = blocks->blocks[i].mean[LOG_SIGNAL_air];
    finder->speed[i] = blocks->blocks[i].mean[LOG_SIGNAL_speed];
  }
  mend_glitches(finder);
  mark_openings(finder);
  part_idles(finder);
  for (size_t first = 0; first < blocks->count;) {
    size_t end = first + 1;
    while (end < blocks->count && finder->kinds[end] == finder->kinds[first]) end++;
    keep(finder, finder->kinds[first], first, end);
    first = end;
  }
  switch_steps(finder, recording, CHANNEL_air_conditioning, LOG_STEP_compressor);
  switch_steps(finder, recording, CHANNEL_drive, LOG_STEP_gear);
  unknown_steps(finder, recording);
  find_cranking(finder, recording);
}

/* A phase by hand takes the place of those found of its kind. */
static enum status take_by_hand(const struct recording *recording, const struct log_phases_setting *setting,
                                struct finder *finder, struct error *error) {
  struct log_phases *phases = finder->phases;
  for (size_t i = 0; i < setting->by_hand_count; i++) {
    size_t kept = 0;
    for (size_t j = 0; j < phases->count; j++)
      if (phases->phases[j].by_hand || phases->phases[j].kind != setting->by_hand[i].kind)
        phases->phases[kept++] = phases->phases[j];
    phases->count = kept;
    struct log_phase phase = setting->by_hand[i];
    const size_t row = log_blocks_row_at(recording, phase.from_s);
    if (row == recording->row_count || recording_value(recording, row, CHANNEL_time_s) > phase.to_s)
      return error_set(error, STATUS_BAD_DATA, "the log has no row in %s=%g:%g; it goes from %g to %g s",
                       log_phase_rows[phase.kind].name, phase.from_s, phase.to_s, finder->blocks.start_s, finder->blocks.end_s);
    phase.from_s = fmax(phase.from_s, finder->blocks.start_s);
    phase.to_s = fmin(phase.to_s, finder->blocks.end_s);
    phase.by_hand = phase.warm_told = true;
    phase.before_rpm = phase.lowest_rpm = NAN;
    if (phase.kind == LOG_PHASE_load_step) watch_speed(recording, phase.from_s, &phase);
    add(finder, &phase);
    if (phases->count) phases->phases[phases->count - 1].settled_s = phase.from_s; // who says so has looked
  }
  return STATUS_OK;
}

enum status log_phases_find(const struct recording *recording, const struct log_phases_setting *setting,
                            struct log_phases *phases, struct error *error) {
  struct finder finder = {.phases = phases};
  *phases = (struct log_phases){.idle_rpm = NAN};
  if (recording->row_count == 0) return STATUS_OK;
  enum status status = log_blocks_create(recording, phases->has, &finder.blocks, error);
  if (status == STATUS_OK) {
    finder.kinds = calloc(finder.blocks.count, sizeof *finder.kinds);
    finder.air = calloc(finder.blocks.count, sizeof *finder.air);
    finder.speed = calloc(finder.blocks.count, sizeof *finder.speed);
    if (!finder.kinds || !finder.air || !finder.speed)
      status = error_set(error, STATUS_NO_MEMORY, "out of memory for the phases of a log");
  }
  if (status == STATUS_OK) find_all(&finder, recording);
  if (status == STATUS_OK && setting) status = take_by_hand(recording, setting, &finder, error);
  if (status == STATUS_OK) qsort(phases->phases, phases->count, sizeof phases->phases[0], by_time);
  log_blocks_destroy(&finder.blocks);
  free(finder.kinds);
  free(finder.air);
  free(finder.speed);
  return status;
}
