#include "commands/picture_option.h"

#include "io/format/monotonic.h"
#include "io/picture/gnuplot.h"

#include <stdio.h>
#include <string.h>

#define AFTER_HANGING_S 2.0 // a picture takes 0.3 s

const char *const picture_option_names[] = {"png", "svg", "both", "pdf", "dumb", "none", NULL};
enum wanted { WANTED_PNG, WANTED_SVG, WANTED_BOTH, WANTED_PDF, WANTED_DUMB, WANTED_NONE };

const char *const picture_option_forms[] = {
#define FORM(name, width, height, letters, text) #name,
    PICTURE_FORM_LIST(FORM)
#undef FORM
        NULL};

void picture_option_formats(const struct command_line *line, bool formats[PICTURE_FORMAT_COUNT]) {
  const enum wanted wanted = (enum wanted)options_choice(line, "format", WANTED_PNG);
  formats[PICTURE_png] = wanted == WANTED_PNG || wanted == WANTED_BOTH;
  formats[PICTURE_svg] = wanted == WANTED_SVG || wanted == WANTED_BOTH;
  formats[PICTURE_pdf] = wanted == WANTED_PDF;
  formats[PICTURE_dumb] = wanted == WANTED_DUMB && !line->json;
}

enum picture_form picture_option_form(const struct command_line *line, enum picture_format format) {
  if (format == PICTURE_dumb) return PICTURE_FORM_paper;
  return (enum picture_form)options_choice(line, "for", PICTURE_FORM_paper);
}

void picture_option_begin(struct picture_option_drawing *drawing, const struct command_line *line) {
  *drawing = (struct picture_option_drawing){.line = line, .status = STATUS_OK};
  error_clear(&drawing->error);
}

struct picture_target picture_option_target(struct picture_option_drawing *drawing, enum picture_format format, const char *path,
                                            const char *data_path) {
  drawing->note[0] = '\0';
  drawing->began_s = monotonic_s();
  return (struct picture_target){.format = format,
                                 .path = path,
                                 .data_path = data_path,
                                 .form = picture_option_form(drawing->line, format),
                                 .note = drawing->note,
                                 .timeout_s = drawing->hung ? AFTER_HANGING_S : GNUPLOT_TIMEOUT_S};
}

bool picture_option_end(struct picture_option_drawing *drawing, enum status status, const struct error *error) {
  drawing->hung = drawing->hung || (status != STATUS_OK && monotonic_s() - drawing->began_s >= GNUPLOT_TIMEOUT_S);
  if (status != STATUS_OK && drawing->status == STATUS_OK) {
    drawing->status = status;
    drawing->error = *error;
  }
  const bool news = drawing->note[0] != '\0' && strcmp(drawing->note, drawing->told) != 0;
  if (status == STATUS_OK && news && !drawing->line->quiet) {
    fprintf(stderr, "bladegap: the picture was drawn; gnuplot said: %s\n", drawing->note);
    snprintf(drawing->told, sizeof drawing->told, "%s", drawing->note);
  }
  return status == STATUS_OK;
}

enum status picture_option_result(const struct picture_option_drawing *drawing, struct error *error) {
  if (drawing->status != STATUS_OK) *error = drawing->error;
  return drawing->status;
}
