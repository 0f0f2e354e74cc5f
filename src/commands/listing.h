/* A list of things with the same columns, filled once and printed as an aligned table or as JSON. */
#ifndef COMMANDS_LISTING_H
#define COMMANDS_LISTING_H

#include "base/error.h"
#include "io/format/json.h"
#include "io/format/text.h"

struct listing {
  const char *name;
  size_t column_count, column; // column: where the next cell goes
  const char *const *columns;  // headings, and the keys in JSON
  bool as_json;
  struct json *json; // NULL: as a table, or no memory
  struct text_table table;
};

/* name: the key of the array in JSON. */
void listing_init(struct listing *listing, const char *name, size_t column_count, const char *const *columns, bool as_json);

/* The next cell: row after row, column after column. */
void listing_text(struct listing *listing, const char *text);
void listing_real(struct listing *listing, double value); // up to nine significant digits
void listing_none(struct listing *listing);               // an empty cell, null in JSON

/* Prints to stdout what was filled in, and releases it. */
MUST_CHECK enum status listing_print(struct listing *listing, struct error *error);
#endif
