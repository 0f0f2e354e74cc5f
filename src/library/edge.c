#include "library/edge.h"

#include "base/near_miss.h"

#include <stdarg.h>
#include <stdio.h>
#include <string.h>

struct edge edge_begin(char *text, size_t size) {
  if (text && size > 0) text[0] = '\0';
  return (struct edge){text, text ? size : 0};
}

int edge_fail(struct edge edge, enum status status, const char *format, ...) {
  if (edge.size > 0) {
    va_list values;
    va_start(values, format);
    vsnprintf(edge.text, edge.size, format, values);
    va_end(values);
  }
  return status_exit_code(status);
}

int edge_tell(struct edge edge, const struct error *error) {
  return error->status == STATUS_OK ? 0 : edge_fail(edge, error->status, "%s", error->text);
}

int edge_unknown(struct edge edge, const char *what, const char *name, const char *const *names, size_t count) {
  const char *near = near_miss_best(name, names, count);
  return near ? edge_fail(edge, STATUS_USAGE, "there is no %s '%.200s'; did you mean '%s'?", what, name, near)
              : edge_fail(edge, STATUS_USAGE, "there is no %s '%.200s'", what, name);
}

int edge_find(const char *name, const char *const *names, size_t count) {
  for (size_t i = 0; i < count; i++)
    if (strcmp(name, names[i]) == 0) return (int)i;
  return -1;
}
