#include "io/config/engine_file_write.h"

#include "io/config/config_put.h"
#include "io/config/engine_ties.h"
#include "io/format/output_file.h"

#include <stdlib.h>
#include <string.h>

static bool same(double a, double b) { return a >= b && a <= b; }

static bool same_curve(const struct curve *a, const struct curve *b) {
  if (a->count != b->count) return false;
  for (size_t i = 0; i < a->count; i++)
    if (!same(a->x[i], b->x[i]) || !same(a->y[i], b->y[i])) return false;
  return true;
}

/* Whether the value has changed; bases are of the struct that the field points into. */
static bool differs(const struct field *field, const char *before, const char *now) {
  const void *a = before + field->offset, *b = now + field->offset;
  if (field->kind == FIELD_CURVE) return !same_curve(a, b);
  if (field->kind == FIELD_COUNT || field->kind == FIELD_CHOICE) return *(const int *)a != *(const int *)b;
  return !same(field_real(field, before), field_real(field, now));
}

/* An x has no range of its own, but the unit. */
static struct field of_x(const struct field *field) {
  struct field x = *field;
  x.unit = field->x_unit;
  return x;
}

static void put_curve(const struct field *field, const struct curve *curve, FILE *stream) {
  const struct field x = of_x(field);
  for (size_t i = 0; i < curve->count; i++) {
    fputs(i ? ", (" : "((", stream);
    config_put_real(&x, curve->x[i], stream);
    fputs(", ", stream);
    config_put_real(field, curve->y[i], stream);
    fputc(')', stream);
  }
  fputc(')', stream);
}

static void put_value(const struct field *field, const char *base, FILE *stream) {
  const void *value = base + field->offset;
  switch (field->kind) {
  case FIELD_REAL:
    config_put_real(field, field_real(field, base), stream);
    break;
  case FIELD_SWITCH:
    fprintf(stream, "%s", field_real(field, base) > 0.5 ? "true" : "false");
    break;
  case FIELD_COUNT:
    fprintf(stream, "%d", *(const int *)value);
    break;
  case FIELD_CHOICE:
    fprintf(stream, "\"%s\"", field->choices[*(const int *)value]);
    break;
  case FIELD_CURVE:
    put_curve(field, value, stream);
    break;
  }
}

/* A comment, a mark before each line. */
static void put_comment(const char *text, FILE *stream) {
  while (*text) {
    const size_t size = strcspn(text, "\n");
    fprintf(stream, "// %.*s\n", (int)size, text);
    text += size + (text[size] == '\n');
  }
}

static void put_title(const char *title, FILE *stream) {
  fputs("title = ", stream);
  config_put_text(title, stream);
  fputs(";\n", stream);
}

/* A curve taken away cannot be written: no file has an empty one. */
static bool is_written(const struct field *field, const char *before, const char *now) {
  if (field->kind == FIELD_CURVE && ((const struct curve *)(const void *)(now + field->offset))->count == 0) return false;
  return differs(field, before, now);
}

static void put_group(const struct engine_file_form *form, const struct field_group *group, const char *before, const char *now,
                      FILE *stream) {
  bool open = false;
  for (size_t i = 0; i < group->count; i++) {
    const struct field *field = &group->fields[i];
    if (!is_written(field, before, now)) continue;
    if (!open) fprintf(stream, "\n%s = {\n", group->name);
    open = true;
    fprintf(stream, "  %s = ", field->key);
    put_value(field, now, stream);
    const char *note = form->note ? form->note(group->name, field->key, form->user) : NULL;
    fprintf(stream, ";%s%s\n", note && *note ? " // " : "", note ? note : "");
  }
  if (open) fputs("};\n", stream);
}

void engine_file_write_text(const struct engine_file_form *form, const struct engine *engine, FILE *stream) {
  if (form->heading) put_comment(form->heading, stream);
  fprintf(stream, "like = \"%s\";\n", form->like);
  if (strcmp(form->base->title, engine->title) != 0) put_title(engine->title, stream);
  for (size_t i = 0; i < ENGINE_PART_COUNT; i++)
    for (size_t j = 0; j < *engine_parts[i].count; j++) {
      const struct field_group *group = &engine_parts[i].groups[j];
      const size_t at = engine_parts[i].base + group->base;
      put_group(form, group, (const char *)form->base + at, (const char *)engine + at, stream);
    }
  engine_ties_print(engine, form->base, stream);
  if (form->after) form->after(stream, form->user);
}

enum status engine_file_write(const char *path, const struct engine_file_form *form, const struct engine *engine,
                              struct error *error) {
  struct output_file *file = calloc(1, sizeof *file);
  if (!file) return error_set(error, STATUS_NO_MEMORY, "out of memory for %s", path);
  enum status status = output_file_open(file, path, error);
  if (status == STATUS_OK) {
    engine_file_write_text(form, engine, file->stream);
    status = output_file_commit(file, error);
  }
  free(file);
  return status;
}
