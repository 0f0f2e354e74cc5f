/* What spark and mixture do to torque. */
#include "reference/validation/sections.h"

#include "base/attributes.h"
#include "base/units.h"
#include "support/plant_probe.h"

#include <math.h>

static void *begin(void) {
  struct plant_probe *probe = plant_probe_create("models/four-16.cfg");
  plant_probe_settle(probe);
  return probe;
}

static void end(void *context) { plant_probe_destroy(context); }

static double indicated_nm(const struct plant_probe *probe, double retard_deg) {
  struct plant_probe asked = *probe;
  const struct plant_signals now = plant_probe_signals(&asked);
  asked.vehicle.inputs.spark_rad = now.best_spark_rad - retard_deg * UNITS_RAD_PER_DEG;
  return plant_probe_signals(&asked).indicated_nm;
}

/* Torque so late over torque at best spark, same charge, at idle. */
static double spark_efficiency(const void *context, double retard_deg) {
  return indicated_nm(context, retard_deg) / indicated_nm(context, 0.0);
}

/* Where the regression was worked out: 0.15 g of air per cylinder and stroke, four cylinders, 209 rad/s, A/F 14.6. */
static struct plant_probe at_their_charge(const struct plant_probe *probe) {
  struct plant_probe asked = *probe;
  struct plant_state *state = &asked.vehicle.state;
  state->burning_air_kg = 4.0 * 0.15e-3;
  state->burning_fuel1_kg = state->burning_air_kg / asked.engine.plant.combustion.stoichiometric_ratio;
  state->crank_speed_rad_s = 209.0;
  return asked;
}

/* Theirs: d2T/ds2 = -2 (0.0028 + 0.05 * 0.15), so the loss is 0.0103 N m per square degree from the best, 36.06. */
static double regression_loss_nm(const void *context, double retard_deg) {
  const struct plant_probe asked = at_their_charge(context);
  return indicated_nm(&asked, 0.0) - indicated_nm(&asked, retard_deg);
}

static double best_spark_deg(const void *context, double rpm) {
  struct plant_probe asked = *(const struct plant_probe *)context;
  asked.vehicle.state.crank_speed_rad_s = rpm * UNITS_RAD_S_PER_RPM;
  return plant_probe_signals(&asked).best_spark_rad / UNITS_RAD_PER_DEG;
}

/* Work on the pistons at best spark and lambda one over the heat of the fuel. */
static double best_efficiency(const void *context, double speed_rad_s) {
  struct plant_probe asked = *(const struct plant_probe *)context;
  asked.vehicle.state.crank_speed_rad_s = speed_rad_s;
  asked.vehicle.inputs.spark_rad = plant_probe_signals(&asked).best_spark_rad;
  const struct plant_signals signals = plant_probe_signals(&asked);
  return signals.indicated_nm * speed_rad_s / signals.burned_w;
}

static double mixture_nm(const struct plant_probe *at, double lambda) {
  struct plant_probe asked = *at;
  asked.vehicle.state.burning_fuel1_kg /= lambda;
  return indicated_nm(&asked, 0.0);
}

static double best_air_fuel(const void *context, double at) {
  const struct plant_probe asked = at_their_charge(context);
  double low = 0.6, high = 1.2;
  for (int i = 0; i < 60; i++) {
    const double a = high - 0.618034 * (high - low), b = low + 0.618034 * (high - low);
    if (mixture_nm(&asked, a) > mixture_nm(&asked, b))
      high = b;
    else
      low = a;
  }
  return at * low;
}

/* Torque that lambda one costs against the best mixture. */
static double mixture_loss_nm(const void *context, double best_lambda) {
  const struct plant_probe asked = at_their_charge(context);
  return mixture_nm(&asked, best_lambda) - mixture_nm(&asked, 1.0);
}

// clang-format off
#define LATE(text, deg, theirs, miss, source, use)                                                            \
  {text, theirs, 0.01, miss, 4, VALIDATION_SOURCE_##source, VALIDATION_##use, spark_efficiency, deg}
#define BENCH(deg, theirs, miss)     LATE("torque " #deg " degrees late over the best: 1 - 2.33e-4 d^2", deg, theirs, miss, BENCH_24, USED)
#define SET(deg, theirs, miss)       LATE("the same: 1 - (d/45)^2", deg, theirs, miss, GUZZELLA, USED)
#define QUADRATIC(deg, theirs, miss) LATE("the same: 0.7 + 0.024 u - 0.00048 u^2", deg, theirs, miss, HENDRICKS, NEVER)
#define REGRESSION(deg, theirs, miss)                                                                         \
  {"torque lost " #deg " degrees late at 0.6 g per cycle and 209 rad/s, N m", theirs, 0.2 * (theirs), miss, 3,  \
   VALIDATION_SOURCE_CROSSLEY, VALIDATION_NEVER, regression_loss_nm, deg}

/* The published curves differ among themselves by more than any of them admits: 20 degrees late 0.80, 0.81, 0.91 and (the regression,
 * by the torque of ours there) some 0.92. Whichever is ours, another misses. */
static const struct validation_row rows[] = {
    BENCH(10, 0.9767, 0.03), SET(10, 0.950617, 0.03), QUADRATIC(10, 0.952, 0.03),
    BENCH(20, 0.9068, 0.11), SET(20, 0.802469, 0.11), QUADRATIC(20, 0.808, 0.11),
    BENCH(27, 0.8301, 0.20),
    REGRESSION(10, 1.03, 2.0), REGRESSION(20, 4.12, 7.5),
    {"gross efficiency at best spark and 84 rad/s: 0.3068 - 3.02e-4 w", 0.281, 0.03, 0.048, 3, VALIDATION_SOURCE_BENCH_24, VALIDATION_NEVER, best_efficiency, 84.0},
    {"spark for best torque at 600 rpm, degrees", 25.0, 2.0, 0, 1, VALIDATION_SOURCE_GUZZELLA, VALIDATION_USED, best_spark_deg, 600.0},
    {"spark for best torque at 2000 rpm, lightly loaded, degrees", 31.0, 2.0, 0, 1, VALIDATION_SOURCE_GUZZELLA, VALIDATION_USED, best_spark_deg, 2000.0},
    {"air-fuel ratio of most torque (stoichiometric 14.6)", 12.888235, 0.3, 0, 3, VALIDATION_SOURCE_CROSSLEY, VALIDATION_USED, best_air_fuel, 14.6},
    {"torque lost at lambda one, 0.6 g per cycle, 209 rad/s, N m", 2.490618, 0.37, 0, 3, VALIDATION_SOURCE_CROSSLEY, VALIDATION_USED, mixture_loss_nm, 0.8828},
};
// clang-format on

const struct validation_section section_spark = {
    .kind = VALIDATION_ENGINES,
    .title = "Spark and mixture",
    .text = "Published curves of late spark stand side by side because they do not agree with each other. Two of them have "
            "been ours (marked used): agreement with the one that ours follows proves nothing. Of the torque "
            "regression only the mixture was used.",
    .rows = rows,
    .count = ARRAY_COUNT(rows),
    .begin = begin,
    .end = end,
};
