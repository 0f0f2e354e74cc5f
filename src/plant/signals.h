/* What follows at one instant from a state and its inputs; plant.c has air.c and torque.c fill it in, one group after the other. */
#ifndef PLANT_SIGNALS_H
#define PLANT_SIGNALS_H

#include "plant/inputs.h"
#include "plant/paths.h"

struct plant_signals {
  // air
  double gap_area_m2; // between blade and wall, film taken off
  double path_kg_s[PLANT_PATH_COUNT];
  double inflow_kg_s;  // all gas into the manifold
  double airflow_kg_s; // the air in it: without exhaust gas and fuel vapour
  double metered_kg_s; // what the air-flow sensor sees; part of it may be lost by a hole in a charge hose
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

#endif
