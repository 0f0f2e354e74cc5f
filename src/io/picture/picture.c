#include "io/picture/picture.h"

#include "io/format/output_file.h"
#include "io/picture/gnuplot.h"
#include "io/picture/plots_embedded.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

const struct picture_format_row picture_format_rows[PICTURE_FORMAT_COUNT] = {
#define FORMAT(name, ending, text) {#name, ending, text},
    PICTURE_FORMAT_LIST(FORMAT)
#undef FORMAT
};

const struct picture_row picture_rows[PICTURE_COUNT] = {
#define PICTURE(name, width, height, lines, text) {#name, width, height, lines, text},
    PICTURE_LIST(PICTURE)
#undef PICTURE
};

const struct picture_form_row picture_form_rows[PICTURE_FORM_COUNT] = {
#define FORM(name, width, height, letters, text) {#name, width, height, letters, text},
    PICTURE_FORM_LIST(FORM)
#undef FORM
};

enum { USUAL_WIDTH = 1400 };
#define SCREEN_FLATTER 0.75           // of the height: a monitor is wider than high
#define PAGE_PX_PER_IN (1400.0 / 7.5) // so that a picture fits the breadth of an A4 page
#define FONT_PX_PER_IN 96.0           // what pngcairo takes an inch for
#define FONT_PT        14.0
#define FONT_SVG_PX    18.0 // lines are drawn larger than pixels where a page shrinks them

enum { COLUMNS_DEFAULT = 100, COLUMNS_LEAST = 60, COLUMNS_MOST = 300 };

/* ---- Texts and numbers ---- */

/* Bytes of the UTF-8 sequence that starts here, 0 if it is broken; overlong forms are let through, they
 * are harmless. */
static size_t sequence_size(const unsigned char *text) {
  const size_t size = text[0] < 0x80 ? 1 : text[0] < 0xC2 ? 0 : text[0] < 0xE0 ? 2 : text[0] < 0xF0 ? 3 : text[0] < 0xF5 ? 4 : 0;
  for (size_t i = 1; i < size; i++)
    if ((text[i] & 0xC0) != 0x80) return 0; // a null ends up here too
  return size;
}

void picture_quote(struct picture_script *script, const char *text) {
  const unsigned char *byte = (const unsigned char *)text;
  fputs("('", script->stream);
  while (*byte) {
    const size_t size = sequence_size(byte);
    if (size == 0)
      fputc('?', script->stream);
    else if (*byte < 0x20 || *byte == 0x7F)
      fputc(' ', script->stream);
    else if (*byte == '\'')
      fputs("' . apostrophe . '", script->stream);
    else
      fwrite(byte, 1, size, script->stream);
    byte += size ? size : 1;
  }
  fputs("')", script->stream);
}

void picture_value(struct picture_script *script, double value) {
  if (isfinite(value))
    fprintf(script->stream, "%.7g ", value);
  else
    fputs("NaN ", script->stream);
}

void picture_number(struct picture_script *script, const char *name, double value) {
  fprintf(script->stream, "%s = ", name);
  picture_value(script, value);
  fputc('\n', script->stream);
}

void picture_text(struct picture_script *script, const char *name, const char *text) {
  fprintf(script->stream, "%s = ", name);
  picture_quote(script, text);
  fputc('\n', script->stream);
}

void picture_block_begin(struct picture_script *script, const char *name) {
  fprintf(script->stream, "$%s << END_OF_BLOCK\n", name);
}

void picture_block_end(struct picture_script *script) { fputs("END_OF_BLOCK\n", script->stream); }

/* ---- Script ---- */

static const struct plot_layout *layout_find(const char *name) {
  for (size_t i = 0; i < plots_embedded_count; i++)
    if (strcmp(plots_embedded[i].name, name) == 0) return &plots_embedded[i];
  return NULL;
}

static enum status add_layout(struct picture_script *script, const char *name, struct error *error) {
  const struct plot_layout *layout = layout_find(name);
  if (!layout) return error_set(error, STATUS_INTERNAL, "the layout plots/%s.gp is missing from this program", name);
  fwrite(layout->bytes, 1, layout->size, script->stream);
  fputc('\n', script->stream);
  return STATUS_OK;
}

/* Letters in a line of the terminal: as asked, else as the shell says, else TEXT_WIDTH. */
static int terminal_columns(int asked) {
  const char *shell = getenv("COLUMNS");
  long columns = asked > 0 ? asked : shell ? strtol(shell, NULL, 10) : 0;
  if (columns <= 0) columns = COLUMNS_DEFAULT;
  return (int)(columns < COLUMNS_LEAST ? COLUMNS_LEAST : columns > COLUMNS_MOST ? COLUMNS_MOST : columns);
}

static void add_terminal(struct picture_script *script) {
  FILE *stream = script->stream;
  const double letters = picture_form_rows[script->target->form].letters;
  const double page = FONT_PX_PER_IN / PAGE_PX_PER_IN;
  const bool slide = script->target->form == PICTURE_FORM_slide;
  switch (script->target->format) {
  case PICTURE_png:
    fprintf(stream,
            "set terminal pngcairo noenhanced size %d,%d background '#ffffff' font 'DejaVu Sans,%g' fontscale %g "
            "linewidth 1.3\n",
            script->width, script->height, FONT_PT, letters);
    break;
  case PICTURE_svg: // its letters are in pixels; on a slide they are as large as pngcairo's
    fprintf(stream,
            "set terminal svg noenhanced size %d,%d dynamic background '#ffffff' font 'DejaVu Sans,%g' fontscale %g "
            "linewidth 1.3\n",
            script->width, script->height, slide ? FONT_PT : FONT_SVG_PX, slide ? letters * FONT_PX_PER_IN / 72.0 : letters);
    break;
  case PICTURE_pdf:
    fprintf(stream,
            "set terminal pdfcairo noenhanced color size %.4fin,%.4fin background '#ffffff' font 'DejaVu Sans,%g' fontscale %.4f "
            "linewidth %.4f pointscale %.4f\n",
            script->width / PAGE_PX_PER_IN, script->height / PAGE_PX_PER_IN, FONT_PT, letters * page, 1.3 * page, page);
    break;
  default:
    fprintf(stream, "set terminal dumb noenhanced mono size %d,%d\n", script->width, script->height);
    break;
  }
}

/* In pixels. */
static void choose_size(struct picture_script *script, int more_height) {
  const struct picture_row *row = &picture_rows[script->picture];
  const struct picture_form_row *form = &picture_form_rows[script->target->form];
  script->width = row->width * form->width / USUAL_WIDTH;
  script->height = row->height + more_height;
  if (script->target->form == PICTURE_FORM_screen) script->height = (int)(SCREEN_FLATTER * script->height);
  if (form->height == 0) return;
  script->width = form->width;
  script->height = form->height;
}

enum status picture_begin(struct picture_script *script, enum picture picture, const struct picture_target *target,
                          int more_height, struct error *error) {
  const struct picture_row *row = &picture_rows[picture];
  const bool letters = target->format == PICTURE_dumb;
  *script = (struct picture_script){.picture = picture, .target = target};
  choose_size(script, more_height);
  if (letters) {
    script->width = terminal_columns(target->columns);
    script->height = row->lines;
  }
  script->stream = open_memstream(&script->text, &script->size);
  if (!script->stream) return error_set(error, STATUS_NO_MEMORY, "out of memory for the picture \"%s\"", row->name);
  fputs("set encoding utf8\napostrophe = \"\\047\"\n", script->stream);
  add_terminal(script);
  picture_number(script, "width", script->width);
  picture_number(script, "height", script->height);
  picture_number(script, "letters", letters);
  picture_number(script, "big", picture_form_rows[target->form].letters);
  picture_number(script, "slide", target->form == PICTURE_FORM_slide);
  const enum status status = add_layout(script, "style", error);
  if (status != STATUS_OK) picture_abandon(script);
  return status;
}

void picture_abandon(struct picture_script *script) {
  if (script->stream) fclose(script->stream);
  free(script->text);
  *script = (struct picture_script){0};
}

static double timeout_s(const struct picture_target *target) {
  return target->timeout_s > 0.0 ? target->timeout_s : GNUPLOT_TIMEOUT_S;
}

static enum status draw_to_file(const struct picture_script *script, struct error *error) {
  const struct picture_target *target = script->target;
  struct output_file file;
  enum status status = output_file_open(&file, target->path, error);
  if (status != STATUS_OK) return status;
  status = gnuplot_draw(script->text, script->size, file.stream, target->data_path, timeout_s(target), target->note, error);
  if (status == STATUS_OK) return output_file_commit(&file, error);
  output_file_discard(&file);
  return status;
}

/* Adds the layout and closes the script, so that its text is whole. */
static enum status close_script(struct picture_script *script, struct error *error) {
  const char *name = picture_rows[script->picture].name;
  const enum status status = add_layout(script, name, error);
  if (status != STATUS_OK) return status;
  const bool failed = ferror(script->stream) != 0;
  const bool lost = fclose(script->stream) != 0 || failed;
  script->stream = NULL;
  return lost ? error_set(error, STATUS_NO_MEMORY, "out of memory for the picture \"%s\"", name) : STATUS_OK;
}

enum status picture_finish(struct picture_script *script, struct error *error) {
  if (!script->target->path) return picture_finish_into(script, stdout, error);
  enum status status = close_script(script, error);
  if (status == STATUS_OK) status = draw_to_file(script, error);
  picture_abandon(script);
  return status;
}

enum status picture_finish_into(struct picture_script *script, FILE *stream, struct error *error) {
  enum status status = close_script(script, error);
  if (status == STATUS_OK)
    status = gnuplot_draw(script->text, script->size, stream, script->target->data_path, timeout_s(script->target),
                          script->target->note, error);
  picture_abandon(script);
  return status;
}
