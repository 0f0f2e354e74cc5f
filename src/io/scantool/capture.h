/* What would pass over the diagnostic bus at some moments, as a capture file that general packet tools read.
 *
 *   file       pcap 2.4, microseconds, link type 227 (LINUX CAN_SOCKETCAN: identifier big-endian, length, 3 unused, data)
 *   frames     ISO 15765-2, 11-bit identifiers of ISO 15765-4: requests 7DF, answers 7E8, flow control 7E0; padded to 8 bytes
 *   dialogue   services 01 (lists of identifiers, then each identifier), 03 (confirmed codes), 07 (pending codes)
 *
 * ISO 15765 from memory; tests/reference/test_decoder.c has an outside decoder read the result. */
#ifndef IO_SCANTOOL_CAPTURE_H
#define IO_SCANTOOL_CAPTURE_H

#include "base/error.h"
#include "io/scantool/service01.h"

/* Writes one file with the dialogue at each scan. With the key off the requests stay without an answer. */
MUST_CHECK enum status capture_write(const char *path, const struct engine *engine, const struct scan *scans, size_t count,
                                     struct error *error);

#endif
