#include "io/scantool/log_poll.h"

#include "base/random.h"

#include <math.h>
#include <stdlib.h>

/* A request comes early or late by up to this share of the time between two: our own choice, as buses are shared. */
#define JITTER_RATIO 0.25

struct clock {
  const struct recording *recording;
  size_t event; // the next to come
  bool awake, running;
  double started_s;
};

/* What the events say up to a time. */
static void advance(struct clock *clock, double time_s) {
  for (; clock->event < clock->recording->event_count; clock->event++) {
    const struct recording_event *event = &clock->recording->events[clock->event];
    if (event->time_s > time_s) return;
    if (event->kind != RECORDING_ENGINE) continue;
    if (event->value == RECORDING_VALUE_STARTED) {
      clock->running = true;
      clock->started_s = event->time_s;
    } else if (event->value == RECORDING_VALUE_STALL || event->value == RECORDING_VALUE_STANDSTILL) {
      clock->running = false;
    } else if (event->value >= RECORDING_VALUE_KEY) {
      clock->awake = event->value != RECORDING_VALUE_KEY + (int)KEY_OFF;
      clock->running &= clock->awake;
    }
  }
}

static struct scan_data read_row(const struct log_poll *poll, const struct clock *clock, double time_s) {
  const struct recording *recording = clock->recording;
  struct scan_data reading = {.awake = clock->awake, .wanted_lambda = NAN};
  size_t row = (size_t)(time_s / poll->record_s + 1e-6);
  if (row >= recording->row_count) row = recording->row_count - 1;
  for (size_t i = 0; i < CHANNEL_COUNT; i++) reading.values[i] = recording_value(recording, row, (enum channel)i);
  reading.run_time_s = clock->running ? time_s - clock->started_s : 0.0;
  return reading;
}

void log_poll_usual(struct log_poll *poll, const struct engine *engine, const struct recording *recording) {
  const struct clock clock = {.recording = recording, .awake = true};
  const struct scan_data reading = read_row(poll, &clock, 0.0);
  const struct service01_source source = {engine, &reading, NULL};
  for (size_t i = 0; i < log_signals_count; i++) {
    if (!log_signals[i].usual || isnan(log_signals_value(&log_signals[i], &source))) continue;
    poll->signals[poll->signal_count].signal = i;
    poll->signals[poll->signal_count++].every = log_signals[i].every;
  }
}

static enum status check_signals(const struct log_poll *poll, const struct engine *engine, const struct recording *recording,
                                 struct error *error) {
  const struct clock clock = {.recording = recording, .awake = true};
  const struct scan_data reading = read_row(poll, &clock, 0.0);
  const struct service01_source source = {engine, &reading, NULL};
  for (size_t i = 0; i < poll->signal_count; i++) {
    const struct log_signal *signal = &log_signals[poll->signals[i].signal];
    if (isnan(log_signals_value(signal, &source)))
      return error_set(error, STATUS_USAGE, "--log-signals: %s does not answer %s (%s)", engine->title, signal->abbreviation,
                       signal->name);
  }
  return STATUS_OK;
}

static enum status append(struct log_answers *answers, const struct log_answer *answer, struct error *error) {
  if (answers->count == answers->capacity) {
    const size_t capacity = answers->capacity ? 2 * answers->capacity : 1024;
    struct log_answer *items = realloc(answers->items, capacity * sizeof *items);
    if (!items) return error_set(error, STATUS_NO_MEMORY, "out of memory for %zu answers of a log", capacity);
    answers->items = items;
    answers->capacity = capacity;
  }
  answers->items[answers->count++] = *answer;
  return STATUS_OK;
}

/* Whether a signal is asked in a round: those asked seldom take turns. */
static bool due(const struct log_poll *poll, size_t column, size_t round) {
  return (round + column) % (size_t)poll->signals[column].every == 0 || round == 0;
}

/* What the bytes say of a value. */
static double through_bytes(const struct log_signal *signal, double value) {
  const struct service01_row *row = log_signals_row(signal);
  if (!row) return round(value);
  return service01_decode(row, service01_encode(row, value));
}

enum status log_poll_run(const struct log_poll *poll, const struct engine *engine, const struct recording *recording,
                         struct log_answers *answers, struct error *error) {
  const double end_s = recording_value(recording, recording->row_count - 1, CHANNEL_time_s);
  struct clock clock = {recording, 0, poll->awake, poll->run_time_s > 0.0, -poll->run_time_s};
  const enum status checked = check_signals(poll, engine, recording, error);
  if (checked != STATUS_OK) return checked;
  uint64_t request = 0;
  for (size_t round = 0;; round++) {
    for (size_t column = 0; column < poll->signal_count; column++) {
      if (!due(poll, column, round)) continue;
      const double turn = JITTER_RATIO * (2.0 * random_uniform(poll->seed, RANDOM_STREAM_LOG, 2 * request) - 1.0);
      struct log_answer answer = {
          .time_s = fmax(((double)request + turn) / poll->rate_hz, 0.0), .column = column, .round = round};
      const double now_s = poll->from_s + answer.time_s;
      if (now_s > end_s) return STATUS_OK;
      const double draw = random_normal(poll->seed, RANDOM_STREAM_LOG, 2 * request + 1);
      request++;
      advance(&clock, now_s);
      if (!clock.awake) continue;
      const struct log_signal *signal = &log_signals[poll->signals[column].signal];
      const struct scan_data reading = read_row(poll, &clock, now_s);
      const struct service01_source source = {engine, &reading, NULL};
      const double value = log_signals_value(signal, &source) + poll->noise_ratio * signal->noise * draw;
      answer.run_time_s = reading.run_time_s;
      if (isnan(value)) continue;
      answer.value = through_bytes(signal, value);
      const enum status status = append(answers, &answer, error);
      if (status != STATUS_OK) return status;
    }
  }
}

void log_poll_release(struct log_answers *answers) {
  free(answers->items);
  *answers = (struct log_answers){0};
}

double log_poll_round_s(const struct log_poll *poll) {
  double count = 0.0;
  for (size_t i = 0; i < poll->signal_count; i++) count += 1.0 / poll->signals[i].every;
  return count / poll->rate_hz;
}
