/* Idle bypass valve of a cable throttle: air past the closed blade through a passage that a pintle opens step by step.
 *
 *     |  /\  |      gap across the cone   g = lift sin(alpha) - t ,   lift = steps * pitch
 *     | /  \ |      area                  A = pi D g , never more than the port pi D^2 / 4 (smoothly joined)
 *    _|/    \|_     t: film on seat and pintle
 *
 * Frustum area of a conical valve at small lift, as for a poppet valve at its seat (Heywood, "Internal Combustion Engine
 * Fundamentals", sec. 6.3.2, first stage). The film takes from the gap what it takes at the blade. */
#ifndef PHYSICS_BYPASS_H
#define PHYSICS_BYPASS_H

struct bypass_params {
  double seat_diameter_m; // D
  double cone_angle_rad;  // alpha, between the cone's surface and the direction of lift
  double pitch_m;         // lift per step
  int step_count;         // whole travel
  double discharge_ratio; // discharge coefficient
  double steps_per_s;     // speed of the stepper
};

/* Open area at so many steps from the seat; 0 while the film fills the gap. */
double bypass_area_m2(const struct bypass_params *bypass, double steps, double film_m);

/* Steps at which the clean passage has this area; from 0 to step_count. */
double bypass_clean_steps(const struct bypass_params *bypass, double area_m2);

#endif
