/* The gap between a throttle blade and its bore, with and without a deposit.
 *
 *            wall     The blade, seen along its shaft (o), closed at angle psi0 from the plane square to
 *   |........../ |    the bore. Opening it to psi draws both edges away from the wall *radially* (that is the
 *   |        /:: |    gap) and moves them *along* the bore: one edge downstream, the other upstream.
 *   |::    o   ::| film   It sits on the wall in a band (::) round the line where the closed blade touches.
 *   |::  /       |
 *   |  / ........|    flow goes down
 *
 * Coordinates: theta is the polar angle round the bore axis, measured from the shaft; z the height along
 * the bore, positive downstream for 0 < theta < pi.
 *
 *   blade outline seen along the bore: an ellipse, R along the shaft, R k across it, k = cos(psi) / cos(psi0)
 *   r_blade(theta) = R k / sqrt(k^2 cos^2 + sin^2)
 *   inner(theta)   = max( r_blade - clearance + edge film, d / 2 / |sin(theta)| )   the shaft hides the rest
 *   outer(theta)   = R - t(theta, dz)
 *   dz(theta)      = sin(theta) ( r_blade tan(psi) - R tan(psi0) )           how far the edge left the line
 *   area           = 1/2 * integral over theta of max( outer^2 - inner^2 , 0 )
 *
 * Without film and clearance this is exactly the plate-throttle area of the textbooks (Heywood, "Internal
 * Combustion Engine Fundamentals", sec. 7.6), see tests/reference/test_throttle_area.c.
 *
 * Assumptions: flat blade, round shaft across the full bore, film rigid and smooth. The narrowest place
 * between wall and the blade's edge land counts, so the film acts with its greatest thickness over the
 * land. */
#ifndef PHYSICS_BORE_H
#define PHYSICS_BORE_H

#include <stdbool.h>

/* The metal. */
struct bore_geometry {
  double radius_m;         // bore radius R
  double closed_angle_rad; // psi0, blade at its closed stop, from the plane square to the bore axis
  double shaft_diameter_m; // d; 0 for no shaft
  double clearance_m;      // radial running clearance of the closed blade
  double edge_land_m;      // height of the blade's edge along the bore
};

/* The form of the deposit; its thickness is struct bore_film. */
struct bore_film_shape {
  double band_half_width_m; // thickness falls as cos^2 from the closed line to nothing at this distance
  double asymmetry_ratio;   // half-width is (1 + a) times this downstream, (1 - a) upstream; -1 < a < 1
  double bias_ratio;        // thickness varies round the bore as 1 + b cos(theta - bias_angle); 0 <= b <= 1
  double bias_angle_rad;    // where the deposit is thickest
};

struct bore_film {
  double wall_m; // thickness at the closed line, mean round the bore
  double edge_m; // thickness on the blade's edge, even all round
};

/* Open area between blade and wall as seen along the bore, and nothing else: no discharge coefficient.
 * angle_rad: blade angle psi, from closed_angle_rad (less is taken as closed) to pi/2 (more is taken as
 * pi/2). Quadrature error below 1e-6 of the result: Gauss-Legendre on panels that end wherever the
 * integrand has a kink. */
double bore_area_m2(const struct bore_geometry *bore, const struct bore_film_shape *shape, const struct bore_film *film,
                    double angle_rad);

/* The same area's derivative with respect to the blade angle, m2/rad, from the same quadrature; at the
 * closed stop and below it the derivative towards opening, at pi/2 and beyond the one from below. */
double bore_area_slope_m2_rad(const struct bore_geometry *bore, const struct bore_film_shape *shape, const struct bore_film *film,
                              double angle_rad);

/* Both at the price of one. */
struct bore_area {
  double area_m2, slope_m2_rad;
};
struct bore_area bore_area_and_slope(const struct bore_geometry *bore, const struct bore_film_shape *shape,
                                     const struct bore_film *film, double angle_rad);

/* The two sides of the shaft; with a film they differ, and one opens before the other. */
enum bore_half {
  BORE_HALF_DOWNSTREAM, // 0 < theta < pi: the edge moves downstream
  BORE_HALF_UPSTREAM,
};

/* One side's part of the area. */
struct bore_area bore_half_area(const struct bore_geometry *bore, const struct bore_film_shape *shape,
                                const struct bore_film *film, double angle_rad, enum bore_half half);

/* Whether the sides have the same area at every angle. */
bool bore_halves_alike(const struct bore_film_shape *shape, const struct bore_film *film);

/* Blade angle at which a side begins to open, to 1e-9 rad and never above it: the closed stop if it is
 * open there, pi/2 if it never opens. Above it the area grows as (psi - this)^1.5: that is where a table
 * needs care. */
double bore_half_opens_rad(const struct bore_geometry *bore, const struct bore_film_shape *shape, const struct bore_film *film,
                           enum bore_half half);

/* Blade angle at which the blade goes behind the shaft; the area ends there as (this - psi)^1.5 and stays. */
double bore_hidden_rad(const struct bore_geometry *bore, const struct bore_film *film);

/* Where the edge and the wall stand at one place round the bore, for drawing. */
struct bore_section {
  double edge_radius_m; // blade edge, clearance taken off, edge film not added
  double edge_height_m; // middle of the edge land along the bore, 0 at the shaft, positive downstream
  double film_m;        // film thickness that the edge faces
  double gap_m;         // free radial gap, 0 if closed
  double line_height_m; // height of the closed line here
};
struct bore_section bore_section_at(const struct bore_geometry *bore, const struct bore_film_shape *shape,
                                    const struct bore_film *film, double angle_rad, double theta_rad);

/* Film thickness on the wall at polar angle theta, dz from the closed line (positive downstream). */
double bore_film_thickness_m(const struct bore_film_shape *shape, double wall_film_m, double theta_rad,
                             double height_from_line_m);

#endif
