#include "commands/run_log.h"

#include "base/near_miss.h"
#include "io/scantool/capture.h"
#include "io/scantool/log_write.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { NAME_MAX_COUNT = 64, WORD_SIZE = 64, EVERY_MOST = 1000 };

static enum status unknown(const char *option, const char *word, const char *const *names, size_t count, const char *kind,
                           struct error *error) {
  const char *near = near_miss_best(word, names, count);
  return error_set(error, STATUS_USAGE, "%s: '%s' is none of those in bladegap list %s%s%s%s", option, word, kind,
                   near ? "; did you mean " : "", near ? near : "", near ? "?" : "");
}

static enum status find_shape(const char *name, const struct log_shape **shape, struct error *error) {
  const char *names[NAME_MAX_COUNT];
  const size_t at = log_shapes_find(name);
  *shape = &log_shapes[at];
  for (size_t i = 0; i < log_shapes_count; i++) names[i] = log_shapes[i].name;
  return at < log_shapes_count ? STATUS_OK : unknown("--log-shape", name, names, log_shapes_count, "log-shapes", error);
}

static enum status unknown_signal(const char *word, struct error *error) {
  const char *names[NAME_MAX_COUNT];
  for (size_t i = 0; i < log_signals_count; i++) names[i] = log_signals[i].abbreviation;
  return unknown("--log-signals", word, names, log_signals_count, "log-signals", error);
}

/* NAME or NAME/EVERY. The one name with a slash in it, A/C, is not taken for that. */
static enum status add_signal(const char *text, size_t size, struct log_poll *poll, struct error *error) {
  char word[WORD_SIZE], *end;
  if (size == 0 || size >= sizeof word)
    return error_set(error, STATUS_USAGE, "--log-signals: '%.*s' is not the name of a signal", (int)size, text);
  snprintf(word, sizeof word, "%.*s", (int)size, text);
  size_t signal = log_signals_find(word);
  char *slash = strrchr(word, '/');
  long every = 0;
  if (signal == log_signals_count && slash) {
    every = strtol(slash + 1, &end, 10);
    if (end == slash + 1 || *end || every < 1 || every > EVERY_MOST)
      return error_set(error, STATUS_USAGE, "--log-signals: %s: rounds are counted from 1 to %d", word, EVERY_MOST);
    *slash = '\0';
    signal = log_signals_find(word);
  }
  if (signal == log_signals_count) return unknown_signal(word, error);
  for (size_t i = 0; i < poll->signal_count; i++)
    if (poll->signals[i].signal == signal) return error_set(error, STATUS_USAGE, "--log-signals: %s is given twice", word);
  poll->signals[poll->signal_count].signal = signal;
  poll->signals[poll->signal_count++].every = every ? (int)every : log_signals[signal].every;
  return STATUS_OK;
}

static enum status read_signals(const char *list, struct log_poll *poll, struct error *error) {
  for (const char *at = list;; at++) {
    const size_t size = strcspn(at, ",");
    const enum status status = add_signal(at, size, poll, error);
    if (status != STATUS_OK) return status;
    at += size;
    if (*at == '\0') return STATUS_OK;
  }
}

static enum status read_options(const struct command_line *line, struct log_poll *poll, struct error *error) {
  poll->rate_hz = options_real(line, "log-rate", 20.0);
  poll->from_s = options_real(line, "log-from", 0.0);
  poll->noise_ratio = options_real(line, "log-noise", 1.0);
  const char *list = options_text(line, "log-signals", NULL);
  return list ? read_signals(list, poll, error) : STATUS_OK;
}

enum status run_log_check(const struct command_line *line, const struct scenario *scenario, struct error *error) {
  const size_t count = options_given(line, "as-log"), shapes = options_given(line, "log-shape");
  const bool captured = options_given(line, "as-capture") > 0;
  const char *option = count > 0 ? "as-log" : "as-capture";
  struct log_poll poll = {0};
  const struct log_shape *shape;
  if (count == 0) {
    static const char *const needy[] = {"log-shape", "log-signals", "log-from", "log-rate", "log-noise"};
    for (size_t i = 0; i < sizeof needy / sizeof needy[0]; i++)
      if (options_given(line, needy[i]) && (i == 0 || !captured))
        return error_set(error, STATUS_USAGE, "--%s needs --as-log FILE%s", needy[i], i > 0 ? " or --as-capture FILE" : "");
    if (!captured) return STATUS_OK;
  }
  if (line->operand_count > 1)
    return error_set(error, STATUS_USAGE, "--%s is for one scenario, and there are %zu", option, line->operand_count);
  if (options_given(line, "rows-only"))
    return error_set(error, STATUS_USAGE, "--%s needs the rows that --rows-only does not keep", option);
  if (shapes > 1 && shapes != count)
    return error_set(error, STATUS_USAGE, "--log-shape is given %zu times for %zu --as-log: once for all, or once for each",
                     shapes, count);
  for (size_t i = 0; i < shapes; i++) {
    const enum status status = find_shape(options_text_at(line, "log-shape", i), &shape, error);
    if (status != STATUS_OK) return status;
  }
  const enum status status = read_options(line, &poll, error);
  for (size_t i = 0; status == STATUS_OK && captured && i < poll.signal_count; i++)
    if (!log_signals_row(&log_signals[poll.signals[i].signal]))
      return error_set(error, STATUS_USAGE, "--as-capture: %s has no identifier in service 01; leave it out of --log-signals",
                       log_signals[poll.signals[i].signal].abbreviation);
  if (status == STATUS_OK && scenario->record_s > 0.5)
    return error_set(error, STATUS_USAGE, "--%s: %s has a row only every %g s; record_s must be 0.5 s or less", option,
                     scenario->name, scenario->record_s);
  if (status == STATUS_OK && poll.from_s >= scenario->duration_s)
    return error_set(error, STATUS_USAGE, "--log-from: %s ends at %g s", scenario->name, scenario->duration_s);
  return status;
}

enum status run_log_write(const struct command_line *line, const struct engine *engine, const struct scenario *scenario,
                          const struct recording *recording, const struct scan *first, const struct scan *last,
                          struct error *error) {
  const size_t count = options_given(line, "as-log"), shapes = options_given(line, "log-shape");
  struct log_poll poll = {.seed = scenario->seed,
                          .record_s = scenario->record_s,
                          .awake = first->reading.awake,
                          .run_time_s = first->reading.run_time_s};
  struct log_answers answers = {0};
  if (count == 0 && !options_given(line, "as-capture")) return STATUS_OK;
  enum status status = read_options(line, &poll, error);
  if (status != STATUS_OK) return status;
  if (poll.signal_count == 0) log_poll_usual(&poll, engine, recording);
  status = log_poll_run(&poll, engine, recording, &answers, error);
  for (size_t i = 0; status == STATUS_OK && i < count; i++) {
    const struct log_shape *shape = &log_shapes[0];
    if (shapes > 0) status = find_shape(options_text_at(line, "log-shape", shapes > 1 ? i : 0), &shape, error);
    if (status == STATUS_OK) status = log_write(options_text_at(line, "as-log", i), shape, &poll, &answers, error);
  }
  if (status == STATUS_OK && options_given(line, "as-capture"))
    status = capture_write_log(options_text(line, "as-capture", NULL), engine, &poll, &answers, first, last, error);
  log_poll_release(&answers);
  return status;
}
