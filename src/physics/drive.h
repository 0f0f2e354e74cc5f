/* Motor, gear, return spring and friction of an electronic throttle, all seen at the blade's shaft.
 *
 *   current   I = (u - K n w) / R                     n gear ratio, K motor constant; the winding's lag (1 ms) is left out
 *   motor     T_m = n K I
 *   spring    T_s = - c (psi - psi_rest) - P u / sqrt(1 + u^2),  u = (psi - psi_rest) / d     two springs that meet there
 *   friction  sliding: constant, against the motion;  at rest: whatever is asked, up to the sticking torque
 *
 * The rest angle is where the blade stands without current: a little open, so that a car can limp home. Electric drive
 * and springs: any textbook on DC servo drives; friction is Coulomb's law with a larger sticking value, taken as modes
 * (held, opening, closing) with events between them and not as a steep smooth curve, which would be stiff. A film in
 * which the blade's edge lies raises the sticking torque. */
#ifndef PHYSICS_DRIVE_H
#define PHYSICS_DRIVE_H

struct drive_params {
  double gear_ratio;          // n; 0: the engine file has no drive, an ideal position loop stands for it
  double motor_constant_nm_a; // K, N m/A and V s/rad
  double resistance_ohm;      // winding, wiring and driver
  double inertia_kg_m2;       // rotor through the gear, and blade
  double spring_nm_rad;       // c
  double spring_preload_nm;   // P
  double rest_opening_rad;    // psi_rest above the closed stop
  double slide_nm, stick_nm;  // friction of a clean unit
  double film_stick_nm_m;     // sticking torque per metre of film while the edge lies in it
  double integral_1_s;        // integral part of the position loop, per second, over the proportional one
  double dead_band_rad;       // either side of the command: the integral part rests there
  double awake_s;             // how long after key-off the drive stays powered
};

/* Torque per volt at standstill, N m/V. */
double drive_nm_per_v(const struct drive_params *drive);

double drive_current_a(const struct drive_params *drive, double motor_v, double rate_rad_s);
double drive_motor_nm(const struct drive_params *drive, double motor_v, double rate_rad_s);

/* opening_rad: above the closed stop. Positive opens. */
double drive_spring_nm(const struct drive_params *drive, double opening_rad);

/* Voltage that holds a clean blade against its spring at this opening. */
double drive_holding_v(const struct drive_params *drive, double opening_rad);

#endif
