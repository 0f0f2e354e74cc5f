/* What can be wrong with the metal, beside the film: held while the plant is integrated. SI; a sound engine has the values of
 * the conditions' table (car/conditions.c). */
#ifndef PLANT_FAULTS_H
#define PLANT_FAULTS_H

struct plant_faults {
  double bypass_film_m;          // deposit on seat and pintle of the bypass valve
  double leak_area_m2;           // sharp opening into the manifold that no sensor has seen
  double leak_bank1_ratio;       // share of its air that the cylinders of bank 1 draw
  double booster_leak_area_m2;   // brake booster: the same, through its hose
  double boot_leak_area_m2;      // between air-flow sensor and throttle; before the charger, where there is one
  double charge_leak_area_m2;    // between charger and throttle
  double ventilation_area_m2;    // crankcase ventilation valve stuck further open by this
  double purge_area_m2;          // canister purge valve stuck open
  double purge_vapour_ratio;     // fuel share of what it brings
  double recirculation_area_m2;  // exhaust-gas recirculation valve stuck open
  double air_sensor_lag_ratio;   // lag of the air-flow sensor, times that of a good one
  double filter_ratio;           // loss of the air cleaner, times that of a new one
  double exhaust_ratio;          // back pressure, times that of a free exhaust
  double fuel_delivery_ratio;    // delivered over asked for
  double spark_missing_ratio;    // share of cylinder 1's firings without spark
  double cylinder_loss_ratio;    // charge lost from cylinder 1; below 1
  double cylinder_exhaust_ratio; // share of that lost past the exhaust valve, the rest past rings and inlet valve
  double compression_loss_ratio; // charge lost past rings and valves, all cylinders
  double spark_offset_rad;       // what the crank gets over what the computer wanted; negative is late
  double drag_nm;                // dragging accessory
  double motor_open;             // throttle motor or its wiring interrupted: 1, else 0
  double motor_resistance_ratio; // of motor and wiring, times that of a good one
  double spring_ratio;           // strength of the return springs; 0 broken
};

/* Share of its charge that cylinder 1 pushes back and does not draw anew: past rings and inlet valve. What leaves past the exhaust valve
 * was drawn and metered; most of it leaves while the pressure is highest, when it has burned. */
static inline double plant_faults_pushed_back_ratio(const struct plant_faults *faults) {
  return faults->cylinder_loss_ratio * (1.0 - faults->cylinder_exhaust_ratio);
}

#endif
