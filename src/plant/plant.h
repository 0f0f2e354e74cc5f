/* The engine as a set of ordinary differential equations: pure functions of (params, inputs, state).
 *
 * plant.c puts together what three files compute: air.c the air paths and the manifold, torque.c mixture, work and the crank,
 * blade.c the throttle drive; and adds the rest (sensor, clutches, warmth) and the events. Equations: docs/physics.md. */
#ifndef PLANT_PLANT_H
#define PLANT_PLANT_H

#include "plant/inputs.h"
#include "plant/plant_params.h"
#include "plant/state.h"

/* Where a path begins: behind the air-flow sensor, in the open, or in the exhaust. */
enum plant_node { PLANT_NODE_DUCT, PLANT_NODE_AMBIENT, PLANT_NODE_EXHAUST };

/* The ways gas takes into the manifold. PATH(name, node, text). What begins in the duct has passed the air-flow sensor. */
// clang-format off
#define PLANT_PATH_LIST(PATH)                                                                                 \
  PATH(blade, DUCT, "past the throttle blade")                                                                \
  PATH(bypass, DUCT, "through the idle bypass valve")                                                         \
  PATH(ventilation, DUCT, "crankcase ventilation, fresh air from behind the sensor")                          \
  PATH(leak, AMBIENT, "vacuum leak behind the blade")                                                         \
  PATH(booster, AMBIENT, "brake booster leak")                                                                \
  PATH(purge, AMBIENT, "canister purge: air with fuel vapour")                                                \
  PATH(recirculation, EXHAUST, "exhaust-gas recirculation")
// clang-format on

enum plant_path {
#define PATH(name, node, text) PLANT_PATH_##name,
  PLANT_PATH_LIST(PATH)
#undef PATH
      PLANT_PATH_COUNT
};

struct plant_path_row {
  const char *name;
  enum plant_node node;
  const char *text;
};
extern const struct plant_path_row plant_path_rows[PLANT_PATH_COUNT];

/* Everything that follows from a state at one instant. */
struct plant_signals {
  // air
  double gap_area_m2; // between blade and wall, film taken off
  double path_kg_s[PLANT_PATH_COUNT];
  double inflow_kg_s;  // all gas into the manifold
  double airflow_kg_s; // the air in it: without exhaust gas and fuel vapour
  double metered_kg_s; // what the air-flow sensor sees
  double vapour_kg_s;  // fuel with the purge air
  double duct_pa;      // before the blade
  double exhaust_pa;
  double cylinder_kg_s;     // out of the manifold
  double intake_air_kg;     // fresh air per engine cycle, drawn now
  double bank1_air_ratio;   // share of it that bank 1 draws
  double residual_fraction; // burned gas in the charge, from the cylinder and from recirculation
  // mixture and torque
  double lambda[PLANT_BANK_MAX]; // of what burns now; large without fuel
  double best_spark_rad;
  double spark_rad; // as the crank gets it
  double indicated_nm, friction_nm, pumping_nm, alternator_nm, compressor_nm, steering_nm, converter_nm, starter_nm;
  double net_nm;
  // heat
  double burned_w;    // fuel energy set free
  double wall_heat_w; // of it into the coolant
};

void plant_signals(const struct plant_params *params, const struct plant_inputs *inputs, const struct plant_state *state,
                   struct plant_signals *signals);

/* Time derivative of every state. */
void plant_rates(const struct plant_params *params, const struct plant_inputs *inputs, const struct plant_state *state,
                 struct plant_state *rates);

/* Of every state but the blade's. */
void plant_engine_rates(const struct plant_params *params, const struct plant_inputs *inputs, const struct plant_state *state,
                        struct plant_state *rates);

/* Everything but the blade where it comes to rest at this speed with the inputs and signals of now: what follows air and commands by a
 * lag, and the oil unless warmth is held. Air, fuel and blade have functions of their own (air_rest, torque_fuel_rest, blade_rest). */
void plant_lags_rest(const struct plant_params *params, const struct plant_inputs *inputs, const struct plant_signals *signals,
                     struct plant_state *state);

/* The longest step an explicit fourth-order method may take from here, the blade's movement apart (plant/blade.h), with errors far
 * below what anybody reads: set by the manifold near ambient pressure, by burning lag and sensor. At most PLANT_STEP_MOST_S. */
#define PLANT_STEP_MOST_S 0.01
double plant_step_s(const struct plant_params *params, const struct plant_inputs *inputs, const struct plant_state *state);

/* How far each state's rate times the step may bend in that step (h |k1 - k2 - k3 + k4|, solver/solver_fast.c): a hint cannot know where the
 * computer has just sent the blade, nor where a mixture begins to burn. */
void plant_step_bends(const struct plant_params *params, struct plant_state *most);

/* Lambda that an oxygen sensor makes of the exhaust of what burns now and of what does not, per bank. */
void plant_lambda(const struct plant_params *params, const struct plant_inputs *inputs, const struct plant_state *state,
                  double lambda[PLANT_BANK_MAX]);

/* Things that happen between ticks, found as sign changes. EVENT(name, text): its function is positive before. */
// clang-format off
#define PLANT_EVENT_LIST(EVENT)                                                                               \
  EVENT(stall, "speed fell below what keeps the engine running")                                              \
  EVENT(standstill, "the crank came to rest")                                                                 \
  EVENT(closed_stop, "the blade reached its closed stop")                                                     \
  EVENT(open_stop, "the blade reached its open stop")                                                         \
  EVENT(blade_rests, "the blade came to rest")                                                                \
  EVENT(blade_opens, "a resting blade broke loose and opens")                                                 \
  EVENT(blade_closes, "a resting blade broke loose and closes")
// clang-format on

enum plant_event {
#define EVENT(name, text) PLANT_EVENT_##name,
  PLANT_EVENT_LIST(EVENT)
#undef EVENT
      PLANT_EVENT_COUNT
};
enum { PLANT_BLADE_EVENT_FIRST = PLANT_EVENT_closed_stop }; // from here on they are the blade's

/* One value per event; it falls through zero when the event happens. An event that the mode rules out keeps 1. */
void plant_event_values(const struct plant_params *params, const struct plant_inputs *inputs, const struct plant_state *state,
                        double values[PLANT_EVENT_COUNT]);

/* Those before PLANT_BLADE_EVENT_FIRST. */
void plant_engine_event_values(const struct plant_params *params, const struct plant_inputs *inputs,
                               const struct plant_state *state, double values[PLANT_EVENT_COUNT]);

/* Changes mode and state as the event demands. */
void plant_event_apply(const struct plant_params *params, const struct plant_inputs *inputs, enum plant_event event,
                       struct plant_mode *mode, struct plant_state *state);

/* Leaves a held mode when what held it is gone; called once a tick, after the inputs are set. */
void plant_release(const struct plant_params *params, const struct plant_inputs *inputs, struct plant_mode *mode,
                   struct plant_state *state);

/* A standing engine: ambient pressure everywhere, blade at the angle given. */
void plant_state_at_rest(double ambient_pa, double manifold_k, double coolant_k, double oil_k, double blade_rad,
                         struct plant_state *state);

/* Blade angle at rest: on the stop screw of a cable throttle, where the springs leave an unpowered drive, and the closed stop
 * with an ideal loop. */
double plant_rest_angle_rad(const struct plant_params *params);

#endif
