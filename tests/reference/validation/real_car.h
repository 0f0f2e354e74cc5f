/* One real car, and what the model makes of it.
 *
 * Source: public logs of one production car of 2014, a 1.496 l four with electronic throttle, metered by manifold pressure
 * (github.com/eron93br/carOBD, data of a study on coolant sensors, IEEE document 8891367): means over 129 logs, derived once; the logs
 * are not kept here. Whether the car is healthy is not known, and its air flow was not logged: openings (CdA) and idle air hang on an
 * assumed charge law, +-10 to 15 % all alike.
 *
 * tests/reference/real-car.cfg is fitted to its two idle points only (docs/make/real_car.c). Taken as given besides: displacement,
 * cylinders, the idle speeds asked for over coolant temperature, intake air and barometer. Everything else is predicted. */
#ifndef REFERENCE_VALIDATION_REAL_CAR_H
#define REFERENCE_VALIDATION_REAL_CAR_H

#include "support/plant_probe.h"

#define REAL_CAR_PATH "tests/reference/real-car.cfg"

/* A point with its standard error; the speed is given to the model as the computer's target. */
struct real_car_idle {
  bool compressor;
  double rpm, position_pct, manifold_kpa, manifold_sd_kpa, spark_deg, load_pct;
};
enum { REAL_CAR_IDLE_COUNT = 2 };
extern const struct real_car_idle real_car_idles[REAL_CAR_IDLE_COUNT];

/* Warming up, standing. */
struct real_car_warm_up {
  double coolant_c, rpm, position_pct, manifold_kpa, spark_deg;
};
enum { REAL_CAR_WARM_UP_COUNT = 8 };
extern const struct real_car_warm_up real_car_warm_ups[REAL_CAR_WARM_UP_COUNT];

struct real_car_run {
  double lowest_rpm, highest_rpm; // round the event
  double spark_deg;               // mean over the first second after it
};

struct real_car {
  struct plant_probe *idle[REAL_CAR_IDLE_COUNT];
  struct plant_probe *warm_up[REAL_CAR_WARM_UP_COUNT];
  struct plant_probe *fan;      // the radiator fan as an electrical load, speed and pressure of the settled point
  double speed_sd_rpm[2];       // without and with compressor
  struct real_car_run cut_in;   // compressor
  struct real_car_run start[2]; // from 27 and from 88 C
  double stop_pct, rest_pct;    // position at the closed stop; without current
};

/* Conditions of the warm standing car. */
void real_car_conditions(struct plant_probe *probe, bool compressor);

struct real_car *real_car_predict(const char *engine_path);
void real_car_destroy(struct real_car *car);

/* Effective area of all air at a position, from the flow past a manifold at 40 kPa (choked), mm2: as the measurement derives it. */
double real_car_cda_mm2(const struct real_car *car, double position_pct);

#endif
