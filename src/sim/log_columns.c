#include "sim/log_columns.h"

#include "base/attributes.h"
#include "base/near_miss.h"

#include <ctype.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

/* ---- Units ---- */

/* What kind of quantity a column holds, and so which units its header may name. */
enum quantity { TIME, SPEED, PRESSURE, FLOW, TEMPERATURE, SHARE, ANGLE, RATIO, VOLTAGE, COUNT, SWITCH, OWN, QUANTITY_COUNT };

/* Columns: unit that is assumed; all that are understood; least and most that can be true, in the channel's
 * unit. The limits only raise a question about an assumed unit (a coolant of 190 C, a manifold of 5 kPa) and
 * are our own choice, wide of what an engine that idles or is driven can show; 86400 s are a day, 655.35 g/s
 * is the most that service 01 can tell. Beyond lowest and highest nothing is a reading, whatever the unit; our own choice again, far
 * beyond what service 01 has bytes for, but for speed: its highest, 16383.75 rpm, is what all bits set give, and all bits set of a counter
 * of whole rpm are 65535. */
static const struct {
  const char *standard;
  const char *units;
  double least, most;
  double lowest, highest;
} quantities[QUANTITY_COUNT] = {
    [TIME] = {"s", "s, ms, min, h", -1.0, 86400.0, -1e11, 1e11},
    [SPEED] = {"rpm", "rpm, rad/s", 0.0, 12000.0, -1.0, LOG_COLUMNS_SPEED_MOST_RPM},
    [PRESSURE] = {"kPa", "kPa, Pa, hPa, mbar, bar, psi, inHg, mmHg (all absolute)", 10.0, 300.0, -1e3, 1e4},
    [FLOW] = {"g/s", "g/s, kg/h, kg/s, lb/min", -5.0, 655.35, -1e4, 1e4},
    [TEMPERATURE] = {"C", "C, F, K", -40.0, 140.0, -100.0, 2000.0},
    [SHARE] = {"%", "%", -INFINITY, INFINITY, -1e5, 1e5},
    [ANGLE] = {"deg", "deg", -INFINITY, INFINITY, -1e4, 1e4},
    [RATIO] = {"1", "none", 0.4, 10.0, -10.0, 1e3},
    [VOLTAGE] = {"V", "V, mV", 4.0, 33.0, -1e3, 1e3},
    [COUNT] = {"steps", "steps", -INFINITY, INFINITY, -1e6, 1e6},
    [SWITCH] = {"0 or 1", "none", -INFINITY, INFINITY, -1e6, 1e6},
    [OWN] = {"", "that of the name", -INFINITY, INFINITY, -LOG_COLUMNS_ANY_MOST, LOG_COLUMNS_ANY_MOST},
};

/* Columns: spelling in small letters without blanks, quantity, factor and offset to the channel's unit.
 * Pounds, inches of mercury at 0 degrees C and pounds per square inch: NIST SP 811 (2008), appendix B.8. */
static const struct unit_row {
  const char *name;
  enum quantity quantity;
  double factor, offset;
} unit_rows[] = {
    {"s", TIME, 1.0, 0.0},
    {"sec", TIME, 1.0, 0.0},
    {"secs", TIME, 1.0, 0.0},
    {"second", TIME, 1.0, 0.0},
    {"seconds", TIME, 1.0, 0.0},
    {"ms", TIME, 1e-3, 0.0},
    {"msec", TIME, 1e-3, 0.0},
    {"millis", TIME, 1e-3, 0.0},
    {"milliseconds", TIME, 1e-3, 0.0},
    {"min", TIME, 60.0, 0.0},
    {"minutes", TIME, 60.0, 0.0},
    {"h", TIME, 3600.0, 0.0},
    {"hours", TIME, 3600.0, 0.0},
    {"rpm", SPEED, 1.0, 0.0},
    {"1/min", SPEED, 1.0, 0.0},
    {"min-1", SPEED, 1.0, 0.0},
    {"/min", SPEED, 1.0, 0.0},
    {"r/min", SPEED, 1.0, 0.0},
    {"rev/min", SPEED, 1.0, 0.0},
    {"u/min", SPEED, 1.0, 0.0},
    {"rad/s", SPEED, 1.0 / UNITS_RAD_S_PER_RPM, 0.0},
    {"kpa", PRESSURE, 1.0, 0.0},
    {"kpaa", PRESSURE, 1.0, 0.0},
    {"kpaabs", PRESSURE, 1.0, 0.0},
    {"pa", PRESSURE, 1e-3, 0.0},
    {"hpa", PRESSURE, 0.1, 0.0},
    {"mbar", PRESSURE, 0.1, 0.0},
    {"bar", PRESSURE, 100.0, 0.0},
    {"psi", PRESSURE, 6.894757, 0.0},
    {"psia", PRESSURE, 6.894757, 0.0},
    {"inhg", PRESSURE, 3.38638, 0.0},
    {"in.hg", PRESSURE, 3.38638, 0.0},
    {"mmhg", PRESSURE, 0.1333224, 0.0},
    {"g/s", FLOW, 1.0, 0.0},
    {"gm/s", FLOW, 1.0, 0.0},
    {"g/sec", FLOW, 1.0, 0.0},
    {"gps", FLOW, 1.0, 0.0},
    {"kg/h", FLOW, 1.0 / 3.6, 0.0},
    {"kg/hr", FLOW, 1.0 / 3.6, 0.0},
    {"kg/s", FLOW, 1000.0, 0.0},
    {"lb/min", FLOW, 453.59237 / 60.0, 0.0},
    {"lbs/min", FLOW, 453.59237 / 60.0, 0.0},
    {"c", TEMPERATURE, 1.0, 0.0},
    {"degc", TEMPERATURE, 1.0, 0.0},
    {"celsius", TEMPERATURE, 1.0, 0.0},
    {"f", TEMPERATURE, 5.0 / 9.0, -160.0 / 9.0},
    {"degf", TEMPERATURE, 5.0 / 9.0, -160.0 / 9.0},
    {"fahrenheit", TEMPERATURE, 5.0 / 9.0, -160.0 / 9.0},
    {"k", TEMPERATURE, 1.0, -UNITS_KELVIN_AT_ZERO_C},
    {"%", SHARE, 1.0, 0.0},
    {"pct", SHARE, 1.0, 0.0},
    {"percent", SHARE, 1.0, 0.0},
    {"deg", ANGLE, 1.0, 0.0},
    {"degree", ANGLE, 1.0, 0.0},
    {"degrees", ANGLE, 1.0, 0.0},
    {"degbtdc", ANGLE, 1.0, 0.0},
    {"degrel", ANGLE, 1.0, 0.0},
    {"1", RATIO, 1.0, 0.0},
    {"ratio", RATIO, 1.0, 0.0},
    {"lambda", RATIO, 1.0, 0.0},
    {"v", VOLTAGE, 1.0, 0.0},
    {"volt", VOLTAGE, 1.0, 0.0},
    {"volts", VOLTAGE, 1.0, 0.0},
    {"mv", VOLTAGE, 1e-3, 0.0},
    {"steps", COUNT, 1.0, 0.0},
    {"step", COUNT, 1.0, 0.0},
    {"counts", COUNT, 1.0, 0.0},
    {"0/1", SWITCH, 1.0, 0.0},
};

/* ---- Spellings ---- */

#define NEEDED "" // the name alone could mean anything; with a unit of the quantity it is clear

static const char relative_remark[] = "by the standard it is 0 at the closed stop and ends well below 100 "
                                      "wide open, so as blade_pct it reads low; "
                                      "--engine FILE corrects that";

/* Columns: name in small letters, words parted by one blank; channel; quantity; unit that the name itself
 * tells, NULL for the quantity's standard one, or NEEDED; remark. First the standard's name of a channel,
 * then plain ones.
 *
 * Left out on purpose: accelerator pedal positions D and E and throttle positions B and C, which do not rest
 * at the zero (or at the reading) of our channel; vacuum and boost, which are not absolute pressures;
 * absolute load. */
static const struct spelling_row {
  const char *name;
  enum channel channel;
  enum quantity quantity;
  const char *unit;
  const char *remark;
} spelling_rows[] = {
    {"time", CHANNEL_time_s, TIME, NULL, NULL},
    {"elapsed time", CHANNEL_time_s, TIME, NULL, NULL},
    {"elapsed", CHANNEL_time_s, TIME, NULL, NULL},
    {"relative time", CHANNEL_time_s, TIME, NULL, NULL},
    {"log time", CHANNEL_time_s, TIME, NULL, NULL},
    {"timestamp", CHANNEL_time_s, TIME, NULL, NULL},
    {"time stamp", CHANNEL_time_s, TIME, NULL, NULL},
    {"t", CHANNEL_time_s, TIME, NULL, NULL},
    {"seconds", CHANNEL_time_s, TIME, "s", NULL},

    {"engine rpm", CHANNEL_speed_rpm, SPEED, "rpm", NULL},
    {"rpm", CHANNEL_speed_rpm, SPEED, "rpm", NULL},
    {"engine speed", CHANNEL_speed_rpm, SPEED, NULL, NULL},
    {"crankshaft speed", CHANNEL_speed_rpm, SPEED, NULL, NULL},
    {"crank speed", CHANNEL_speed_rpm, SPEED, NULL, NULL},
    {"engine", CHANNEL_speed_rpm, SPEED, NEEDED, NULL},
    {"speed", CHANNEL_speed_rpm, SPEED, NEEDED, NULL},

    {"target idle speed", CHANNEL_target_rpm, SPEED, NULL, NULL},
    {"desired idle speed", CHANNEL_target_rpm, SPEED, NULL, NULL},
    {"commanded idle speed", CHANNEL_target_rpm, SPEED, NULL, NULL},
    {"idle target", CHANNEL_target_rpm, SPEED, NULL, NULL},
    {"target idle", CHANNEL_target_rpm, SPEED, NULL, NULL},
    {"desired idle", CHANNEL_target_rpm, SPEED, NULL, NULL},
    {"target speed", CHANNEL_target_rpm, SPEED, NEEDED, NULL},
    {"target", CHANNEL_target_rpm, SPEED, NEEDED, NULL},

    {"absolute throttle position", CHANNEL_tp_pct, SHARE, NULL, NULL},
    {"absolute throttle position a", CHANNEL_tp_pct, SHARE, NULL, NULL},
    {"abs throttle position", CHANNEL_tp_pct, SHARE, NULL, NULL},
    {"throttle position absolute", CHANNEL_tp_pct, SHARE, NULL, NULL},
    {"throttle position sensor", CHANNEL_tp_pct, SHARE, NULL, NULL},
    {"throttle position", CHANNEL_tp_pct, SHARE, NULL, NULL},
    {"throttle pos", CHANNEL_tp_pct, SHARE, NULL, NULL},
    {"throttle", CHANNEL_tp_pct, SHARE, NULL, NULL},
    {"tp sensor", CHANNEL_tp_pct, SHARE, NULL, NULL},
    {"tps", CHANNEL_tp_pct, SHARE, NULL, NULL},
    {"tp", CHANNEL_tp_pct, SHARE, NULL, NULL},

    {"relative throttle position", CHANNEL_blade_pct, SHARE, NULL, relative_remark},
    {"rel throttle position", CHANNEL_blade_pct, SHARE, NULL, relative_remark},
    {"throttle position relative", CHANNEL_blade_pct, SHARE, NULL, relative_remark},
    {"tp rel", CHANNEL_blade_pct, SHARE, NULL, relative_remark},

    {"intake manifold absolute pressure", CHANNEL_manifold_kpa, PRESSURE, NULL, NULL},
    {"manifold absolute pressure", CHANNEL_manifold_kpa, PRESSURE, NULL, NULL},
    {"intake manifold pressure", CHANNEL_manifold_kpa, PRESSURE, NULL, NULL},
    {"manifold pressure", CHANNEL_manifold_kpa, PRESSURE, NULL, NULL},
    {"map sensor", CHANNEL_manifold_kpa, PRESSURE, NULL, NULL},
    {"map", CHANNEL_manifold_kpa, PRESSURE, NULL, NULL},

    {"air flow rate from mass air flow sensor", CHANNEL_maf_gps, FLOW, NULL, NULL},
    {"mass air flow rate", CHANNEL_maf_gps, FLOW, NULL, NULL},
    {"mass air flow sensor", CHANNEL_maf_gps, FLOW, NULL, NULL},
    {"mass air flow", CHANNEL_maf_gps, FLOW, NULL, NULL},
    {"mass airflow", CHANNEL_maf_gps, FLOW, NULL, NULL},
    {"air flow rate", CHANNEL_maf_gps, FLOW, NULL, NULL},
    {"maf air flow rate", CHANNEL_maf_gps, FLOW, NULL, NULL},
    {"air flow", CHANNEL_maf_gps, FLOW, NULL, NULL},
    {"airflow", CHANNEL_maf_gps, FLOW, NULL, NULL},
    {"maf sensor", CHANNEL_maf_gps, FLOW, NULL, NULL},
    {"maf rate", CHANNEL_maf_gps, FLOW, NULL, NULL},
    {"maf", CHANNEL_maf_gps, FLOW, NULL, NULL},

    {"calculated load value", CHANNEL_load_pct, SHARE, NULL, NULL},
    {"calculated load", CHANNEL_load_pct, SHARE, NULL, NULL},
    {"calculated engine load", CHANNEL_load_pct, SHARE, NULL, NULL},
    {"calculated engine load value", CHANNEL_load_pct, SHARE, NULL, NULL},
    {"engine load", CHANNEL_load_pct, SHARE, NULL, NULL},
    {"calc load", CHANNEL_load_pct, SHARE, NULL, NULL},
    {"load", CHANNEL_load_pct, SHARE, NULL, NULL},

    {"engine coolant temperature", CHANNEL_coolant_c, TEMPERATURE, NULL, NULL},
    {"engine coolant temp", CHANNEL_coolant_c, TEMPERATURE, NULL, NULL},
    {"coolant temperature", CHANNEL_coolant_c, TEMPERATURE, NULL, NULL},
    {"coolant temp", CHANNEL_coolant_c, TEMPERATURE, NULL, NULL},
    {"coolant", CHANNEL_coolant_c, TEMPERATURE, NULL, NULL},
    {"ect", CHANNEL_coolant_c, TEMPERATURE, NULL, NULL},

    {"intake air temperature", CHANNEL_intake_c, TEMPERATURE, NULL, NULL},
    {"intake air temp", CHANNEL_intake_c, TEMPERATURE, NULL, NULL},
    {"intake temperature", CHANNEL_intake_c, TEMPERATURE, NULL, NULL},
    {"intake temp", CHANNEL_intake_c, TEMPERATURE, NULL, NULL},
    {"iat", CHANNEL_intake_c, TEMPERATURE, NULL, NULL},

    {"ignition timing advance for 1 cylinder", CHANNEL_spark_deg, ANGLE, NULL, NULL},
    {"ignition timing advance", CHANNEL_spark_deg, ANGLE, NULL, NULL},
    {"timing advance", CHANNEL_spark_deg, ANGLE, NULL, NULL},
    {"ignition timing", CHANNEL_spark_deg, ANGLE, NULL, NULL},
    {"ignition advance", CHANNEL_spark_deg, ANGLE, NULL, NULL},
    {"spark advance", CHANNEL_spark_deg, ANGLE, NULL, NULL},
    {"spark timing", CHANNEL_spark_deg, ANGLE, NULL, NULL},
    {"spark", CHANNEL_spark_deg, ANGLE, NULL, NULL},

    {"relative accelerator pedal position", CHANNEL_pedal_pct, SHARE, NULL, NULL},
    {"accelerator pedal position relative", CHANNEL_pedal_pct, SHARE, NULL, NULL},
    {"rel accelerator pedal position", CHANNEL_pedal_pct, SHARE, NULL, NULL},

    {"air conditioning request", CHANNEL_air_conditioning, SWITCH, NULL, NULL},
    {"a c request", CHANNEL_air_conditioning, SWITCH, NULL, NULL},
    {"ac request", CHANNEL_air_conditioning, SWITCH, NULL, NULL},
    {"a c", CHANNEL_air_conditioning, SWITCH, NULL, NULL},
    {"ac", CHANNEL_air_conditioning, SWITCH, NULL, NULL},
    {"in gear", CHANNEL_drive, SWITCH, NULL, NULL},

    {"short term fuel trim bank 1", CHANNEL_stft_pct, SHARE, NULL, NULL},
    {"short term fuel trim", CHANNEL_stft_pct, SHARE, NULL, NULL},
    {"short fuel trim bank 1", CHANNEL_stft_pct, SHARE, NULL, NULL},
    {"short fuel trim", CHANNEL_stft_pct, SHARE, NULL, NULL},
    {"stft bank 1", CHANNEL_stft_pct, SHARE, NULL, NULL},
    {"stft b1", CHANNEL_stft_pct, SHARE, NULL, NULL},
    {"stft1", CHANNEL_stft_pct, SHARE, NULL, NULL},
    {"stft", CHANNEL_stft_pct, SHARE, NULL, NULL},
    {"shrtft1", CHANNEL_stft_pct, SHARE, NULL, NULL},

    {"long term fuel trim bank 1", CHANNEL_ltft_pct, SHARE, NULL, NULL},
    {"long term fuel trim", CHANNEL_ltft_pct, SHARE, NULL, NULL},
    {"long fuel trim bank 1", CHANNEL_ltft_pct, SHARE, NULL, NULL},
    {"long fuel trim", CHANNEL_ltft_pct, SHARE, NULL, NULL},
    {"ltft bank 1", CHANNEL_ltft_pct, SHARE, NULL, NULL},
    {"ltft b1", CHANNEL_ltft_pct, SHARE, NULL, NULL},
    {"ltft1", CHANNEL_ltft_pct, SHARE, NULL, NULL},
    {"ltft", CHANNEL_ltft_pct, SHARE, NULL, NULL},
    {"longft1", CHANNEL_ltft_pct, SHARE, NULL, NULL},

    {"short term fuel trim bank 2", CHANNEL_stft2_pct, SHARE, NULL, NULL},
    {"short fuel trim bank 2", CHANNEL_stft2_pct, SHARE, NULL, NULL},
    {"stft bank 2", CHANNEL_stft2_pct, SHARE, NULL, NULL},
    {"stft b2", CHANNEL_stft2_pct, SHARE, NULL, NULL},
    {"stft2", CHANNEL_stft2_pct, SHARE, NULL, NULL},
    {"shrtft2", CHANNEL_stft2_pct, SHARE, NULL, NULL},

    {"long term fuel trim bank 2", CHANNEL_ltft2_pct, SHARE, NULL, NULL},
    {"long fuel trim bank 2", CHANNEL_ltft2_pct, SHARE, NULL, NULL},
    {"ltft bank 2", CHANNEL_ltft2_pct, SHARE, NULL, NULL},
    {"ltft b2", CHANNEL_ltft2_pct, SHARE, NULL, NULL},
    {"ltft2", CHANNEL_ltft2_pct, SHARE, NULL, NULL},
    {"longft2", CHANNEL_ltft2_pct, SHARE, NULL, NULL},

    {"equivalence ratio lambda bank 1 sensor 1", CHANNEL_lambda, RATIO, NULL, NULL},
    {"lambda bank 1", CHANNEL_lambda, RATIO, NULL, NULL},
    {"lambda sensor", CHANNEL_lambda, RATIO, NULL, NULL},
    {"lambda 1", CHANNEL_lambda, RATIO, NULL, NULL},
    {"equivalence ratio lambda bank 2 sensor 1", CHANNEL_lambda2, RATIO, NULL, NULL},
    {"lambda bank 2", CHANNEL_lambda2, RATIO, NULL, NULL},
    {"lambda 2", CHANNEL_lambda2, RATIO, NULL, NULL},

    // what an engine metered by pressure reads; "MAP" alone is taken for the true pressure, which every engine has
    {"manifold absolute pressure sensor", CHANNEL_map_kpa, PRESSURE, NULL, NULL},
    {"manifold pressure sensor", CHANNEL_map_kpa, PRESSURE, NULL, NULL},
    {"map sensor reading", CHANNEL_map_kpa, PRESSURE, NULL, NULL},

    {"control module voltage", CHANNEL_battery_v, VOLTAGE, NULL, NULL},
    {"battery voltage", CHANNEL_battery_v, VOLTAGE, NULL, NULL},
    {"system voltage", CHANNEL_battery_v, VOLTAGE, NULL, NULL},
    {"charging voltage", CHANNEL_battery_v, VOLTAGE, NULL, NULL},
    {"battery", CHANNEL_battery_v, VOLTAGE, NULL, NULL},
    {"vbat", CHANNEL_battery_v, VOLTAGE, NULL, NULL},

    {"idle valve steps", CHANNEL_bypass_steps, COUNT, NULL, NULL},
    {"idle air control steps", CHANNEL_bypass_steps, COUNT, NULL, NULL},
    {"idle air control position", CHANNEL_bypass_steps, COUNT, NEEDED, NULL},
    {"iac steps", CHANNEL_bypass_steps, COUNT, NULL, NULL},
    {"iac position", CHANNEL_bypass_steps, COUNT, NEEDED, NULL},
    {"iac", CHANNEL_bypass_steps, COUNT, NEEDED, NULL},
};

/* ---- Reading a header ---- */

enum { NAME_SIZE = 160 };

/* A degree sign or the like, as UTF-8 or Latin-1: its bytes, 0 if it is none. */
static size_t degree_sign(const char *text, size_t size) {
  const unsigned char first = (unsigned char)text[0];
  if (first == 0xB0 || first == 0xBA) return 1;
  if (size < 2 || first != 0xC2) return 0;
  const unsigned char second = (unsigned char)text[1];
  return second == 0xB0 || second == 0xBA ? 2 : 0;
}

/* Small letters and digits; whatever stands between them becomes one `gap`. */
static void plain_name(const char *text, size_t size, char gap, char name[NAME_SIZE]) {
  size_t length = 0;
  bool parted = false;
  for (size_t i = 0; i < size && length + 2 < NAME_SIZE; i++) {
    if (!isalnum((unsigned char)text[i]) || (unsigned char)text[i] > 127) {
      parted = true;
      continue;
    }
    if (parted && length > 0) name[length++] = gap;
    parted = false;
    name[length++] = (char)tolower((unsigned char)text[i]);
  }
  name[length] = '\0';
}

/* Small letters without blanks; a degree sign becomes `deg`. */
static void plain_unit(const char *text, size_t size, char name[NAME_SIZE]) {
  size_t length = 0;
  for (size_t i = 0; i < size && length + 4 < NAME_SIZE; i++) {
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
}

static const struct spelling_row *spelling_of(const char *text, size_t size) {
  char name[NAME_SIZE];
  plain_name(text, size, ' ', name);
  for (size_t i = 0; i < ARRAY_COUNT(spelling_rows); i++)
    if (strcmp(spelling_rows[i].name, name) == 0) return &spelling_rows[i];
  return NULL;
}

static const struct unit_row *unit_of(const char *text, size_t size, enum quantity quantity) {
  char name[NAME_SIZE];
  plain_unit(text, size, name);
  for (size_t i = 0; i < ARRAY_COUNT(unit_rows); i++)
    if (unit_rows[i].quantity == quantity && strcmp(unit_rows[i].name, name) == 0) return &unit_rows[i];
  return NULL;
}

static bool is_blank(char letter) { return letter == ' ' || letter == '\t'; }

bool log_columns_unit(const char *own, const char *unit, double *factor, double *offset) {
  static const struct {
    const char *suffix;
    enum quantity quantity;
  } suffixes[] = {{"_rpm", SPEED}, {"_kpa", PRESSURE}, {"_gps", FLOW},  {"_c", TEMPERATURE},
                  {"_pct", SHARE}, {"_deg", ANGLE},    {"_v", VOLTAGE}, {"_steps", COUNT}};
  const struct unit_row *row = NULL;
  const char *suffix = strrchr(own, '_');
  for (size_t i = 0; suffix && i < ARRAY_COUNT(suffixes); i++)
    if (strcmp(suffix, suffixes[i].suffix) == 0) row = unit_of(unit, strlen(unit), suffixes[i].quantity);
  *factor = row ? row->factor : 1.0;
  *offset = row ? row->offset : 0.0;
  return row;
}

/* A header's cell in two parts: the name, and where brackets or a comma set it off, the unit. */
struct parts {
  size_t name_size;
  const char *unit;
  size_t unit_size; // 0: no unit is set off
};

static struct parts parts_of(const char *header) {
  struct parts parts = {strlen(header), "", 0};
  while (parts.name_size > 0 && is_blank(header[parts.name_size - 1])) parts.name_size--;
  if (parts.name_size == 0) return parts;
  const char last = header[parts.name_size - 1];
  const char opening = last == ')' ? '(' : last == ']' ? '[' : last == '}' ? '{' : ',';
  const size_t end = parts.name_size - (opening == ',' ? 0 : 1);
  for (size_t at = end; at-- > 0;) {
    if (header[at] != opening) continue;
    parts.name_size = at;
    parts.unit = header + at + 1;
    parts.unit_size = end - at - 1;
    for (; parts.unit_size > 0 && is_blank(parts.unit[0]); parts.unit_size--) parts.unit++;
    while (parts.unit_size > 0 && is_blank(parts.unit[parts.unit_size - 1])) parts.unit_size--;
    break;
  }
  return parts;
}

/* The unit is the last word, if what stands before it is a name that goes with it. */
static const struct spelling_row *split_last_word(const char *header, const struct unit_row **unit, struct parts *parts) {
  for (size_t at = parts->name_size; at-- > 0;) {
    if (header[at] != '_' && header[at] != ' ') continue;
    const struct spelling_row *row = spelling_of(header, at);
    const char *word = header + at + 1;
    const size_t size = parts->name_size - at - 1;
    *unit = row ? unit_of(word, size, row->quantity) : NULL;
    if (*unit) {
      parts->unit = word;
      parts->unit_size = size;
      return row;
    }
  }
  return NULL;
}

static bool own_name(const char *header, struct log_columns_meaning *meaning) {
  char name[NAME_SIZE];
  plain_name(header, strlen(header), '_', name);
  const int channel = channel_find(name);
  if (channel < 0) return false;
  const char *suffix = strrchr(channel_rows[channel].name, '_');
  meaning->channel = (enum channel)channel;
  meaning->own = strcmp(header, channel_rows[channel].name) == 0;
  const bool with_unit = suffix && channel_rows[channel].decimals > 0; // counts and switches have none
  snprintf(meaning->unit, sizeof meaning->unit, "%s", with_unit ? suffix + 1 : "");
  meaning->factor = 1.0;
  meaning->least = -INFINITY;
  meaning->most = INFINITY;
  meaning->lowest = quantities[OWN].lowest;
  meaning->highest = quantities[OWN].highest;
  meaning->units = quantities[OWN].units;
  return true;
}

enum log_columns_answer log_columns_find(const char *header, struct log_columns_meaning *meaning) {
  *meaning = (struct log_columns_meaning){0};
  struct parts parts = parts_of(header);
  if (parts.unit_size == 0 && own_name(header, meaning)) return LOG_COLUMNS_KNOWN;
  const struct unit_row *unit = NULL;
  const struct spelling_row *row = spelling_of(header, parts.name_size);
  if (!row && parts.unit_size == 0) row = split_last_word(header, &unit, &parts);
  if (!row) return LOG_COLUMNS_UNKNOWN;
  meaning->channel = row->channel;
  meaning->remark = row->remark;
  meaning->units = quantities[row->quantity].units;
  meaning->least = quantities[row->quantity].least;
  meaning->most = quantities[row->quantity].most;
  meaning->lowest = quantities[row->quantity].lowest;
  meaning->highest = quantities[row->quantity].highest;
  if (parts.unit_size > 0) {
    snprintf(meaning->unit, sizeof meaning->unit, "%.*s", (int)parts.unit_size, parts.unit);
    if (!unit) unit = unit_of(parts.unit, parts.unit_size, row->quantity);
    if (!unit) return LOG_COLUMNS_BAD_UNIT;
  } else {
    if (row->unit && row->unit[0] == '\0') return LOG_COLUMNS_UNKNOWN;
    const char *told = row->unit ? row->unit : quantities[row->quantity].standard;
    snprintf(meaning->unit, sizeof meaning->unit, "%s", told);
    meaning->assumed = !row->unit && strchr(meaning->units, ',') != NULL;
  }
  meaning->factor = unit ? unit->factor : 1.0;
  meaning->offset = unit ? unit->offset : 0.0;
  return LOG_COLUMNS_KNOWN;
}

const char *log_columns_near(const char *header) {
  enum { SHORTEST = 8, SLIPS = 2 }; // two slips in a shorter name make another one
  const char *names[ARRAY_COUNT(spelling_rows)];
  for (size_t i = 0; i < ARRAY_COUNT(spelling_rows); i++) names[i] = spelling_rows[i].name;
  char name[NAME_SIZE];
  plain_name(header, parts_of(header).name_size, ' ', name);
  if (strlen(name) < SHORTEST || strlen(name) > NEAR_MISS_WORD_MAX) return NULL;
  const char *near = near_miss_best(name, names, ARRAY_COUNT(names));
  return near && near_miss_distance(name, near) <= SLIPS ? near : NULL;
}

void log_columns_list(enum channel channel, char text[LOG_COLUMNS_TEXT_SIZE]) {
  size_t used = 0;
  text[0] = '\0';
  for (size_t i = 0; i < ARRAY_COUNT(spelling_rows); i++) {
    const struct spelling_row *row = &spelling_rows[i];
    if (row->channel != channel || used + strlen(row->name) + 5 > LOG_COLUMNS_TEXT_SIZE) continue;
    used += (size_t)snprintf(text + used, LOG_COLUMNS_TEXT_SIZE - used, "%s'%s'", used ? ", " : "", row->name);
  }
}
