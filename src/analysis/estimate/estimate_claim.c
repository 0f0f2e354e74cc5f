#include "analysis/estimate/estimate_claim.h"

#include "base/number.h"

#include <ctype.h>
#include <math.h>
#include <stdarg.h>
#include <stdbool.h>
#include <stdio.h>
#include <string.h>

void estimate_claim_begin(struct estimate_claim *claim) { memset(claim, 0, sizeof *claim); }

static void append(struct estimate_claim *claim, const char *text) {
  const size_t used = strlen(claim->text);
  snprintf(claim->text + used, ESTIMATE_CLAIM_SIZE - used, "%s", text);
}

void estimate_claim_words(struct estimate_claim *claim, const char *format, ...) {
  char text[ESTIMATE_CLAIM_SIZE];
  va_list values;
  va_start(values, format);
  vsnprintf(text, sizeof text, format, values);
  va_end(values);
  append(claim, text);
}

static void note(struct estimate_claim *claim, double value, enum estimate_claim_how how, const char *printed, const char *source,
                 va_list parts) {
  if (claim->count == ESTIMATE_CLAIM_VALUE_MAX) return;
  struct estimate_claim_value *row = &claim->values[claim->count++];
  row->value = value;
  row->how = how;
  snprintf(row->printed, sizeof row->printed, "%s", printed);
  vsnprintf(row->source, sizeof row->source, source, parts);
}

/* No "-0". */
static void write_number(double value, int decimals, char text[ESTIMATE_CLAIM_PRINTED_SIZE]) {
  const bool zero = fabs(value) < 0.5 * pow(10.0, -decimals);
  snprintf(text, ESTIMATE_CLAIM_PRINTED_SIZE, "%.*f", decimals, zero ? 0.0 : value);
}

void estimate_claim_number(struct estimate_claim *claim, double value, int decimals, const char *source, ...) {
  char printed[ESTIMATE_CLAIM_PRINTED_SIZE];
  va_list parts;
  write_number(value, decimals, printed);
  append(claim, printed);
  va_start(parts, source);
  note(claim, value, ESTIMATE_CLAIM_ROUNDED, printed, source, parts);
  va_end(parts);
}

void estimate_claim_share(struct estimate_claim *claim, double probability, const char *source, ...) {
  char printed[ESTIMATE_CLAIM_PRINTED_SIZE];
  const enum estimate_claim_how how = probability > 0.99   ? ESTIMATE_CLAIM_OVER
                                      : probability < 0.01 ? ESTIMATE_CLAIM_BELOW
                                                           : ESTIMATE_CLAIM_ROUNDED;
  if (how == ESTIMATE_CLAIM_ROUNDED)
    write_number(100.0 * probability, 0, printed);
  else
    snprintf(printed, sizeof printed, "%d", how == ESTIMATE_CLAIM_OVER ? 99 : 1);
  append(claim, how == ESTIMATE_CLAIM_OVER ? "over " : how == ESTIMATE_CLAIM_BELOW ? "below " : "");
  append(claim, printed);
  append(claim, " %");
  va_list parts;
  va_start(parts, source);
  note(claim, 100.0 * probability, how, printed, source, parts);
  va_end(parts);
}

int estimate_claim_decimals_apart(double one, double other, int least) {
  enum { MOST = 3 };
  char first[ESTIMATE_CLAIM_PRINTED_SIZE], second[ESTIMATE_CLAIM_PRINTED_SIZE];
  for (int decimals = least; decimals < MOST; decimals++) {
    write_number(one, decimals, first);
    write_number(other, decimals, second);
    if (strcmp(first, second) != 0) return decimals;
  }
  return least > MOST ? least : MOST;
}

int estimate_claim_decimals(double width) {
  if (!(width > 0.0) || !isfinite(width)) return 2;
  return (int)fmin(fmax(ceil(1.0 - log10(width) - 1e-6), 0.0), 4.0);
}

void estimate_claim_interval(struct estimate_claim *claim, double best, double low, double high, const char *source, ...) {
  char path[ESTIMATE_CLAIM_SOURCE_SIZE - 8];
  va_list parts;
  va_start(parts, source);
  vsnprintf(path, sizeof path, source, parts);
  va_end(parts);
  const double least = fmin(low, high), most = fmax(low, high);
  const int decimals = estimate_claim_decimals(most - least);
  estimate_claim_number(claim, fmin(fmax(best, least), most), decimals, "%s.best", path);
  append(claim, " (");
  estimate_claim_number(claim, least, decimals, "%s.low", path);
  append(claim, " to ");
  estimate_claim_number(claim, most, decimals, "%s.high", path);
  append(claim, ")");
}

/* A number that begins here, and is no part of a name as in mm2 or hold_2500: its length, 0 for none. */
static size_t number_at(const char *text, size_t at) {
  if (!isdigit((unsigned char)text[at])) return 0;
  if (at > 0 && (isalnum((unsigned char)text[at - 1]) || text[at - 1] == '_' || text[at - 1] == '.')) return 0;
  size_t length = strspn(text + at, "0123456789.");
  while (text[at + length - 1] == '.') length--;
  return isalpha((unsigned char)text[at + length]) || text[at + length] == '_' ? 0 : length;
}

void estimate_claim_text(struct estimate_claim *claim, const char *text, const char *source, ...) {
  append(claim, text);
  for (size_t at = 0; text[at]; at++) {
    char printed[ESTIMATE_CLAIM_PRINTED_SIZE];
    const size_t length = number_at(text, at);
    if (length == 0 || length >= sizeof printed) continue;
    snprintf(printed, sizeof printed, "%.*s", (int)length, text + at);
    double value;
    if (!number_read(printed, &value)) continue;
    va_list parts;
    va_start(parts, source);
    note(claim, value, ESTIMATE_CLAIM_ROUNDED, printed, source, parts);
    va_end(parts);
    at += length - 1;
  }
}
