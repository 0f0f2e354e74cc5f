#include "results.h"

#include <errno.h>
#include <stdlib.h>
#include <string.h>

enum { LINE_SIZE = 2048 };

void results_print_head(FILE *stream) {
  fprintf(stream, "car,set,cause,share,severity,distance,rank,low,high,mean,p_value,cpu_s");
  for (int i = 0; i < CAUSE_COUNT; i++) fprintf(stream, ",p_%s", cause_rows[i].name);
  fprintf(stream, "\n");
}

void results_print(FILE *stream, const struct result *r) {
  fprintf(stream, "%zu,%s,%s,%.6f,%.6g,%.4f,%.6f,%.6g,%.6g,%.6g,%.4g,%.4f", r->car, reading_set_names[r->set],
          cause_rows[r->cause].name, r->share, r->severity, r->distance, r->rank, r->low, r->high, r->mean, r->p_value, r->cpu_s);
  for (int i = 0; i < CAUSE_COUNT; i++) fprintf(stream, ",%.6g", r->probability[i]);
  fprintf(stream, "\n");
}

static int set_find(const char *name) {
  for (int i = 0; i < READING_SET_COUNT; i++)
    if (strcmp(name, reading_set_names[i]) == 0) return i;
  return -1;
}

/* False if the line is not one of ours. */
static bool parse(char *line, struct result *r) {
  char *rest = line;
  const char *car = strsep(&rest, ","), *set = strsep(&rest, ","), *cause = strsep(&rest, ",");
  if (!car || !set || !cause || set_find(set) < 0 || cause_find(cause) < 0) return false;
  *r = (struct result){
      .car = strtoul(car, NULL, 10), .set = (enum reading_set)set_find(set), .cause = (enum cause)cause_find(cause)};
  double *fields[] = {&r->share, &r->severity, &r->distance, &r->rank, &r->low, &r->high, &r->mean, &r->p_value, &r->cpu_s};
  for (size_t i = 0; i < ARRAY_COUNT(fields) + CAUSE_COUNT; i++) {
    const char *field = strsep(&rest, ",");
    if (!field) return false;
    *(i < ARRAY_COUNT(fields) ? fields[i] : &r->probability[i - ARRAY_COUNT(fields)]) = strtod(field, NULL);
  }
  return true;
}

static bool append(struct result_list *list, const struct result *r) {
  if (list->count == list->capacity) {
    const size_t capacity = list->capacity ? 2 * list->capacity : 1024;
    struct result *more = realloc(list->results, capacity * sizeof *more);
    if (!more) return false;
    list->results = more;
    list->capacity = capacity;
  }
  list->results[list->count++] = *r;
  return true;
}

bool results_read(const char *path, struct result_list *list) {
  FILE *stream = fopen(path, "r");
  if (!stream) {
    fprintf(stderr, "%s: %s\n", path, strerror(errno));
    return false;
  }
  char line[LINE_SIZE];
  bool good = fgets(line, sizeof line, stream) != NULL; // the head
  size_t number = 1;
  while (good && fgets(line, sizeof line, stream)) {
    struct result r;
    number++;
    good = parse(line, &r) && append(list, &r);
  }
  fclose(stream);
  if (!good) fprintf(stderr, "%s:%zu: not a line of results\n", path, number);
  return good;
}

void results_destroy(struct result_list *list) {
  free(list->results);
  *list = (struct result_list){0};
}

enum cause result_first(const struct result *r) {
  int first = 0;
  for (int i = 1; i < CAUSE_COUNT; i++)
    if (r->probability[i] > r->probability[first]) first = i;
  return (enum cause)first;
}
