/* The end of a stream of open_memstream(3). Where memory runs out, it may drop text and its fclose() still say that all is well. */
#ifndef IO_FORMAT_MEMORY_STREAM_H
#define IO_FORMAT_MEMORY_STREAM_H

#include "base/attributes.h"

#include <stdbool.h>
#include <stdio.h>

/* Closes it; whether *text is whole. If not, *text is freed and NULL. */
MUST_CHECK bool memory_stream_close(FILE *stream, char **text);

#endif
