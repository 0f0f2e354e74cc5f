#include "analysis/practice/practice_text.h"

#include "base/digest.h"

#include <inttypes.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static const char title[] = "bladegap practice case";
static const char careful_word[] = " careful";
static const char salt_key[] = "salt of a practice case", seal_key[] = "seal of a practice case",
                  check_key[] = "check of a practice case";

static uint64_t mixed(const char *key, const void *bytes, size_t size) {
  return digest_add(digest_add(digest_add(DIGEST_OF_NOTHING, key, strlen(key)), bytes, size), key, strlen(key));
}

/* ---- writing ---- */

struct pen {
  char *text;
  size_t used;
};

static void put(struct pen *pen, const char *format, ...) PRINTF_LIKE(2, 3);
static void put(struct pen *pen, const char *format, ...) {
  va_list arguments;
  va_start(arguments, format);
  const int length = vsnprintf(pen->text + pen->used, PRACTICE_TEXT_MOST - pen->used, format, arguments);
  va_end(arguments);
  pen->used += (size_t)length;
  if (pen->used >= PRACTICE_TEXT_MOST) pen->used = PRACTICE_TEXT_MOST - 1; // cannot be: the parts are limited
}

size_t practice_text_write(const struct practice_record *r, char text[PRACTICE_TEXT_MOST]) {
  struct pen pen = {text, 0};
  const uint64_t salt = mixed(salt_key, &r->seed, sizeof r->seed);
  put(&pen, "%s\nformat %d\nengine %s\nlevel %d\nsealed %016" PRIx64 "%016" PRIx64 "\nread %x\n", title, (int)PRACTICE_FORMAT,
      r->engine, r->level, salt, r->seed ^ mixed(seal_key, &salt, sizeof salt), r->read);
  for (size_t i = 0; i < r->done_count; i++) put(&pen, "test %s%s\n", r->done[i].test, r->done[i].careful ? careful_word : "");
  for (size_t i = 0; i < r->note_count; i++) put(&pen, "note %s\n", r->notes[i]);
  if (r->words[0][0])
    put(&pen, "cause %s\nseverity %s\nwork %s%s\n", r->words[0], r->words[1], r->words[2], r->careful ? careful_word : "");
  const uint64_t check = mixed(check_key, text, pen.used);
  put(&pen, "check %016" PRIx64 "\n", check);
  return pen.used;
}

enum status practice_text_note(struct practice_record *r, const char *note, struct error *error) {
  if (r->note_count == PRACTICE_NOTE_MAX)
    return error_set(error, STATUS_BAD_DATA, "a case has room for %d notes", (int)PRACTICE_NOTE_MAX);
  if (strlen(note) >= PRACTICE_TEXT_SIZE)
    return error_set(error, STATUS_BAD_DATA, "a note has at most %d bytes; split it in two", (int)PRACTICE_TEXT_SIZE - 1);
  char *kept = r->notes[r->note_count++];
  snprintf(kept, PRACTICE_TEXT_SIZE, "%s", note);
  for (char *c = kept; *c; c++)
    if ((unsigned char)*c < ' ' || *c == 0x7f) *c = ' ';
  return STATUS_OK;
}

/* ---- reading ---- */

struct reader {
  const char *place;
  int line;
  struct practice_record *record;
  bool sealed, checked;
  struct error *error;
};

static enum status refuse(const struct reader *r, const char *what) {
  return error_set(r->error, STATUS_BAD_CONFIG, "%s:%d: %s", r->place, r->line, what);
}

/* Cuts the word at the end of a value off, if it is there. */
static bool cut_careful(char *value) {
  const size_t length = strlen(value), word = strlen(careful_word);
  if (length < word || strcmp(value + length - word, careful_word) != 0) return false;
  value[length - word] = '\0';
  return true;
}

static enum status read_sealed(struct reader *r, const char *value) {
  uint64_t words[2] = {0, 0};
  if (strlen(value) != 32 || strspn(value, "0123456789abcdef") != 32) return refuse(r, "sealed has 32 hexadecimal digits");
  for (int i = 0; i < 2; i++) {
    char half[17];
    snprintf(half, sizeof half, "%.16s", value + 16 * i);
    words[i] = strtoull(half, NULL, 16);
  }
  r->record->seed = words[1] ^ mixed(seal_key, &words[0], sizeof words[0]);
  r->sealed = true;
  return STATUS_OK;
}

static enum status read_format(const struct reader *r, const char *value) {
  char *end;
  const long format = strtol(value, &end, 10);
  if (end == value || *end || format < 1) return refuse(r, "format is a whole number from 1");
  if (format > PRACTICE_FORMAT)
    return error_set(
        r->error, STATUS_BAD_CONFIG,
        "%s:%d: the case has format %ld, and this program knows cases up to format %d: use the newer program that wrote it",
        r->place, r->line, format, (int)PRACTICE_FORMAT);
  return STATUS_OK;
}

static enum status read_key(struct reader *r, const char *key, char *value) {
  struct practice_record *to = r->record;
  if (strcmp(key, "format") == 0) return read_format(r, value);
  if (strcmp(key, "sealed") == 0) return read_sealed(r, value);
  if (strcmp(key, "engine") == 0) {
    snprintf(to->engine, sizeof to->engine, "%s", value);
  } else if (strcmp(key, "level") == 0) {
    to->level = value[0] - '0';
    if (to->level < PRACTICE_LEVEL_LEAST || to->level > PRACTICE_LEVEL_MOST || value[1]) return refuse(r, "level is 1, 2 or 3");
  } else if (strcmp(key, "read") == 0) {
    to->read = (unsigned)strtoul(value, NULL, 16);
  } else if (strcmp(key, "test") == 0) {
    if (to->done_count == PRACTICE_DONE_MAX) return refuse(r, "there are more tests than a case has room for");
    struct practice_done *done = &to->done[to->done_count++];
    done->careful = cut_careful(value);
    if (strlen(value) >= sizeof done->test) return refuse(r, "no test has such a long name");
    memcpy(done->test, value, strlen(value) + 1);
  } else if (strcmp(key, "note") == 0) {
    return practice_text_note(to, value, r->error);
  } else if (strcmp(key, "cause") == 0 || strcmp(key, "severity") == 0) {
    snprintf(to->words[key[0] == 's'], PRACTICE_TEXT_SIZE, "%s", value);
  } else if (strcmp(key, "work") == 0) {
    to->careful = cut_careful(value);
    snprintf(to->words[2], PRACTICE_TEXT_SIZE, "%s", value);
  } else {
    return refuse(r, "there is no such key in a practice case");
  }
  return STATUS_OK;
}

static enum status read_check(struct reader *r, const char *value, const char *text, size_t before) {
  char expected[17];
  snprintf(expected, sizeof expected, "%016" PRIx64, mixed(check_key, text, before));
  r->checked = true;
  if (strcmp(value, expected) == 0) return STATUS_OK;
  return refuse(r, "the case does not match its checksum: it was edited by hand and will not be marked; open it again from its "
                   "level and seed");
}

static enum status read_line(struct reader *r, char *line, const char *text, size_t before) {
  const size_t length = strcspn(line, " ");
  if (r->line == 1)
    return strcmp(line, title) == 0 ? STATUS_OK : refuse(r, "this is not a practice case; bladegap practice open writes one");
  if (line[length] != ' ' || !line[length + 1]) return refuse(r, "a line has a key and a value");
  line[length] = '\0';
  if (r->line == 2 && strcmp(line, "format") != 0) return refuse(r, "the format comes first");
  if (strcmp(line, "check") == 0) return read_check(r, line + length + 1, text, before);
  return read_key(r, line, line + length + 1);
}

/* An answer has all its parts, or there is none. */
static bool answer_is_whole(const struct practice_record *record) {
  const bool any = record->words[0][0] || record->words[1][0] || record->words[2][0] || record->careful;
  return !any || (record->words[0][0] && record->words[1][0] && record->words[2][0]);
}

enum status practice_text_read(const char *place, const char *text, size_t size, struct practice_record *record,
                               struct error *error) {
  struct reader r = {.place = place, .record = record, .error = error};
  *record = (struct practice_record){.level = 0};
  if (size >= PRACTICE_TEXT_MOST || memchr(text, '\0', size))
    return error_set(error, STATUS_BAD_CONFIG, "%s: this is not a practice case; bladegap practice open writes one", place);
  for (size_t at = 0; at < size;) {
    char line[2 * PRACTICE_TEXT_SIZE];
    const char *end = memchr(text + at, '\n', size - at);
    const size_t length = end ? (size_t)(end - text) - at : size - at;
    r.line++;
    if (r.checked) return refuse(&r, "nothing may follow the checksum");
    if (length >= PRACTICE_TEXT_SIZE) return refuse(&r, "the line is too long for a practice case");
    memcpy(line, text + at, length);
    line[length] = '\0';
    const enum status status = read_line(&r, line, text, at);
    if (status != STATUS_OK) return status;
    at += length + (end != NULL);
  }
  r.line++;
  if (!r.checked || !r.sealed || record->level == 0 || !record->engine[0])
    return refuse(&r, "the case is cut short: it was edited by hand, or not copied in full");
  if (!answer_is_whole(record)) return refuse(&r, "an answer has a cause, a severity and what is to be done; this one has not");
  return STATUS_OK;
}
