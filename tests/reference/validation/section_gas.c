/* Orifice law, filling of a volume and the standard atmosphere. */
#include "reference/validation/sections.h"

#include "base/attributes.h"
#include "physics/atmosphere.h"
#include "physics/gas.h"
#include "physics/orifice.h"
#include "support/integrate.h"

#include <math.h>

#define NOTHING(context) (void)(context)

/* A/A* of a Mach number: continuity makes it Psi_max / Psi(p/p0), and p/p0 = (1 + 0.2 M^2)^-3.5 defines the tables. */
static double area_ratio(const void *context, double mach) {
  NOTHING(context);
  return orifice_flow_function(0.5) / orifice_flow_function(pow(1.0 + 0.2 * mach * mach, -3.5));
}

static double critical_pa(const void *context, double at) {
  NOTHING(context);
  return at * orifice_critical_ratio();
}

/* Theirs: API520_A_g(m=4.783471193e-3, T=293.15, Z=1, MW=28.9644, k=1.4, P1=101325, P2=30000, Kd=1). */
static double choked_mm2(const void *context, double at) {
  NOTHING(context);
  return 1e6 * orifice_choked_cda_m2(at, 101325.0, 293.15);
}

/* 1 MPa, 800 K, throat 20 cm2, R = 287. */
static double nozzle_kg_s(const void *context, double at) {
  NOTHING(context);
  return orifice_mass_flow_kg_s(20e-4, 1e6, 800.0 * 287.0 / GAS_AIR_CONSTANT_J_KG_K, at, 500.0);
}

/* 3 l fill through CdA 20 mm2 from 20 kPa, isothermal, 293.15 K, R = 287.05. */
#define FILL_K (293.15 * 287.05 / GAS_AIR_CONSTANT_J_KG_K)

static void fill_rates(double time_s, const double *state, double *rates, const void *context) {
  (void)time_s;
  (void)context;
  rates[0] = GAS_AIR_CONSTANT_J_KG_K * FILL_K / 3e-3 * orifice_mass_flow_kg_s(20e-6, 101325.0, FILL_K, state[0], FILL_K);
}

static double filled_pa(const void *context, double at) {
  NOTHING(context);
  static const double nominal[] = {1e5};
  const struct solver_problem problem = {.state_count = 1, .rates = fill_rates, .nominal = nominal};
  double pressure = 20e3;
  integrate(&solver_cvode, &problem, 0.0, at, &pressure);
  return pressure;
}

static double atmosphere_pa(const void *context, double at) {
  NOTHING(context);
  return atmosphere_pressure_pa(at);
}

static double geometric_pa(const void *context, double at) {
  NOTHING(context);
  return atmosphere_pressure_pa(6356766.0 * at / (6356766.0 + at));
}

// clang-format off
#define MACH(mach, theirs)                                                                                    \
  {"A/A* at Mach " #mach, theirs, 7e-5, 0, 4, VALIDATION_SOURCE_GAS_TABLES, VALIDATION_NEVER, area_ratio, mach}
#define FILL(time, theirs)                                                                                    \
  {"pressure " #time " s after an empty 3 l volume begins to fill, Pa", theirs, 0.01, 0, 2,                   \
   VALIDATION_SOURCE_SCIPY, VALIDATION_NEVER, filled_pa, time}
#define HEIGHT(metres, theirs)                                                                                \
  {"pressure at " #metres " m (geopotential), Pa", theirs, 0.08, 0, 1, VALIDATION_SOURCE_ATMOSPHERE, VALIDATION_USED, atmosphere_pa, metres}
#define GEOMETRIC(metres, theirs)                                                                             \
  {"pressure at " #metres " m (geometric), Pa", theirs, 0.08, 0, 1, VALIDATION_SOURCE_FLUIDS, VALIDATION_NEVER, geometric_pa, metres}

/* A/A*: 7e-5 because one print (Mach 0.3: 2.035065) is cut, not rounded. API 520: its unit constant is rounded. Pressures: half the
 * last digit, and a gas constant of 287.05307 there. */
static const struct validation_row rows[] = {
    MACH(0.10, 5.8218), MACH(0.20, 2.9635), MACH(0.30, 2.0350), MACH(0.50, 1.3398), MACH(0.60, 1.1882),
    MACH(0.84, 1.0237), MACH(0.90, 1.0089), MACH(0.95, 1.0021), MACH(1.00, 1.0000),
    {"critical pressure of 101325 Pa, Pa", 53528.15214, 5e-6, 0, 5, VALIDATION_SOURCE_FLUIDS, VALIDATION_NEVER, critical_pa, 101325.0},
    {"opening that passes 4.783 g/s choked, mm2", 20.00066, 8e-4, 0, 4, VALIDATION_SOURCE_FLUIDS, VALIDATION_NEVER, choked_mm2, 4.783471193e-3},
    {"nozzle of 20 cm2, 1 MPa, 800 K, kg/s", 2.86, 5e-3, 0, 3, VALIDATION_SOURCE_CENGEL, VALIDATION_NEVER, nozzle_kg_s, 0.4e6},
    FILL(0.1, 33417.43), FILL(0.3, 60230.57), FILL(0.5, 84418.92), FILL(0.6, 93331.34),
    HEIGHT(1000, 89874.6), HEIGHT(2000, 79495.2), HEIGHT(3000, 70108.5),
    GEOMETRIC(500, 95461.3), GEOMETRIC(1500, 84559.7), GEOMETRIC(3000, 70121.2),
};
// clang-format on

const struct validation_section section_gas = {
    .kind = VALIDATION_ARITHMETIC,
    .title = "Gas and air",
    .text = "Closed forms and a solver: what is tested is that the equations are written down right, not that they fit an "
            "engine.",
    .rows = rows,
    .count = ARRAY_COUNT(rows),
};
