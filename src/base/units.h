/* Trade units to SI. Used only at the edges: files, command line, tables, plots. Inside, every quantity is SI. */
#ifndef BASE_UNITS_H
#define BASE_UNITS_H

#define UNITS_PI 3.14159265358979323846

#define UNITS_RAD_PER_DEG      (UNITS_PI / 180.0)
#define UNITS_RAD_S_PER_RPM    (UNITS_PI / 30.0)
#define UNITS_PA_PER_KPA       1e3
#define UNITS_PA_PER_BAR       1e5
#define UNITS_M_PER_MM         1e-3
#define UNITS_M_PER_UM         1e-6
#define UNITS_M2_PER_MM2       1e-6
#define UNITS_M3_PER_L         1e-3
#define UNITS_KG_S_PER_GPS     1e-3
#define UNITS_KG_PER_MG        1e-6
#define UNITS_RATIO_PER_PCT    1e-2
#define UNITS_KELVIN_AT_ZERO_C 273.15

#endif
