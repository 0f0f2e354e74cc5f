/* four-16 made anew with another bore and another idle air: what an engine of more or less friction, behind a wider or narrower
 * throttle, makes of the same film. Base air and the air fed forward for electrical load are calibrated as those of the shipped engines
 * are: clean, it learns nothing, with 300 W and without. */
#ifndef TESTS_SUPPORT_MADE_ENGINE_H
#define TESTS_SUPPORT_MADE_ENGINE_H

#include "support/plant_probe.h"

#define MADE_ENGINE_MODEL "models/four-16.cfg"

struct made_engine_kind {
  double bore_mm;
  double gps_per_l;   // idle air, warm, nothing switched on; by friction, 0.5 to 2
  double learned_pct; // most that can be learned
};

/* It idles clean with 300 W. Destroy with plant_probe_destroy(). */
struct plant_probe *made_engine_create(const struct made_engine_kind *kind);

/* What a film has to reckon with, at that idle. */
struct made_engine_gap {
  double area_mm2;   // free area
  double width_um;   // w: that area over the rim, pi D
  double room_ratio; // r: all that effort and learned offset can add, over what passes the blade
};
struct made_engine_gap made_engine_gap(const struct plant_probe *probe);

/* The rule that docs/cliff.md teaches. A film t takes t / w of the air where it stands in the gap everywhere, and room r gives it
 * back: hidden to t = r w / k. k is the share of the film that does take air: not that behind the shaft, nor where the gap has shut, and
 * the less the further the opened blade stands out of the band; read off the table of make_cliff, for a band of 4 mm and a blade
 * closed at 7 degrees. It stalls when of what an idle needs some 0.55 is missing. um. */
double made_engine_rule_k(const struct made_engine_gap *gap);
double made_engine_rule_hidden_um(const struct made_engine_gap *gap);
double made_engine_rule_stall_um(const struct made_engine_gap *gap);

/* The thinnest film at which the settled speed is more than so much below target; INFINITY: at which there is no settled idle.
 * MADE_ENGINE_FILM_MOST_UM if none is. Leaves the engine clean. */
#define MADE_ENGINE_FILM_MOST_UM 250.0
double made_engine_film_um(struct plant_probe *probe, double below_rpm);

#endif
