#include "analysis/sweep/sweep_axis.h"

#include "base/number.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { NUMBER_SIZE = 64 };
#define COUNT_SLACK 1e-6 // of a step: 0:1:0.1 has eleven values, although 0.1 is none of the doubles
#define SAME        1e-9 // of the value: what decimals may round off

void sweep_axis_destroy(struct sweep_axis *axis) {
  free(axis->values);
  axis->values = NULL;
  axis->count = 0;
}

/* A number that ends at one of `ends`; *at moves behind that sign. */
static bool read_number(const char **at, const char *ends, double *value, char *end_sign) {
  char word[NUMBER_SIZE];
  const char *begin = *at + strspn(*at, " ");
  const size_t length = strcspn(begin, ends);
  if (length >= sizeof word) return false;
  memcpy(word, begin, length);
  word[length] = '\0';
  if (!number_read(word, value)) return false;
  *end_sign = begin[length];
  *at = begin + length + (*end_sign ? 1 : 0);
  return true;
}

static enum status hold(struct sweep_axis *axis, double count, const char *text, struct error *error) {
  if (!(count <= SWEEP_AXIS_VALUE_MAX))
    return error_set(error, STATUS_USAGE, "--vary %s: that is %.3g values, %d at most; use a coarser step", text, count,
                     SWEEP_AXIS_VALUE_MAX);
  axis->count = (size_t)count;
  axis->values = calloc(axis->count, sizeof *axis->values);
  return axis->values ? STATUS_OK : error_set(error, STATUS_NO_MEMORY, "out of memory for the values of --vary %s", text);
}

static enum status fill_linear(const char *text, double from, double to, double step, struct sweep_axis *axis,
                               struct error *error) {
  if (!(step > 0.0)) return error_set(error, STATUS_USAGE, "--vary %s: the step must be above 0; the range is empty", text);
  if (to < from)
    return error_set(error, STATUS_USAGE, "--vary %s: the range is empty: %g is above %g; write the lower one first", text, from,
                     to);
  const enum status status = hold(axis, floor((to - from) / step + COUNT_SLACK) + 1.0, text, error);
  for (size_t i = 0; status == STATUS_OK && i < axis->count; i++) axis->values[i] = fmin(from + step * (double)i, to);
  return status;
}

static enum status fill_geometric(const char *text, double from, double to, double count, struct sweep_axis *axis,
                                  struct error *error) {
  if (!(from > 0.0) || !(to > from))
    return error_set(error, STATUS_USAGE, "--vary %s: for equal ratios both ends must be above 0, the lower one first", text);
  if (!(count >= 2.0) || count > floor(count))
    return error_set(error, STATUS_USAGE, "--vary %s: xN needs a whole number of values, 2 or more", text);
  const enum status status = hold(axis, count, text, error);
  for (size_t i = 0; status == STATUS_OK && i < axis->count; i++)
    axis->values[i] = i + 1 == axis->count ? to : from * pow(to / from, (double)i / (count - 1.0));
  axis->geometric = true;
  return status;
}

static enum status fill_range(const char *text, const char *at, struct sweep_axis *axis, struct error *error) {
  double from, to, step;
  char sign;
  bool good = read_number(&at, ":", &from, &sign) && sign == ':';
  good = good && read_number(&at, ":", &to, &sign) && sign == ':';
  const bool geometric = good && *at == 'x';
  if (geometric) at++;
  good = good && read_number(&at, "", &step, &sign);
  if (!good)
    return error_set(error, STATUS_USAGE, "--vary %s: a range is FROM:TO:STEP, or FROM:TO:xN for N values of equal ratio", text);
  return geometric ? fill_geometric(text, from, to, step, axis, error) : fill_linear(text, from, to, step, axis, error);
}

static enum status fill_list(const char *text, const char *at, struct sweep_axis *axis, struct error *error) {
  size_t count = 1;
  for (const char *comma = at; *comma; comma++) count += *comma == ',';
  const enum status status = hold(axis, (double)count, text, error);
  char sign = ',';
  for (size_t i = 0; status == STATUS_OK && i < count; i++) {
    if (sign != ',' || !read_number(&at, ",", &axis->values[i], &sign))
      return error_set(error, STATUS_USAGE, "--vary %s: it needs FROM:TO:STEP, FROM:TO:xN or numbers separated by commas", text);
    if (i > 0 && !(axis->values[i] > axis->values[i - 1]))
      return error_set(error, STATUS_USAGE, "--vary %s: values of a list must increase; %g does not", text, axis->values[i]);
  }
  return status;
}

static enum status check_value(const struct sweep_axis *axis, double value, struct error *error) {
  if (!axis->learned) return setting_check(&axis->setting, value, error);
  if (value >= SWEEP_AXIS_LEARNED_LOW && value <= SWEEP_AXIS_LEARNED_HIGH) return STATUS_OK;
  return error_set(error, STATUS_USAGE,
                   SWEEP_AXIS_LEARNED "=%g is out of range: %g to %g (learned air offset, share of a new "
                                      "engine's)",
                   value, SWEEP_AXIS_LEARNED_LOW, SWEEP_AXIS_LEARNED_HIGH);
}

static int decimals_of(const struct sweep_axis *axis) {
  int decimals = 0;
  double scale = 1.0;
  for (size_t i = 0; i < axis->count && decimals < 9; i++) {
    while (decimals < 9 && fabs(axis->values[i] - nearbyint(axis->values[i] * scale) / scale) > SAME * fabs(axis->values[i])) {
      decimals++;
      scale *= 10.0;
    }
  }
  return decimals;
}

/* Puts the name in, and finds what it stands for. */
static enum status name_axis(struct sweep_axis *axis, const char *name, size_t length, struct error *error) {
  snprintf(axis->name, sizeof axis->name, "%.*s", (int)length, name);
  axis->learned = strcmp(axis->name, SWEEP_AXIS_LEARNED) == 0;
  if (axis->learned) return STATUS_OK;
  const enum status status = setting_find(axis->name, &axis->setting, error);
  if (status == STATUS_OK) snprintf(axis->name, sizeof axis->name, "%s", axis->setting.name); // a bare key becomes group.key
  return status;
}

static enum status check_values(struct sweep_axis *axis, struct error *error) {
  for (size_t i = 0; i < axis->count; i++) {
    const enum status status = check_value(axis, axis->values[i], error);
    if (status != STATUS_OK) return status;
  }
  axis->decimals = decimals_of(axis);
  return STATUS_OK;
}

enum status sweep_axis_list(const char *name, const double *values, size_t count, struct sweep_axis *axis, struct error *error) {
  *axis = (struct sweep_axis){0};
  const size_t length = strlen(name);
  if (length == 0 || length >= sizeof axis->name) return error_set(error, STATUS_USAGE, "there is no quantity '%.80s'", name);
  if (count == 0) return error_set(error, STATUS_USAGE, "%s: the range is empty", name);
  enum status status = name_axis(axis, name, length, error);
  if (status == STATUS_OK) status = hold(axis, (double)count, name, error);
  if (status != STATUS_OK) return status;
  memcpy(axis->values, values, count * sizeof *values);
  status = check_values(axis, error);
  for (size_t i = 1; status == STATUS_OK && i < count; i++)
    if (!(values[i] > values[i - 1]))
      return error_set(error, STATUS_USAGE, "%s: values of a list must increase; %g does not", name, values[i]);
  return status;
}

enum status sweep_axis_read(const char *text, struct sweep_axis *axis, struct error *error) {
  *axis = (struct sweep_axis){0};
  const char *equals = strchr(text, '=');
  if (!equals || equals == text || (size_t)(equals - text) >= sizeof axis->name)
    return error_set(error, STATUS_USAGE, "--vary %s: it needs NAME=VALUES, as in film_um=0:100:2", text);
  if (!equals[1]) return error_set(error, STATUS_USAGE, "--vary %s: the range is empty", text);
  enum status status = name_axis(axis, text, (size_t)(equals - text), error);
  if (status != STATUS_OK) return status;
  status = strchr(equals, ':') ? fill_range(text, equals + 1, axis, error) : fill_list(text, equals + 1, axis, error);
  return status == STATUS_OK ? check_values(axis, error) : status;
}
