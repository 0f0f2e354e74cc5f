/* The bytes of a log as one text in UTF-8, whatever instrument or spreadsheet wrote them: UTF-8, UTF-16 of either byte order, each with
 * and without its mark, or Latin-1. */
#ifndef ANALYSIS_LOG_LOG_BYTES_H
#define ANALYSIS_LOG_LOG_BYTES_H

#include "base/error.h"

#include <stddef.h>

enum { LOG_BYTES_LINE_MOST = 1 << 20 }; // a longer line is none of a log; ours to choose, a thousand columns take a tenth of it

struct log_bytes {
  const char *text; // without a byte-order mark
  size_t size;
  char *owned; // text, if it is not that of the caller
};

/* bytes stay the caller's and must outlive the text. name is for messages. STATUS_BAD_DATA if there are none, if they are no text, or if a
 * line is longer than LOG_BYTES_LINE_MOST. log_bytes_destroy() in any case. */
MUST_CHECK enum status log_bytes_read(const char *name, const void *bytes, size_t size, struct log_bytes *text,
                                      struct error *error);
void log_bytes_destroy(struct log_bytes *text);

#endif
