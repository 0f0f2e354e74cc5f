#include "commands/picture_option.h"

const char *const picture_option_names[] = {"png", "svg", "both", "dumb", "none", NULL};
enum wanted { WANTED_PNG, WANTED_SVG, WANTED_BOTH, WANTED_DUMB, WANTED_NONE };

void picture_option_formats(const struct command_line *line, bool formats[PICTURE_FORMAT_COUNT]) {
  const enum wanted wanted = (enum wanted)options_choice(line, "format", WANTED_PNG);
  formats[PICTURE_png] = wanted == WANTED_PNG || wanted == WANTED_BOTH;
  formats[PICTURE_svg] = wanted == WANTED_SVG || wanted == WANTED_BOTH;
  formats[PICTURE_dumb] = wanted == WANTED_DUMB && !line->json;
}
