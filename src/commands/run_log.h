/* `run --as-log`: the run once more, as an instrument on the diagnostic socket would have logged it. */
#ifndef COMMANDS_RUN_LOG_H
#define COMMANDS_RUN_LOG_H

#include "car/engine.h"
#include "commands/options.h"
#include "sim/recording.h"
#include "sim/scan.h"
#include "sim/scenario.h"

#define RUN_LOG_OPTION_ROWS \
  OPTION_ROW_TEXTS("as-log", "FILE", \
                   "also write the run as an instrument would log it, for practice: answers one after the other, in the bytes " \
                   "of SAE J1979 / ISO 15031-5 service 01; may be given several times, with --log-shape for each"), \
      OPTION_ROW_TEXT("as-capture", "FILE", \
                      "also write the same dialogue frame by frame, a pcap file of link type SocketCAN (ISO 15765-4): service " \
                      "01, at the end 02, 03, 07 and 0A; it can be read wherever a log can"), \
      OPTION_ROW_TEXTS("log-shape", "SHAPE", "shape of that log: bladegap list log-shapes; wide by default"), \
      OPTION_ROW_TEXT("log-signals", "LIST", \
                      "signals in it, by abbreviation or name, separated by commas; ECT/10 asks for one in every tenth round " \
                      "only. By default the usual ones that the engine answers: bladegap list log-signals"), \
      OPTION_ROW_REAL("log-from", "T", 0, 604800, "the instrument is plugged in T seconds into the run; 0 by default"), \
      OPTION_ROW_REAL("log-rate", "HZ", 0.1, 100, "answers per second, all signals together; 20 by default"), \
      OPTION_ROW_REAL("log-noise", "RATIO", 0, 20, \
                      "noise of the readings before they become bytes, as a multiple of that in the list; 1 by default")

/* Checks what was given, before the run; STATUS_USAGE. */
MUST_CHECK enum status run_log_check(const struct command_line *line, const struct scenario *scenario, struct error *error);

/* The logs of a run; first, last: scans at its start and its end. */
MUST_CHECK enum status run_log_write(const struct command_line *line, const struct engine *engine,
                                     const struct scenario *scenario, const struct recording *recording, const struct scan *first,
                                     const struct scan *last, struct error *error);

#endif
