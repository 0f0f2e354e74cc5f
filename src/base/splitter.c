#include "base/splitter.h"

#include <stdlib.h>
#include <string.h>

static bool is_line_end(char c) { return c == '\n' || c == '\r'; }

static bool is_blank(const struct splitter *splitter, char c) { return (c == ' ' || c == '\t') && c != splitter->delimiter; }

static bool at_end(const struct splitter *splitter) { return splitter->at == splitter->size; }

static char next(const struct splitter *splitter) { return splitter->text[splitter->at]; }

/* Behind a line end, if there is one. */
static void pass_line_end(struct splitter *splitter) {
  if (at_end(splitter)) return;
  const bool two = next(splitter) == '\r' && splitter->at + 1 < splitter->size && splitter->text[splitter->at + 1] == '\n';
  splitter->at += two ? 2 : 1;
  splitter->line++;
}

static void pass_line(struct splitter *splitter) {
  while (!at_end(splitter) && !is_line_end(next(splitter))) splitter->at++;
  pass_line_end(splitter);
}

static void pass_blanks(struct splitter *splitter) {
  while (!at_end(splitter) && is_blank(splitter, next(splitter))) splitter->at++;
}

/* To the line on which the next row begins, behind blank lines and comments. False if there is none. */
static bool begin_row(struct splitter *splitter) {
  while (!at_end(splitter)) {
    if (splitter->comments && next(splitter) == '#') {
      pass_line(splitter);
      continue;
    }
    const size_t begin = splitter->at;
    pass_blanks(splitter);
    if (at_end(splitter)) break;
    if (!is_line_end(next(splitter))) {
      splitter->at = begin;
      break;
    }
    pass_line_end(splitter);
  }
  splitter->row_line = splitter->line;
  return !at_end(splitter);
}

/* ---- Memory ---- */

static bool put_byte(struct splitter *splitter, char byte) {
  if (splitter->byte_count == splitter->byte_room) {
    const size_t room = splitter->byte_room ? 2 * splitter->byte_room : 256;
    char *bytes = realloc(splitter->bytes, room);
    if (!bytes) return false;
    splitter->bytes = bytes;
    splitter->byte_room = room;
  }
  splitter->bytes[splitter->byte_count++] = byte;
  return true;
}

/* Here a cell begins, or the row ends. */
static bool put_begin(struct splitter *splitter) {
  if (splitter->cell_count == splitter->begin_room) {
    const size_t room = splitter->begin_room ? 2 * splitter->begin_room : 32;
    size_t *begins = reallocarray(splitter->begins, room, sizeof *begins);
    if (!begins) return false;
    splitter->begins = begins;
    splitter->begin_room = room;
  }
  splitter->begins[splitter->cell_count] = splitter->byte_count;
  return true;
}

/* ---- Cells ---- */

static enum splitter_found plain_cell(struct splitter *splitter) {
  size_t kept = splitter->byte_count; // blanks at the end of the cell go
  for (; !at_end(splitter) && next(splitter) != splitter->delimiter && !is_line_end(next(splitter)); splitter->at++) {
    if (next(splitter) == '"') return SPLITTER_BAD_QUOTE;
    if (!put_byte(splitter, next(splitter))) return SPLITTER_NO_MEMORY;
    if (!is_blank(splitter, next(splitter))) kept = splitter->byte_count;
  }
  splitter->byte_count = kept;
  return SPLITTER_ROW;
}

static bool closes(const struct splitter *splitter) {
  const size_t behind = splitter->at + 1;
  return next(splitter) == '"' && (behind == splitter->size || splitter->text[behind] != '"');
}

/* From behind the opening quote. */
static enum splitter_found quoted_cell(struct splitter *splitter) {
  while (!at_end(splitter) && !closes(splitter)) {
    size_t from = splitter->at;
    if (next(splitter) == '"') { // two of them stand for one
      from++;
      splitter->at += 2;
    } else if (is_line_end(next(splitter))) {
      pass_line_end(splitter);
    } else {
      splitter->at++;
    }
    for (; from < splitter->at; from++)
      if (!put_byte(splitter, splitter->text[from])) return SPLITTER_NO_MEMORY;
  }
  if (at_end(splitter)) return SPLITTER_OPEN_QUOTE;
  splitter->at++;
  pass_blanks(splitter);
  const bool good = at_end(splitter) || next(splitter) == splitter->delimiter || is_line_end(next(splitter));
  return good ? SPLITTER_ROW : SPLITTER_BAD_QUOTE;
}

static enum splitter_found read_cell(struct splitter *splitter) {
  if (!put_begin(splitter)) return SPLITTER_NO_MEMORY;
  pass_blanks(splitter);
  const bool quoted = !at_end(splitter) && next(splitter) == '"';
  if (quoted) splitter->at++;
  const enum splitter_found found = quoted ? quoted_cell(splitter) : plain_cell(splitter);
  if (found != SPLITTER_ROW) return found;
  splitter->cell_count++;
  return put_byte(splitter, '\0') ? SPLITTER_ROW : SPLITTER_NO_MEMORY;
}

enum splitter_found splitter_next(struct splitter *splitter) {
  splitter->cell_count = splitter->byte_count = 0;
  if (!begin_row(splitter)) return SPLITTER_END;
  enum splitter_found found = read_cell(splitter);
  while (found == SPLITTER_ROW && !at_end(splitter) && next(splitter) == splitter->delimiter) {
    splitter->at++;
    found = read_cell(splitter);
  }
  if (found == SPLITTER_ROW && !put_begin(splitter)) return SPLITTER_NO_MEMORY;
  splitter->fault_line = splitter->line;
  if (found == SPLITTER_BAD_QUOTE)
    pass_line(splitter);
  else if (found == SPLITTER_ROW)
    pass_line_end(splitter);
  return found;
}

const char *splitter_cell(const struct splitter *splitter, size_t cell, size_t *size) {
  if (size) *size = splitter->begins[cell + 1] - splitter->begins[cell] - 1;
  return splitter->bytes + splitter->begins[cell];
}

/* ---- A text ---- */

/* Whichever of the three stands most often in the first line that has something in it, outside quotes. */
static char delimiter_of(const char *text, size_t size) {
  static const char candidates[] = ",;\t";
  size_t counts[3] = {0};
  bool quoted = false, something = false;
  for (size_t i = 0; i < size; i++) {
    if (text[i] == '"') quoted = !quoted;
    if (!quoted && something && is_line_end(text[i])) break;
    // a null is none of them. NOLINTNEXTLINE(bugprone-not-null-terminated-result)
    if (!memchr(" \r\n", text[i], 3)) something = true;
    // a null is none of them. NOLINTNEXTLINE(bugprone-not-null-terminated-result)
    const char *candidate = quoted ? NULL : memchr(candidates, text[i], 3);
    if (candidate) counts[candidate - candidates]++;
  }
  size_t most = 0;
  for (size_t i = 1; i < 3; i++)
    if (counts[i] > counts[most]) most = i;
  return candidates[most];
}

void splitter_init(struct splitter *splitter, const char *text, size_t size, bool comments) {
  static const char mark[] = "\xEF\xBB\xBF";
  *splitter = (struct splitter){.text = text, .size = size, .line = 1, .comments = comments};
  if (size >= 3 && memcmp(text, mark, 3) == 0) splitter->at = 3;
  size_t from = splitter->at;
  if (comments) { // what they hold says nothing of the cells
    (void)begin_row(splitter);
    splitter->line = 1;
    const size_t row = splitter->at;
    splitter->at = from;
    from = row;
  }
  splitter->delimiter = delimiter_of(text + from, size - from);
}

void splitter_destroy(struct splitter *splitter) {
  free(splitter->bytes);
  free(splitter->begins);
  *splitter = (struct splitter){0};
}
