#include "analysis/run/claim_number.h"

#include "base/attributes.h"

#include <ctype.h>
#include <stdio.h>
#include <string.h>

const char *claim_number_unit(const char *name) {
  static const struct {
    const char *ending, *unit;
  } units[] = {{"rpm", "rpm"}, {"deg", "degrees"}, {"pct", "%"}, {"mm2", "mm2"}, {"um", "um"}, {"gps", "g/s"}, {"kpa", "kPa"},
               {"c", "C"},     {"v", "V"},         {"a", "A"},   {"nm", "Nm"},   {"s", "s"},   {"w", "W"},     {"m", "m"}};
  const char *ending = strrchr(name, '_');
  for (size_t i = 0; ending && i < ARRAY_COUNT(units); i++)
    if (strcmp(ending + 1, units[i].ending) == 0) return units[i].unit;
  return "";
}

const char *claim_number_next(const char *from, const char *start, const char **end) {
  for (const char *at = from; *at; at++) {
    if (!isdigit((unsigned char)*at)) continue;
    const char before = at > start ? at[-1] : ' ';
    *end = at;
    while (isdigit((unsigned char)**end) || (**end == '.' && isdigit((unsigned char)(*end)[1]))) (*end)++;
    if (!isalnum((unsigned char)before) && before != '_' && before != '.') {
      const bool minus = before == '-' && (at - 1 == start || at[-2] == ' ');
      return minus ? at - 1 : at;
    }
    at = *end - 1;
  }
  return NULL;
}

void claim_number_print(char *text, size_t size, double value, int decimals) {
  snprintf(text, size, "%.*f", decimals, value);
  if (text[0] == '-' && strspn(text + 1, "0.") == strlen(text + 1)) memmove(text, text + 1, strlen(text)); // no -0
}

bool claim_number_bare(const char *text) {
  const char *end = text;
  bool inside = false;
  for (const char *at = text; *at; at++) {
    if (*at == '{') inside = true;
    if (*at == '}') inside = false;
    const char *found = !inside && isdigit((unsigned char)*at) ? claim_number_next(at, text, &end) : NULL;
    if (found && found <= at) return true;
  }
  return false;
}
