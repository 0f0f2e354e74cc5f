/* The clean bore against three descriptions of a plate throttle that share no code with src/physics/bore.c:
 *
 * 1. brute force: along the shaft, x = R sin(u), half-width of the bore less the wider of blade and shaft,
 *      area = 4 * integral of max( sqrt(R^2 - x^2) - max(k sqrt(R^2 - x^2), d/2), 0 ) dx
 *    with k = cos(psi)/cos(psi0); midpoint rule; ours integrates polar sectors instead;
 * 2. the closed form of the textbooks (Heywood, sec. 7.6; equation from memory), with a = d/D:
 *      4A/(pi D^2) = (1 - cos psi/cos psi0)
 *        + (2/pi) [ (a/cos psi) sqrt(cos^2 psi - a^2 cos^2 psi0)
 *                   + (cos psi/cos psi0) asin(a cos psi0/cos psi) - a sqrt(1 - a^2) - asin(a) ]
 *    WARNING on signs: as remembered from print the two asin terms carry the opposite signs. Both versions
 *    vanish at psi0; only the signs above agree with 1., which is the judge here;
 * 3. the simple form with a leak and its published numbers (Guzzella and Onder's, read in coursework). */
#include "support/check.h"

#include "base/attributes.h"
#include "base/units.h"
#include "physics/bore.h"

enum { MIDPOINTS = 100000 };
#define MM2 UNITS_M2_PER_MM2

static const struct bore_film_shape no_shape = {2e-3, 0.0, 0.0, 0.0, 0.0};
static const struct bore_film no_film = {0.0, 0.0};

static struct bore_geometry metal(double diameter_mm, double shaft_mm, double closed_deg) {
  return (struct bore_geometry){0.5e-3 * diameter_mm, closed_deg * UNITS_RAD_PER_DEG, 1e-3 * shaft_mm, 0.0, 0.0, 0.0, 0.0};
}

static double area_mm2(const struct bore_geometry *bore, double angle_deg) {
  return bore_area_m2(bore, &no_shape, &no_film, angle_deg * UNITS_RAD_PER_DEG) / MM2;
}

static double brute_force_mm2(double diameter_mm, double shaft_mm, double closed_deg, double angle_deg) {
  const double radius = 0.5 * diameter_mm, half_shaft = 0.5 * shaft_mm;
  const double ratio = cos(angle_deg * UNITS_RAD_PER_DEG) / cos(closed_deg * UNITS_RAD_PER_DEG);
  const double width = 0.5 * UNITS_PI / MIDPOINTS;
  double sum = 0.0;
  for (int i = 0; i < MIDPOINTS; i++) {
    const double half_bore = radius * cos((i + 0.5) * width); // sqrt(R^2 - x^2), and dx = R cos(u) du
    sum += fmax(half_bore - fmax(ratio * half_bore, half_shaft), 0.0) * half_bore;
  }
  return 4.0 * sum * width;
}

static double closed_form_mm2(double diameter_mm, double shaft_mm, double closed_deg, double angle_deg) {
  const double a = shaft_mm / diameter_mm;
  const double c = cos(angle_deg * UNITS_RAD_PER_DEG), c0 = cos(closed_deg * UNITS_RAD_PER_DEG);
  const double bore_mm2 = 0.25 * UNITS_PI * diameter_mm * diameter_mm;
  if (a * c0 > c) // blade behind the shaft: bore less a strip of the shaft's width
    return bore_mm2 * (1.0 - 2.0 / UNITS_PI * (a * sqrt(1.0 - a * a) + asin(a)));
  const double shaft = a / c * sqrt(c * c - a * a * c0 * c0) + c / c0 * asin(a * c0 / c) - a * sqrt(1.0 - a * a) - asin(a);
  return bore_mm2 * (1.0 - c / c0 + 2.0 / UNITS_PI * shaft);
}

struct row {
  double angle_deg, area_mm2;
};

/* Derived: closed form, agreed with a quadrature in another program to 1e-4 mm2. */
static const struct row wide_with_shaft[] = {
    {8, 0},         {8.5, 3.2192},  {9, 6.6321},     {10, 14.0375},   {11, 22.2140},        {13, 40.8694},   {18, 100.7933},
    {30, 319.2441}, {45, 726.8101}, {60, 1254.5916}, {75, 1841.4600}, {79.9952, 1984.6963}, {85, 1984.6963}, {90, 1984.6963},
};
static const struct row wide_without_shaft[] = {
    {8, 0},         {8.5, 3.2267},  {9, 6.6475},    {10, 14.0703},   {11, 22.2661},   {13, 40.9666},
    {18, 101.0417}, {30, 320.1530}, {45, 729.6603}, {60, 1263.3405}, {75, 1884.8243},
};
static const struct row narrow_with_shaft[] = {
    {6.5, 1.8724},  {7, 3.8939},    {8, 8.3836},    {9, 13.4677},    {11, 25.4127},        {16, 65.5449},
    {30, 253.1431}, {45, 565.7579}, {60, 971.1947}, {75, 1427.3531}, {80.8440, 1565.2087}, {88, 1565.2087},
};

static const struct {
  double diameter_mm, shaft_mm, closed_deg;
  const struct row *rows;
  size_t count;
} throttles[] = {
    {57, 10, 8, wide_with_shaft, ARRAY_COUNT(wide_with_shaft)},
    {57, 0, 8, wide_without_shaft, ARRAY_COUNT(wide_without_shaft)},
    {50, 8, 6, narrow_with_shaft, ARRAY_COUNT(narrow_with_shaft)},
};

/* 1e-4 mm2: the last printed digit. Far inside the 0.1 % that docs/physics.md promises. */
static void printed_values(void **state) {
  (void)state;
  for (size_t t = 0; t < ARRAY_COUNT(throttles); t++) {
    const struct bore_geometry bore = metal(throttles[t].diameter_mm, throttles[t].shaft_mm, throttles[t].closed_deg);
    for (size_t i = 0; i < throttles[t].count; i++) {
      const struct row *row = &throttles[t].rows[i];
      check_close_at(row->angle_deg, area_mm2(&bore, row->angle_deg), row->area_mm2, 1e-4);
    }
  }
}

/* The judge of the signs, and of ours: 1e-6 of the area, plus 1e-7 mm2 where the area itself vanishes. */
static void brute_force(void **state) {
  (void)state;
  for (size_t t = 0; t < ARRAY_COUNT(throttles); t++) {
    const double diameter = throttles[t].diameter_mm, shaft = throttles[t].shaft_mm, closed = throttles[t].closed_deg;
    const struct bore_geometry bore = metal(diameter, shaft, closed);
    for (double angle = closed; angle <= 90.0; angle += angle < 20.0 ? 0.75 : 3.5) {
      const double expected = brute_force_mm2(diameter, shaft, closed, angle);
      check_close_at(angle, area_mm2(&bore, angle), expected, 1e-6 * expected + 1e-7);
      check_close_at(angle, closed_form_mm2(diameter, shaft, closed, angle), expected, 1e-6 * expected + 1e-7);
    }
  }
}

/* Beyond acos(a cos psi0) the blade stands in the shaft's shadow and opening it further changes nothing. */
static void constant_behind_shaft(void **state) {
  (void)state;
  const struct bore_geometry bore = metal(57, 10, 8);
  const double hidden_deg = acos(10.0 / 57.0 * cos(bore.closed_angle_rad)) / UNITS_RAD_PER_DEG;
  check_close(hidden_deg, 79.9952, 5e-5);
  const double most = area_mm2(&bore, 90.0);
  check_relative(area_mm2(&bore, hidden_deg), most, 1e-9);
  check_relative(area_mm2(&bore, hidden_deg + 4.0), most, 1e-12);
  check_below(area_mm2(&bore, hidden_deg - 1.0), most);
  check_relative(most, closed_form_mm2(57, 10, 8, 89.0), 1e-9);
}

/* A(alpha) = pi D^2/4 (1 - cos alpha/cos alpha0) + leak; D 58.7 mm, 7.9 deg, leak 5.3 mm2, all read; areas
 * derived, by share of the travel from closed to 90 degrees. */
static void published_simple_form(void **state) {
  (void)state;
  static const struct {
    double percent, area_mm2;
  } rows[] = {{0, 5.3000},  {1, 10.9585},  {2, 17.1716},   {3, 23.9378},    {4, 31.2559},
              {5, 39.1243}, {10, 86.6605}, {50, 917.2761}, {100, 2711.5386}};
  const struct bore_geometry bore = metal(58.7, 0, 7.9);
  for (size_t i = 0; i < ARRAY_COUNT(rows); i++) {
    const double angle = 7.9 + 0.01 * rows[i].percent * (90.0 - 7.9);
    check_close_at(rows[i].percent, area_mm2(&bore, angle) + 5.3, rows[i].area_mm2, 1e-4);
  }
}

/* Outside its range the docstring clamps: below the stop is the stop, beyond 90 degrees is 90 degrees. */
static void clamped(void **state) {
  (void)state;
  const struct bore_geometry bore = metal(57, 10, 8);
  check_close(area_mm2(&bore, 3.0), 0.0, 1e-9);
  check_relative(area_mm2(&bore, 100.0), area_mm2(&bore, 90.0), 1e-15);
}

/* The slope against the closed form's own derivative without a shaft: (pi D^2/4) sin psi / cos psi0. */
static void slope(void **state) {
  (void)state;
  const struct bore_geometry bore = metal(57, 0, 8);
  for (int angle = 9; angle <= 80; angle++) {
    const double psi = angle * UNITS_RAD_PER_DEG;
    const double expected = 0.25 * UNITS_PI * 0.057 * 0.057 * sin(psi) / cos(bore.closed_angle_rad);
    const double h = 1e-3; // rad; a cosine's third derivative makes h^2 / 6 of it
    const double rise = bore_area_m2(&bore, &no_shape, &no_film, psi + h) - bore_area_m2(&bore, &no_shape, &no_film, psi - h);
    check_relative_at(angle, rise / (2.0 * h), expected, 1e-6);
  }
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(printed_values),        cmocka_unit_test(brute_force), cmocka_unit_test(constant_behind_shaft),
      cmocka_unit_test(published_simple_form), cmocka_unit_test(clamped),     cmocka_unit_test(slope),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
