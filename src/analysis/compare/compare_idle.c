#include "analysis/compare/compare_idle.h"

#include <math.h>

#define BLOCK_S    3.0  // long enough for a value of every signal that is polled in turn
#define PIECE_S    10.0 // shorter is no idle
#define SAME_RATIO 0.07 // less than the smallest compressor asks for, more than a fan or an alternator; our own choice

static bool ever(const struct recording *log, enum channel channel) {
  for (size_t row = 0; row < log->row_count; row++)
    if (isfinite(recording_value(log, row, channel))) return true;
  return false;
}

void compare_idle_begin(const struct recording *log, struct compare_idle *idle) {
  static const enum channel channels[] = {CHANNEL_maf_gps, CHANNEL_load_pct, CHANNEL_map_kpa, CHANNEL_manifold_kpa};
  *idle = (struct compare_idle){.best = {NAN, NAN, NAN}};
  for (size_t i = 0; i < ARRAY_COUNT(channels) && !idle->told; i++) {
    idle->channel = channels[i];
    idle->told = ever(log, channels[i]);
  }
}

static bool better(const struct compare_idle_piece *piece, const struct compare_idle_piece *best) {
  if (isnan(best->from_s)) return true;
  if (piece->air > (1.0 + SAME_RATIO) * best->air) return false;
  if (piece->air < (1.0 - SAME_RATIO) * best->air) return true;
  return piece->to_s - piece->from_s > best->to_s - best->from_s;
}

static void take(const struct compare_idle_piece *piece, struct compare_idle *idle) {
  if (better(piece, &idle->best)) idle->best = *piece;
}

/* Mean of a block's values, NAN if it has none; *row goes to the first behind it. */
static double block_mean(const struct recording *log, enum channel channel, double to_s, size_t *row) {
  double sum = 0.0;
  size_t count = 0;
  for (; *row < log->row_count && recording_value(log, *row, CHANNEL_time_s) < to_s; ++*row) {
    const double value = recording_value(log, *row, channel);
    if (!isfinite(value)) continue;
    sum += value;
    count++;
  }
  return count ? sum / (double)count : NAN;
}

void compare_idle_offer(const struct recording *log, double from_s, double to_s, struct compare_idle *idle) {
  struct compare_idle_piece piece = {from_s, from_s, NAN};
  size_t row = 0, count = 0;
  bool any = false;
  double all = 0.0, sum = 0.0, blocks = 0.0;
  if (to_s - from_s < PIECE_S) return;
  while (row < log->row_count && recording_value(log, row, CHANNEL_time_s) < from_s) row++;
  for (double at = from_s; idle->told && at < to_s; at += BLOCK_S) { // some tens of blocks: no drift to speak of
    const double end_s = fmin(at + BLOCK_S, to_s), mean = block_mean(log, idle->channel, end_s, &row);
    if (isfinite(mean) && count > 0 && fabs(mean - piece.air) > SAME_RATIO * piece.air) {
      if (piece.to_s - piece.from_s >= PIECE_S) take(&piece, idle);
      any |= piece.to_s - piece.from_s >= PIECE_S;
      piece.from_s = at;
      sum = 0.0;
      count = 0;
    }
    piece.to_s = end_s;
    if (!isfinite(mean)) continue;
    sum += mean;
    all += mean;
    blocks += 1.0;
    piece.air = sum / (double)++count;
  }
  if (count > 0 && piece.to_s - piece.from_s >= PIECE_S)
    take(&piece, idle);
  else if (!any)
    take(&(struct compare_idle_piece){from_s, to_s, blocks > 0.0 ? all / blocks : NAN}, idle);
}
