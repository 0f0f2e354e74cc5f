/* From a log to short stretches in which nothing moved, each with what then passed and how wide the way in was.
 *
 * A log is cut into blocks as long as its readings are old: a scan tool asks for one value after the other and holds what it has, so
 * that within a block every value has been asked for anew. A block counts if position, speed and air hardly differ from the blocks
 * before and after it; then lags of sensor and manifold, and the age of the readings, do no harm. Its open area is
 *
 *   CdA = m sqrt(R T) / (p0 Psi(p / p0))        physics/orifice.h
 *
 * with m from the air-flow sensor, or from manifold pressure and speed
 *
 *   m = Vd n / 120 e(n) (0.90 p - 6.5 kPa) / (R (T + 20 K)),   e(n) = 1 + 0.03 (n - 1500 rpm) / 1000 rpm
 *
 * The charge law and its constants: linear in pressure as in SAE 960037 (from memory), values between those that a real car of
 * 1.5 l asked for (0.9, 6.5 kPa, 15 K; public data set of the thesis named in docs/curve.md) and those of docs/physics.md. How far
 * they may be off: struct opening_doubt_row. */
#ifndef ANALYSIS_CURVE_OPENING_BLOCKS_H
#define ANALYSIS_CURVE_OPENING_BLOCKS_H

#include "base/error.h"
#include "sim/recording.h"

#include <stdbool.h>

/* Of the charge law above. */
#define OPENING_BLOCKS_FILLING_RATIO 0.90
#define OPENING_BLOCKS_OFFSET_SD_PA  2500.0 // one standard deviation of the doubt `offset`

/* Pressure that the charge law above makes of a manifold's: what a cylinder's air is in proportion to. */
double opening_blocks_charge_pa(double manifold_pa);

enum opening_air { OPENING_AIR_FLOW, OPENING_AIR_PRESSURE };

/* What is not known of a car and moves all its points together.
 *
 * DOUBT(name, what it is) */
#define OPENING_DOUBT_LIST(DOUBT) \
  DOUBT(level, "gain of the air-flow sensor; filling and warmth of the charge; pressure of the day") \
  DOUBT(offset, "burned gas that stays: pressure at which nothing is drawn") \
  DOUBT(tilt, "filling, or the sensor's error, that changes with speed") \
  DOUBT(valve, "what a step of the idle valve opens")

enum opening_doubt {
#define DOUBT(name, text) OPENING_DOUBT_##name,
  OPENING_DOUBT_LIST(DOUBT)
#undef DOUBT
      OPENING_DOUBT_COUNT
};

/* What is known beside the log. */
struct opening_setting {
  const char *name;       // of the log, for messages
  double displacement_m3; // 0: not known
  double ambient_pa, ambient_sd_pa;
  double intake_k;   // NAN: as the log has it, else 25 C is taken
  double stop_ratio; // position with the blade at its closed stop, share of the reading's full scale; NAN: not known
};

struct opening_block {
  double time_s;
  double position_ratio;
  double cda_m2;
  double per_doubt_m2[OPENING_DOUBT_COUNT]; // what one standard deviation of each does to it; valve: per step here
  double speed_rad_s, pressure_ratio;
  double position_1_s; // how fast position moves, 1/s
  double steps;        // of the idle valve; 0 where the log has none
  bool idle;
};

struct opening_blocks {
  size_t count, capacity;
  struct opening_block *blocks; // owned; in order of time
  size_t unsteady_count;        // blocks with all readings that moved too much
  enum opening_air air;
  enum channel position_channel; // tp_pct or blade_pct
  bool has_steps;
  bool intake_assumed;
  double length_s;      // of a block
  double age_s;         // how long a value stands before it is asked for again
  double quantum_ratio; // smallest step of the position's reading; 0: too fine to tell
  double quantum_pa;    // the same of manifold pressure, where that gives the air
};

/* STATUS_BAD_DATA with a sentence where the log cannot serve: no position, speed or air; engine never running; not throttled at idle;
 * nothing steady. opening_blocks_destroy() in any case. */
MUST_CHECK enum status opening_blocks_find(const struct recording *log, const struct opening_setting *setting,
                                           struct opening_blocks *blocks, struct error *error);
void opening_blocks_destroy(struct opening_blocks *blocks);

#endif
