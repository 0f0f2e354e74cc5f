/* Captures of the diagnostic bus read back: what the engine computer answered, as a table of time, name, value, unit.
 *
 *   file       pcap 2.4 of either byte order, micro- or nanoseconds, link type 227 (LINUX CAN_SOCKETCAN); not pcapng
 *   frames     classic CAN, ISO 15765-2; answers of the engine computer: 7E8, or 18DAF110 with 29-bit identifiers
 *   taken      service 01, one or several identifiers an answer, as far as io/scantool/log_signals.c knows them
 *   left out   other computers, other services, messages of which a frame is missing, and what follows an identifier of unknown length
 *
 * ISO 15765 and the list of lengths from memory. */
#ifndef IO_SCANTOOL_CAPTURE_READ_H
#define IO_SCANTOOL_CAPTURE_READ_H

#include "base/error.h"

#include <stdbool.h>
#include <stddef.h>

/* Whether it begins as a pcap or pcapng file does, whatever was captured. */
bool capture_read_is(const char *bytes, size_t size);

/* Makes text of it: a header, and a line an answer; the caller frees it. Times count from the whole second of the first frame. path is for messages.
 * STATUS_BAD_DATA if it was captured on another kind of link, if a record is damaged or the file ends in one, or if there is no answer
 * in it; STATUS_NO_MEMORY. */
MUST_CHECK enum status capture_read_text(const char *path, const char *bytes, size_t size, char **text, size_t *text_size,
                                         struct error *error);

#endif
