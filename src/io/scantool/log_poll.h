/* A run asked for its readings as an instrument asks: one request after the other, the answer as bytes of service 01. */
#ifndef IO_SCANTOOL_LOG_POLL_H
#define IO_SCANTOOL_LOG_POLL_H

#include "base/error.h"
#include "io/scantool/log_signals.h"
#include "sim/recording.h"

enum { LOG_POLL_SIGNAL_MAX = 32 };

/* What is asked: signals, each in every so-manieth round. */
struct log_poll {
  size_t signal_count;
  struct {
    size_t signal; // of log_signals
    int every;
  } signals[LOG_POLL_SIGNAL_MAX];
  double rate_hz;     // answers a second
  double noise_ratio; // 1: the table's, 0: none
  uint64_t seed;
  double run_time_s; // how long the engine had run at the start
  double record_s;   // spacing of the recording's rows
  bool awake;        // the key is on at the start of the run
  double from_s;     // the instrument is plugged in then; times of answers count from there
};

struct log_answer {
  double time_s, run_time_s;
  size_t column; // of log_poll.signals
  size_t round;
  double value; // what the bytes say, in the signal's unit
};

struct log_answers {
  size_t count, capacity;
  struct log_answer *items; // in order of time; owned
};

/* The usual signals that the engine answers, where none are named. */
void log_poll_usual(struct log_poll *poll, const struct engine *engine, const struct recording *recording);

/* Signals that the engine has not are refused with STATUS_USAGE. A request falls at its turn, early or late by up to a quarter of the time
 * between two, and is answered with the last row of the recording before it. While the key is off nothing answers. */
MUST_CHECK enum status log_poll_run(const struct log_poll *poll, const struct engine *engine, const struct recording *recording,
                                    struct log_answers *answers, struct error *error);
void log_poll_release(struct log_answers *answers);

/* Seconds that a round takes in the mean. */
double log_poll_round_s(const struct log_poll *poll);

#endif
