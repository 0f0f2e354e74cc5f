/* The constant side of the engine: what an engine file says of metal, gas, loads and actuator. SI throughout. */
#ifndef PLANT_PLANT_PARAMS_H
#define PLANT_PLANT_PARAMS_H

#include "base/field.h"
#include "physics/bore.h"
#include "physics/bypass.h"
#include "physics/charge.h"
#include "physics/combustion.h"
#include "physics/drive.h"
#include "physics/loads.h"
#include "physics/mixture.h"
#include "physics/warmth.h"

struct intake_params {
  double filter_drop_pa_s2_kg2; // air cleaner and duct: pressure lost = this * flow^2
  double manifold_volume_m3;
  double wall_conductance_w_k;   // manifold walls to the gas inside
  double wall_warmth_ratio;      // how far the walls follow the coolant: 0 stay at ambient, 1 as hot as the coolant
  double ventilation_cda_m2;     // crankcase ventilation valve at idle; its air is drawn behind the air-flow sensor
  double purge_cda_m2;           // canister purge valve as the computer opens it on a warm engine, discharge coefficient included
  double purge_vapour_ratio;     // fuel vapour in what it brings then
  double exhaust_drop_pa_s2_kg2; // exhaust back pressure = ambient + this * flow^2
  double pressure_sensor_pa;     // what the manifold pressure sensor of this car shows too much; 0 as a rule
};

/* ELECTRONIC: the computer moves the blade, and meters idle air with it. CABLE: the pedal moves the blade; at rest it stands
 * on a stop screw, and idle air goes through a bypass valve. */
enum throttle_kind { THROTTLE_ELECTRONIC, THROTTLE_CABLE };
extern const char *const plant_params_throttle_kinds[]; // NULL after the last

struct throttle_params {
  int kind;                // enum throttle_kind
  double rest_opening_rad; // cable only: opening above closed that the stop screw leaves
  struct bore_geometry bore;
  struct bore_film_shape film_shape;
  struct curve discharge;         // discharge coefficient over opening above closed, rad
  double natural_frequency_rad_s; // position loop of the drive
  double damping_ratio;
  double closed_position_ratio;  // absolute position reading at the closed stop, share of 5 V: track 1
  double open_position_ratio;    // the same, wide open
  double closed2_position_ratio; // track 2; 0 and 0 for a throttle with one track only
  double open2_position_ratio;
  double released_pedal_ratio[2]; // pedal tracks, share of 5 V, released
  double floored_pedal_ratio[2];  // and floored; all 0 for a cable throttle
};

struct crank_params {
  double inertia_kg_m2;     // crank, flywheel or converter, accessories
  double stall_speed_rad_s; // below this the engine no longer keeps itself running
};

struct air_sensor_params {
  double lag_s;
  double gain_ratio; // how much more than there is it shows on this car; 0 as a rule
};

/* What an exhaust-driven charger does to the air between filter and throttle, as far as idling and unloaded running go: at rest with the
 * flow of now, since there its lag is of no account. */
struct charger_params {
  struct curve rise_pa; // of pressure, over the flow into the cylinders, kg/s; no points: no charger
};

struct plant_params {
  struct throttle_params throttle;
  struct intake_params intake;
  struct charge_params charge;
  struct combustion_params combustion;
  struct friction_params friction;
  struct load_params loads;
  struct mixture_params mixture;
  struct warmth_params warmth;
  struct bypass_params bypass; // cable throttle only
  struct drive_params drive;   // electronic throttle only
  struct crank_params crank;
  struct air_sensor_params air_sensor;
  struct charger_params charger;
};

/* The groups of an engine file that fill a struct plant_params; bases are offsets within it. */
extern const struct field_group plant_params_groups[];
extern const size_t plant_params_group_count;

#endif
