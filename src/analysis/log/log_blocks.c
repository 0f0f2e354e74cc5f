#include "analysis/log/log_blocks.h"

#include <math.h>
#include <stdlib.h>

#define BLOCK_S 0.5
#define HOLD_S  5.0           // longer than a round of polling takes: 1.8 s on a real car
enum { BLOCK_MOST = 200000 }; // a day in half seconds; longer logs have longer blocks

/* Where each signal comes from, the first channel that has values. */
static const enum channel sources[LOG_SIGNAL_COUNT][4] = {
    [LOG_SIGNAL_speed] = {CHANNEL_speed_rpm},
    [LOG_SIGNAL_target] = {CHANNEL_target_rpm},
    [LOG_SIGNAL_pedal] = {CHANNEL_pedal_pct},
    [LOG_SIGNAL_position] = {CHANNEL_tp_pct, CHANNEL_blade_pct},
    [LOG_SIGNAL_coolant] = {CHANNEL_coolant_c},
    [LOG_SIGNAL_compressor] = {CHANNEL_air_conditioning},
    [LOG_SIGNAL_drive] = {CHANNEL_drive},
    [LOG_SIGNAL_air] = {CHANNEL_maf_gps, CHANNEL_map_kpa, CHANNEL_manifold_kpa, CHANNEL_load_pct},
};

static void find_has(const struct recording *recording, bool has[CHANNEL_COUNT]) {
  size_t missing = CHANNEL_COUNT;
  for (int channel = 0; channel < CHANNEL_COUNT; channel++) has[channel] = false;
  for (size_t row = 0; row < recording->row_count && missing > 0; row++) {
    const double *values = recording->values + row * CHANNEL_COUNT;
    for (int channel = 0; channel < CHANNEL_COUNT; channel++)
      if (!has[channel] && isfinite(values[channel])) {
        has[channel] = true;
        missing--;
      }
    if (row == 2000 && missing > 0) { // the rest one by one is quicker: most are columns that the log has not
      for (int channel = 0; channel < CHANNEL_COUNT; channel++)
        for (size_t at = row; at < recording->row_count && !has[channel]; at++)
          has[channel] = isfinite(recording_value(recording, at, (enum channel)channel));
      return;
    }
  }
}

/* CHANNEL_time_s stands for none. */
static enum channel source_of(enum log_signal signal, const bool has[CHANNEL_COUNT]) {
  for (size_t i = 0; i < 4; i++)
    if (sources[signal][i] != CHANNEL_time_s && has[sources[signal][i]]) return sources[signal][i];
  return CHANNEL_time_s;
}

static void take(struct log_block *block, enum log_signal signal, double value, size_t *count) {
  if ((*count)++ == 0) {
    block->mean[signal] = block->least[signal] = block->most[signal] = value;
    return;
  }
  block->mean[signal] += (value - block->mean[signal]) / (double)*count;
  block->least[signal] = fmin(block->least[signal], value);
  block->most[signal] = fmax(block->most[signal], value);
}

static void fill(const struct recording *recording, enum log_signal signal, enum channel channel, struct log_blocks *blocks) {
  size_t row = 0;
  double last = NAN, last_s = -INFINITY;
  for (size_t i = 0; i < blocks->count; i++) {
    struct log_block *block = &blocks->blocks[i];
    const double from_s = blocks->start_s + (double)i * blocks->length_s, to_s = from_s + blocks->length_s;
    const bool final = i + 1 == blocks->count;
    size_t count = 0;
    block->mean[signal] = block->least[signal] = block->most[signal] = NAN;
    if (channel == CHANNEL_time_s) continue;
    for (; row < recording->row_count && (final || recording_value(recording, row, CHANNEL_time_s) < to_s); row++) {
      const double value = recording_value(recording, row, channel);
      if (!isfinite(value)) continue;
      take(block, signal, value, &count);
      last = value;
      last_s = recording_value(recording, row, CHANNEL_time_s);
    }
    if (count == 0 && from_s - last_s <= HOLD_S) take(block, signal, last, &count);
  }
}

enum status log_blocks_create(const struct recording *recording, bool has[CHANNEL_COUNT], struct log_blocks *blocks,
                              struct error *error) {
  const double start_s = recording_value(recording, 0, CHANNEL_time_s);
  const double end_s = recording_value(recording, recording->row_count - 1, CHANNEL_time_s);
  *blocks = (struct log_blocks){.start_s = start_s, .end_s = end_s, .length_s = fmax(BLOCK_S, (end_s - start_s) / BLOCK_MOST)};
  blocks->count = (size_t)fmax(1.0, ceil((end_s - start_s) / blocks->length_s));
  blocks->blocks = calloc(blocks->count, sizeof *blocks->blocks);
  if (!blocks->blocks) return error_set(error, STATUS_NO_MEMORY, "out of memory for the phases of a log");
  find_has(recording, has);
  for (int signal = 0; signal < LOG_SIGNAL_COUNT; signal++)
    fill(recording, (enum log_signal)signal, source_of((enum log_signal)signal, has), blocks);
  return STATUS_OK;
}

void log_blocks_destroy(struct log_blocks *blocks) {
  free(blocks->blocks);
  *blocks = (struct log_blocks){0};
}

size_t log_blocks_at(const struct log_blocks *blocks, double time_s) {
  const double at = (time_s - blocks->start_s) / blocks->length_s;
  return at <= 0.0 ? 0 : (size_t)fmin(at, (double)(blocks->count - 1));
}

size_t log_blocks_row_at(const struct recording *recording, double time_s) {
  size_t low = 0, high = recording->row_count;
  while (low < high) {
    const size_t middle = low + (high - low) / 2;
    if (recording_value(recording, middle, CHANNEL_time_s) < time_s)
      low = middle + 1;
    else
      high = middle;
  }
  return low;
}
