/* Readings in the standard's scaling: service 01 of SAE J1979 / ISO 15031-5. One row per identifier.
 *
 *   bytes, first the high one:  raw = round((value - offset) / scale), held within 0 .. 256^bytes - 1
 *   back again:                 value = raw * scale + offset
 *
 * Sources of the scalings: the table in docs/readings.md. */
#ifndef IO_SCANTOOL_SERVICE01_H
#define IO_SCANTOOL_SERVICE01_H

#include "sim/scan.h"

#include <stdint.h>

/* What a row's value is taken from. monitors: NULL where they are not known (freeze frame). */
struct service01_source {
  const struct engine *engine;
  const struct scan_data *reading;
  const struct monitors *monitors;
};

struct service01_row {
  uint8_t identifier;
  const char *name;
  int bytes;
  double scale, offset;
  const char *unit;                                       // "bits" where every bit has its own meaning
  int decimals;                                           // for people
  bool in_frame;                                          // a freeze frame holds it
  const char *origin;                                     // channel, or how it comes from channels
  double (*value)(const struct service01_source *source); // in `unit`; NaN where this engine has it not
};

extern const struct service01_row service01_rows[];
extern const size_t service01_count;

/* Value to raw number and back; a value beyond what the bytes hold becomes the nearest that they do. Not for NaN. */
uint32_t service01_encode(const struct service01_row *row, double value);
double service01_decode(const struct service01_row *row, uint32_t raw);

/* The bytes of a raw number, high one first; returns how many. */
enum { SERVICE01_BYTES_MAX = 4 };
int service01_bytes(const struct service01_row *row, uint32_t raw, uint8_t bytes[SERVICE01_BYTES_MAX]);

/* The same in hex, "0A F0". */
enum { SERVICE01_TEXT_SIZE = 80 };
void service01_hex(const struct service01_row *row, uint32_t raw, char text[SERVICE01_TEXT_SIZE]);

/* The decoded value for people, without its unit: "700.00"; of bits, what they say. */
void service01_words(const struct service01_row *row, uint32_t raw, char text[SERVICE01_TEXT_SIZE]);

/* Identifiers 00, 20, 40: which of the 32 after `from` this engine answers; the highest bit is the first of them. */
uint32_t service01_supported(const struct service01_source *source, unsigned from);

/* Groups of monitors that identifier 01 tells apart. */
enum service01_group { SERVICE01_MISFIRE, SERVICE01_FUEL, SERVICE01_COMPONENTS, SERVICE01_GROUP_COUNT };
extern const char *const service01_group_names[SERVICE01_GROUP_COUNT];
enum service01_group service01_group_of(enum monitor_code code);

/* True once every fitted monitor of the group has run to an answer since the codes were cleared. */
bool service01_complete(const struct engine *engine, const struct monitors *monitors, enum service01_group group);

#endif
