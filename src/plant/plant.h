/* The engine as a set of ordinary differential equations: pure functions of (params, inputs, state).
 *
 *   duct        p_duct = p_ambient - k_f m_metered |m_metered|           algebraic: the filter
 *   manifold    dp/dt = (gamma - 1)/V (cp sum m_in T_in - cp m_out T + Q)
 *               dT/dt = T (dp/dt / p - (dm/dt) / m),   m = p V / (R T),  Q = hA (T_wall - T)
 *   burning air dm_b/dt = (m_intake - m_b) w / (4 pi lag)                 m per engine cycle, lag in cycles
 *   crank       J dw/dt = T_indicated (1 + scatter) - friction - pumping - alternator - compressor - converter
 *                         - drag + starter,    T_indicated = work per cycle / (4 pi)
 *   blade       d2/dt2 = wn^2 (command - blade) - 2 zeta wn rate           held at an end stop
 *   sensor, clutch, gear: first-order lags
 *
 * Manifold: mass and energy balance after E. Hendricks et al., SAE 960037. Derivation of each line: docs/physics.md. */
#ifndef PLANT_PLANT_H
#define PLANT_PLANT_H

#include "plant/inputs.h"
#include "plant/params.h"
#include "plant/state.h"

/* A leak is a torn hose or a lifted gasket: a sharp-edged hole. 0.6 is the textbook figure for one. */
#define PLANT_LEAK_DISCHARGE_RATIO 0.6

/* The ways air takes into the manifold. PATH(name, metered, text): metered air has passed the air-flow sensor. */
#define PLANT_PATH_LIST(PATH)                                                                                 \
  PATH(blade, true, "past the throttle blade")                                                                \
  PATH(ventilation, true, "crankcase ventilation, fresh air from behind the sensor")                          \
  PATH(leak, false, "vacuum leak behind the blade")

enum plant_path {
#define PATH(name, metered, text) PLANT_PATH_##name,
  PLANT_PATH_LIST(PATH)
#undef PATH
      PLANT_PATH_COUNT
};

struct plant_path_row {
  const char *name;
  bool metered;
  const char *text;
};
extern const struct plant_path_row plant_path_rows[PLANT_PATH_COUNT];

/* Everything that follows from a state at one instant. */
struct plant_signals {
  double gap_area_m2;             // between blade and wall, film taken off
  double path_kg_s[PLANT_PATH_COUNT];
  double airflow_kg_s;            // all air into the manifold
  double metered_kg_s;            // what the air-flow sensor sees
  double duct_pa;                 // before the blade
  double exhaust_pa;
  double cylinder_kg_s;           // out of the manifold
  double intake_air_kg;           // per engine cycle, drawn now
  double residual_fraction;
  double indicated_nm, friction_nm, pumping_nm, alternator_nm, compressor_nm, converter_nm, starter_nm;
  double net_nm;
  double best_spark_rad;
};

void plant_signals(const struct plant_params *params, const struct plant_inputs *inputs,
                   const struct plant_state *state, struct plant_signals *signals);

/* Time derivative of every state. */
void plant_rates(const struct plant_params *params, const struct plant_inputs *inputs, const struct plant_state *state,
                 struct plant_state *rates);

/* Things that happen between ticks, found as sign changes. EVENT(name, text): its function is positive before. */
#define PLANT_EVENT_LIST(EVENT)                                                                               \
  EVENT(stall, "speed fell below what keeps the engine running")                                              \
  EVENT(standstill, "the crank came to rest")                                                                 \
  EVENT(closed_stop, "the blade reached its closed stop")                                                     \
  EVENT(open_stop, "the blade reached its open stop")

enum plant_event {
#define EVENT(name, text) PLANT_EVENT_##name,
  PLANT_EVENT_LIST(EVENT)
#undef EVENT
      PLANT_EVENT_COUNT
};

/* One value per event; it falls through zero when the event happens. An event that the mode rules out keeps 1. */
void plant_event_values(const struct plant_params *params, const struct plant_inputs *inputs,
                        const struct plant_state *state, double values[PLANT_EVENT_COUNT]);

/* Changes mode and state as the event demands. */
void plant_event_apply(const struct plant_params *params, enum plant_event event, struct plant_mode *mode,
                       struct plant_state *state);

/* Leaves a held mode when what held it is gone; called once a tick, after the inputs are set. */
void plant_release(const struct plant_params *params, const struct plant_inputs *inputs, struct plant_mode *mode);

/* A standing engine: ambient pressure everywhere, blade at the angle given. */
void plant_state_at_rest(double ambient_pa, double ambient_k, double blade_rad, struct plant_state *state);

#endif
