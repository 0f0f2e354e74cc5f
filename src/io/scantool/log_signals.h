/* What an instrument may log: one row a signal, with the data name and the abbreviation of the standard, and how often it is asked.
 *
 * Data names and abbreviations: service 01 of SAE J1979 / ISO 15031-5; IAC and A/C: SAE J1930. All from memory. */
#ifndef IO_SCANTOOL_LOG_SIGNALS_H
#define IO_SCANTOOL_LOG_SIGNALS_H

#include "io/scantool/service01.h"

struct log_signal {
  const char *abbreviation; // in capitals
  const char *name;         // data name
  const char *unit;         // as a header has it, "" for none
  uint8_t identifier;       // of service 01; 0: a reading of the maker's own, the channel as it is
  enum channel channel;     // where there is no identifier
  int every;                // asked in every so-manieth round
  double noise;             // standard deviation before it becomes bytes, in the unit
  bool usual;               // logged unless others are named
};

extern const struct log_signal log_signals[];
extern const size_t log_signals_count;

/* Index of the signal with this abbreviation or data name, letter case aside; log_signals_count if none. */
size_t log_signals_find(const char *word);

/* What makes bytes of it; NULL for a reading of the maker's own. */
const struct service01_row *log_signals_row(const struct log_signal *signal);

/* Its value before noise and bytes, NaN where this engine has it not. */
double log_signals_value(const struct log_signal *signal, const struct service01_source *source);

#endif
