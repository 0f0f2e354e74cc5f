#include "io/lesson/lesson_file.h"

#include "base/near_miss.h"
#include "io/format/input_file.h"

#include <cmark.h>
#include <ctype.h>
#include <errno.h>
#include <stdlib.h>
#include <string.h>

enum { WORD_SIZE = 32 };

/* A file being read. */
struct reader {
  struct lesson_file *file;
  struct error *error;
};

static void fault(const struct reader *reader, int line, const char *text, const char *word, const char *more) {
  error_append(reader->error, STATUS_BAD_CONFIG, "%s:%d: %s%s%s%s%s", reader->file->path, line, text, word ? " '" : "",
               word ? word : "", word ? "'" : "", more);
}

static enum status read_text(struct lesson_file *file, struct error *error) {
  FILE *stream = fopen(file->path, "rb");
  if (!stream) return error_set(error, STATUS_NO_INPUT, "%s: %s", file->path, strerror(errno));
  file->text = malloc(LESSON_FILE_MOST + 1);
  const size_t size = file->text ? input_file_fill(stream, file->text, LESSON_FILE_MOST + 1) : 0;
  const bool failed = ferror(stream);
  fclose(stream);
  if (!file->text) return error_set(error, STATUS_NO_MEMORY, "out of memory for %s", file->path);
  if (failed) return error_set(error, STATUS_NO_INPUT, "%s: it cannot be read; a lesson is a text file", file->path);
  if (size > LESSON_FILE_MOST)
    return error_set(error, STATUS_BAD_CONFIG, "%s: longer than %d bytes; a lesson is one to ten pages", file->path,
                     LESSON_FILE_MOST);
  if (memchr(file->text, '\0', size))
    return error_set(error, STATUS_BAD_CONFIG, "%s: not text: it has bytes of value 0", file->path);
  file->text[size] = '\0';
  return STATUS_OK;
}

/* Where line n of the text begins, from 1. */
static const char *line_of(const struct lesson_file *file, int n) {
  const char *at = file->text;
  while (n-- > 1 && at) {
    at = strchr(at, '\n');
    at = at ? at + 1 : NULL;
  }
  return at ? at : "";
}

/* ---- a block ---- */

/* The first two words of an info string. */
static void split_info(const char *info, char first[WORD_SIZE], char second[WORD_SIZE], bool *more) {
  char rest[8] = "";
  *first = *second = '\0';
  *more = sscanf(info, "%31s %31s %7s", first, second, rest) > 2;
}

static int find_kind(const char *word) {
  for (int i = 0; i < LESSON_KIND_COUNT; i++)
    if (strcmp(lesson_kind_rows[i].name, word) == 0) return i;
  return -1;
}

static void unknown_kind(const struct reader *reader, int line, const char *word) {
  const char *names[LESSON_KIND_COUNT];
  char more[160];
  for (int i = 0; i < LESSON_KIND_COUNT; i++) names[i] = lesson_kind_rows[i].name;
  const char *near = near_miss_best(word, names, LESSON_KIND_COUNT);
  snprintf(more, sizeof more, "%s%s%s", near ? "; did you mean '" : "; `text` shows its lines unchanged", near ? near : "",
           near ? "'?" : "");
  fault(reader, line, "there is no block called", word, more);
}

/* In a fence that was never closed all the rest of the file would vanish. */
static void check_closed(const struct reader *reader, cmark_node *node) {
  const char *last = line_of(reader->file, cmark_node_get_end_line(node));
  while (*last == ' ' || *last == '>') last++;
  const bool closed = cmark_node_get_end_line(node) > cmark_node_get_start_line(node) &&
                      (strncmp(last, "```", 3) == 0 || strncmp(last, "~~~", 3) == 0);
  if (!closed) fault(reader, cmark_node_get_start_line(node), "the block that begins here is never closed by ```", NULL, "");
}

static void check_name(const struct reader *reader, struct lesson_item *item, const char *second, bool more) {
  const enum lesson_kind_second wanted = lesson_kind_rows[item->kind].second;
  item->sort = -1;
  if (more || (wanted == LESSON_KIND_SECOND_NOTHING && *second)) {
    fault(reader, item->line, "the first line of the block has one word too many after", lesson_kind_rows[item->kind].name, "");
  } else if (wanted == LESSON_KIND_SECOND_NAME) {
    const bool good =
        islower((unsigned char)*second) && strspn(second, "abcdefghijklmnopqrstuvwxyz0123456789-") == strlen(second);
    if (!good)
      fault(reader, item->line, "a name is missing after", lesson_kind_rows[item->kind].name,
            ": lower-case letters, digits and -, a letter first");
    item->name = strdup(second);
    for (size_t i = 0; good && i < reader->file->count; i++)
      if (reader->file->items[i].name && strcmp(reader->file->items[i].name, second) == 0)
        fault(reader, item->line, "this name is already used by a block above:", second, "");
  } else if (wanted == LESSON_KIND_SECOND_SORT) {
    for (int i = 0; i < LESSON_SORT_COUNT; i++)
      if (strcmp(lesson_kind_sorts[i], second) == 0) item->sort = i;
    if (item->sort < 0) fault(reader, item->line, "a question is choice, number, predict or text, not", second, "");
  }
}

static const char *find_key(const struct reader *reader, const struct lesson_item *item, const char *word, int line) {
  const char *names[64] = {NULL};
  size_t count = 0;
  for (size_t i = 0; i < lesson_kind_key_count; i++) {
    const struct lesson_kind_key *row = &lesson_kind_keys[i];
    if (!lesson_kind_has(row, item->kind, item->sort)) continue;
    if (strcmp(row->key, word) == 0) return row->key;
    names[count++] = row->key;
  }
  char more[400] = ", ";
  const char *near = near_miss_best(word, names, count);
  if (near)
    snprintf(more, sizeof more, "; did you mean '%s'?", near);
  else
    for (size_t i = 0; i < count; i++)
      snprintf(more + strlen(more), sizeof more - strlen(more), "%s%s", i ? ", " : "which takes ", names[i]);
  fault(reader, line, "this block has no key", word, more);
  return NULL;
}

/* Appends a line to the value above it. */
static void go_on(struct lesson_item *item, const char *line, size_t size) {
  struct lesson_field *field = &item->fields[item->field_count - 1];
  const size_t used = strlen(field->value);
  char *longer = realloc(field->value, used + size + 2);
  if (!longer) return;
  field->value = longer;
  snprintf(longer + used, size + 2, "%s%.*s", used ? " " : "", (int)size, line);
}

static void add_line(const struct reader *reader, struct lesson_item *item, const char *line, size_t size, int number) {
  while (size > 0 && isspace((unsigned char)line[size - 1])) size--;
  if (size == 0 || *line == '#') return;
  size_t blanks = 0;
  while (blanks < size && isspace((unsigned char)line[blanks])) blanks++;
  if (blanks > 0 && item->field_count > 0) {
    go_on(item, line + blanks, size - blanks);
    return;
  }
  const char *equals = memchr(line, '=', size);
  char word[WORD_SIZE] = "";
  if (equals) sscanf(line, "%31[a-z0-9-]", word);
  const char *after = line + strlen(word);
  while (*after == ' ') after++;
  if (!equals || !*word || *after != '=') {
    fault(reader, number, "a line of a block is 'key = value', or begins with a blank to continue the value above it", NULL, "");
    return;
  }
  const char *key = find_key(reader, item, word, number);
  if (!key) return;
  if (item->field_count == LESSON_FILE_FIELD_MAX) {
    fault(reader, number, "this block has too many lines", NULL, "; split it in two");
    return;
  }
  item->fields[item->field_count++] = (struct lesson_field){key, strdup(""), number};
  const char *value = equals + 1;
  while (value < line + size && isspace((unsigned char)*value)) value++;
  if (value < line + size) go_on(item, value, (size_t)(line + size - value));
}

static void check_counts(const struct reader *reader, const struct lesson_item *item) {
  for (size_t i = 0; i < lesson_kind_key_count; i++) {
    const struct lesson_kind_key *row = &lesson_kind_keys[i];
    size_t count = 0;
    if (!lesson_kind_has(row, item->kind, item->sort)) continue;
    for (size_t k = 0; k < item->field_count; k++) {
      const struct lesson_field *field = &item->fields[k];
      if (strcmp(field->key, row->key) != 0) continue;
      count++;
      if (*field->value == '\0') fault(reader, field->line, "there is nothing after", row->key, "");
      if (count == 2 && (row->count == LESSON_KIND_ONE || row->count == LESSON_KIND_MAYBE))
        fault(reader, field->line, "this key is given a second time:", row->key, "");
    }
    if (count == 0 && (row->count == LESSON_KIND_ONE || row->count == LESSON_KIND_SOME))
      fault(reader, item->line, "this block needs the key", row->key, "");
  }
}

static void read_block(const struct reader *reader, cmark_node *node, struct lesson_item *item) {
  char first[WORD_SIZE], second[WORD_SIZE];
  bool more;
  split_info(cmark_node_get_fence_info(node), first, second, &more);
  item->kind = (enum lesson_kind)find_kind(first);
  check_name(reader, item, second, more);
  if (item->kind == LESSON_KIND_question && item->sort < 0) return;
  int number = item->line;
  for (const char *line = cmark_node_get_literal(node); line && *line;) {
    const size_t size = strcspn(line, "\n");
    add_line(reader, item, line, size, ++number);
    line += size + (line[size] == '\n');
  }
  check_counts(reader, item);
}

/* ---- the file ---- */

/* What stands in a piece of text and may not. */
static void check_inside(const struct reader *reader, cmark_node *root) {
  cmark_iter *iterator = cmark_iter_new(root);
  for (cmark_event_type event; (event = cmark_iter_next(iterator)) != CMARK_EVENT_DONE;) {
    cmark_node *node = cmark_iter_get_node(iterator);
    const cmark_node_type type = cmark_node_get_type(node);
    if (event != CMARK_EVENT_ENTER) continue;
    int line = cmark_node_get_start_line(node);
    for (cmark_node *up = node; line == 0 && up; up = cmark_node_parent(up)) line = cmark_node_get_start_line(up);
    if (type == CMARK_NODE_HTML_BLOCK || type == CMARK_NODE_HTML_INLINE)
      fault(reader, line, "raw HTML is not allowed", NULL, "; write it in CommonMark");
    if (type == CMARK_NODE_IMAGE)
      fault(reader, line, "a lesson cannot contain pictures from files", NULL, "; ask for one in a `picture` block");
    char first[WORD_SIZE], second[WORD_SIZE];
    bool more;
    if (type != CMARK_NODE_CODE_BLOCK) continue;
    split_info(cmark_node_get_fence_info(node), first, second, &more);
    if (find_kind(first) >= 0)
      fault(reader, line, "this block must begin at the margin:", first, "");
    else if (*first && strcmp(first, "text") != 0)
      unknown_kind(reader, line, first);
    if (*cmark_node_get_fence_info(node)) check_closed(reader, node);
  }
  cmark_iter_free(iterator);
}

static char *plain_text(cmark_node *heading) {
  char *text = cmark_render_commonmark(heading, CMARK_OPT_DEFAULT, 0), *from = text;
  while (*from == '#' || *from == ' ') from++;
  from[strcspn(from, "\n")] = '\0';
  char *copy = strdup(from);
  free(text);
  return copy;
}

static void read_node(const struct reader *reader, cmark_node *node) {
  struct lesson_file *file = reader->file;
  struct lesson_item *item = &file->items[file->count];
  *item = (struct lesson_item){.kind = LESSON_KIND_PROSE, .line = cmark_node_get_start_line(node), .sort = -1, .markup = node};
  const bool is_code = cmark_node_get_type(node) == CMARK_NODE_CODE_BLOCK;
  char first[WORD_SIZE] = "", second[WORD_SIZE];
  bool more;
  if (is_code) split_info(cmark_node_get_fence_info(node), first, second, &more);
  if (is_code && find_kind(first) >= 0) {
    check_closed(reader, node);
    read_block(reader, node, item);
  } else {
    check_inside(reader, node);
    if (cmark_node_get_type(node) == CMARK_NODE_HEADING) item->level = cmark_node_get_heading_level(node);
    if (item->level == 1 && file->count == 0) file->title = plain_text(node);
    if (item->level == 1 && file->count > 0)
      fault(reader, item->line, "a second heading with one #", NULL, "; parts of a lesson have ##");
  }
  file->count++;
}

enum status lesson_file_read(const char *path, struct lesson_file *file, struct error *error) {
  *file = (struct lesson_file){.path = strdup(path), .items = calloc(LESSON_FILE_ITEM_MAX, sizeof *file->items)};
  if (!file->path || !file->items) return error_set(error, STATUS_NO_MEMORY, "out of memory for %s", path);
  const struct reader reader = {file, error};
  const enum status status = read_text(file, error);
  if (status != STATUS_OK) return status;
  file->document = cmark_parse_document(file->text, strlen(file->text), CMARK_OPT_DEFAULT | CMARK_OPT_VALIDATE_UTF8);
  cmark_consolidate_text_nodes(file->document);
  for (cmark_node *node = cmark_node_first_child(file->document); node; node = cmark_node_next(node)) {
    if (file->count == LESSON_FILE_ITEM_MAX) {
      fault(&reader, cmark_node_get_start_line(node), "the lesson has too many parts", NULL, "; split it into two lessons");
      break;
    }
    read_node(&reader, node);
  }
  if (!file->title) fault(&reader, 1, "a lesson begins with its title", NULL, ": a line with one # and a blank before it");
  if (file->count < 2 || file->items[1].kind != LESSON_KIND_lesson)
    fault(&reader, file->count > 1 ? file->items[1].line : 1, "a block `lesson` comes next after the title", NULL,
          ", with minutes, aims, and the misconception that the lesson corrects");
  for (size_t i = 2; i < file->count; i++)
    if (file->items[i].kind == LESSON_KIND_lesson) fault(&reader, file->items[i].line, "a second block `lesson`", NULL, "");
  return error->status;
}

void lesson_file_destroy(struct lesson_file *file) {
  for (size_t i = 0; i < file->count; i++) {
    free(file->items[i].name);
    for (size_t k = 0; k < file->items[i].field_count; k++) free(file->items[i].fields[k].value);
  }
  if (file->document) cmark_node_free(file->document);
  free(file->items);
  free(file->title);
  free(file->text);
  free(file->path);
  *file = (struct lesson_file){0};
}

const struct lesson_field *lesson_file_field(const struct lesson_item *item, const char *key) {
  for (size_t i = 0; i < item->field_count; i++)
    if (strcmp(item->fields[i].key, key) == 0) return &item->fields[i];
  return NULL;
}

const char *lesson_file_value(const struct lesson_item *item, const char *key) {
  const struct lesson_field *field = lesson_file_field(item, key);
  return field ? field->value : NULL;
}

/* Fills a text, once: what it is filled with has no {{ }}. */
static bool fill_node(cmark_node *node, int line, lesson_file_filler fill, void *user) {
  const char *text = cmark_node_get_literal(node);
  if (!text || !strstr(text, "{{")) return true;
  char *filled = fill(text, line, user);
  if (filled) cmark_node_set_literal(node, filled);
  free(filled);
  return filled != NULL;
}

bool lesson_file_put_prose(const struct lesson_item *item, lesson_file_filler fill, void *user, FILE *stream) {
  bool good = true;
  int line = item->line; // of a text: that of its block, and a line more after each break
  cmark_iter *iterator = cmark_iter_new(item->markup);
  for (cmark_event_type event; (event = cmark_iter_next(iterator)) != CMARK_EVENT_DONE;) {
    cmark_node *node = cmark_iter_get_node(iterator);
    const cmark_node_type type = cmark_node_get_type(node);
    if (event != CMARK_EVENT_ENTER) continue;
    if (type == CMARK_NODE_PARAGRAPH || type == CMARK_NODE_HEADING) line = cmark_node_get_start_line(node);
    if (type == CMARK_NODE_SOFTBREAK || type == CMARK_NODE_LINEBREAK) line++;
    if (type == CMARK_NODE_TEXT) good = fill_node(node, line, fill, user) && good;
  }
  cmark_iter_free(iterator);
  char *html = good ? cmark_render_html(item->markup, CMARK_OPT_DEFAULT) : NULL;
  if (html) fputs(html, stream);
  free(html);
  return good;
}
