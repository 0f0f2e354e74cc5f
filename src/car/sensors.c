#include "car/sensors.h"

#include "base/bounds.h"
#include "base/units.h"

#include <math.h>

#define LAMBDA_MOST       2.0 // a sensor in plain air cannot tell more
#define LEAST_SPEED_RAD_S 10.0
#define LEAST_PRESSURE_PA 10e3 // where the signal of a sensor for an engine without a charger ends; common practice, no source
#define MOST_PRESSURE_PA  120e3

void sensors_init(struct sensors *sensors) {
  *sensors = (struct sensors){0};
  for (int bank = 0; bank < PLANT_BANK_MAX; bank++) sensors->lambda[bank] = 1.0;
}

/* What can be seen of the lambda that burns. */
static double visible(double lambda, bool firing) { return firing ? bounds_smaller(lambda, LAMBDA_MOST) : LAMBDA_MOST; }

void sensors_rest(struct sensors *sensors, int bank, double lambda, bool firing) {
  sensors->lambda[bank] = visible(lambda, firing);
}

void sensors_tick(struct sensors *sensors, const struct plant_params *plant, const struct fuel_params *fuel,
                  const double lambda[PLANT_BANK_MAX], double crank_rad_s, bool firing) {
  const double cycle_s = 4.0 * UNITS_PI / bounds_larger(crank_rad_s, LEAST_SPEED_RAD_S);
  const double delay = fuel->sensor_delay_cycles * cycle_s / COMPUTER_PERIOD_S;
  const long known = sensors->written < SENSORS_DELAY_MAX - 1 ? sensors->written : SENSORS_DELAY_MAX - 1;
  const long back = lround(bounds_smaller(delay, (double)known));
  const double follow = 1.0 - exp(-COMPUTER_PERIOD_S / fuel->sensor_lag_s);
  for (int bank = 0; bank < plant->charge.bank_count; bank++) {
    sensors->lambda_past[bank][sensors->written % SENSORS_DELAY_MAX] = visible(lambda[bank], firing);
    const double seen = sensors->lambda_past[bank][(sensors->written - back) % SENSORS_DELAY_MAX];
    sensors->lambda[bank] += follow * (seen - sensors->lambda[bank]);
  }
  sensors->written++;
}

double sensors_air_flow_kg_s(const struct sensor_faults *faults, double true_kg_s) {
  return bounds_larger(faults->air_flow_gain_ratio * true_kg_s + faults->air_flow_offset_kg_s, 0.0);
}

double sensors_pressure_pa(const struct sensor_faults *faults, double true_pa) {
  return bounds_clamp(true_pa + faults->pressure_offset_pa, LEAST_PRESSURE_PA, MOST_PRESSURE_PA);
}

double sensors_charge_pa(const struct sensor_faults *faults, double true_pa) {
  return bounds_clamp(true_pa + faults->charge_offset_pa, LEAST_PRESSURE_PA, MOST_PRESSURE_PA);
}
