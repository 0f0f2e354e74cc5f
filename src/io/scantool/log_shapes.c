#include "io/scantool/log_shapes.h"

#include "base/attributes.h"

#include <string.h>

/* What is not said is the first of its kind: a comma, seconds, names with units in brackets, UTF-8, lines that end in LF. */
// clang-format off
const struct log_shape log_shapes[] = {
    {"wide", "one line per round, every column filled", .layout = LOG_LAYOUT_ROUND},
    {"rates", "one line per round, empty where a signal is asked for less often", .layout = LOG_LAYOUT_DUE},
    {"polled", "one line per answer, all other cells empty", .layout = LOG_LAYOUT_ONE},
    {"held", "one line per answer, the other values held; run time of the engine repeated as time", .layout = LOG_LAYOUT_HELD, .clock = LOG_CLOCK_RUN},
    {"long", "time, name, value, unit", .layout = LOG_LAYOUT_LONG},
    {"times", "a time column before each signal", .layout = LOG_LAYOUT_TIMES},
    {"semicolon", "semicolons, decimal commas, Latin-1, kg/h and mbar", .separator = ';', .decimal_comma = true,
     .encoding = LOG_ENCODING_LATIN1, .units = LOG_UNITS_OTHER},
    {"utf16", "tabs, UTF-16 with its mark, CR LF", .separator = '\t', .encoding = LOG_ENCODING_UTF16, .crlf = true},
    {"preamble", "lines of text before the header, a row of units below it", .preamble = true, .header = LOG_HEADER_ROW},
    {"clock", "clock time with milliseconds, past midnight; one line per answer", .layout = LOG_LAYOUT_ONE, .clock = LOG_CLOCK_DAY},
    {"iso", "ISO date and time, past new year", .clock = LOG_CLOCK_ISO},
    {"samples", "sample numbers, with the rate in a line above; short names", .clock = LOG_CLOCK_SAMPLE, .header = LOG_HEADER_SHORT, .preamble = true},
    {"ms", "milliseconds, short names, no units", .clock = LOG_CLOCK_MS, .header = LOG_HEADER_SHORT},
    {"us", "quoted, F, inHg, lb/min, CR LF", .units = LOG_UNITS_US, .quoted = true, .crlf = true},
    {"thousands", "thousands separated and quoted, UTF-8 with its mark", .thousands = true, .encoding = LOG_ENCODING_UTF8_BOM},
    {"ragged", "empty cells at the end of lines left out, blank lines", .layout = LOG_LAYOUT_DUE, .ragged = true},
    {"invalid", "now and then all bits of an answer set", .invalid = true},
};
// clang-format on
const size_t log_shapes_count = ARRAY_COUNT(log_shapes);

/* Pound and inch of mercury: NIST SP 811 (2008), appendix B.8. */
static const struct log_unit units[] = {
    {"C", "F", LOG_UNITS_US, 1.8, 32.0, 0},
    {"kPa", "inHg", LOG_UNITS_US, 1.0 / 3.38638, 0.0, 1},
    {"g/s", "lb/min", LOG_UNITS_US, 60.0 / 453.59237, 0.0, 1},
    {"km/h", "mph", LOG_UNITS_US, 1.0 / 1.609344, 0.0, 0},
    {"C", "°C", LOG_UNITS_OTHER, 1.0, 0.0, 0},
    {"kPa", "mbar", LOG_UNITS_OTHER, 10.0, 0.0, 0},
    {"g/s", "kg/h", LOG_UNITS_OTHER, 3.6, 0.0, 0},
};

const struct log_unit *log_shapes_unit(const struct log_shape *shape, const char *standard) {
  for (size_t i = 0; i < ARRAY_COUNT(units); i++)
    if (units[i].units == shape->units && strcmp(units[i].standard, standard) == 0) return &units[i];
  return NULL;
}

size_t log_shapes_find(const char *name) {
  size_t at = 0;
  while (at < log_shapes_count && strcmp(log_shapes[at].name, name) != 0) at++;
  return at;
}
