#include "io/config/config.h"

#include "io/config/config_text.h"

#include <libconfig.h>

#include <assert.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { FAULT_TEXT_SIZE = 400, FAULTS_AT_FIRST = 16, SHOWN_LINE_SIZE = 61 };

struct fault {
  int line;
  size_t order; // of discovery, to keep faults of one line in it
  char text[FAULT_TEXT_SIZE];
};

struct config {
  char *path;
  char *text;
  config_t tree;
  struct fault *faults;
  size_t fault_count, fault_room;
  bool out_of_memory; // a fault could not be noted
};

/* Notes what libconfig would swallow. */
static void scan_text(struct config *config) {
  struct config_text_scan scan = {config->text, 1};
  int line;
  const char *message;
  while ((message = config_text_next_slip(&scan, &line))) config_fault(config, line, "%s", message);
}

static void note_parse_error(struct config *config) {
  const int line = config_error_line(&config->tree);
  const char *text = config_error_text(&config->tree);
  char shown[SHOWN_LINE_SIZE];
  config_text_line(config->text, line, sizeof shown, shown);
  if (strcmp(text, "duplicate setting name") == 0)
    config_fault(config, line, "a key of this group is written a second time: %s", shown);
  else if (shown[0])
    config_fault(config, line, "%s at or just before: %s", text, shown);
  else
    config_fault(config, line, "%s at or just before this line", text);
}

static void parse(struct config *config) {
  scan_text(config);
  if (config->fault_count > 0) return; // libconfig would misread the rest
  if (!config_read_string(&config->tree, config->text))
    note_parse_error(config);
  else if (config_child_count(config_root(config)) == 0)
    config_fault(config, 1, "the file contains no settings");
}

enum status config_open(const char *path, struct config **config, struct error *error) {
  *config = NULL;
  struct config *opened = calloc(1, sizeof *opened);
  if (!opened) return error_append(error, STATUS_NO_MEMORY, "%s: out of memory", path);
  config_init(&opened->tree);
  enum status status = config_text_read(path, &opened->text, error);
  if (status != STATUS_OK) goto cleanup;
  opened->path = strdup(path);
  if (!opened->path) {
    status = error_append(error, STATUS_NO_MEMORY, "%s: out of memory", path);
    goto cleanup;
  }
  parse(opened);
  status = config_report(opened, error);
  if (status != STATUS_OK) goto cleanup;
  *config = opened;
  opened = NULL;
cleanup:
  config_close(opened);
  return status;
}

void config_close(struct config *config) {
  if (!config) return;
  config_destroy(&config->tree);
  free(config->faults);
  free(config->text);
  free(config->path);
  free(config);
}

/* Room for one more; NULL if there is none to be had. */
static struct fault *new_fault(struct config *config, int line) {
  if (config->fault_count == config->fault_room) {
    const size_t room = config->fault_room > 0 ? 2 * config->fault_room : FAULTS_AT_FIRST;
    struct fault *faults = realloc(config->faults, room * sizeof *faults);
    if (!faults) {
      config->out_of_memory = true;
      return NULL;
    }
    config->faults = faults;
    config->fault_room = room;
  }
  struct fault *fault = &config->faults[config->fault_count];
  fault->line = line;
  fault->order = config->fault_count++;
  return fault;
}

void config_fault(struct config *config, int line, const char *format, ...) {
  struct fault *fault = new_fault(config, line);
  if (!fault) return;
  va_list values;
  va_start(values, format);
  vsnprintf(fault->text, sizeof fault->text, format, values);
  va_end(values);
}

void config_fault_at(struct config *config, const config_setting_t *node, const char *format, ...) {
  struct fault *fault = new_fault(config, config_line(node));
  if (!fault) return;
  char key[CONFIG_KEY_SIZE];
  config_key(node, sizeof key, key);
  const int used = snprintf(fault->text, sizeof fault->text, "key '%s' ", key);
  assert(used > 0 && (size_t)used < sizeof fault->text); // CONFIG_KEY_SIZE is far below FAULT_TEXT_SIZE
  va_list values;
  va_start(values, format);
  vsnprintf(fault->text + used, sizeof fault->text - (size_t)used, format, values);
  va_end(values);
}

size_t config_fault_count(const struct config *config) { return config->fault_count; }

static int fault_order(const void *left, const void *right) {
  const struct fault *a = left, *b = right;
  if (a->line != b->line) return a->line < b->line ? -1 : 1;
  return a->order < b->order ? -1 : a->order > b->order;
}

enum status config_report(struct config *config, struct error *error) {
  if (config->fault_count == 0 && !config->out_of_memory) return STATUS_OK;
  qsort(config->faults, config->fault_count, sizeof *config->faults, fault_order);
  for (size_t i = 0; i < config->fault_count; i++)
    error_append(error, STATUS_BAD_CONFIG, "%s:%d: %s", config->path, config->faults[i].line, config->faults[i].text);
  if (config->out_of_memory) error_append(error, STATUS_NO_MEMORY, "%s: out of memory", config->path);
  return error->status;
}

/* Where the file's name begins within its path. */
static const char *file_name(const struct config *config) {
  const char *slash = strrchr(config->path, '/');
  return slash ? slash + 1 : config->path;
}

void config_stem(struct config *config, size_t size, char *stem) {
  const char *name = file_name(config);
  const char *dot = strrchr(name, '.');
  const size_t length = dot && dot > name ? (size_t)(dot - name) : strlen(name);
  stem[0] = '\0';
  if (length >= size) {
    config_fault(config, 1, "the file's name is %zu bytes long; allowed: %zu", length, size - 1);
    return;
  }
  if (strspn(name, ".") >= length) { // "..", taken for the name of a folder, would be the one above
    config_fault(config, 1, "the file is called '%s', which leaves no name for its results: rename it", name);
    return;
  }
  memcpy(stem, name, length);
  stem[length] = '\0';
}

bool config_resolve(const struct config *config, const char *path, size_t size, char *resolved) {
  const int folder_length = path[0] == '/' ? 0 : (int)(file_name(config) - config->path);
  const int length = snprintf(resolved, size, "%.*s%s", folder_length, config->path, path);
  return length >= 0 && (size_t)length < size;
}

const config_setting_t *config_root(const struct config *config) { return config_root_setting(&config->tree); }

const config_setting_t *config_member(const config_setting_t *group, const char *key) {
  return config_setting_is_group(group) ? config_setting_get_member(group, key) : NULL;
}

size_t config_child_count(const config_setting_t *node) {
  return config_setting_is_aggregate(node) ? (size_t)config_setting_length(node) : 0;
}

const config_setting_t *config_child(const config_setting_t *node, size_t index) {
  assert(index < config_child_count(node));
  return config_setting_get_elem(node, (unsigned)index);
}

int config_line(const config_setting_t *node) {
  return config_setting_is_root(node) ? 1 : (int)node->line; // libconfig's macro would cut it to 16 bits
}

const char *config_name(const config_setting_t *node) {
  const char *name = config_setting_name(node);
  return name ? name : "";
}

struct config_value config_value(const config_setting_t *node) {
  struct config_value value = {.kind = CONFIG_GROUP};
  switch (config_setting_type(node)) {
  case CONFIG_TYPE_INT:
  case CONFIG_TYPE_INT64:
    value.kind = CONFIG_INTEGER;
    value.hexadecimal = config_setting_get_format(node) == CONFIG_FORMAT_HEX;
    value.integer = config_setting_get_int64(node);
    if (config_setting_type(node) == CONFIG_TYPE_INT) value.integer = config_setting_get_int(node);
    value.real = (double)value.integer;
    break;
  case CONFIG_TYPE_FLOAT:
    value.kind = CONFIG_REAL;
    value.real = config_setting_get_float(node);
    break;
  case CONFIG_TYPE_STRING:
    value.kind = CONFIG_TEXT;
    value.text = config_setting_get_string(node);
    if (!value.text) value.text = ""; // libconfig's own way to store ""
    break;
  case CONFIG_TYPE_BOOL:
    value.kind = CONFIG_BOOLEAN;
    value.integer = config_setting_get_bool(node) ? 1 : 0;
    break;
  case CONFIG_TYPE_ARRAY:
  case CONFIG_TYPE_LIST:
    value.kind = CONFIG_LIST;
    break;
  default:
    assert(config_setting_is_group(node));
    break;
  }
  return value;
}

void config_key(const config_setting_t *node, size_t size, char *key) {
  const config_setting_t *named = node;
  while (named && config_name(named)[0] == '\0') named = config_setting_parent(named);
  if (!named) {
    snprintf(key, size, "%s", "");
    return;
  }
  // Our keys lie two deep at most: above this one are list entries, then a group or list, or the root.
  const config_setting_t *above = config_setting_parent(named);
  while (above && config_name(above)[0] == '\0') above = config_setting_parent(above);
  if (above)
    snprintf(key, size, "%.60s.%.60s", config_name(above), config_name(named));
  else
    snprintf(key, size, "%.60s", config_name(named));
}

void config_describe(const config_setting_t *node, size_t size, char *description) {
  const struct config_value value = config_value(node);
  const size_t count = config_child_count(node);
  switch (value.kind) {
  case CONFIG_GROUP:
    snprintf(description, size, "a group { ... }");
    break;
  case CONFIG_LIST:
    snprintf(description, size, "a list of %zu", count);
    break;
  case CONFIG_TEXT:
    snprintf(description, size, "the text \"%.40s\"", value.text);
    break;
  case CONFIG_BOOLEAN:
    snprintf(description, size, "%s", value.integer ? "true" : "false");
    break;
  case CONFIG_INTEGER:
    snprintf(description, size, "the whole number %lld", value.integer);
    break;
  case CONFIG_REAL:
    snprintf(description, size, "the number %.10g", value.real);
    break;
  }
  config_text_make_plain(description);
}
