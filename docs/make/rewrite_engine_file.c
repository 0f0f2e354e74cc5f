#include "make/rewrite_engine_file.h"

#include <ctype.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { FILE_SIZE_MAX = 1 << 16 };

/* The place behind "word =" at the start of a line, from `from` on, before `until`; NULL for none. */
static char *value_of(char *from, const char *until, const char *word, size_t length) {
  for (char *line = from; line && line < until; line = strchr(line, '\n')) {
    while (isspace((unsigned char)*line)) line++;
    if (strncmp(line, word, length) != 0) continue;
    char *at = line + length;
    while (*at == ' ') at++;
    if (*at == '=') return at + 1;
  }
  return NULL;
}

static bool read_all(const char *path, char text[FILE_SIZE_MAX]) {
  FILE *file = fopen(path, "r");
  if (!file) return false;
  const size_t size = fread(text, 1, FILE_SIZE_MAX - 1, file);
  text[size] = '\0';
  return fclose(file) == 0 && size < FILE_SIZE_MAX - 1;
}

/* Writes text up to `from`, the value, and text from `to` on. */
static bool write_all(const char *path, const char *text, const char *from, const char *to, const char *before, const char *value,
                      const char *after) {
  FILE *file = fopen(path, "w");
  if (!file) return false;
  const bool good = fprintf(file, "%.*s%s%s%s%s", (int)(from - text), text, before, value, after, to) > 0;
  return fclose(file) == 0 && good;
}

static bool rewrite(const char *path, const char *name, const char *value, char *text) {
  const char *dot = strchr(name, '.');
  if (!dot || !read_all(path, text)) return false;
  char *group = value_of(text, text + strlen(text), name, (size_t)(dot - name));
  char *group_end = group ? strstr(group, "\n};") : NULL;
  if (!group_end) return false;
  char *old = value_of(group, group_end, dot + 1, strlen(dot + 1)), *old_end = old ? strchr(old, ';') : NULL;
  if (old_end) return write_all(path, text, old, old_end, " ", value, "");
  char before[80];
  snprintf(before, sizeof before, "\n  %.60s = ", dot + 1);
  return write_all(path, text, group_end, group_end, before, value, ";");
}

bool rewrite_engine_file(const char *path, const char *name, const char *value) {
  char *text = malloc(FILE_SIZE_MAX);
  const bool good = text && rewrite(path, name, value, text);
  free(text);
  return good;
}
