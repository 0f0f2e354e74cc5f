/* The gap between a throttle blade and its bore, with and without a deposit.
 *
 *            wall     The blade, seen along its shaft (o). Closed, it stands at the angle psi0 from the plane square to the
 *   |........../ |    bore; its edge is cut parallel to the bore, `land` high, and fills it but for the clearance. Opened by
 *   |        /:: |    delta = psi - psi0, the edge leaves the wall *radially*, moves *along* the bore, downstream on one side
 *   |::    o   ::|    and upstream on the other, and *leans*: the corner of the land that is behind stays nearer to the wall.
 *   |::  /       |    A film sits on the wall in a band (::) round the line where the closed blade touches, or beside it; the
 *   |  / ........|    wall itself may stand in a little (contour). Flow goes down.
 *
 * A point of the edge is given by phi, its polar angle on the closed blade measured from the shaft, and by h, its height on the land
 * (-land/2 to land/2, from behind to ahead as the blade opens). With Rb = R - clearance + edge film and k = cos psi / cos psi0,
 * opening turns it about the shaft to
 *
 *   x = Rb cos phi,   y = k Rb sin phi - h sin delta,   r = sqrt(x^2 + y^2),   theta = polar angle of (x, y)
 *   s = Rb sin phi sin psi / cos psi0 + h cos delta - R sin theta tan psi0       from the closed line, ahead as the blade opens
 *   gap(phi, h) = R - inset(theta, s) - r                                        inset: film and contour
 *
 * and the gap at phi is the least over the land, w. Where the wall rises towards the blade by m = d inset/d s, the shortest
 * distance is w / sqrt(1 + m^2); that is done for the contour, whose m may reach 0.1 (a film's 0.04 changes 0.1 %). Then, from
 * where the blade comes out from behind the shaft,
 *
 *   area    = integral of w (r + w / 2) d theta                        as seen along the bore
 *   passing = the same times slot.h's ratio for this gap               what that much wide opening would pass
 *
 * to which comes the corner between shaft and wall. Without land, clearance and film the area is the plate-throttle area of the
 * textbooks (Heywood, "Internal Combustion Engine Fundamentals", sec. 7.6), see tests/reference/test_throttle_area.c; with them it
 * is held against a solid body in tests/reference/test_film_area.c.
 *
 * Friction acts over the whole land, whose sides are not parallel: from the narrowest place to an end of the land a length d away
 * where the gap is G, it counts as d w (w + G) / (2 G^2) (w^3 times the integral of gap^-3, the gap growing as a line).
 *
 * Assumptions: flat blade, round shaft across the full bore, film rigid and smooth; air flows along the bore, none round it. */
#ifndef PHYSICS_BORE_H
#define PHYSICS_BORE_H

/* The metal. */
struct bore_geometry {
  double radius_m;         // bore radius R
  double closed_angle_rad; // psi0, blade at its closed stop, from the plane square to the bore axis
  double shaft_diameter_m; // d; 0 for no shaft
  double clearance_m;      // radial running clearance of the closed blade
  double edge_land_m;      // height of the blade's edge along the bore
  double contour_m;        // how far the wall stands in at most, ahead of the opening blade; 0: a plain bore
  double contour_length_m; // along the bore, from the end of the closed edge; the inset rises and falls over it as sin^2
};

/* The form of the deposit; its thickness is struct bore_film. */
struct bore_film_shape {
  double band_half_width_m; // thickness falls as cos^2 from the band's middle to nothing at this distance
  double asymmetry_ratio;   // half-width is (1 + a) times this downstream, (1 - a) upstream; -1 < a < 1
  double bias_ratio;        // thickness varies round the bore as 1 + b cos(theta - bias_angle); 0 <= b <= 1
  double bias_angle_rad;    // where the deposit is thickest
  double offset_m;          // of the band's middle from the closed line, positive downstream
};

struct bore_film {
  double wall_m; // thickness in the middle of the band, mean round the bore
  double edge_m; // thickness on the blade's edge, even all round
};

struct bore_passage {
  double area_m2;    // open between blade and wall, seen along the bore: what light gets through
  double passing_m2; // what of it counts for flow at the reference conditions of slot.h
};

/* angle_rad: blade angle psi, from closed_angle_rad (less is taken as closed) to pi/2 (more is taken as pi/2). Quadrature error below
 * 5e-4 of the result + 0.002 mm2 for films to 130 um and bands from 1.5 mm; 1e-6 of the clean bore's up to 60 degrees. */
struct bore_passage bore_passage_at(const struct bore_geometry *bore, const struct bore_film_shape *shape,
                                    const struct bore_film *film, double angle_rad);

/* Its open area. */
double bore_area_m2(const struct bore_geometry *bore, const struct bore_film_shape *shape, const struct bore_film *film,
                    double angle_rad);

/* Where the edge and the wall stand at one place round the bore, for drawing. Heights are along the bore, 0 at the shaft, positive
 * downstream. The edge film is not added to the edge. */
struct bore_section {
  double edge_radius_m, edge_height_m;         // middle of the land
  double upstream_radius_m, upstream_height_m; // corners of the land
  double downstream_radius_m, downstream_height_m;
  double narrow_height_m; // where the gap is narrowest
  double film_m;          // film thickness that the edge faces there
  double gap_m;           // free gap there, 0 if closed
  double line_height_m;   // height of the closed line here
};
struct bore_section bore_section_at(const struct bore_geometry *bore, const struct bore_film_shape *shape,
                                    const struct bore_film *film, double angle_rad, double theta_rad);

/* Film thickness on the wall at polar angle theta, so far from the closed line (positive downstream). */
double bore_film_thickness_m(const struct bore_film_shape *shape, double wall_film_m, double theta_rad,
                             double height_from_line_m);

/* How far the wall stands in, so far ahead of the closed line as the blade opens. */
double bore_contour_m(const struct bore_geometry *bore, double ahead_m);

#endif
