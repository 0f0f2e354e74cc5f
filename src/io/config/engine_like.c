#include "io/config/engine_like.h"

#include "car/setting.h"
#include "io/config/config_field.h"

#include <assert.h>
#include <errno.h>
#include <math.h>
#include <stdio.h>
#include <string.h>
#include <sys/stat.h>

enum { GROUPS_MOST = 64, CHAIN_MOST = 16, NAME_SIZE = 64 };

/* ---- which engine ---- */

static bool is_same_file(const char *a, const char *b) {
  struct stat of_a, of_b;
  return stat(a, &of_a) == 0 && stat(b, &of_b) == 0 && of_a.st_dev == of_b.st_dev && of_a.st_ino == of_b.st_ino;
}

static bool is_file(const char *path) {
  struct stat about;
  return stat(path, &about) == 0 && S_ISREG(about.st_mode);
}

static bool ends_in_cfg(const char *word) {
  const size_t size = strlen(word);
  return size > 4 && strcmp(word + size - 4, ".cfg") == 0;
}

/* "a is like b, like c": the files from the one that is met again to the last. */
static size_t write_circle(const struct engine_like_link *link, const char *again, size_t size, char *text) {
  char name[NAME_SIZE];
  const bool first = is_same_file(link->path, again);
  const size_t used = first ? 0 : write_circle(link->before, again, size, text);
  find_file_stem(link->path, sizeof name, name);
  if (used >= size) return used;
  return used + (size_t)snprintf(text + used, size - used, first ? "%s is" : " like %s,", name);
}

/* False, with a fault, if the file stands in the chain already, or the chain is too long. */
static bool is_new(struct config *config, const struct config_setting_t *node, const struct engine_like_link *chain,
                   const char *path) {
  int length = 0;
  for (const struct engine_like_link *link = chain; link; link = link->before, length++)
    if (is_same_file(link->path, path)) {
      if (link == chain) {
        config_fault_at(config, node, "names this file itself: name another engine, or leave the key out and give every value");
      } else {
        char circle[200], name[NAME_SIZE];
        (void)write_circle(chain, path, sizeof circle, circle);
        find_file_stem(path, sizeof name, name);
        config_fault_at(config, node, "leads in a circle: %s like %s", circle, name);
      }
      return false;
    }
  if (length < CHAIN_MOST) return true;
  config_fault_at(config, node, "is the last of %d engines each like the next; allowed: %d", CHAIN_MOST, CHAIN_MOST - 1);
  return false;
}

/* A file beside this one; a bare name has no ending. */
static bool find_beside(struct config *config, const struct config_setting_t *node, const char *given, bool bare,
                        char path[FIND_FILE_PATH_SIZE]) {
  char file[FIND_FILE_PATH_SIZE], near[FIND_FILE_PATH_SIZE];
  const int size = snprintf(file, sizeof file, "%s%s", given, bare ? ".cfg" : "");
  if (size < 0 || (size_t)size >= sizeof file || !config_resolve(config, file, FIND_FILE_PATH_SIZE, path)) {
    config_fault_at(config, node, "makes a path longer than %d bytes", FIND_FILE_PATH_SIZE - 1);
    return false;
  }
  if (is_file(path)) return true;
  const int why = errno == 0 ? EISDIR : errno;
  const bool is_near = find_file_near("models", path, near);
  config_fault_at(
      config, node, "names %.200s, which %s%.200s%s%s%.120s%s", given,
      bare ? "is not a shipped engine (bladegap list engines shows them), and " : "cannot be read: ", bare ? path : strerror(why),
      bare ? " is not there" : "", is_near ? "; did you mean " : "", near, is_near ? "?" : "");
  return false;
}

bool engine_like_find(struct config *config, const struct engine_like_link *chain, char path[FIND_FILE_PATH_SIZE]) {
  char given[FIND_FILE_PATH_SIZE];
  const struct config_setting_t *node = config_member(config_root(config), ENGINE_LIKE_KEY);
  if (!config_field_text(config, config_root(config), ENGINE_LIKE_KEY, sizeof given, given)) return false;
  const bool bare = find_file_is_name(given) && !ends_in_cfg(given);
  errno = 0;
  if (!(bare && find_file_shipped("models", given, path)) && !find_beside(config, node, given, bare, path)) return false;
  return is_new(config, node, chain, path);
}

/* ---- factors ---- */

/* Any number; its range has words of its own. */
struct factor {
  double value;
};

static const struct field factor_field = FIELD_ROW_REAL(struct factor, value, "factor", 1.0, -HUGE_VAL, HUGE_VAL, "");

static void scale_key(struct config *config, const struct config_setting_t *node, const struct field_group *group,
                      const struct field *field, void *base) {
  const struct config_setting_t *own = config_member(config_root(config), group->name);
  const struct config_setting_t *value = own ? config_member(own, field->key) : NULL;
  struct factor factor;
  struct error why;
  error_clear(&why);
  if (value)
    config_fault_at(config, node, "has a value of its own in line %d: give a value or a factor, not both", config_line(value));
  else if (!config_field_read(config, node, &factor_field, &factor))
    return;
  else if (factor.value < SETTING_FACTOR_LEAST || factor.value > SETTING_FACTOR_MOST)
    config_fault_at(config, node, "has the factor %.10g; allowed: %g to %g", factor.value, SETTING_FACTOR_LEAST,
                    SETTING_FACTOR_MOST);
  else if (field_scale(field, (char *)base + group->base, factor.value, &why) != STATUS_OK)
    config_fault_at(config, node, "%s", why.text);
}

void engine_like_scale(struct config *config, struct engine *engine, const char *hint) {
  const struct config_setting_t *scale = config_member(config_root(config), ENGINE_SCALE_KEY);
  const char *names[GROUPS_MOST];
  size_t count = 0;
  if (!scale || !config_field_is_group(config, scale)) return;
  for (size_t i = 0; i < ENGINE_PART_COUNT; i++)
    for (size_t j = 0; j < *engine_parts[i].count; j++) {
      const struct field_group *group = &engine_parts[i].groups[j];
      const struct config_setting_t *node = config_member(scale, group->name);
      assert(count < GROUPS_MOST);
      names[count++] = group->name;
      if (!node || !config_field_is_group(config, node)) continue;
      for (size_t k = 0; k < group->count; k++) {
        const struct config_setting_t *key = config_member(node, group->fields[k].key);
        if (key) scale_key(config, key, group, &group->fields[k], (char *)engine + engine_parts[i].base);
      }
      config_field_check_keys(config, node, group, hint);
    }
  config_field_check_known(config, scale, names, count, hint);
}
