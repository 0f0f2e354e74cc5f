#include "io/format/json.h"

#include <assert.h>
#include <errno.h>
#include <jansson.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { JSON_DEPTH_MAX = 16, JSON_DIGITS = 12 }; // significant digits: more than any channel has

struct json {
  size_t depth;
  json_t *open[JSON_DEPTH_MAX]; // [0] is the root and owned; the others belong to their parents
  bool failed;
};

struct json *json_create(void) {
  struct json *json = calloc(1, sizeof *json);
  if (!json) return NULL;
  json->open[0] = json_object();
  json->failed = !json->open[0];
  return json;
}

void json_destroy(struct json *json) {
  if (!json) return;
  json_decref(json->open[0]);
  free(json);
}

/* Takes the item over. */
static bool put(struct json *json, const char *key, json_t *item) {
  if (!json || json->failed) {
    json_decref(item);
    return false;
  }
  json_t *parent = json->open[json->depth];
  assert(json_is_object(parent) == (key != NULL));
  assert(!key || !json_object_get(parent, key));
  const int result = key ? json_object_set_new(parent, key, item) : json_array_append_new(parent, item);
  json->failed = result != 0;
  return result == 0;
}

static void open_container(struct json *json, const char *key, json_t *container) {
  if (!put(json, key, container)) return;
  assert(json->depth + 1 < JSON_DEPTH_MAX);
  json->open[++json->depth] = container;
}

void json_open_object(struct json *json, const char *key) { open_container(json, key, json_object()); }
void json_open_array(struct json *json, const char *key) { open_container(json, key, json_array()); }

void json_close(struct json *json) {
  if (!json || json->failed) return;
  assert(json->depth > 0);
  json->depth--;
}

/* The text with every byte beyond ASCII replaced; NULL if there is no memory. */
static json_t *plain_string(const char *text) {
  char *copy = strdup(text);
  if (!copy) return NULL;
  for (char *c = copy; *c; c++)
    if ((unsigned char)*c > 127) *c = '?';
  json_t *item = json_string(copy);
  free(copy);
  return item;
}

void json_put_text(struct json *json, const char *key, const char *text) {
  json_t *item = json_string(text);
  put(json, key, item ? item : plain_string(text));
}

void json_put_real(struct json *json, const char *key, double value, int decimals) {
  if (!isfinite(value)) {
    json_put_null(json, key);
    return;
  }
  char text[400]; // the largest double has 309 digits
  snprintf(text, sizeof text, "%.*f", decimals, value);
  put(json, key, json_real(strtod(text, NULL) + 0.0)); // + 0.0: no "-0.0"
}

void json_put_count(struct json *json, const char *key, long long value) { put(json, key, json_integer(value)); }
void json_put_flag(struct json *json, const char *key, bool value) { put(json, key, json_boolean(value)); }
void json_put_null(struct json *json, const char *key) { put(json, key, json_null()); }

/* Text as it is made. */
struct gathered {
  char *text;
  size_t size, room;
  bool failed;
};

/* Remembers that memory was short: jansson 2.14 goes on after a key for which there was none, and leaves it out. */
static int gather(const char *piece, size_t size, void *user) {
  struct gathered *all = user;
  if (!all->failed && all->room - all->size < size) {
    const size_t room = 2 * (all->room + size);
    char *text = realloc(all->text, room);
    all->failed = !text;
    if (text) all->text = text, all->room = room;
  }
  if (all->failed || size == 0) return all->failed ? -1 : 0;
  memcpy(all->text + all->size, piece, size);
  all->size += size;
  return 0;
}

enum status json_print(struct json *json, FILE *stream, struct error *error) {
  if (!json || json->failed) return error_set(error, STATUS_NO_MEMORY, "no memory left for the result as JSON");
  struct gathered all = {0};
  const int result = json_dump_callback(json->open[0], gather, &all, JSON_INDENT(2) | JSON_REAL_PRECISION(JSON_DIGITS));
  if (result != 0 || all.failed) {
    free(all.text);
    return error_set(error, STATUS_NO_MEMORY, "no memory left for the result as JSON");
  }
  const bool good = fwrite(all.text, 1, all.size, stream) == all.size && putc('\n', stream) != EOF;
  free(all.text);
  if (!good) return error_set(error, STATUS_IO, "writing the result failed: %s", strerror(errno));
  return STATUS_OK;
}
