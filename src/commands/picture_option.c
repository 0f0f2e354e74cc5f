#include "commands/picture_option.h"

#include <stdio.h>

const char *const picture_option_names[] = {"png", "svg", "both", "dumb", "none", NULL};
enum wanted { WANTED_PNG, WANTED_SVG, WANTED_BOTH, WANTED_DUMB, WANTED_NONE };

void picture_option_formats(const struct command_line *line, bool formats[PICTURE_FORMAT_COUNT]) {
  const enum wanted wanted = (enum wanted)options_choice(line, "format", WANTED_PNG);
  formats[PICTURE_png] = wanted == WANTED_PNG || wanted == WANTED_BOTH;
  formats[PICTURE_svg] = wanted == WANTED_SVG || wanted == WANTED_BOTH;
  formats[PICTURE_dumb] = wanted == WANTED_DUMB && !line->json;
}

enum status picture_option_path(const char *folder, const char *prefix, enum picture picture, enum picture_format format,
                                char path[OUTPUT_FILE_PATH_SIZE], struct error *error) {
  const int length = snprintf(path, OUTPUT_FILE_PATH_SIZE, "%s%s%s%s%s", folder, folder[0] ? "/" : "", prefix,
                              picture_rows[picture].name, picture_format_rows[format].ending);
  if (length < 0 || length >= OUTPUT_FILE_PATH_SIZE)
    return error_set(error, STATUS_CANNOT_CREATE, "%s: the path is longer than %d characters", folder, OUTPUT_FILE_PATH_SIZE);
  return STATUS_OK;
}

static enum status draw_one(const struct run_pictures *pictures, const char *folder, const char *prefix, enum picture picture,
                            enum picture_format format, const struct picture_option_files *files, struct error *error) {
  if (format == PICTURE_dumb) return run_pictures_draw(pictures, picture, format, NULL, error);
  char path[OUTPUT_FILE_PATH_SIZE];
  enum status status = picture_option_path(folder, prefix, picture, format, path, error);
  if (status == STATUS_OK) status = run_pictures_draw(pictures, picture, format, path, error);
  if (status == STATUS_OK && *files->count < files->most)
    snprintf(files->paths[(*files->count)++], OUTPUT_FILE_PATH_SIZE, "%s", path);
  return status;
}

enum status picture_option_draw_run(const struct command_line *line, const struct run_pictures *pictures, const char *folder,
                                    const char *prefix, const struct picture_option_files *files, struct error *error) {
  bool formats[PICTURE_FORMAT_COUNT];
  picture_option_formats(line, formats);
  for (int format = 0; format < PICTURE_FORMAT_COUNT; format++)
    for (int picture = 0; formats[format] && picture < PICTURE_COUNT; picture++) {
      if (!run_pictures_wanted(pictures, (enum picture)picture)) continue;
      const enum status status =
          draw_one(pictures, folder, prefix, (enum picture)picture, (enum picture_format)format, files, error);
      if (status != STATUS_OK) return status;
    }
  return STATUS_OK;
}
