#include "io/config/config_text.h"

#include "io/format/input_file.h"

#include <ctype.h>
#include <errno.h>
#include <limits.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

static bool is_folder(FILE *file) {
  struct stat info;
  return fstat(fileno(file), &info) == 0 && S_ISDIR(info.st_mode);
}

static int line_of(const char *text, const char *place) {
  int line = 1;
  for (const char *c = text; c < place; c++) line += *c == '\n';
  return line;
}

/* What can be wrong with the bytes; size without the ending NUL. */
static enum status bytes_check(const char *path, const char *text, size_t size, struct error *error) {
  if (size == 0) return error_append(error, STATUS_BAD_CONFIG, "%s: the file is empty", path);
  if (size > CONFIG_TEXT_SIZE_MAX)
    return error_append(error, STATUS_BAD_CONFIG, "%s: the file is larger than 1 MiB; no settings file needs that", path);
  const char *nul = memchr(text, '\0', size);
  if (nul) return error_append(error, STATUS_BAD_CONFIG, "%s:%d: a NUL byte: this is not a text file", path, line_of(text, nul));
  return STATUS_OK;
}

enum status config_text_read(const char *path, char **text, struct error *error) {
  enum status status = STATUS_OK;
  char *buffer = NULL;
  *text = NULL;
  FILE *file = fopen(path, "rb");
  if (!file) return error_append(error, STATUS_NO_INPUT, "%s: cannot be opened: %s", path, strerror(errno));
  if (is_folder(file)) {
    status = error_append(error, STATUS_NO_INPUT, "%s: is a folder, not a file", path);
    goto cleanup;
  }
  buffer = malloc(CONFIG_TEXT_SIZE_MAX + 3); // one byte over the limit to notice it, a line break, a NUL
  if (!buffer) {
    status = error_append(error, STATUS_NO_MEMORY, "%s: out of memory", path);
    goto cleanup;
  }
  const size_t size = input_file_fill(file, buffer, CONFIG_TEXT_SIZE_MAX + 1);
  if (ferror(file)) {
    status = error_append(error, STATUS_IO, "%s: reading failed: %s", path, strerror(errno));
    goto cleanup;
  }
  buffer[size] = '\0';
  status = bytes_check(path, buffer, size, error);
  if (status != STATUS_OK) goto cleanup;
  const size_t mark = size >= 3 && memcmp(buffer, "\xEF\xBB\xBF", 3) == 0 ? 3 : 0;
  memmove(buffer, buffer + mark, size - mark);
  memcpy(buffer + size - mark, "\n", 2); // libconfig wants one after a comment
  *text = buffer;
  buffer = NULL;
cleanup:
  free(buffer);
  fclose(file);
  return status;
}

static bool is_name_letter(char c) { return isalnum((unsigned char)c) || c == '_' || c == '-' || c == '*'; }

/* Past `// ...`, `# ...`; stays on the line break, which belongs to the caller. */
static void skip_line_comment(struct config_text_scan *scan) { scan->at += strcspn(scan->at, "\n"); }

/* Past a comment that begins at scan->at; false if it never ends. */
static bool skip_block_comment(struct config_text_scan *scan) {
  char *end = strstr(scan->at + 2, "*/");
  if (!end) return false;
  scan->line += line_of(scan->at, end) - 1;
  scan->at = end + 2;
  return true;
}

/* Past a string that begins at scan->at; false if it does not end on its line, which is where it then stays.
 * */
static bool skip_string(struct config_text_scan *scan) {
  scan->at++;
  while (*scan->at && *scan->at != '\n' && *scan->at != '"') {
    if (*scan->at == '\\' && scan->at[1] && scan->at[1] != '\n') scan->at++;
    scan->at++;
  }
  if (*scan->at != '"') return false;
  scan->at++;
  return true;
}

/* Past what may follow the digits of a number: point, more digits, exponent with its sign. */
static void skip_fraction(struct config_text_scan *scan) {
  while (isalnum((unsigned char)*scan->at) || *scan->at == '.') {
    const bool exponent = *scan->at == 'e' || *scan->at == 'E';
    scan->at++;
    if (exponent && (*scan->at == '-' || *scan->at == '+')) scan->at++;
  }
}

/* Past a number; one that would wrap is overwritten. */
static void skip_number(struct config_text_scan *scan) {
  char *begin = scan->at;
  errno = 0;
  char *end;
  const long long value = strtoll(begin, &end, 10);
  const bool overflown = errno == ERANGE;
  const bool whole = *end != '.' && *end != 'e' && *end != 'E' && *end != 'x' && *end != 'X';
  const bool is_long = *end == 'L';
  if (whole && (overflown || (!is_long && (value < INT_MIN || value > INT_MAX)))) {
    // At least ten digits: room for 1e999, which libconfig reads as infinity.
    const size_t sign = *begin == '-' || *begin == '+' ? 1 : 0;
    memset(begin + sign, ' ', (size_t)(end - begin) - sign);
    // written over the middle of a text. NOLINTNEXTLINE(bugprone-not-null-terminated-result)
    memcpy(begin + sign, "1e999", 5);
    while (*end == 'L') *end++ = ' ';
  }
  scan->at = end;
  skip_fraction(scan);
}

static bool starts_number(const char *at) {
  return isdigit((unsigned char)*at) || ((*at == '-' || *at == '+') && isdigit((unsigned char)at[1]));
}

static bool starts_line_comment(const char *at) { return *at == '#' || (at[0] == '/' && at[1] == '/'); }

const char *config_text_next_slip(struct config_text_scan *scan, int *line) {
  while (*scan->at) {
    *line = scan->line;
    if (starts_line_comment(scan->at)) {
      skip_line_comment(scan);
    } else if (scan->at[0] == '/' && scan->at[1] == '*') {
      if (!skip_block_comment(scan)) {
        scan->at += strlen(scan->at);
        return "the comment that begins here with /* never ends";
      }
    } else if (*scan->at == '"') {
      if (!skip_string(scan)) return "a text lacks its closing quotation mark, or runs over the end of the line";
    } else if (*scan->at == '@') {
      skip_line_comment(scan);
      return "'@include' and other directives are not allowed; write the settings into this file";
    } else if (starts_number(scan->at)) {
      skip_number(scan);
    } else if (*scan->at == '.') {
      skip_fraction(scan);
    } else if (is_name_letter(*scan->at)) {
      while (is_name_letter(*scan->at)) scan->at++;
    } else {
      scan->line += *scan->at == '\n';
      scan->at++;
    }
  }
  return NULL;
}

void config_text_line(const char *text, int line, size_t size, char *copy) {
  for (int i = 1; i < line && *text; i++) {
    text += strcspn(text, "\n");
    text += *text == '\n';
  }
  text += strspn(text, " \t");
  size_t length = strcspn(text, "\r\n");
  if (length > size - 1) length = size - 1;
  while (length > 0 && isspace((unsigned char)text[length - 1])) length--;
  memcpy(copy, text, length);
  copy[length] = '\0';
  config_text_make_plain(copy);
}

/* Bytes in the UTF-8 character at c, 0 if it is none. Overlong forms, surrogates and values past U+10FFFF do
 * not count: RFC 3629, section 4. */
static size_t utf8_length(const unsigned char *c) {
  if (c[0] < 0x80) return 1;
  const size_t length = c[0] >= 0xF0 ? 4 : c[0] >= 0xE0 ? 3 : 2;
  if (c[0] < 0xC2 || c[0] > 0xF4) return 0;
  for (size_t i = 1; i < length; i++)
    if ((c[i] & 0xC0) != 0x80) return 0;
  const bool overlong = (c[0] == 0xE0 && c[1] < 0xA0) || (c[0] == 0xF0 && c[1] < 0x90);
  const bool beyond = (c[0] == 0xED && c[1] > 0x9F) || (c[0] == 0xF4 && c[1] > 0x8F);
  return overlong || beyond ? 0 : length;
}

static bool is_control(const unsigned char *c) { return c[0] < 0x20 || c[0] == 0x7F || (c[0] == 0xC2 && c[1] < 0xA0); }

bool config_text_is_plain(const char *text) {
  const unsigned char *c = (const unsigned char *)text;
  while (*c) {
    const size_t length = utf8_length(c);
    if (length == 0 || is_control(c)) return false;
    c += length;
  }
  return true;
}

void config_text_make_plain(char *text) {
  unsigned char *c = (unsigned char *)text;
  while (*c) {
    const size_t length = utf8_length(c);
    if (length == 0 || is_control(c)) {
      *c++ = ' ';
    } else {
      c += length;
    }
  }
}
