#include "io/format/csv_write.h"

#include <assert.h>
#include <inttypes.h>
#include <math.h>
#include <stdbool.h>
#include <string.h>

static const double powers_of_ten[CSV_WRITE_DECIMALS_MAX + 1] = {1e0, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9};

/* Below this every whole number is a double and fits 64 bits; 2^53 is 9.007e15. */
#define WHOLE_LIMIT 9e15

size_t csv_write_number(char text[CSV_WRITE_NUMBER_SIZE], double value, int decimals) {
  assert(decimals >= 0 && decimals <= CSV_WRITE_DECIMALS_MAX);
  if (isnan(value)) return 0;
  const double scaled = fabs(value) * powers_of_ten[decimals];
  if (!(scaled < WHOLE_LIMIT)) {
    // No decimal sign in either form, so the locale has no say.
    return (size_t)snprintf(text, CSV_WRITE_NUMBER_SIZE, "%.0f", value);
  }
  uint64_t whole = (uint64_t)llrint(scaled);
  const bool minus = signbit(value) && whole != 0;
  char digits[24];
  int count = 0;
  while (whole > 0 || count <= decimals) { // at least one digit before the point
    digits[count++] = (char)('0' + whole % 10);
    whole /= 10;
  }
  char *end = text;
  if (minus) *end++ = '-';
  while (count > decimals) *end++ = digits[--count];
  if (decimals > 0) *end++ = '.';
  while (count > 0) *end++ = digits[--count];
  return (size_t)(end - text);
}

static void write_name(FILE *stream, const char *name) {
  if (!strpbrk(name, ",\"\r\n")) {
    fputs(name, stream);
    return;
  }
  fputc('"', stream);
  for (; *name; name++) {
    if (*name == '"') fputc('"', stream);
    fputc(*name, stream);
  }
  fputc('"', stream);
}

void csv_write_header(FILE *stream, const char *const *names, size_t count) {
  for (size_t i = 0; i < count; i++) {
    if (i > 0) fputc(',', stream);
    write_name(stream, names[i]);
  }
  fputc('\n', stream);
}

/* Cells gather in a buffer that goes to the stream whenever the next one might not fit. */
struct line {
  FILE *stream;
  size_t used;
  char text[8 * CSV_WRITE_NUMBER_SIZE];
};

static void line_add(struct line *line, double value, int decimals, char end) {
  if (line->used + CSV_WRITE_NUMBER_SIZE + 1 > sizeof line->text) {
    fwrite(line->text, 1, line->used, line->stream);
    line->used = 0;
  }
  line->used += csv_write_number(line->text + line->used, value, decimals);
  line->text[line->used++] = end;
}

void csv_write_row(FILE *stream, const double *values, const int *decimals, size_t count) {
  struct line line;
  line.stream = stream;
  line.used = 0;
  for (size_t i = 0; i < count; i++) line_add(&line, values[i], decimals[i], i + 1 < count ? ',' : '\n');
  fwrite(line.text, 1, line.used, stream);
}

void csv_write_channel_header(FILE *stream) {
  const char *names[CHANNEL_COUNT];
  for (int i = 0; i < CHANNEL_COUNT; i++) names[i] = channel_rows[i].name;
  csv_write_header(stream, names, CHANNEL_COUNT);
}

void csv_write_channel_row(FILE *stream, const double values[CHANNEL_COUNT]) {
  int decimals[CHANNEL_COUNT];
  for (int i = 0; i < CHANNEL_COUNT; i++) decimals[i] = channel_rows[i].decimals;
  csv_write_row(stream, values, decimals, CHANNEL_COUNT);
}

void csv_write_recording(FILE *stream, const struct recording *recording) {
  csv_write_channel_header(stream);
  for (size_t row = 0; row < recording->row_count; row++) csv_write_channel_row(stream, recording->values + row * CHANNEL_COUNT);
}
