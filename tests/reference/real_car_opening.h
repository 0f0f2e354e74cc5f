/* The opening curve of a real car: position, open area times discharge (10th, 50th, 90th percentile of its steady points, coolant from 80 C).
 *
 * Derived from the data set of a master's thesis on coolant-sensor anomalies ("Detecting Anomalies in the Engine Coolant Sensor Using
 * One-Class Classifiers", IEEE, document 8891367), public repository eron93br/carOBD, "free to everyone": one production car of 2014,
 * 1.496 l four, electronic throttle, metered by manifold pressure, 129 logs; a row every 0.49 s, each value asked for every 1.8 s.
 * Whether it is sound is not known. Air by a charge law with 0.9 p - 6.5 kPa: levels may be off by 10 to 15 %, shapes are not. */
#ifndef TESTS_REFERENCE_REAL_CAR_OPENING_H
#define TESTS_REFERENCE_REAL_CAR_OPENING_H

struct real_car_opening_row {
  double position_pct, low_mm2, middle_mm2, high_mm2;
};

#define REAL_CAR_OPENING_DISPLACEMENT_M3 1.496e-3
#define REAL_CAR_OPENING_STOP_PCT        13.33 // position while cranking begins, taken as the stop

static const struct real_car_opening_row real_car_opening_rows[] = {
    // clang-format off
    {15.29, 5.4, 5.8, 6.1},    {15.69, 5.5, 5.9, 6.4},    {16.08, 6.5, 7.2, 7.8},    {16.47, 7.4, 7.9, 8.5},
    {16.86, 8.2, 8.9, 9.6},    {17.25, 8.9, 9.9, 11.1},   {17.65, 10.2, 11.5, 12.4}, {18.04, 11.5, 12.2, 12.9},
    {18.43, 12.2, 13.0, 14.0}, {18.82, 13.4, 14.2, 15.2}, {19.22, 14.5, 15.5, 16.9}, {20.00, 18.0, 19.7, 21.5},
    {20.78, 22.4, 24.3, 26.2}, {21.57, 27.5, 29.3, 31.4}, {22.35, 32.4, 34.7, 37.1}, {23.14, 38.7, 40.8, 43.3},
    {24.31, 46.7, 49.5, 52.6}, {25.49, 57.0, 59.7, 63.1}, {27.06, 71.3, 75.1, 78.8}, {28.63, 85.3, 89.8, 93.0},
    {30.20, 100.6, 105.7, 109.9},
    // clang-format on
};

#endif
