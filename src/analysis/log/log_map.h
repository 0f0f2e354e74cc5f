/* What somebody has said that columns of his logs are: header, and the name of a reading.
 *
 * A saved one is a table with the columns header and name, a row each; # begins a comment:
 *
 *   header,name
 *   Luftmasse [kg/h],maf_gps
 *   Drehzahl,engine rpm
 *   Bemerkung,                    not to be asked for: it is left out
 *
 * name is one of ours, or any that sim/log_columns.h knows, with a unit in brackets if the header has none. */
#ifndef ANALYSIS_LOG_LOG_MAP_H
#define ANALYSIS_LOG_LOG_MAP_H

#include "base/error.h"

#include <stddef.h>

struct log_map_row {
  char *header, *name; // owned; an empty name: left out
};

struct log_map {
  size_t count;
  struct log_map_row *rows; // owned
};

/* Adds HEADER=name, parted at the last equals sign. STATUS_USAGE, with a near miss, if there is no such reading. */
MUST_CHECK enum status log_map_add(struct log_map *map, const char *pair, struct error *error);

/* Adds the rows of a table; name is for messages. STATUS_BAD_DATA names every row that is wrong. */
MUST_CHECK enum status log_map_add_table(struct log_map *map, const char *name, const char *text, size_t size,
                                         struct error *error);

void log_map_destroy(struct log_map *map);

/* The name that a header was given, NULL if it was given none. map: NULL for none. Letter case and blanks round it do not matter, nor
 * the unit that it sets off, if the map's header has none. The last that was added counts. */
const char *log_map_find(const struct log_map *map, const char *header);

#endif
