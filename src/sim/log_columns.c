#include "sim/log_columns.h"

#include "base/attributes.h"
#include "base/near_miss.h"

#include <ctype.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

/* ---- Spellings ---- */

#define UNUSED CHANNEL_COUNT
#define NEEDED "" // the name alone could mean anything; with a unit of the quantity it is clear

static const char relative_remark[] = "by the standard it is 0 at the closed stop and ends well below 100 wide open, so used as "
                                      "blade_pct it reads low; --engine FILE corrects that";

/* Columns: name in small letters, words parted by one blank; channel; quantity; unit that the name itself
 * tells, NULL for the quantity's standard one, or NEEDED; remark. First the standard's name of a channel,
 * then plain ones.
 *
 * Of no use on purpose: accelerator pedal positions D and E and throttle positions B and C, which do not rest
 * at the zero (or at the reading) of our channel; absolute load. Left out: vacuum and boost, which are not absolute pressures. */
static const struct spelling_row {
  const char *name;
  enum channel channel;
  enum column_units_quantity quantity;
  const char *unit;
  const char *remark;
} spelling_rows[] = {
    {"time", CHANNEL_time_s, COLUMN_UNITS_TIME, NULL, NULL},
    {"elapsed time", CHANNEL_time_s, COLUMN_UNITS_TIME, NULL, NULL},
    {"elapsed", CHANNEL_time_s, COLUMN_UNITS_TIME, NULL, NULL},
    {"relative time", CHANNEL_time_s, COLUMN_UNITS_TIME, NULL, NULL},
    {"log time", CHANNEL_time_s, COLUMN_UNITS_TIME, NULL, NULL},
    {"timestamp", CHANNEL_time_s, COLUMN_UNITS_TIME, NULL, NULL},
    {"time stamp", CHANNEL_time_s, COLUMN_UNITS_TIME, NULL, NULL},
    {"t", CHANNEL_time_s, COLUMN_UNITS_TIME, NULL, NULL},
    {"time of day", CHANNEL_time_s, COLUMN_UNITS_TIME, NULL, NULL},
    {"clock", CHANNEL_time_s, COLUMN_UNITS_TIME, NULL, NULL},
    {"clock time", CHANNEL_time_s, COLUMN_UNITS_TIME, NULL, NULL},
    {"date time", CHANNEL_time_s, COLUMN_UNITS_TIME, NULL, NULL},
    {"datetime", CHANNEL_time_s, COLUMN_UNITS_TIME, NULL, NULL},
    {"date and time", CHANNEL_time_s, COLUMN_UNITS_TIME, NULL, NULL},
    {"local time", CHANNEL_time_s, COLUMN_UNITS_TIME, NULL, NULL},
    {"utc time", CHANNEL_time_s, COLUMN_UNITS_TIME, NULL, NULL},
    {"seconds", CHANNEL_time_s, COLUMN_UNITS_TIME, "s", NULL},

    {"engine rpm", CHANNEL_speed_rpm, COLUMN_UNITS_SPEED, "rpm", NULL},
    {"rpm", CHANNEL_speed_rpm, COLUMN_UNITS_SPEED, "rpm", NULL},
    {"engine speed", CHANNEL_speed_rpm, COLUMN_UNITS_SPEED, NULL, NULL},
    {"crankshaft speed", CHANNEL_speed_rpm, COLUMN_UNITS_SPEED, NULL, NULL},
    {"crank speed", CHANNEL_speed_rpm, COLUMN_UNITS_SPEED, NULL, NULL},
    {"engine", CHANNEL_speed_rpm, COLUMN_UNITS_SPEED, NEEDED, NULL},
    {"speed", CHANNEL_speed_rpm, COLUMN_UNITS_SPEED, NEEDED, NULL},

    {"target idle speed", CHANNEL_target_rpm, COLUMN_UNITS_SPEED, NULL, NULL},
    {"desired idle speed", CHANNEL_target_rpm, COLUMN_UNITS_SPEED, NULL, NULL},
    {"commanded idle speed", CHANNEL_target_rpm, COLUMN_UNITS_SPEED, NULL, NULL},
    {"idle target", CHANNEL_target_rpm, COLUMN_UNITS_SPEED, NULL, NULL},
    {"target idle", CHANNEL_target_rpm, COLUMN_UNITS_SPEED, NULL, NULL},
    {"desired idle", CHANNEL_target_rpm, COLUMN_UNITS_SPEED, NULL, NULL},
    {"target speed", CHANNEL_target_rpm, COLUMN_UNITS_SPEED, NEEDED, NULL},
    {"target", CHANNEL_target_rpm, COLUMN_UNITS_SPEED, NEEDED, NULL},

    {"absolute throttle position", CHANNEL_tp_pct, COLUMN_UNITS_SHARE, NULL, NULL},
    {"absolute throttle position a", CHANNEL_tp_pct, COLUMN_UNITS_SHARE, NULL, NULL},
    {"abs throttle position", CHANNEL_tp_pct, COLUMN_UNITS_SHARE, NULL, NULL},
    {"throttle position absolute", CHANNEL_tp_pct, COLUMN_UNITS_SHARE, NULL, NULL},
    {"throttle position sensor", CHANNEL_tp_pct, COLUMN_UNITS_SHARE, NULL, NULL},
    {"throttle position", CHANNEL_tp_pct, COLUMN_UNITS_SHARE, NULL, NULL},
    {"throttle pos", CHANNEL_tp_pct, COLUMN_UNITS_SHARE, NULL, NULL},
    {"throttle", CHANNEL_tp_pct, COLUMN_UNITS_SHARE, NULL, NULL},
    {"tp sensor", CHANNEL_tp_pct, COLUMN_UNITS_SHARE, NULL, NULL},
    {"tps", CHANNEL_tp_pct, COLUMN_UNITS_SHARE, NULL, NULL},
    {"tp", CHANNEL_tp_pct, COLUMN_UNITS_SHARE, NULL, NULL},

    {"relative throttle position", CHANNEL_blade_pct, COLUMN_UNITS_SHARE, NULL, relative_remark},
    {"rel throttle position", CHANNEL_blade_pct, COLUMN_UNITS_SHARE, NULL, relative_remark},
    {"throttle position relative", CHANNEL_blade_pct, COLUMN_UNITS_SHARE, NULL, relative_remark},
    {"tp rel", CHANNEL_blade_pct, COLUMN_UNITS_SHARE, NULL, relative_remark},
    {"tp r", CHANNEL_blade_pct, COLUMN_UNITS_SHARE, NULL, relative_remark},

    {"intake manifold absolute pressure", CHANNEL_manifold_kpa, COLUMN_UNITS_PRESSURE, NULL, NULL},
    {"manifold absolute pressure", CHANNEL_manifold_kpa, COLUMN_UNITS_PRESSURE, NULL, NULL},
    {"intake manifold pressure", CHANNEL_manifold_kpa, COLUMN_UNITS_PRESSURE, NULL, NULL},
    {"manifold pressure", CHANNEL_manifold_kpa, COLUMN_UNITS_PRESSURE, NULL, NULL},
    {"map sensor", CHANNEL_manifold_kpa, COLUMN_UNITS_PRESSURE, NULL, NULL},
    {"map", CHANNEL_manifold_kpa, COLUMN_UNITS_PRESSURE, NULL, NULL},

    {"air flow rate from mass air flow sensor", CHANNEL_maf_gps, COLUMN_UNITS_FLOW, NULL, NULL},
    {"air flow rate from mass flow sensor", CHANNEL_maf_gps, COLUMN_UNITS_FLOW, NULL, NULL},
    {"mass flow sensor", CHANNEL_maf_gps, COLUMN_UNITS_FLOW, NULL, NULL},
    {"mass air flow rate", CHANNEL_maf_gps, COLUMN_UNITS_FLOW, NULL, NULL},
    {"mass air flow sensor", CHANNEL_maf_gps, COLUMN_UNITS_FLOW, NULL, NULL},
    {"mass air flow", CHANNEL_maf_gps, COLUMN_UNITS_FLOW, NULL, NULL},
    {"mass airflow", CHANNEL_maf_gps, COLUMN_UNITS_FLOW, NULL, NULL},
    {"air flow rate", CHANNEL_maf_gps, COLUMN_UNITS_FLOW, NULL, NULL},
    {"maf air flow rate", CHANNEL_maf_gps, COLUMN_UNITS_FLOW, NULL, NULL},
    {"air flow", CHANNEL_maf_gps, COLUMN_UNITS_FLOW, NULL, NULL},
    {"airflow", CHANNEL_maf_gps, COLUMN_UNITS_FLOW, NULL, NULL},
    {"maf sensor", CHANNEL_maf_gps, COLUMN_UNITS_FLOW, NULL, NULL},
    {"maf rate", CHANNEL_maf_gps, COLUMN_UNITS_FLOW, NULL, NULL},
    {"maf", CHANNEL_maf_gps, COLUMN_UNITS_FLOW, NULL, NULL},

    {"calculated load value", CHANNEL_load_pct, COLUMN_UNITS_SHARE, NULL, NULL},
    {"calculated load", CHANNEL_load_pct, COLUMN_UNITS_SHARE, NULL, NULL},
    {"calculated engine load", CHANNEL_load_pct, COLUMN_UNITS_SHARE, NULL, NULL},
    {"calculated engine load value", CHANNEL_load_pct, COLUMN_UNITS_SHARE, NULL, NULL},
    {"engine load", CHANNEL_load_pct, COLUMN_UNITS_SHARE, NULL, NULL},
    {"calc load", CHANNEL_load_pct, COLUMN_UNITS_SHARE, NULL, NULL},
    {"load", CHANNEL_load_pct, COLUMN_UNITS_SHARE, NULL, NULL},
    {"load pct", CHANNEL_load_pct, COLUMN_UNITS_SHARE, NULL, NULL},

    {"engine coolant temperature", CHANNEL_coolant_c, COLUMN_UNITS_TEMPERATURE, NULL, NULL},
    {"engine coolant temp", CHANNEL_coolant_c, COLUMN_UNITS_TEMPERATURE, NULL, NULL},
    {"coolant temperature", CHANNEL_coolant_c, COLUMN_UNITS_TEMPERATURE, NULL, NULL},
    {"coolant temp", CHANNEL_coolant_c, COLUMN_UNITS_TEMPERATURE, NULL, NULL},
    {"coolant", CHANNEL_coolant_c, COLUMN_UNITS_TEMPERATURE, NULL, NULL},
    {"ect", CHANNEL_coolant_c, COLUMN_UNITS_TEMPERATURE, NULL, NULL},

    {"intake air temperature", CHANNEL_intake_c, COLUMN_UNITS_TEMPERATURE, NULL, NULL},
    {"intake air temp", CHANNEL_intake_c, COLUMN_UNITS_TEMPERATURE, NULL, NULL},
    {"intake temperature", CHANNEL_intake_c, COLUMN_UNITS_TEMPERATURE, NULL, NULL},
    {"intake temp", CHANNEL_intake_c, COLUMN_UNITS_TEMPERATURE, NULL, NULL},
    {"iat", CHANNEL_intake_c, COLUMN_UNITS_TEMPERATURE, NULL, NULL},

    {"ignition timing advance for 1 cylinder", CHANNEL_spark_deg, COLUMN_UNITS_ANGLE, NULL, NULL},
    {"ignition timing advance", CHANNEL_spark_deg, COLUMN_UNITS_ANGLE, NULL, NULL},
    {"timing advance", CHANNEL_spark_deg, COLUMN_UNITS_ANGLE, NULL, NULL},
    {"ignition timing", CHANNEL_spark_deg, COLUMN_UNITS_ANGLE, NULL, NULL},
    {"ignition advance", CHANNEL_spark_deg, COLUMN_UNITS_ANGLE, NULL, NULL},
    {"spark advance", CHANNEL_spark_deg, COLUMN_UNITS_ANGLE, NULL, NULL},
    {"spark timing", CHANNEL_spark_deg, COLUMN_UNITS_ANGLE, NULL, NULL},
    {"spark", CHANNEL_spark_deg, COLUMN_UNITS_ANGLE, NULL, NULL},
    {"sparkadv", CHANNEL_spark_deg, COLUMN_UNITS_ANGLE, NULL, NULL},

    {"relative accelerator pedal position", CHANNEL_pedal_pct, COLUMN_UNITS_SHARE, NULL, NULL},
    {"accelerator pedal position relative", CHANNEL_pedal_pct, COLUMN_UNITS_SHARE, NULL, NULL},
    {"rel accelerator pedal position", CHANNEL_pedal_pct, COLUMN_UNITS_SHARE, NULL, NULL},

    {"air conditioning request", CHANNEL_air_conditioning, COLUMN_UNITS_SWITCH, NULL, NULL},
    {"a c request", CHANNEL_air_conditioning, COLUMN_UNITS_SWITCH, NULL, NULL},
    {"ac request", CHANNEL_air_conditioning, COLUMN_UNITS_SWITCH, NULL, NULL},
    {"a c", CHANNEL_air_conditioning, COLUMN_UNITS_SWITCH, NULL, NULL},
    {"ac", CHANNEL_air_conditioning, COLUMN_UNITS_SWITCH, NULL, NULL},
    {"in gear", CHANNEL_drive, COLUMN_UNITS_SWITCH, NULL, NULL},
    {"air conditioning", CHANNEL_air_conditioning, COLUMN_UNITS_SWITCH, NULL, NULL},

    {"short term fuel trim bank 1", CHANNEL_stft_pct, COLUMN_UNITS_SHARE, NULL, NULL},
    {"short term fuel trim", CHANNEL_stft_pct, COLUMN_UNITS_SHARE, NULL, NULL},
    {"short fuel trim bank 1", CHANNEL_stft_pct, COLUMN_UNITS_SHARE, NULL, NULL},
    {"short fuel trim", CHANNEL_stft_pct, COLUMN_UNITS_SHARE, NULL, NULL},
    {"stft bank 1", CHANNEL_stft_pct, COLUMN_UNITS_SHARE, NULL, NULL},
    {"stft b1", CHANNEL_stft_pct, COLUMN_UNITS_SHARE, NULL, NULL},
    {"stft1", CHANNEL_stft_pct, COLUMN_UNITS_SHARE, NULL, NULL},
    {"stft", CHANNEL_stft_pct, COLUMN_UNITS_SHARE, NULL, NULL},
    {"shrtft1", CHANNEL_stft_pct, COLUMN_UNITS_SHARE, NULL, NULL},

    {"long term fuel trim bank 1", CHANNEL_ltft_pct, COLUMN_UNITS_SHARE, NULL, NULL},
    {"long term fuel trim", CHANNEL_ltft_pct, COLUMN_UNITS_SHARE, NULL, NULL},
    {"long fuel trim bank 1", CHANNEL_ltft_pct, COLUMN_UNITS_SHARE, NULL, NULL},
    {"long fuel trim", CHANNEL_ltft_pct, COLUMN_UNITS_SHARE, NULL, NULL},
    {"ltft bank 1", CHANNEL_ltft_pct, COLUMN_UNITS_SHARE, NULL, NULL},
    {"ltft b1", CHANNEL_ltft_pct, COLUMN_UNITS_SHARE, NULL, NULL},
    {"ltft1", CHANNEL_ltft_pct, COLUMN_UNITS_SHARE, NULL, NULL},
    {"ltft", CHANNEL_ltft_pct, COLUMN_UNITS_SHARE, NULL, NULL},
    {"longft1", CHANNEL_ltft_pct, COLUMN_UNITS_SHARE, NULL, NULL},

    {"short term fuel trim bank 2", CHANNEL_stft2_pct, COLUMN_UNITS_SHARE, NULL, NULL},
    {"short fuel trim bank 2", CHANNEL_stft2_pct, COLUMN_UNITS_SHARE, NULL, NULL},
    {"stft bank 2", CHANNEL_stft2_pct, COLUMN_UNITS_SHARE, NULL, NULL},
    {"stft b2", CHANNEL_stft2_pct, COLUMN_UNITS_SHARE, NULL, NULL},
    {"stft2", CHANNEL_stft2_pct, COLUMN_UNITS_SHARE, NULL, NULL},
    {"shrtft2", CHANNEL_stft2_pct, COLUMN_UNITS_SHARE, NULL, NULL},

    {"long term fuel trim bank 2", CHANNEL_ltft2_pct, COLUMN_UNITS_SHARE, NULL, NULL},
    {"long fuel trim bank 2", CHANNEL_ltft2_pct, COLUMN_UNITS_SHARE, NULL, NULL},
    {"ltft bank 2", CHANNEL_ltft2_pct, COLUMN_UNITS_SHARE, NULL, NULL},
    {"ltft b2", CHANNEL_ltft2_pct, COLUMN_UNITS_SHARE, NULL, NULL},
    {"ltft2", CHANNEL_ltft2_pct, COLUMN_UNITS_SHARE, NULL, NULL},
    {"longft2", CHANNEL_ltft2_pct, COLUMN_UNITS_SHARE, NULL, NULL},

    {"equivalence ratio lambda bank 1 sensor 1", CHANNEL_lambda, COLUMN_UNITS_RATIO, NULL, NULL},
    {"lambda bank 1", CHANNEL_lambda, COLUMN_UNITS_RATIO, NULL, NULL},
    {"lambda sensor", CHANNEL_lambda, COLUMN_UNITS_RATIO, NULL, NULL},
    {"lambda 1", CHANNEL_lambda, COLUMN_UNITS_RATIO, NULL, NULL},
    {"equivalence ratio lambda bank 2 sensor 1", CHANNEL_lambda2, COLUMN_UNITS_RATIO, NULL, NULL},
    {"lambda bank 2", CHANNEL_lambda2, COLUMN_UNITS_RATIO, NULL, NULL},
    {"lambda 2", CHANNEL_lambda2, COLUMN_UNITS_RATIO, NULL, NULL},

    // what an engine metered by pressure reads; "MAP" alone is taken for the true pressure, which every engine has
    {"manifold absolute pressure sensor", CHANNEL_map_kpa, COLUMN_UNITS_PRESSURE, NULL, NULL},
    {"manifold pressure sensor", CHANNEL_map_kpa, COLUMN_UNITS_PRESSURE, NULL, NULL},
    {"map sensor reading", CHANNEL_map_kpa, COLUMN_UNITS_PRESSURE, NULL, NULL},

    {"control module voltage", CHANNEL_battery_v, COLUMN_UNITS_VOLTAGE, NULL, NULL},
    {"battery voltage", CHANNEL_battery_v, COLUMN_UNITS_VOLTAGE, NULL, NULL},
    {"system voltage", CHANNEL_battery_v, COLUMN_UNITS_VOLTAGE, NULL, NULL},
    {"charging voltage", CHANNEL_battery_v, COLUMN_UNITS_VOLTAGE, NULL, NULL},
    {"battery", CHANNEL_battery_v, COLUMN_UNITS_VOLTAGE, NULL, NULL},
    {"vbat", CHANNEL_battery_v, COLUMN_UNITS_VOLTAGE, NULL, NULL},
    {"vpwr", CHANNEL_battery_v, COLUMN_UNITS_VOLTAGE, NULL, NULL},

    {"idle valve steps", CHANNEL_bypass_steps, COLUMN_UNITS_COUNT, NULL, NULL},
    {"idle air control steps", CHANNEL_bypass_steps, COLUMN_UNITS_COUNT, NULL, NULL},
    {"idle air control position", CHANNEL_bypass_steps, COLUMN_UNITS_COUNT, NEEDED, NULL},
    {"iac steps", CHANNEL_bypass_steps, COLUMN_UNITS_COUNT, NULL, NULL},
    {"iac position", CHANNEL_bypass_steps, COLUMN_UNITS_COUNT, NEEDED, NULL},
    {"iac", CHANNEL_bypass_steps, COLUMN_UNITS_COUNT, NEEDED, NULL},

    // names of the standard that are known and of no use here
    {"vehicle speed", UNUSED, COLUMN_UNITS_ROAD, NULL, NULL},
    {"vehicle speed sensor", UNUSED, COLUMN_UNITS_ROAD, NULL, NULL},
    {"vss", UNUSED, COLUMN_UNITS_ROAD, NULL, NULL},
    {"absolute load value", UNUSED, COLUMN_UNITS_SHARE, NULL, NULL},
    {"load abs", UNUSED, COLUMN_UNITS_SHARE, NULL, NULL},
    {"absolute throttle position b", UNUSED, COLUMN_UNITS_SHARE, NULL, NULL},
    {"tp b", UNUSED, COLUMN_UNITS_SHARE, NULL, NULL},
    {"absolute throttle position c", UNUSED, COLUMN_UNITS_SHARE, NULL, NULL},
    {"tp c", UNUSED, COLUMN_UNITS_SHARE, NULL, NULL},
    {"accelerator pedal position d", UNUSED, COLUMN_UNITS_SHARE, NULL, NULL},
    {"app d", UNUSED, COLUMN_UNITS_SHARE, NULL, NULL},
    {"accelerator pedal position e", UNUSED, COLUMN_UNITS_SHARE, NULL, NULL},
    {"app e", UNUSED, COLUMN_UNITS_SHARE, NULL, NULL},
    {"commanded throttle actuator control", UNUSED, COLUMN_UNITS_SHARE, NULL, NULL},
    {"tac pct", UNUSED, COLUMN_UNITS_SHARE, NULL, NULL},
    {"barometric pressure", UNUSED, COLUMN_UNITS_PRESSURE, NULL, NULL},
    {"baro", UNUSED, COLUMN_UNITS_PRESSURE, NULL, NULL},
    {"ambient air temperature", UNUSED, COLUMN_UNITS_TEMPERATURE, NULL, NULL},
    {"aat", UNUSED, COLUMN_UNITS_TEMPERATURE, NULL, NULL},
};

/* ---- Reading a header ---- */

enum { NAME_SIZE = 160 };

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

static const struct spelling_row *spelling_of(const char *text, size_t size) {
  char name[NAME_SIZE];
  plain_name(text, size, ' ', name);
  for (size_t i = 0; i < ARRAY_COUNT(spelling_rows); i++)
    if (strcmp(spelling_rows[i].name, name) == 0) return &spelling_rows[i];
  return NULL;
}

static bool is_blank(char letter) { return letter == ' ' || letter == '\t'; }

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
static const struct spelling_row *split_last_word(const char *header, struct log_columns_meaning *meaning, struct parts *parts) {
  for (size_t at = parts->name_size; at-- > 0;) {
    if (header[at] != '_' && header[at] != ' ') continue;
    const struct spelling_row *row = spelling_of(header, at);
    const char *word = header + at + 1;
    const size_t size = parts->name_size - at - 1;
    if (!row || !column_units_find(row->quantity, word, size, &meaning->factor, &meaning->offset)) continue;
    parts->unit = word;
    parts->unit_size = size;
    return row;
  }
  return NULL;
}

static void take_limits(enum column_units_quantity quantity, struct log_columns_meaning *meaning) {
  const struct column_units_row *row = &column_units_rows[quantity];
  meaning->quantity = quantity;
  meaning->units = row->units;
  meaning->least = row->least;
  meaning->most = row->most;
  meaning->lowest = row->lowest;
  meaning->highest = row->highest;
}

static bool own_name(const char *header, struct log_columns_meaning *meaning) {
  char name[NAME_SIZE];
  plain_name(header, strlen(header), '_', name);
  const int channel = channel_find(name);
  if (channel < 0) return false;
  const char *suffix = strrchr(channel_rows[channel].name, '_');
  take_limits(COLUMN_UNITS_OWN, meaning);
  meaning->highest = column_units_rows[column_units_of(channel_rows[channel].name)].highest;
  meaning->channel = (enum channel)channel;
  meaning->own = strcmp(header, channel_rows[channel].name) == 0;
  const bool with_unit = suffix && channel_rows[channel].decimals > 0; // counts and switches have none
  snprintf(meaning->unit, sizeof meaning->unit, "%s", with_unit ? suffix + 1 : "");
  meaning->factor = 1.0;
  return true;
}

/* The unit that a header sets off, in the quantity of its row. */
static enum log_columns_answer take_unit(const char *unit, size_t size, enum column_units_quantity quantity,
                                         struct log_columns_meaning *meaning) {
  snprintf(meaning->unit, sizeof meaning->unit, "%.*s", (int)size, unit);
  meaning->factor = 1.0;
  meaning->offset = 0.0;
  return column_units_find(quantity, unit, size, &meaning->factor, &meaning->offset) ? LOG_COLUMNS_KNOWN : LOG_COLUMNS_BAD_UNIT;
}

enum log_columns_answer log_columns_find(const char *header, struct log_columns_meaning *meaning) {
  *meaning = (struct log_columns_meaning){.factor = 1.0};
  struct parts parts = parts_of(header);
  if (parts.unit_size == 0 && own_name(header, meaning)) return LOG_COLUMNS_KNOWN;
  const struct spelling_row *row = spelling_of(header, parts.name_size);
  if (!row && parts.unit_size == 0) row = split_last_word(header, meaning, &parts);
  if (!row) return LOG_COLUMNS_UNKNOWN;
  take_limits(row->quantity, meaning);
  meaning->channel = row->channel;
  meaning->remark = row->remark;
  if (row->channel == UNUSED) return LOG_COLUMNS_UNUSED;
  if (parts.unit_size > 0) return take_unit(parts.unit, parts.unit_size, row->quantity, meaning);
  if (row->unit && row->unit[0] == '\0') return LOG_COLUMNS_UNKNOWN;
  snprintf(meaning->unit, sizeof meaning->unit, "%s", row->unit ? row->unit : column_units_rows[row->quantity].standard);
  meaning->assumed = !row->unit && strchr(meaning->units, ',') != NULL;
  return LOG_COLUMNS_KNOWN;
}

const char *log_columns_unit_of(const char *header, size_t *size) {
  const struct parts parts = parts_of(header);
  *size = parts.unit_size;
  return parts.unit;
}

/* Whether a name says its unit already, or there is nothing to convert. */
static bool says_same(const struct log_columns_meaning *meaning, const char *unit) {
  const bool own = meaning->quantity == COLUMN_UNITS_OWN;
  const enum column_units_quantity quantity = own ? column_units_of(channel_rows[meaning->channel].name) : meaning->quantity;
  double factor, offset;
  if (quantity == COLUMN_UNITS_OWN) return true;
  return column_units_find(quantity, unit, strlen(unit), &factor, &offset) && fabs(factor - meaning->factor) <= 1e-12 * factor &&
         fabs(offset - meaning->offset) <= 1e-9;
}

enum log_columns_answer log_columns_find_in(const char *header, const char *unit, struct log_columns_meaning *meaning) {
  char whole[NAME_SIZE + LOG_COLUMNS_UNIT_SIZE + 4];
  const struct parts parts = parts_of(header);
  const enum log_columns_answer answer = log_columns_find(header, meaning);
  if (*unit == '\0' || answer == LOG_COLUMNS_UNUSED || parts.name_size >= NAME_SIZE || strlen(unit) >= LOG_COLUMNS_UNIT_SIZE)
    return answer;
  if (answer == LOG_COLUMNS_KNOWN && !meaning->assumed) return says_same(meaning, unit) ? answer : LOG_COLUMNS_TWO_UNITS;
  if (answer == LOG_COLUMNS_BAD_UNIT) return answer;
  snprintf(whole, sizeof whole, "%.*s (%s)", (int)parts.name_size, header, unit);
  return log_columns_find(whole, meaning);
}

enum log_columns_answer log_columns_find_as(const char *name, const char *header, const char *unit,
                                            struct log_columns_meaning *meaning) {
  const enum log_columns_answer answer = log_columns_find(name, meaning);
  size_t size = strlen(unit);
  if (answer != LOG_COLUMNS_KNOWN) return answer;
  const bool open = meaning->quantity == COLUMN_UNITS_OWN || meaning->assumed;
  meaning->own = false;
  if (size == 0) unit = log_columns_unit_of(header, &size);
  if (!open || size == 0) return answer;
  enum column_units_quantity quantity = meaning->quantity;
  if (quantity == COLUMN_UNITS_OWN) quantity = column_units_of(channel_rows[meaning->channel].name);
  if (quantity == COLUMN_UNITS_OWN) return answer;
  take_limits(quantity, meaning);
  meaning->assumed = false;
  return take_unit(unit, size, quantity, meaning);
}

bool log_columns_unit(const char *own, const char *unit, double *factor, double *offset) {
  *factor = 1.0;
  *offset = 0.0;
  return column_units_find(column_units_of(own), unit, strlen(unit), factor, offset);
}

/* Columns: name, what the column is. */
static const struct {
  const char *name;
  enum log_columns_role role;
} role_rows[] = {
    {"time since engine start", LOG_COLUMNS_RUN_TIME},
    {"run time since engine start", LOG_COLUMNS_RUN_TIME},
    {"engine run time", LOG_COLUMNS_RUN_TIME},
    {"run time", LOG_COLUMNS_RUN_TIME},
    {"runtm", LOG_COLUMNS_RUN_TIME},
    {"sample", LOG_COLUMNS_SAMPLE},
    {"samples", LOG_COLUMNS_SAMPLE},
    {"sample number", LOG_COLUMNS_SAMPLE},
    {"sample no", LOG_COLUMNS_SAMPLE},
    {"sample nr", LOG_COLUMNS_SAMPLE},
    {"index", LOG_COLUMNS_SAMPLE},
    {"row", LOG_COLUMNS_SAMPLE},
    {"record", LOG_COLUMNS_SAMPLE},
    {"name", LOG_COLUMNS_NAME},
    {"signal", LOG_COLUMNS_NAME},
    {"parameter", LOG_COLUMNS_NAME},
    {"reading", LOG_COLUMNS_NAME},
    {"channel", LOG_COLUMNS_NAME},
    {"item", LOG_COLUMNS_NAME},
    {"value", LOG_COLUMNS_VALUE},
    {"unit", LOG_COLUMNS_UNIT},
    {"units", LOG_COLUMNS_UNIT},
    {"date", LOG_COLUMNS_DATE},
};

enum log_columns_role log_columns_role(const char *header) {
  char name[NAME_SIZE];
  plain_name(header, parts_of(header).name_size, ' ', name);
  for (size_t i = 0; i < ARRAY_COUNT(role_rows); i++)
    if (strcmp(role_rows[i].name, name) == 0) return role_rows[i].role;
  return LOG_COLUMNS_NONE;
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
