/* The edge of the library: errors become text and a code, NULL is answered. */
#ifndef LIBRARY_EDGE_H
#define LIBRARY_EDGE_H

#include "base/error.h"

#include <stdbool.h>
#include <stddef.h>

/* Where a caller wants to have his text; NULL for nowhere. */
struct edge {
  char *text;
  size_t size;
};

/* All went well so far: the text is "". */
struct edge edge_begin(char *text, size_t size);

/* Writes a text, cut to size; returns the code of bladegap_status. */
int edge_fail(struct edge edge, enum status status, const char *format, ...) PRINTF_LIKE(3, 4);

/* The same of an error; 0 if its status is STATUS_OK. */
int edge_tell(struct edge edge, const struct error *error);

/* "there is no CHANNEL 'NAME'; did you mean ...?" */
int edge_unknown(struct edge edge, const char *what, const char *name, const char *const *names, size_t count);

/* Index of the name, -1 if it is not there. */
int edge_find(const char *name, const char *const *names, size_t count);

#endif
