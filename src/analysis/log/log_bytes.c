#include "analysis/log/log_bytes.h"

#include <stdbool.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

enum { SAMPLE_SIZE = 4096, STRANGE = 0xFFFD };

/* ---- What it is ---- */

/* UTF-16 without its mark: ASCII in it has a null in every second place. 0, or which byte of two is the null one, from 1. */
static int null_place(const unsigned char *bytes, size_t size) {
  size_t nulls[2] = {0}, length = size < SAMPLE_SIZE ? size & ~(size_t)1 : SAMPLE_SIZE;
  for (size_t i = 0; i < length; i++) nulls[i & 1] += bytes[i] == 0;
  for (size_t place = 0; place < 2 && length >= 4; place++)
    if (10 * nulls[place] > 4 * length && 20 * nulls[1 - place] < length) return (int)place + 1;
  return 0;
}

/* Bytes of a letter in UTF-8 from here, 0 if it is none (RFC 3629). */
static size_t letter_size(const unsigned char *at, size_t size) {
  if (at[0] < 0x80) return 1;
  const size_t wanted = at[0] < 0xC2 ? 0 : at[0] < 0xE0 ? 2 : at[0] < 0xF0 ? 3 : at[0] < 0xF5 ? 4 : 0;
  if (wanted == 0 || wanted > size) return 0;
  for (size_t i = 1; i < wanted; i++)
    if ((at[i] & 0xC0) != 0x80) return 0;
  return (at[0] == 0xE0 && at[1] < 0xA0) || (at[0] == 0xED && at[1] > 0x9F) || (at[0] == 0xF0 && at[1] < 0x90) ||
                 (at[0] == 0xF4 && at[1] > 0x8F)
             ? 0
             : wanted;
}

static bool is_utf8(const unsigned char *bytes, size_t size) {
  for (size_t i = 0, step; i < size; i += step)
    if ((step = letter_size(bytes + i, size - i)) == 0) return false;
  return true;
}

/* Nulls, or more than here and there a control character. */
static bool is_binary(const char *text, size_t size) {
  size_t controls = 0;
  const size_t length = size < SAMPLE_SIZE ? size : SAMPLE_SIZE;
  for (size_t i = 0; i < length; i++) controls += (unsigned char)text[i] < 0x20 && !(text[i] >= '\t' && text[i] <= '\r');
  return 100 * controls > length || (size > 0 && memchr(text, '\0', size));
}

/* The line, from 1, that is too long; 0 if none is. */
static size_t long_line(const char *text, size_t size) {
  size_t line = 1, begin = 0;
  for (size_t i = 0; i < size; i++) {
    if (text[i] == '\n' || text[i] == '\r') {
      line += text[i] == '\n' || i + 1 == size || text[i + 1] != '\n';
      begin = i + 1;
    } else if (i - begin >= LOG_BYTES_LINE_MOST) {
      return line;
    }
  }
  return 0;
}

/* ---- What it becomes ---- */

static size_t put(char *to, unsigned letter) {
  if (letter < 0x80) {
    to[0] = (char)letter;
    return 1;
  }
  if (letter < 0x800) {
    to[0] = (char)(0xC0 | letter >> 6);
    to[1] = (char)(0x80 | (letter & 0x3F));
    return 2;
  }
  if (letter < 0x10000) {
    to[0] = (char)(0xE0 | letter >> 12);
    to[1] = (char)(0x80 | (letter >> 6 & 0x3F));
    to[2] = (char)(0x80 | (letter & 0x3F));
    return 3;
  }
  to[0] = (char)(0xF0 | letter >> 18);
  to[1] = (char)(0x80 | (letter >> 12 & 0x3F));
  to[2] = (char)(0x80 | (letter >> 6 & 0x3F));
  to[3] = (char)(0x80 | (letter & 0x3F));
  return 4;
}

static unsigned unit_at(const unsigned char *at, bool low_first) {
  return low_first ? at[0] | (unsigned)at[1] << 8 : at[1] | (unsigned)at[0] << 8;
}

/* Half of a pair without the other becomes U+FFFD; an odd byte at the end goes. */
static size_t from_utf16(const unsigned char *bytes, size_t size, bool low_first, char *to) {
  size_t used = 0;
  for (size_t i = 0; i + 1 < size; i += 2) {
    unsigned letter = unit_at(bytes + i, low_first);
    if (letter >= 0xD800 && letter < 0xE000) {
      const unsigned next = i + 3 < size ? unit_at(bytes + i + 2, low_first) : 0;
      const bool pair = letter < 0xDC00 && next >= 0xDC00 && next < 0xE000;
      letter = pair ? 0x10000 + ((letter - 0xD800) << 10) + (next - 0xDC00) : STRANGE;
      if (pair) i += 2;
    }
    used += put(to + used, letter);
  }
  return used;
}

/* What Latin-1 has for control characters from 0x80 on, some write as letters of their own: they become U+FFFD. */
static size_t from_latin1(const unsigned char *bytes, size_t size, char *to) {
  size_t used = 0;
  for (size_t i = 0; i < size; i++) used += put(to + used, bytes[i] >= 0x80 && bytes[i] < 0xA0 ? STRANGE : bytes[i]);
  return used;
}

static enum status convert(const char *name, const unsigned char *bytes, size_t size, struct log_bytes *text,
                           struct error *error) {
  const bool low_mark = size >= 2 && bytes[0] == 0xFF && bytes[1] == 0xFE,
             high_mark = size >= 2 && bytes[0] == 0xFE && bytes[1] == 0xFF;
  const bool mark = size >= 3 && memcmp(bytes, "\xEF\xBB\xBF", 3) == 0;
  const int place = low_mark || high_mark || mark ? 0 : null_place(bytes, size);
  const bool low_first = low_mark || place == 2, wide = low_mark || high_mark || place > 0;
  if (low_mark || high_mark || mark) {
    const size_t passed = mark ? 3 : 2;
    bytes += passed;
    size -= passed;
  }
  text->text = (const char *)bytes;
  text->size = size;
  if (!wide && is_utf8(bytes, size)) return STATUS_OK;
  if (!wide && is_binary((const char *)bytes, size)) return STATUS_OK; // is said soon
  // three bytes of UTF-8 for two at most, or for one that is strange
  if (size > SIZE_MAX / 4) return error_set(error, STATUS_NO_MEMORY, "%s: out of memory", name);
  text->owned = malloc((wide ? size / 2 * 3 : size * 3) + 4);
  if (!text->owned) return error_set(error, STATUS_NO_MEMORY, "%s: out of memory", name);
  text->size = wide ? from_utf16(bytes, size, low_first, text->owned) : from_latin1(bytes, size, text->owned);
  text->text = text->owned;
  return STATUS_OK;
}

enum status log_bytes_read(const char *name, const void *bytes, size_t size, struct log_bytes *text, struct error *error) {
  *text = (struct log_bytes){.text = ""};
  if (size == 0) return error_set(error, STATUS_BAD_DATA, "%s:1: the file is empty", name);
  const enum status status = convert(name, bytes, size, text, error);
  if (status != STATUS_OK) return status;
  const size_t line = long_line(text->text, text->size);
  if (is_binary(text->text, text->size)) return error_set(error, STATUS_BAD_DATA, "%s:1: this is not a text file", name);
  if (line > 0)
    return error_set(error, STATUS_BAD_DATA, "%s:%zu: the line is longer than %d bytes, so this is not a log", name, line,
                     LOG_BYTES_LINE_MOST);
  return STATUS_OK;
}

void log_bytes_destroy(struct log_bytes *text) {
  free(text->owned);
  *text = (struct log_bytes){.text = ""};
}
