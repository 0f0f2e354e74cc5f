#include "io/scantool/service01.h"

#include "base/attributes.h"

#include <assert.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

/* g/L at 25 degrees C and 101.325 kPa: the standard's reference for absolute load (from memory; p/(R T) = 1.1839). */
#define REFERENCE_AIR_KG_M3 1.184
#define SUPPLY_V            5.0

/* ---- Values that no channel holds as they are ---- */

static double percent_of_supply(double volts) { return 100.0 * volts / SUPPLY_V; }

/* Byte A: lamp and number of confirmed codes; B: the three continuous groups, fitted (0..2) and not complete (4..6); C, D: the
 * others, none of which this model has. From memory. */
static double status_bits(const struct service01_source *source) {
  if (!source->monitors) return NAN;
  uint32_t lamp = 0, count = 0, groups = 0;
  for (int i = 0; i < MONITOR_CODE_COUNT; i++) {
    lamp |= source->monitors->code[i].lamp;
    count += source->monitors->code[i].code == CODE_CONFIRMED;
  }
  for (int group = 0; group < SERVICE01_GROUP_COUNT; group++) {
    groups |= 1U << group;
    if (!service01_complete(source->engine, source->monitors, (enum service01_group)group)) groups |= 16U << group;
  }
  return (double)(lamp << 31 | count << 24 | groups << 16);
}

/* Byte A: fuel system 1; byte B: a second one that could go open and closed by itself. Two banks are one system here. */
static double fuel_bits(const struct service01_source *source) { return (double)((uint32_t)source->reading->fuel << 8); }

/* Air per intake stroke over what a cylinder holds at the reference density; by the air-flow sensor. */
static double absolute_load(const struct service01_source *source) {
  const double *values = source->reading->values;
  const double rpm = values[CHANNEL_speed_rpm], per_cycle_g = values[CHANNEL_maf_gps] * 120.0 / rpm;
  const double full_g = 1e3 * REFERENCE_AIR_KG_M3 * source->engine->plant.charge.displacement_m3;
  if (isnan(values[CHANNEL_maf_gps])) return NAN;
  return rpm > 0.0 ? 100.0 * per_cycle_g / full_g : 0.0;
}

/* Never negative. Some makers count from another position than the stop. */
static double relative_throttle(const struct service01_source *source) {
  const double zero_pct = 100.0 * source->engine->computer.scan.relative_zero_ratio;
  return fmax(source->reading->values[CHANNEL_tp_pct] - (zero_pct > 0.0 ? zero_pct : source->reading->closed_position_pct), 0.0);
}

/* Where the track's output falls as the blade opens, J1979 gives 100 % less the share of the supply (from memory). */
static double second_throttle(const struct service01_source *source) {
  const struct throttle_params *throttle = &source->engine->plant.throttle;
  const double share = percent_of_supply(source->reading->values[CHANNEL_tps2_v]);
  return throttle->open2_position_ratio < throttle->closed2_position_ratio ? 100.0 - share : share;
}

/* 0 closed stop, 100 wide open. */
static double commanded_throttle(const struct service01_source *source) {
  const struct throttle_params *throttle = &source->engine->plant.throttle;
  const double travel_deg = 90.0 - throttle->bore.closed_angle_rad / UNITS_RAD_PER_DEG;
  if (throttle->kind != THROTTLE_ELECTRONIC) return NAN;
  return 100.0 * source->reading->values[CHANNEL_command_deg] / travel_deg;
}

static double wanted_lambda(const struct service01_source *source) { return source->reading->wanted_lambda; }
static double run_time(const struct service01_source *source) { return source->reading->run_time_s; }
static double vehicle_speed(const struct service01_source *source) {
  (void)source;
  return 0.0;
}

#define OF_CHANNEL(channel) \
  static double value_##channel(const struct service01_source *source) { return source->reading->values[CHANNEL_##channel]; }
#define OF_TRACK(channel) \
  static double value_##channel(const struct service01_source *source) { \
    return percent_of_supply(source->reading->values[CHANNEL_##channel]); \
  }
OF_CHANNEL(load_pct)
OF_CHANNEL(coolant_c)
OF_CHANNEL(stft_pct)
OF_CHANNEL(ltft_pct)
OF_CHANNEL(stft2_pct)
OF_CHANNEL(ltft2_pct)
OF_CHANNEL(map_kpa)
OF_CHANNEL(speed_rpm)
OF_CHANNEL(spark_deg)
OF_CHANNEL(intake_c)
OF_CHANNEL(maf_gps)
OF_CHANNEL(battery_v)
OF_TRACK(tps1_v)
OF_TRACK(app1_v)
OF_TRACK(app2_v)

/* ---- The table ---- */

#define PERCENT    (100.0 / 255.0)
#define TRIM       (100.0 / 128.0)
#define C(channel) #channel, value_##channel
#define V(channel) "100 " #channel " / 5 V", value_##channel

/* identifier, name, bytes, scale, offset, unit, decimals, in a freeze frame, origin, value */
// clang-format off
const struct service01_row service01_rows[] = {
    {0x01, "lamp, codes, readiness", 4, 1, 0, "bits", 0, false, "monitors", status_bits},
    {0x03, "fuel-system status", 2, 1, 0, "bits", 0, true, "computer", fuel_bits},
    {0x04, "calculated load", 1, PERCENT, 0, "%", 1, true, C(load_pct)},
    {0x05, "coolant temperature", 1, 1, -40, "C", 0, true, C(coolant_c)},
    {0x06, "short-term fuel trim, bank 1", 1, TRIM, -100, "%", 1, true, C(stft_pct)},
    {0x07, "long-term fuel trim, bank 1", 1, TRIM, -100, "%", 1, true, C(ltft_pct)},
    {0x08, "short-term fuel trim, bank 2", 1, TRIM, -100, "%", 1, true, C(stft2_pct)},
    {0x09, "long-term fuel trim, bank 2", 1, TRIM, -100, "%", 1, true, C(ltft2_pct)},
    {0x0B, "manifold absolute pressure", 1, 1, 0, "kPa", 0, true, C(map_kpa)},
    {0x0C, "engine speed", 2, 0.25, 0, "rpm", 2, true, C(speed_rpm)},
    {0x0D, "vehicle speed", 1, 1, 0, "km/h", 0, true, "the car stands", vehicle_speed},
    {0x0E, "timing advance, cylinder 1", 1, 0.5, -64, "deg", 1, true, C(spark_deg)},
    {0x0F, "intake air temperature", 1, 1, -40, "C", 0, true, C(intake_c)},
    {0x10, "air-flow rate", 2, 0.01, 0, "g/s", 2, true, C(maf_gps)},
    {0x11, "absolute throttle position", 1, PERCENT, 0, "%", 1, true, V(tps1_v)},
    {0x1F, "run time since start", 2, 1, 0, "s", 0, false, "computer", run_time},
    {0x42, "control module voltage", 2, 0.001, 0, "V", 3, false, C(battery_v)},
    {0x43, "absolute load", 2, PERCENT, 0, "%", 1, false, "maf_gps 120 / (speed_rpm 1.184 g/L displacement)",
     absolute_load},
    {0x44, "commanded lambda", 2, 2.0 / 65536.0, 0, "", 3, false, "computer", wanted_lambda},
    {0x45, "relative throttle position", 1, PERCENT, 0, "%", 1, false, "tp_pct less its learned closed stop, or the car's own zero",
     relative_throttle},
    {0x47, "absolute throttle position B", 1, PERCENT, 0, "%", 1, false, "as tps2_v; 100 less it where it falls with opening", second_throttle},
    {0x49, "pedal position D", 1, PERCENT, 0, "%", 1, false, V(app1_v)},
    {0x4A, "pedal position E", 1, PERCENT, 0, "%", 1, false, V(app2_v)},
    {0x4C, "commanded throttle actuator", 1, PERCENT, 0, "%", 1, false, "command_deg over travel",
     commanded_throttle},
};
// clang-format on
const size_t service01_count = ARRAY_COUNT(service01_rows);

/* ---- Bytes ---- */

uint32_t service01_encode(const struct service01_row *row, double value) {
  const double most = ldexp(1.0, 8 * row->bytes) - 1.0;
  assert(!isnan(value));
  return (uint32_t)fmin(fmax(round((value - row->offset) / row->scale), 0.0), most);
}

double service01_decode(const struct service01_row *row, uint32_t raw) { return raw * row->scale + row->offset; }

int service01_bytes(const struct service01_row *row, uint32_t raw, uint8_t bytes[SERVICE01_BYTES_MAX]) {
  for (int i = 0; i < row->bytes; i++) bytes[i] = (uint8_t)(raw >> (8 * (row->bytes - 1 - i)));
  return row->bytes;
}

void service01_hex(const struct service01_row *row, uint32_t raw, char text[SERVICE01_TEXT_SIZE]) {
  uint8_t bytes[SERVICE01_BYTES_MAX];
  const int count = service01_bytes(row, raw, bytes);
  text[0] = '\0';
  for (int i = 0; i < count; i++) snprintf(text + strlen(text), 8, "%s%02X", i ? " " : "", bytes[i]);
}

static void status_words(uint32_t raw, char text[SERVICE01_TEXT_SIZE]) {
  snprintf(text, SERVICE01_TEXT_SIZE, "lamp %s, %u confirmed", raw >> 31 ? "on" : "off", raw >> 24 & 0x7F);
  for (int group = 0; group < SERVICE01_GROUP_COUNT; group++)
    if (raw >> 16 & 16U << group) {
      snprintf(text + strlen(text), SERVICE01_TEXT_SIZE - strlen(text), ", not all ready");
      return;
    }
  snprintf(text + strlen(text), SERVICE01_TEXT_SIZE - strlen(text), ", all ready");
}

static const char *fuel_words(uint32_t status) {
  switch (status) {
  case SCAN_DATA_FUEL_NONE:
    return "engine not running";
  case SCAN_DATA_FUEL_OPEN:
    return "open loop, not yet ready";
  case SCAN_DATA_FUEL_CLOSED:
    return "closed loop";
  case SCAN_DATA_FUEL_OPEN_LOAD:
    return "open loop, load or fuel cut";
  default:
    return "unknown";
  }
}

void service01_words(const struct service01_row *row, uint32_t raw, char text[SERVICE01_TEXT_SIZE]) {
  if (row->identifier == 0x01)
    status_words(raw, text);
  else if (row->identifier == 0x03)
    snprintf(text, SERVICE01_TEXT_SIZE, "%s", fuel_words(raw >> 8));
  else
    snprintf(text, SERVICE01_TEXT_SIZE, "%.*f", row->decimals, service01_decode(row, raw));
}

uint32_t service01_supported(const struct service01_source *source, unsigned from) {
  uint32_t bits = 0;
  for (size_t i = 0; i < service01_count; i++) {
    const struct service01_row *row = &service01_rows[i];
    if (row->identifier > from && row->identifier <= from + 32 && !isnan(row->value(source)))
      bits |= 1U << (from + 32 - row->identifier);
    if (row->identifier > from + 32) bits |= 1U; // there is a next list
  }
  return bits;
}

/* ---- Readiness ---- */

const char *const service01_group_names[SERVICE01_GROUP_COUNT] = {"misfire", "fuel system", "components"};

enum service01_group service01_group_of(enum monitor_code code) {
  switch (code) {
  case MONITOR_P0300:
    return SERVICE01_MISFIRE;
  case MONITOR_P0171:
  case MONITOR_P0172:
  case MONITOR_P0174:
    return SERVICE01_FUEL;
  default:
    return SERVICE01_COMPONENTS;
  }
}

bool service01_complete(const struct engine *engine, const struct monitors *monitors, enum service01_group group) {
  for (int i = 0; i < MONITOR_CODE_COUNT; i++) {
    const enum monitor_code code = (enum monitor_code)i;
    if (service01_group_of(code) == group && scan_monitor_fitted(engine, code) && !monitors->code[i].ready) return false;
  }
  return true;
}
