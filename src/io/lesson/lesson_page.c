#include "io/lesson/lesson_page.h"

#include "io/format/html.h"
#include "io/lesson/lesson_block.h"
#include "io/lesson/lesson_question.h"

#include <stdlib.h>
#include <string.h>

static const char policy_plain[] = "default-src 'none'; style-src 'unsafe-inline'; form-action 'none'; base-uri 'none'";

static const char style[] =
    "body{font:1.05rem/1.5 system-ui,sans-serif;color:#111;background:#fff;max-width:44rem;margin:0 auto;padding:.6rem .8rem "
    "3rem;overflow-wrap:break-word}\n"
    "h1{font-size:1.6rem;line-height:1.2}h2{font-size:1.3rem;margin-top:2rem;border-bottom:2px solid #111}\n"
    "h1 small{display:block;font-size:1rem;font-weight:normal}\n"
    "figure{margin:1rem 0;break-inside:avoid}figure svg{display:block;width:100%;max-width:32rem;height:auto}\n"
    "figcaption{font-size:.95rem;color:#333}.of{margin:.3rem 0 0}.title{font-weight:bold;margin:.2rem 0}\n"
    "svg text{font:13px system-ui,sans-serif;fill:#111}svg .h{font-weight:bold}svg .e{text-anchor:end}svg "
    ".m{text-anchor:middle}\n"
    "svg .g{stroke:#ccc;fill:none}svg .a{stroke:#111;fill:none}svg .l{fill:none;stroke-width:2}\n"
    "svg .wall{fill:#999}svg .film{fill:#6B4A1E}svg .blade{fill:#ddd;stroke:#111}svg .size{stroke:#B34E00;stroke-width:2}\n"
    ".wide{overflow-x:auto}table{border-collapse:collapse;font-variant-numeric:tabular-nums}\n"
    "th,td{border:1px solid #767676;padding:.25rem .5rem;text-align:left;vertical-align:top}tr{break-inside:avoid}\n"
    ".question{border:2px solid #0072B2;border-radius:.4rem;padding:.2rem .8rem;margin:1rem 0;break-inside:avoid}\n"
    ".options{list-style:upper-alpha}textarea{width:100%;box-sizing:border-box;font:inherit;border:1px solid #767676}\n"
    "input{font:inherit}.caution{border:3px solid #B34E00;padding:.2rem .8rem;margin:1rem 0;break-inside:avoid}\n"
    ".say,.right,.why{background:#FFF4D6}.say{border-left:6px solid #8A5F00;padding:.2rem .8rem;margin:1rem 0}\n"
    ".right{padding:.1rem .3rem}.stall{border-left:6px solid #B34E00;padding-left:.6rem}.head{background:#F2F2F2;padding:.2rem "
    ".8rem}\n"
    ".estimate{border-left:6px solid #007A59;padding-left:.8rem}summary{font-weight:bold;cursor:pointer;padding:.4rem 0}\n"
    "small{color:#333}pre{overflow-x:auto}\n"
    "@page{size:A4;margin:16mm}@media print{body{max-width:none;padding:0;font-size:11pt}h2{break-after:avoid}"
    "details{break-before:page}details::details-content{content-visibility:visible;display:block}figure>svg{max-height:210mm}"
    "textarea{border:0;background:repeating-linear-gradient(#fff 0 1.9em,#767676 "
    "1.9em 1.95em);"
    "height:8em}}\n";

static const char slide_style[] =
    "body{max-width:none;padding:0}.slide{box-sizing:border-box;min-height:100vh;padding:3vh "
    "4vw;display:flex;flex-direction:column;"
    "justify-content:center;border-bottom:1px solid #767676;font-size:clamp(1.1rem,3.2vh,2.4rem)}\n"
    ".slide h2{margin:0 0 2vh;font-size:1.15em}.slide h1{font-size:1.8em}figure "
    "svg{max-width:100%;max-height:72vh}.row{display:flex;gap:3vw}.row>div{flex:1}\n"
    ".slide table{font-size:.9em}\n"
    "@page{size:297mm 167mm;margin:0}@media print{.slide{break-after:page;height:167mm;min-height:0;border:0;font-size:16pt}"
    "figure svg{max-height:112mm}figure{margin:0}}\n";

/* A page in the making. */
struct maker {
  const struct lesson_text *text;
  enum lesson_page_edition edition;
  const struct lesson_page_live *live;
  size_t question;
  bool hidden;                    // within what is seen after a prediction
  const struct lesson_item *part; // heading under which slides stand
  bool live_used;
};

static bool has_live(const struct lesson_file *file) {
  for (size_t i = 0; i < file->count; i++)
    if (file->items[i].kind == LESSON_KIND_live) return true;
  return false;
}

static void put_head(const struct maker *maker) {
  const struct lesson_text *text = maker->text;
  FILE *to = text->stream;
  static const char *const editions[] = {"", " (instructor's edition)", " (slides)"};
  fputs("<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\"/>\n<meta name=\"viewport\" "
        "content=\"width=device-width, initial-scale=1\"/>\n",
        to);
  html_put_in(to, "<meta http-equiv=\"Content-Security-Policy\" content=\"",
              has_live(text->file) ? maker->live->policy : policy_plain, "\"/>\n");
  html_put_in(to, "<title>", text->file->title, "");
  fprintf(to, "%s</title>\n<style>\n%s%s</style>\n</head>\n<body>\n", editions[maker->edition], style,
          maker->edition == LESSON_PAGE_SLIDES ? slide_style : "");
}

static void put_list(const struct maker *maker, const struct lesson_item *item, const char *key, const char *before) {
  fprintf(maker->text->stream, "<p><b>%s</b></p>\n<ul>\n", before);
  for (size_t i = 0; i < item->field_count; i++)
    if (strcmp(item->fields[i].key, key) == 0) lesson_text_put(maker->text, "<li>", &item->fields[i], "</li>\n");
  fputs("</ul>\n", maker->text->stream);
}

static void put_title(const struct maker *maker, const struct lesson_item *about) {
  const struct lesson_text *text = maker->text;
  double minutes = 0.0;
  html_put_in(text->stream, "<h1>", text->file->title, "");
  if (maker->edition == LESSON_PAGE_KEY) fputs(" <small>Instructor's edition, with answers</small>", text->stream);
  fputs("</h1>\n<div class=\"head\">\n", text->stream);
  if (lesson_text_number(text, lesson_file_field(about, "minutes"), &minutes) && !(minutes >= 5.0 && minutes <= 240.0))
    lesson_text_fault(text, lesson_file_field(about, "minutes")->line, "minutes are 5 to 240");
  fprintf(text->stream, "<p>About %.0f minutes.", minutes);
  if (lesson_file_field(about, "needs")) lesson_text_put(text, " You need ", lesson_file_field(about, "needs"), ".");
  fputs("</p>\n", text->stream);
  put_list(maker, about, "aim", "Afterwards you can");
  put_list(maker, about, "against", "Many people think");
  fputs("<p>Is that so? You will see. All numbers here are computed by a model of an engine. On a car, the maker's service "
        "information decides.</p>\n</div>\n",
        text->stream);
}

/* ---- one item ---- */

static bool is_shown(const struct maker *maker, const struct lesson_item *item) {
  switch (item->kind) {
  case LESSON_KIND_lesson:
  case LESSON_KIND_run:
  case LESSON_KIND_settle:
  case LESSON_KIND_sweep:
    return false;
  case LESSON_KIND_say:
  case LESSON_KIND_check:
    return maker->edition == LESSON_PAGE_KEY;
  case LESSON_KIND_estimate: {
    const struct lesson_field *hide = lesson_file_field(item, "hide");
    if (hide && strcmp(hide->value, "yes") != 0) lesson_text_fault(maker->text, hide->line, "hide is yes, or left out");
    return maker->edition == LESSON_PAGE_KEY || !hide;
  }
  default:
    return true;
  }
}

/* What the edition leaves out is worked out all the same, into nowhere: its faults are faults in every edition. */
static void try_item(const struct maker *maker, const struct lesson_item *item) {
  if (item->kind == LESSON_KIND_check) lesson_block_check(maker->text, item, false);
  for (size_t i = 0; item->kind == LESSON_KIND_say && i < item->field_count; i++) {
    const struct lesson_text *text = maker->text;
    char *filled = lesson_text_fill(text, item->fields[i].value, item->fields[i].line);
    free(filled);
  }
}

static void put_item(struct maker *maker, const struct lesson_item *item) {
  const struct lesson_text *text = maker->text;
  const bool key = maker->edition == LESSON_PAGE_KEY, fields = maker->edition == LESSON_PAGE_STUDENTS;
  switch (item->kind) {
  case LESSON_KIND_PROSE: {
    struct lesson_text copy = *text;
    const bool good = lesson_file_put_prose(item, lesson_text_filler, &copy, text->stream);
    (void)good; // told
    break;
  }
  case LESSON_KIND_picture:
    lesson_block_picture(text, item, 0);
    break;
  case LESSON_KIND_readings:
    lesson_block_readings(text, item);
    break;
  case LESSON_KIND_table:
    lesson_block_table(text, item);
    break;
  case LESSON_KIND_estimate:
    lesson_block_estimate(text, item);
    break;
  case LESSON_KIND_caution:
    lesson_block_caution(text, item);
    break;
  case LESSON_KIND_question:
    lesson_question_put(text, item, ++maker->question, key, fields);
    break;
  case LESSON_KIND_say:
    lesson_block_say(text, item);
    break;
  case LESSON_KIND_check:
    lesson_block_check(text, item, true);
    break;
  case LESSON_KIND_live:
    maker->live->put(text, item, maker->live->user);
    maker->live_used = true;
    break;
  default:
    break;
  }
}

/* ---- pages ---- */

static void close_hidden(struct maker *maker) {
  if (maker->hidden) fputs("</details>\n", maker->text->stream);
  maker->hidden = false;
}

static void open_hidden(struct maker *maker, const struct lesson_item *item) {
  fprintf(maker->text->stream, "<details%s>\n", maker->edition == LESSON_PAGE_KEY ? " open=\"open\"" : "");
  lesson_text_put(maker->text, "<summary>", lesson_file_field(item, "then"), "</summary>\n");
  maker->hidden = true;
}

static void put_page_item(struct maker *maker, const struct lesson_item *item) {
  if (item->level > 0 || item->kind == LESSON_KIND_question) close_hidden(maker);
  put_item(maker, item);
  if (item->kind == LESSON_KIND_question && item->sort == LESSON_SORT_predict) open_hidden(maker, item);
}

/* A slide under the heading it belongs to; part: of a picture that has several. */
static void put_one_slide(struct maker *maker, const struct lesson_item *item, size_t part) {
  fputs("<section class=\"slide\">\n", maker->text->stream);
  if (maker->part) put_item(maker, maker->part);
  if (part > 0)
    lesson_block_picture(maker->text, item, part);
  else
    put_item(maker, item);
  fputs("</section>\n", maker->text->stream);
}

static void put_slides(struct maker *maker, const struct lesson_item *item) {
  if (item->level > 0) {
    maker->part = item;
    return;
  }
  const size_t parts = item->kind == LESSON_KIND_picture ? lesson_block_picture_parts(item) : 0;
  if (parts == 0) put_one_slide(maker, item, 0);
  for (size_t part = 1; part <= parts; part++) put_one_slide(maker, item, part);
}

enum status lesson_page_put(const struct lesson_text *text, enum lesson_page_edition edition,
                            const struct lesson_page_live *live) {
  struct maker maker = {.text = text, .edition = edition, .live = live};
  const bool slides = edition == LESSON_PAGE_SLIDES;
  const struct lesson_file *file = text->file;
  put_head(&maker);
  if (slides) fputs("<section class=\"slide\">\n", text->stream);
  put_title(&maker, &file->items[1]);
  if (slides) fputs("</section>\n", text->stream);
  for (size_t i = 2; i < file->count; i++) {
    const struct lesson_item *item = &file->items[i];
    if (!is_shown(&maker, item))
      try_item(&maker, item);
    else if (slides)
      put_slides(&maker, item);
    else
      put_page_item(&maker, item);
  }
  close_hidden(&maker);
  if (maker.live_used) live->end(text->stream, live->user);
  fputs("</body>\n</html>\n", text->stream);
  return text->error->status;
}
