#include "analysis/visit/visit.h"

#include <ctype.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

enum { IDENTIFICATION_LENGTH = 17, IDENTIFICATION_DIGITS_LEAST = 3, LEFT_OUT_LENGTH = 10 };
static const char left_out[] = "(left out)"; // no longer than what it stands for
_Static_assert(sizeof left_out - 1 == LEFT_OUT_LENGTH, "its length");

void visit_init(struct visit *visit) { *visit = (struct visit){.cold_coolant_c = NAN, .cold_intake_c = NAN}; }

/* ISO 3779 has neither I, O nor Q; one long word without digits is a name. */
static bool is_identification(const char *word, size_t length) {
  int digits = 0;
  for (size_t i = 0; i < length; i++) {
    const char c = (char)toupper((unsigned char)word[i]);
    if (c == 'I' || c == 'O' || c == 'Q') return false;
    digits += isdigit((unsigned char)c) != 0;
  }
  return length == IDENTIFICATION_LENGTH && digits >= IDENTIFICATION_DIGITS_LEAST;
}

size_t visit_clear_text(char *text) {
  size_t count = 0;
  for (char *c = text; *c;) {
    size_t length = 0;
    while (isalnum((unsigned char)c[length])) length++;
    if (is_identification(c, length)) {
      memcpy(c, left_out, LEFT_OUT_LENGTH);
      memmove(c + LEFT_OUT_LENGTH, c + length, strlen(c + length) + 1);
      c += LEFT_OUT_LENGTH;
      count++;
    } else {
      c += length + (length == 0);
    }
  }
  return count;
}

enum status visit_set_reading(struct visit *visit, const struct estimate_reading *reading, struct error *error) {
  struct estimate_readings *readings = &visit->readings;
  for (size_t i = 0; i < readings->count; i++)
    if (readings->readings[i].quantity == reading->quantity && readings->readings[i].condition == reading->condition) {
      readings->readings[i] = *reading;
      return STATUS_OK;
    }
  if (readings->count == ESTIMATE_READING_MAX)
    return error_append(error, STATUS_BAD_DATA, "a visit has room for %d readings", (int)ESTIMATE_READING_MAX);
  readings->readings[readings->count++] = *reading;
  return STATUS_OK;
}

enum status visit_set_look(struct visit *visit, const char *option, const char *text, struct error *error) {
  struct visit_look look = {.yes = false};
  const char *equals = strchr(text, '=');
  const size_t length = equals ? (size_t)(equals - text) : 0;
  if (length == 0 || length >= sizeof look.name || (strcmp(equals + 1, "yes") != 0 && strcmp(equals + 1, "no") != 0))
    return error_append(error, STATUS_USAGE, "%s %s: it needs LOOK=yes or LOOK=no, as in smoke_test=yes", option, text);
  memcpy(look.name, text, length);
  look.yes = strcmp(equals + 1, "yes") == 0;
  if (!estimate_next_is_look(look.name))
    return error_append(error, STATUS_USAGE, "%s %s: there is no look '%s'; the card's boxes have their names", option, text,
                        look.name);
  for (size_t i = 0; i < visit->look_count; i++)
    if (strcmp(visit->looks[i].name, look.name) == 0) {
      visit->looks[i] = look;
      return STATUS_OK;
    }
  if (visit->look_count == VISIT_LOOK_MAX)
    return error_append(error, STATUS_BAD_DATA, "a visit has room for %d looks", (int)VISIT_LOOK_MAX);
  visit->looks[visit->look_count++] = look;
  return STATUS_OK;
}

const struct visit_look *visit_find_look(const struct visit *visit, const char *name) {
  for (size_t i = 0; i < visit->look_count; i++)
    if (strcmp(visit->looks[i].name, name) == 0) return &visit->looks[i];
  return NULL;
}

bool visit_skips(const struct visit *visit, const char *name) {
  const size_t length = strlen(name);
  for (const char *at = visit->skipped; *at;) {
    const size_t word = strcspn(at, ",");
    if (word == length && strncmp(at, name, length) == 0) return true;
    at += word + (at[word] == ',');
  }
  return false;
}
