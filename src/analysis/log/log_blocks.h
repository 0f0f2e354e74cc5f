/* A log in blocks of equal length: means, least and most of the signals that tell what the car did. */
#ifndef ANALYSIS_LOG_LOG_BLOCKS_H
#define ANALYSIS_LOG_LOG_BLOCKS_H

#include "sim/recording.h"

#include <stdbool.h>

enum log_signal {
  LOG_SIGNAL_speed,      // rpm
  LOG_SIGNAL_target,     // rpm
  LOG_SIGNAL_pedal,      // %
  LOG_SIGNAL_position,   // %, absolute or relative
  LOG_SIGNAL_coolant,    // C
  LOG_SIGNAL_compressor, // 0 or 1
  LOG_SIGNAL_drive,      // 0 or 1
  LOG_SIGNAL_air,        // air flow, manifold pressure or load, the first that is logged
  LOG_SIGNAL_COUNT
};

struct log_block {
  double mean[LOG_SIGNAL_COUNT], least[LOG_SIGNAL_COUNT], most[LOG_SIGNAL_COUNT]; // NaN: not told
};

struct log_blocks {
  size_t count;
  double start_s, end_s, length_s;
  struct log_block *blocks; // owned
};

/* A block without a value has the last one, if that is no older than five seconds. Sets which channels have any value.
 * STATUS_NO_MEMORY; the recording has a row. Destroy in any case. */
MUST_CHECK enum status log_blocks_create(const struct recording *recording, bool has[CHANNEL_COUNT], struct log_blocks *blocks,
                                         struct error *error);
void log_blocks_destroy(struct log_blocks *blocks);

/* The block at a time, the first or last beyond the ends. */
size_t log_blocks_at(const struct log_blocks *blocks, double time_s);

/* The first row not before a time; row_count if there is none. */
size_t log_blocks_row_at(const struct recording *recording, double time_s);

#endif
