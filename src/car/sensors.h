/* What the computer and an instrument read: the truth through each sensor, faults included.
 *
 * The oxygen sensors see the burned mixture some engine cycles later and follow it with a lag; the delay is kept as a
 * ring of the last readings, one per tick. */
#ifndef CAR_SENSORS_H
#define CAR_SENSORS_H

#include "control/computer.h"
#include "plant/plant.h"

enum { SENSORS_DELAY_MAX = 512 }; // ticks kept: 5 s

struct sensor_faults {
  double air_flow_gain_ratio, air_flow_offset_kg_s;
  double pressure_offset_pa, charge_offset_pa;
  double coolant_bias_k, intake_bias_k;
};

struct sensors {
  double lambda_past[PLANT_BANK_MAX][SENSORS_DELAY_MAX];
  long written;
  double lambda[PLANT_BANK_MAX]; // as the sensors give it
};

void sensors_init(struct sensors *sensors);

/* One tick of the oxygen sensors; lambda: of what burns now. */
void sensors_tick(struct sensors *sensors, const struct plant_params *plant, const struct fuel_params *fuel,
                  const double lambda[PLANT_BANK_MAX], double crank_rad_s, bool firing);

/* What the oxygen sensor of a bank reads once lambda has long been what burns now. */
void sensors_rest(struct sensors *sensors, int bank, double lambda, bool firing);

double sensors_air_flow_kg_s(const struct sensor_faults *faults, double true_kg_s);

/* Manifold pressure, and that before the throttle, as their sensors show it: never below 10 nor above 120 kPa, whatever is wrong. */
double sensors_pressure_pa(const struct sensor_faults *faults, double true_pa);
double sensors_charge_pa(const struct sensor_faults *faults, double true_pa);

#endif
