#include "physics/drive.h"

#include <math.h>

#define PRELOAD_WIDTH_RAD 0.004 // a quarter of a degree: play of the two springs where they meet

double drive_nm_per_v(const struct drive_params *drive) {
  return drive->gear_ratio * drive->motor_constant_nm_a / drive->resistance_ohm;
}

double drive_current_a(const struct drive_params *drive, double motor_v, double rate_rad_s) {
  return (motor_v - drive->motor_constant_nm_a * drive->gear_ratio * rate_rad_s) / drive->resistance_ohm;
}

double drive_motor_nm(const struct drive_params *drive, double motor_v, double rate_rad_s) {
  return drive->gear_ratio * drive->motor_constant_nm_a * drive_current_a(drive, motor_v, rate_rad_s);
}

double drive_spring_nm(const struct drive_params *drive, double opening_rad) {
  const double off = opening_rad - drive->rest_opening_rad;
  const double u = off / PRELOAD_WIDTH_RAD;
  return -drive->spring_nm_rad * off - drive->spring_preload_nm * u / sqrt(1.0 + u * u);
}

double drive_holding_v(const struct drive_params *drive, double opening_rad) {
  return -drive_spring_nm(drive, opening_rad) / drive_nm_per_v(drive);
}
