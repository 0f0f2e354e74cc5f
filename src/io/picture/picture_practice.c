#include "io/picture/picture_practice.h"

#include <math.h>
#include <string.h>

enum { TEXT_SIZE = 600 };

enum status picture_practice_format(const char *path, enum picture_format *format, struct error *error) {
  const char *ending = strrchr(path, '.');
  for (int i = 0; ending && i < PICTURE_FORMAT_COUNT; i++)
    if (strcmp(ending, picture_format_rows[i].ending) == 0) {
      *format = (enum picture_format)i;
      return STATUS_OK;
    }
  return error_set(error, STATUS_USAGE, "--picture %s: it ends in .png, .svg, .pdf or .txt", path);
}

enum status picture_practice_draw(const struct picture_practice *c, const struct picture_target *target, struct error *error) {
  struct picture_script script;
  char title[TEXT_SIZE];
  double most = 10.0, sum = 0.0;
  size_t shown = 0;
  const enum status status = picture_begin(&script, PICTURE_OF_practice, target, 0, error);
  if (status != STATUS_OK) return status;
  for (size_t i = 0; i < c->count; i++) sum += fmax(c->rows[i].minutes, 0.0);
  picture_block_begin(&script, "lost");
  for (; shown < c->count && shown < PICTURE_PRACTICE_SHOWN && c->rows[shown].minutes > 0.0; shown++) {
    fprintf(script.stream, "%zu %.6g \"%s\"\n", shown + 1, c->rows[shown].minutes, c->rows[shown].test);
    most = fmax(most, c->rows[shown].minutes);
  }
  if (shown == 0) fputs("1 0 \"none\"\n", script.stream);
  picture_block_end(&script);
  snprintf(title, sizeof title, "%s: minutes beyond the best plan, %d case%s, %.0f in all", c->title, c->cases,
           c->cases == 1 ? "" : "s", sum);
  picture_text(&script, "title_text", title);
  picture_number(&script, "most", 1.15 * most);
  picture_number(&script, "rows", fmax((double)shown, 1.0));
  return picture_finish(&script, error);
}
