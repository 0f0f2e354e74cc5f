#include "io/scantool/log_signals.h"

#include "base/attributes.h"

#include <math.h>
#include <strings.h>

/* Noise: ours to choose, so small that the bytes hide most of it where they are coarse; speed has the model's cycle scatter as well, and
 * trims, load and run time are numbers that the computer works out. What is quick is asked in every round, temperatures seldom. */
// clang-format off
const struct log_signal log_signals[] = {
    {"RPM", "Engine RPM", "rpm", 0x0C, 0, 1, 1.0, true},
    {"TP", "Absolute Throttle Position", "%", 0x11, 0, 1, 0.05, true},
    {"MAF", "Air Flow Rate from Mass Air Flow Sensor", "g/s", 0x10, 0, 1, 0.02, true},
    {"MAP", "Intake Manifold Absolute Pressure", "kPa", 0x0B, 0, 1, 0.3, true},
    {"SPARKADV", "Ignition Timing Advance for #1 Cylinder", "deg", 0x0E, 0, 1, 0.2, true},
    {"LOAD_PCT", "Calculated LOAD Value", "%", 0x04, 0, 2, 0.0, true},
    {"SHRTFT1", "Short Term Fuel Trim - Bank 1", "%", 0x06, 0, 2, 0.0, true},
    {"LONGFT1", "Long Term Fuel Trim - Bank 1", "%", 0x07, 0, 5, 0.0, true},
    {"SHRTFT2", "Short Term Fuel Trim - Bank 2", "%", 0x08, 0, 2, 0.0, true},
    {"LONGFT2", "Long Term Fuel Trim - Bank 2", "%", 0x09, 0, 5, 0.0, true},
    {"ECT", "Engine Coolant Temperature", "C", 0x05, 0, 10, 0.2, true},
    {"IAT", "Intake Air Temperature", "C", 0x0F, 0, 10, 0.2, true},
    {"VPWR", "Control Module Voltage", "V", 0x42, 0, 5, 0.03, true},
    {"VSS", "Vehicle Speed Sensor", "km/h", 0x0D, 0, 5, 0.0, false},
    {"RUNTM", "Time Since Engine Start", "s", 0x1F, 0, 5, 0.0, false},
    {"LOAD_ABS", "Absolute Load Value", "%", 0x43, 0, 2, 0.0, false},
    {"TP_R", "Relative Throttle Position", "%", 0x45, 0, 1, 0.05, false},
    {"TP_B", "Absolute Throttle Position B", "%", 0x47, 0, 2, 0.05, false},
    {"APP_D", "Accelerator Pedal Position D", "%", 0x49, 0, 2, 0.05, false},
    {"APP_E", "Accelerator Pedal Position E", "%", 0x4A, 0, 2, 0.05, false},
    {"TAC_PCT", "Commanded Throttle Actuator Control", "%", 0x4C, 0, 2, 0.0, false},
    {"IAC", "Idle Air Control Steps", "steps", 0, CHANNEL_bypass_steps, 1, 0.0, false},
    {"A/C", "Air Conditioning Request", "", 0, CHANNEL_air_conditioning, 2, 0.0, false},
};
// clang-format on
const size_t log_signals_count = ARRAY_COUNT(log_signals);

size_t log_signals_find(const char *word) {
  size_t at = 0;
  while (at < log_signals_count && strcasecmp(log_signals[at].abbreviation, word) != 0 &&
         strcasecmp(log_signals[at].name, word) != 0)
    at++;
  return at;
}

const struct service01_row *log_signals_row(const struct log_signal *signal) {
  for (size_t i = 0; i < service01_count; i++)
    if (signal->identifier && service01_rows[i].identifier == signal->identifier) return &service01_rows[i];
  return NULL;
}

double log_signals_value(const struct log_signal *signal, const struct service01_source *source) {
  const struct service01_row *row = log_signals_row(signal);
  return row ? row->value(source) : source->reading->values[signal->channel];
}
