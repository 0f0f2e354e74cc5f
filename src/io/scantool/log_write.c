#include "io/scantool/log_write.h"
#include "io/format/memory_stream.h"

#include "io/format/csv_write.h"
#include "io/format/output_file.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* Where clocks begin: twenty seconds before midnight, at the end of a year. */
#define DAY_START_S (86400.0 - 20.0)

/* In a shape with invalid answers every so-manieth of engine speed is one: often enough to meet each phase of a log. */
enum { INVALID_EVERY = 53, SPEED_IDENTIFIER = 0x0C };

enum { CELL_SIZE = CSV_WRITE_NUMBER_SIZE + 64 };

struct writer {
  const struct log_shape *shape;
  const struct log_poll *poll;
  const struct log_answers *answers;
  FILE *stream;
  size_t empty;       // separators owed: cells that were empty so far
  size_t line_count;  // of answers
  size_t speed_count; // answers of engine speed
  double held[LOG_POLL_SIGNAL_MAX];
};

/* ---- Cells ---- */

static char separator(const struct writer *writer) { return writer->shape->separator ? writer->shape->separator : ','; }

static void end_line(struct writer *writer) {
  for (; writer->empty > 0 && !writer->shape->ragged; writer->empty--) fputc(separator(writer), writer->stream);
  writer->empty = 0;
  fputs(writer->shape->crlf ? "\r\n" : "\n", writer->stream);
}

/* A cell and, unless it is the first, the separator before it; an empty one may be left out at the end. */
static void put(struct writer *writer, const char *text, bool first, bool quoted) {
  if (!first) writer->empty++;
  if (*text == '\0') return;
  for (; writer->empty > 0; writer->empty--) fputc(separator(writer), writer->stream);
  fprintf(writer->stream, quoted ? "\"%s\"" : "%s", text);
}

static void put_word(struct writer *writer, const char *text, bool first) {
  put(writer, text, first, writer->shape->quoted || strchr(text, separator(writer)));
}

/* A number with its decimals in the shape's way; NaN is an empty cell. */
static void put_number(struct writer *writer, double value, int decimals, bool first) {
  char digits[CSV_WRITE_NUMBER_SIZE + 1], text[CELL_SIZE];
  if (isnan(value)) {
    put(writer, "", first, false);
    return;
  }
  digits[csv_write_number(digits, value, decimals)] = '\0';
  char *point = strchr(digits, '.');
  const bool part = writer->shape->thousands && fabs(value) >= 1000.0;
  const size_t whole = point ? (size_t)(point - digits) : strlen(digits);
  if (point && writer->shape->decimal_comma) *point = ',';
  if (part)
    snprintf(text, sizeof text, "%.*s,%s", (int)whole - 3, digits, digits + whole - 3);
  else
    snprintf(text, sizeof text, "%s", digits);
  put_word(writer, text, first);
}

static const struct log_signal *signal_of(const struct writer *writer, size_t column) {
  return &log_signals[writer->poll->signals[column].signal];
}

static void put_value(struct writer *writer, size_t column, double value, bool first) {
  const struct log_signal *signal = signal_of(writer, column);
  const struct log_unit *unit = log_shapes_unit(writer->shape, signal->unit);
  const struct service01_row *row = log_signals_row(signal);
  const int decimals = row ? row->decimals : 0;
  put_number(writer, unit ? unit->factor * value + unit->offset : value, decimals + (unit ? unit->more_decimals : 0), first);
}

static void put_time(struct writer *writer, const struct log_answer *answer) {
  const long ms = lround(1e3 * (DAY_START_S + answer->time_s)), second = ms / 1000, day = second / 86400;
  const int hour = (int)(second / 3600 % 24), minute = (int)(second / 60 % 60), rest = (int)(second % 60);
  char text[CELL_SIZE];
  switch (writer->shape->clock) {
  case LOG_CLOCK_S:
    put_number(writer, answer->time_s, 2, true);
    return;
  case LOG_CLOCK_MS:
    put_number(writer, 1e3 * answer->time_s, 0, true);
    return;
  case LOG_CLOCK_RUN:
    put_number(writer, floor(answer->run_time_s), 0, true);
    return;
  case LOG_CLOCK_SAMPLE:
    put_number(writer, (double)writer->line_count, 0, true);
    return;
  case LOG_CLOCK_DAY:
    snprintf(text, sizeof text, "%02d:%02d:%02d.%03d", hour, minute, rest, (int)(ms % 1000));
    break;
  case LOG_CLOCK_ISO:
    snprintf(text, sizeof text, "%s-%02ldT%02d:%02d:%02d.%03d", day ? "2025-01" : "2024-12", day ? day : 31L, hour, minute, rest,
             (int)(ms % 1000));
    break;
  }
  put_word(writer, text, true);
}

/* ---- The header ---- */

static const char *time_name(const struct writer *writer) {
  static const char *const names[] = {
      [LOG_CLOCK_S] = "Time",   [LOG_CLOCK_MS] = "Time",  [LOG_CLOCK_RUN] = "Time Since Engine Start",
      [LOG_CLOCK_DAY] = "Time", [LOG_CLOCK_ISO] = "Time", [LOG_CLOCK_SAMPLE] = "Sample"};
  return writer->shape->header == LOG_HEADER_SHORT && writer->shape->clock == LOG_CLOCK_RUN ? "RUNTM"
                                                                                            : names[writer->shape->clock];
}

static const char *time_unit(const struct writer *writer) {
  static const char *const units[] = {[LOG_CLOCK_S] = "s",  [LOG_CLOCK_MS] = "ms", [LOG_CLOCK_RUN] = "s",
                                      [LOG_CLOCK_DAY] = "", [LOG_CLOCK_ISO] = "",  [LOG_CLOCK_SAMPLE] = ""};
  return units[writer->shape->clock];
}

static const char *unit_text(const struct writer *writer, size_t column) {
  const struct log_signal *signal = signal_of(writer, column);
  const struct log_unit *unit = log_shapes_unit(writer->shape, signal->unit);
  return unit ? unit->unit : signal->unit;
}

static void put_name(struct writer *writer, const char *name, const char *unit, bool first) {
  char text[CELL_SIZE];
  const bool bare = writer->shape->header != LOG_HEADER_BRACKETS || *unit == '\0';
  snprintf(text, sizeof text, bare ? "%s" : "%s (%s)", name, unit);
  put_word(writer, text, first);
}

static void put_time_name(struct writer *writer, bool first) {
  // milliseconds are not to be guessed: they are named whatever the header
  const bool named = writer->shape->clock == LOG_CLOCK_MS && writer->shape->header == LOG_HEADER_SHORT;
  if (named)
    put_word(writer, "Time (ms)", first);
  else
    put_name(writer, time_name(writer), time_unit(writer), first);
}

/* Lines before the header: nothing that would tell a vehicle or its owner. */
static void put_preamble(struct writer *writer) {
  char text[CELL_SIZE];
  if (!writer->shape->preamble) return;
  put_word(writer, "Readings of an invented car", true);
  end_line(writer);
  if (writer->shape->clock == LOG_CLOCK_SAMPLE)
    snprintf(text, sizeof text, "Samples per second: %.4f", 1.0 / log_poll_round_s(writer->poll));
  else
    snprintf(text, sizeof text, "Signals: %zu", writer->poll->signal_count);
  put_word(writer, text, true);
  end_line(writer);
  end_line(writer);
}

static void put_header(struct writer *writer) {
  const bool times = writer->shape->layout == LOG_LAYOUT_TIMES;
  put_preamble(writer);
  if (writer->shape->layout == LOG_LAYOUT_LONG) {
    static const char *const names[] = {"Name", "Value", "Unit"};
    put_time_name(writer, true);
    for (size_t i = 0; i < 3; i++) put_word(writer, names[i], false);
    end_line(writer);
    return;
  }
  for (size_t i = 0; i < writer->poll->signal_count; i++) {
    if (i == 0 || times) put_time_name(writer, i == 0);
    const struct log_signal *signal = signal_of(writer, i);
    const bool brief = writer->shape->header == LOG_HEADER_SHORT;
    put_name(writer, brief ? signal->abbreviation : signal->name, unit_text(writer, i), false);
  }
  end_line(writer);
  if (writer->shape->header != LOG_HEADER_ROW) return;
  put_word(writer, time_unit(writer), true);
  for (size_t i = 0; i < writer->poll->signal_count; i++) put_word(writer, unit_text(writer, i), false);
  end_line(writer);
}

/* ---- Lines ---- */

/* What stands in the file for an answer. */
static double written(struct writer *writer, const struct log_answer *answer) {
  const struct service01_row *row = log_signals_row(signal_of(writer, answer->column));
  if (!writer->shape->invalid || !row || row->identifier != SPEED_IDENTIFIER) return answer->value;
  if (++writer->speed_count % INVALID_EVERY != 0) return answer->value;
  return service01_decode(row, (uint32_t)(ldexp(1.0, 8 * row->bytes) - 1.0));
}

static void put_held(struct writer *writer, const struct log_answer *at) {
  put_time(writer, at);
  for (size_t i = 0; i < writer->poll->signal_count; i++) put_value(writer, i, writer->held[i], false);
  end_line(writer);
  writer->line_count++;
  if (writer->shape->ragged && writer->line_count % INVALID_EVERY == 0) end_line(writer);
}

static void forget(struct writer *writer) {
  for (size_t i = 0; i < LOG_POLL_SIGNAL_MAX; i++) writer->held[i] = NAN;
}

/* A line a round, at the time of its first answer. */
static void put_rounds(struct writer *writer) {
  const struct log_answers *answers = writer->answers;
  for (size_t i = 0; i < answers->count;) {
    const struct log_answer *first = &answers->items[i];
    if (writer->shape->layout == LOG_LAYOUT_DUE) forget(writer);
    for (; i < answers->count && answers->items[i].round == first->round; i++)
      writer->held[answers->items[i].column] = written(writer, &answers->items[i]);
    put_held(writer, first);
  }
}

static void put_answers(struct writer *writer) {
  for (size_t i = 0; i < writer->answers->count; i++) {
    const struct log_answer *answer = &writer->answers->items[i];
    if (writer->shape->layout == LOG_LAYOUT_ONE) forget(writer);
    writer->held[answer->column] = written(writer, answer);
    put_held(writer, answer);
  }
}

static void put_long(struct writer *writer) {
  for (size_t i = 0; i < writer->answers->count; i++) {
    const struct log_answer *answer = &writer->answers->items[i];
    put_time(writer, answer);
    put_word(writer, signal_of(writer, answer->column)->name, false);
    put_value(writer, answer->column, written(writer, answer), false);
    put_word(writer, unit_text(writer, answer->column), false);
    end_line(writer);
  }
}

/* The next answer of a column at or after a place; the count if there is none. */
static size_t next_of(const struct log_answers *answers, size_t column, size_t at) {
  while (at < answers->count && answers->items[at].column != column) at++;
  return at;
}

static void put_times(struct writer *writer) {
  const struct log_answers *answers = writer->answers;
  size_t at[LOG_POLL_SIGNAL_MAX] = {0};
  for (bool any = true; any;) {
    any = false;
    for (size_t column = 0; column < writer->poll->signal_count; column++) {
      at[column] = next_of(answers, column, at[column]);
      any |= at[column] < answers->count;
    }
    for (size_t column = 0; any && column < writer->poll->signal_count; column++) {
      const struct log_answer *answer = at[column] < answers->count ? &answers->items[at[column]++] : NULL;
      put_number(writer, answer ? answer->time_s : NAN, 2, column == 0);
      put_value(writer, column, answer ? written(writer, answer) : NAN, false);
    }
    if (any) end_line(writer);
  }
}

static void put_all(struct writer *writer) {
  put_header(writer);
  forget(writer);
  switch (writer->shape->layout) {
  case LOG_LAYOUT_ROUND:
  case LOG_LAYOUT_DUE:
    put_rounds(writer);
    return;
  case LOG_LAYOUT_ONE:
  case LOG_LAYOUT_HELD:
    put_answers(writer);
    return;
  case LOG_LAYOUT_LONG:
    put_long(writer);
    return;
  case LOG_LAYOUT_TIMES:
    put_times(writer);
    return;
  }
}

/* ---- Bytes ---- */

/* Our UTF-8, which has nothing beyond U+00FF (two bytes, C2 or C3 first), in the shape's encoding. */
static void encode(const struct log_shape *shape, const char *text, size_t size, FILE *stream) {
  if (shape->encoding == LOG_ENCODING_UTF8_BOM) fputs("\xEF\xBB\xBF", stream);
  if (shape->encoding == LOG_ENCODING_UTF16) fputs("\xFF\xFE", stream);
  if (shape->encoding == LOG_ENCODING_UTF8 || shape->encoding == LOG_ENCODING_UTF8_BOM) {
    fwrite(text, 1, size, stream);
    return;
  }
  for (size_t i = 0; i < size; i++) {
    unsigned letter = (unsigned char)text[i];
    if (letter >= 0xC0 && i + 1 < size) letter = (letter & 0x1FU) << 6 | ((unsigned char)text[++i] & 0x3FU);
    fputc((int)letter, stream);
    if (shape->encoding == LOG_ENCODING_UTF16) fputc(0, stream);
  }
}

enum status log_write(const char *path, const struct log_shape *shape, const struct log_poll *poll,
                      const struct log_answers *answers, struct error *error) {
  if (answers->count == 0)
    return error_set(error, STATUS_BAD_DATA, "%s: nothing is answered in this run: the key is off throughout", path);
  char *text = NULL;
  size_t size = 0;
  struct writer writer = {.shape = shape, .poll = poll, .answers = answers, .stream = open_memstream(&text, &size)};
  if (writer.stream) put_all(&writer);
  if (!writer.stream || !memory_stream_close(writer.stream, &text)) {
    return error_set(error, STATUS_NO_MEMORY, "out of memory for the log %s", path);
  }
  struct output_file file;
  enum status status = output_file_open(&file, path, error);
  if (status == STATUS_OK) {
    encode(shape, text, size, file.stream);
    status = output_file_commit(&file, error);
  }
  free(text);
  return status;
}
