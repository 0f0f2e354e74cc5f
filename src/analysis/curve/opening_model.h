/* A round-bore throttle of which next to nothing is known: open area at a position of its reading, as a function of unknowns with wide
 * priors.
 *
 * The blade is that of physics/bore.h with its discharge over opening and physics/slot.h's friction; beside it a constant opening, what
 * comes in by crankcase ventilation and purge. All unknowns are standard normal numbers z; OPENING_UNKNOWN's rows say what becomes of
 * them. The film is not among them: it is given, so that a fit can be made for each. */
#ifndef ANALYSIS_CURVE_OPENING_MODEL_H
#define ANALYSIS_CURVE_OPENING_MODEL_H

#include "base/units.h"
#include "physics/bore.h"

#include <stddef.h>

/* UNKNOWN(name, whether the spread is of the logarithm, middle, spread, unit in SI, what it is and why so wide). A middle of 0 depends
 * on what else is known: opening_model_init(). */
// clang-format off
#define OPENING_UNKNOWN_LIST(UNKNOWN)                                                                                                        \
  UNKNOWN(stop, 0, 0.0, 0.0, 1.0, "position at the closed stop: as given, within 0.3 %; else 1 to 4 % below the lowest seen, invented")      \
  UNKNOWN(scale, 1, 0.55, 0.12, 1.0, "position over opening, per rad: a reading from 10 to 90 % over some 83 degrees; common practice, no source") \
  UNKNOWN(radius, 1, 0.0, 0.10, UNITS_M_PER_MM, "bore: 40 to 60 mm for 1.2 to 2.8 l (from memory), 58.7 mm on a published 2.8 l")          \
  UNKNOWN(closed, 1, 7.0, 0.30, UNITS_RAD_PER_DEG, "closed angle: 5 to 15 degrees (Heywood, from memory), 7.9 published")                  \
  UNKNOWN(clearance, 1, 20.0, 0.40, UNITS_M_PER_UM, "running clearance: a closed gap of a few mm2, 5.3 published")                          \
  UNKNOWN(land, 1, 1.6, 0.25, UNITS_M_PER_MM, "height of the blade's edge; invented")                                                        \
  UNKNOWN(contour, 1, 35.0, 0.9, UNITS_M_PER_UM, "how far the bore stands in above the closed edge: 53 to 59 um fit a real car")            \
  UNKNOWN(contour_length, 1, 4.0, 0.40, UNITS_M_PER_MM, "along the bore; its highest 2.9 mm from the closed line on a real car")             \
  UNKNOWN(discharge, 0, 0.66, 0.05, 1.0, "discharge coefficient nearly closed: 0.7 published, 0.6 to 0.98 a weak source")                    \
  UNKNOWN(discharge_rise, 0, 0.05, 0.06, 1.0, "what it gains in the first 15 degrees; invented")                                             \
  UNKNOWN(other, 1, 1.0, 0.60, UNITS_M2_PER_MM2, "ventilation, purge and the like, per 1.6 l: some 1 mm2 at idle; common practice, no source")
// clang-format on

enum opening_unknown {
#define UNKNOWN(name, is_log, middle, spread, unit, text) OPENING_UNKNOWN_##name,
  OPENING_UNKNOWN_LIST(UNKNOWN)
#undef UNKNOWN
      OPENING_UNKNOWN_COUNT
};

struct opening_unknown_row {
  const char *name;
  int is_log;
  double middle, spread; // SI; the spread of a logarithm is a ratio
  const char *text;
};

struct opening_model {
  struct opening_unknown_row rows[OPENING_UNKNOWN_COUNT]; // with this car's middles
  struct bore_film_shape film_shape;
};

/* displacement_m3: 0 if not known. stop_ratio: NAN if not known; lowest_ratio: lowest position in the log. */
void opening_model_init(struct opening_model *model, double displacement_m3, double stop_ratio, double lowest_ratio);

/* The unknowns' values, SI. */
double opening_model_value(const struct opening_model *model, const double z[OPENING_UNKNOWN_COUNT],
                           enum opening_unknown unknown);

/* Open area times discharge coefficient, all ways in, m2. */
double opening_model_cda_m2(const struct opening_model *model, const double z[OPENING_UNKNOWN_COUNT], double film_m,
                            double position_ratio);

#endif
