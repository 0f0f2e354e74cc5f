#include "sim/column_units.h"

#include "base/units.h"

#include <ctype.h>
#include <math.h>
#include <string.h>

enum { NAME_SIZE = 40 }; // longer is no unit

/* Limits that raise a question (a coolant of 190 C, a manifold of 5 kPa) are our own choice, wide of what an engine that idles or is
 * driven can show; 86400 s are a day, 655.35 g/s is the most that service 01 can tell. What no reading is beyond: our own choice again, far
 * beyond what service 01 has bytes for, but for speed and air flow: their highest, 16383.75 rpm and 655.35 g/s, are what all bits set
 * give, and all bits set of a counter are 65535. */
const struct column_units_row column_units_rows[COLUMN_UNITS_QUANTITY_COUNT] = {
    [COLUMN_UNITS_TIME] = {"s", "s, ms, us, min, h", -1.0, 86400.0, -1e11, 1e11},
    [COLUMN_UNITS_SPEED] = {"rpm", "rpm, rad/s", 0.0, 12000.0, -1.0, COLUMN_UNITS_SPEED_MOST_RPM},
    [COLUMN_UNITS_PRESSURE] = {"kPa", "kPa, Pa, hPa, mbar, bar, psi, inHg, mmHg (all absolute)", 10.0, 300.0, -1e3, 1e4},
    [COLUMN_UNITS_FLOW] = {"g/s", "g/s, kg/h, kg/min, kg/s, lb/min, lb/h", -5.0, 655.35, -1e4, 655.34},
    [COLUMN_UNITS_TEMPERATURE] = {"C", "C, F, K", -40.0, 140.0, -100.0, 2000.0},
    [COLUMN_UNITS_SHARE] = {"%", "%", -INFINITY, INFINITY, -1e4, 1e4},
    [COLUMN_UNITS_ANGLE] = {"deg", "deg", -INFINITY, INFINITY, -1e4, 1e4},
    [COLUMN_UNITS_RATIO] = {"1", "none", 0.4, 10.0, -10.0, 1e3},
    [COLUMN_UNITS_VOLTAGE] = {"V", "V, mV", 4.0, 33.0, -1e3, 1e3},
    [COLUMN_UNITS_COUNT] = {"steps", "steps", -INFINITY, INFINITY, -1e6, 65534.0},
    [COLUMN_UNITS_SWITCH] = {"0 or 1", "none", -INFINITY, INFINITY, -1e6, 65534.0},
    [COLUMN_UNITS_ROAD] = {"km/h", "km/h, mph, m/s", 0.0, 400.0, -1e3, 1e4},
    [COLUMN_UNITS_OWN] = {"", "that of the name", -INFINITY, INFINITY, -COLUMN_UNITS_ANY_MOST, COLUMN_UNITS_ANY_MOST},
};

/* Columns: spelling in small letters without blanks, quantity, factor and offset to the channel's unit.
 * Pounds, miles, inches of mercury at 0 degrees C and pounds per square inch: NIST SP 811 (2008), appendix B.8. */
static const struct unit_row {
  const char *name;
  enum column_units_quantity quantity;
  double factor, offset;
} unit_rows[] = {
    {"s", COLUMN_UNITS_TIME, 1.0, 0.0},
    {"sec", COLUMN_UNITS_TIME, 1.0, 0.0},
    {"secs", COLUMN_UNITS_TIME, 1.0, 0.0},
    {"second", COLUMN_UNITS_TIME, 1.0, 0.0},
    {"seconds", COLUMN_UNITS_TIME, 1.0, 0.0},
    {"ms", COLUMN_UNITS_TIME, 1e-3, 0.0},
    {"msec", COLUMN_UNITS_TIME, 1e-3, 0.0},
    {"millis", COLUMN_UNITS_TIME, 1e-3, 0.0},
    {"milliseconds", COLUMN_UNITS_TIME, 1e-3, 0.0},
    {"min", COLUMN_UNITS_TIME, 60.0, 0.0},
    {"minutes", COLUMN_UNITS_TIME, 60.0, 0.0},
    {"mins", COLUMN_UNITS_TIME, 60.0, 0.0},
    {"h", COLUMN_UNITS_TIME, 3600.0, 0.0},
    {"hours", COLUMN_UNITS_TIME, 3600.0, 0.0},
    {"hr", COLUMN_UNITS_TIME, 3600.0, 0.0},
    {"us", COLUMN_UNITS_TIME, 1e-6, 0.0},
    {"microseconds", COLUMN_UNITS_TIME, 1e-6, 0.0},
    {"rpm", COLUMN_UNITS_SPEED, 1.0, 0.0},
    {"1/min", COLUMN_UNITS_SPEED, 1.0, 0.0},
    {"min-1", COLUMN_UNITS_SPEED, 1.0, 0.0},
    {"/min", COLUMN_UNITS_SPEED, 1.0, 0.0},
    {"r/min", COLUMN_UNITS_SPEED, 1.0, 0.0},
    {"rev/min", COLUMN_UNITS_SPEED, 1.0, 0.0},
    {"u/min", COLUMN_UNITS_SPEED, 1.0, 0.0},
    {"rad/s", COLUMN_UNITS_SPEED, 1.0 / UNITS_RAD_S_PER_RPM, 0.0},
    {"kpa", COLUMN_UNITS_PRESSURE, 1.0, 0.0},
    {"kpaa", COLUMN_UNITS_PRESSURE, 1.0, 0.0},
    {"kpaabs", COLUMN_UNITS_PRESSURE, 1.0, 0.0},
    {"pa", COLUMN_UNITS_PRESSURE, 1e-3, 0.0},
    {"hpa", COLUMN_UNITS_PRESSURE, 0.1, 0.0},
    {"mbar", COLUMN_UNITS_PRESSURE, 0.1, 0.0},
    {"millibar", COLUMN_UNITS_PRESSURE, 0.1, 0.0},
    {"bar", COLUMN_UNITS_PRESSURE, 100.0, 0.0},
    {"psi", COLUMN_UNITS_PRESSURE, 6.894757, 0.0},
    {"psia", COLUMN_UNITS_PRESSURE, 6.894757, 0.0},
    {"inhg", COLUMN_UNITS_PRESSURE, 3.38638, 0.0},
    {"in.hg", COLUMN_UNITS_PRESSURE, 3.38638, 0.0},
    {"mmhg", COLUMN_UNITS_PRESSURE, 0.1333224, 0.0},
    {"g/s", COLUMN_UNITS_FLOW, 1.0, 0.0},
    {"gm/s", COLUMN_UNITS_FLOW, 1.0, 0.0},
    {"g/sec", COLUMN_UNITS_FLOW, 1.0, 0.0},
    {"gps", COLUMN_UNITS_FLOW, 1.0, 0.0},
    {"kg/h", COLUMN_UNITS_FLOW, 1.0 / 3.6, 0.0},
    {"kg/hr", COLUMN_UNITS_FLOW, 1.0 / 3.6, 0.0},
    {"kg/s", COLUMN_UNITS_FLOW, 1000.0, 0.0},
    {"lb/min", COLUMN_UNITS_FLOW, 453.59237 / 60.0, 0.0},
    {"lbs/min", COLUMN_UNITS_FLOW, 453.59237 / 60.0, 0.0},
    {"lbm/min", COLUMN_UNITS_FLOW, 453.59237 / 60.0, 0.0},
    {"lb/h", COLUMN_UNITS_FLOW, 453.59237 / 3600.0, 0.0},
    {"lb/hr", COLUMN_UNITS_FLOW, 453.59237 / 3600.0, 0.0},
    {"kg/min", COLUMN_UNITS_FLOW, 1000.0 / 60.0, 0.0},
    {"grams/sec", COLUMN_UNITS_FLOW, 1.0, 0.0},
    {"grams/s", COLUMN_UNITS_FLOW, 1.0, 0.0},
    {"c", COLUMN_UNITS_TEMPERATURE, 1.0, 0.0},
    {"degc", COLUMN_UNITS_TEMPERATURE, 1.0, 0.0},
    {"celsius", COLUMN_UNITS_TEMPERATURE, 1.0, 0.0},
    {"deg.c", COLUMN_UNITS_TEMPERATURE, 1.0, 0.0},
    {"degreesc", COLUMN_UNITS_TEMPERATURE, 1.0, 0.0},
    {"degcelsius", COLUMN_UNITS_TEMPERATURE, 1.0, 0.0},
    {"f", COLUMN_UNITS_TEMPERATURE, 5.0 / 9.0, -160.0 / 9.0},
    {"degf", COLUMN_UNITS_TEMPERATURE, 5.0 / 9.0, -160.0 / 9.0},
    {"fahrenheit", COLUMN_UNITS_TEMPERATURE, 5.0 / 9.0, -160.0 / 9.0},
    {"deg.f", COLUMN_UNITS_TEMPERATURE, 5.0 / 9.0, -160.0 / 9.0},
    {"degreesf", COLUMN_UNITS_TEMPERATURE, 5.0 / 9.0, -160.0 / 9.0},
    {"k", COLUMN_UNITS_TEMPERATURE, 1.0, -UNITS_KELVIN_AT_ZERO_C},
    {"kelvin", COLUMN_UNITS_TEMPERATURE, 1.0, -UNITS_KELVIN_AT_ZERO_C},
    {"%", COLUMN_UNITS_SHARE, 1.0, 0.0},
    {"pct", COLUMN_UNITS_SHARE, 1.0, 0.0},
    {"percent", COLUMN_UNITS_SHARE, 1.0, 0.0},
    {"deg", COLUMN_UNITS_ANGLE, 1.0, 0.0},
    {"degree", COLUMN_UNITS_ANGLE, 1.0, 0.0},
    {"degrees", COLUMN_UNITS_ANGLE, 1.0, 0.0},
    {"degbtdc", COLUMN_UNITS_ANGLE, 1.0, 0.0},
    {"degrel", COLUMN_UNITS_ANGLE, 1.0, 0.0},
    {"degca", COLUMN_UNITS_ANGLE, 1.0, 0.0},
    {"1", COLUMN_UNITS_RATIO, 1.0, 0.0},
    {"ratio", COLUMN_UNITS_RATIO, 1.0, 0.0},
    {"lambda", COLUMN_UNITS_RATIO, 1.0, 0.0},
    {"v", COLUMN_UNITS_VOLTAGE, 1.0, 0.0},
    {"volt", COLUMN_UNITS_VOLTAGE, 1.0, 0.0},
    {"volts", COLUMN_UNITS_VOLTAGE, 1.0, 0.0},
    {"mv", COLUMN_UNITS_VOLTAGE, 1e-3, 0.0},
    {"steps", COLUMN_UNITS_COUNT, 1.0, 0.0},
    {"step", COLUMN_UNITS_COUNT, 1.0, 0.0},
    {"counts", COLUMN_UNITS_COUNT, 1.0, 0.0},
    {"0/1", COLUMN_UNITS_SWITCH, 1.0, 0.0},
    {"on/off", COLUMN_UNITS_SWITCH, 1.0, 0.0},
    {"km/h", COLUMN_UNITS_ROAD, 1.0, 0.0},
    {"kmh", COLUMN_UNITS_ROAD, 1.0, 0.0},
    {"kph", COLUMN_UNITS_ROAD, 1.0, 0.0},
    {"mph", COLUMN_UNITS_ROAD, 1.609344, 0.0},
    {"m/s", COLUMN_UNITS_ROAD, 3.6, 0.0},
};

/* A degree sign or the like: its bytes, 0 if it is none. As UTF-8 or Latin-1; as UTF-8 that was taken for Latin-1 and written as UTF-8
 * again; or as what stands where somebody could not read one (U+FFFD, or ? before the letter of a scale). */
static size_t degree_sign(const char *text, size_t size) {
  static const char *const signs[] = {"\xC2\xB0", "\xC2\xBA", "\xC3\x82\xC2\xB0", "\xC3\x82\xC2\xBA", "\xEF\xBF\xBD",
                                      "\xB0",     "\xBA"};
  for (size_t i = 0; i < ARRAY_COUNT(signs); i++)
    if (strlen(signs[i]) <= size && memcmp(text, signs[i], strlen(signs[i])) == 0) return strlen(signs[i]);
  return size == 2 && text[0] == '?' && text[1] && strchr("CcFf", text[1]) ? 1 : 0;
}

/* Small letters without blanks; a degree sign becomes `deg`. */
static bool plain_unit(const char *text, size_t size, char name[NAME_SIZE]) {
  size_t length = 0;
  for (size_t i = 0; i < size; i++) {
    if (length + 4 >= NAME_SIZE) return false;
    const size_t sign = degree_sign(text + i, size - i);
    if (sign > 0) {
      memcpy(name + length, "deg", 3);
      length += 3;
      i += sign - 1;
    } else if (text[i] != ' ' && text[i] != '\t') {
      name[length++] = (char)tolower((unsigned char)text[i]);
    }
  }
  name[length] = '\0';
  return true;
}

bool column_units_find(enum column_units_quantity quantity, const char *unit, size_t size, double *factor, double *offset) {
  char name[NAME_SIZE];
  if (!plain_unit(unit, size, name)) return false;
  for (size_t i = 0; i < ARRAY_COUNT(unit_rows); i++) {
    if (unit_rows[i].quantity != quantity || strcmp(unit_rows[i].name, name) != 0) continue;
    *factor = unit_rows[i].factor;
    *offset = unit_rows[i].offset;
    return true;
  }
  return false;
}

enum column_units_quantity column_units_of(const char *own) {
  static const struct {
    const char *suffix;
    enum column_units_quantity quantity;
  } suffixes[] = {{"_rpm", COLUMN_UNITS_SPEED},     {"_kpa", COLUMN_UNITS_PRESSURE}, {"_gps", COLUMN_UNITS_FLOW},
                  {"_c", COLUMN_UNITS_TEMPERATURE}, {"_pct", COLUMN_UNITS_SHARE},    {"_deg", COLUMN_UNITS_ANGLE},
                  {"_v", COLUMN_UNITS_VOLTAGE},     {"_steps", COLUMN_UNITS_COUNT},  {"_s", COLUMN_UNITS_TIME}};
  const char *suffix = strrchr(own, '_');
  for (size_t i = 0; suffix && i < ARRAY_COUNT(suffixes); i++)
    if (strcmp(suffix, suffixes[i].suffix) == 0) return suffixes[i].quantity;
  return COLUMN_UNITS_OWN;
}
