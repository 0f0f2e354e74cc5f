/* What would pass over the diagnostic bus at some moments, as a capture file that general packet tools read.
 *
 *   file       pcap 2.4, microseconds, link type 227 (LINUX CAN_SOCKETCAN: identifier big-endian, length, 3 unused, data)
 *   frames     ISO 15765-2, 11-bit identifiers of ISO 15765-4: requests 7DF, answers 7E8, flow control 7E0; padded to 8 bytes
 *   dialogue   services 01 (lists of identifiers, then each identifier), 02 (freeze frame), 03 (confirmed codes), 07 (pending
 *              codes), 0A (permanent codes: here the confirmed ones that light the lamp; clearing takes these too)
 *
 * ISO 15765 from memory; tests/reference/test_decoder.c has an outside decoder read the result. */
#ifndef IO_SCANTOOL_CAPTURE_H
#define IO_SCANTOOL_CAPTURE_H

#include "base/error.h"
#include "io/scantool/log_poll.h"

/* Writes one file with the dialogue at each scan. With the key off the requests stay without an answer. */
MUST_CHECK enum status capture_write(const char *path, const struct engine *engine, const struct scan *scans, size_t count,
                                     struct error *error);

/* A run as an instrument polls it, frame by frame: lists of identifiers first, then a request and an answer for each answer of the poll
 * at its time, and after the last one freeze frame and codes. Times count from when the instrument is plugged in. All signals must
 * have an identifier. first, last: scans when the run starts and ends. What output_file gives, or
 * STATUS_BAD_DATA if nothing was answered. */
MUST_CHECK enum status capture_write_log(const char *path, const struct engine *engine, const struct log_poll *poll,
                                         const struct log_answers *answers, const struct scan *first, const struct scan *last,
                                         struct error *error);

#endif
