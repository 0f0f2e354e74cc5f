/* What a scan tool shows of one moment: data stream, codes, freeze frame, readiness. For people and as JSON. */
#ifndef IO_SCANTOOL_DATA_STREAM_H
#define IO_SCANTOOL_DATA_STREAM_H

#include "base/error.h"
#include "io/scantool/service01.h"

#include <stdio.h>

struct json;

/* All of it; a computer whose key is off does not answer, and the text says so. */
MUST_CHECK enum status data_stream_print(const struct engine *engine, const struct scan *scan, bool us, FILE *stream,
                                         struct error *error);
/* Into the object that is open. */
void data_stream_put_json(const struct engine *engine, const struct scan *scan, struct json *json);

/* Freeze frame alone; nothing if none was ever stored. */
void data_stream_print_frame(const struct engine *engine, const struct freeze_frame *frame, FILE *stream);
void data_stream_put_frame(const struct engine *engine, const struct freeze_frame *frame, struct json *json);

/* Which monitors have run to an answer since the codes were cleared. */
void data_stream_print_readiness(const struct engine *engine, const struct monitors *monitors, FILE *stream);
void data_stream_put_readiness(const struct engine *engine, const struct monitors *monitors, struct json *json);

#endif
