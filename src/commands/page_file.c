#include "commands/page_file.h"

#include "io/config/data_folder.h"
#include "io/format/output_file.h"

#include <stdlib.h>
#include <string.h>

const char page_file_name[] = "bladegap.html";

// Of src/page/bundle.py and page.html: what the bench opens on, and the script of documents that hold the page.
static const char begin_mark[] = "{\"begin\": \"\"";
static const char embed_mark[] = "<script type=\"text/plain\" id=\"embed\">";

enum { PAGE_MOST = 1 << 20 };

char *page_file_read(void) {
  char folder[DATA_FOLDER_PATH_SIZE], path[OUTPUT_FILE_PATH_SIZE];
  for (size_t i = 0; data_folder_base(i, folder); i++) {
    if (!*folder || snprintf(path, sizeof path, "%s/%s", folder, page_file_name) >= (int)sizeof path) continue;
    FILE *file = fopen(path, "rb");
    if (!file) continue;
    char *page = malloc(PAGE_MOST);
    const size_t size = page ? fread(page, 1, PAGE_MOST - 1, file) : 0;
    fclose(file);
    if (page) page[size] = '\0';
    if (page && strstr(page, begin_mark) && strstr(page, embed_mark)) return page;
    free(page);
  }
  return NULL;
}

/* Text inside quotes of JSON; nothing in it can end the element or the attribute that it stands in. */
static void put_json(const char *text, size_t size, FILE *to) {
  for (size_t i = 0; i < size; i++) {
    const unsigned char c = (unsigned char)text[i];
    if (c < ' ' || c == '"' || c == '\\' || c == '<' || c == '\'' || c == '&')
      fprintf(to, "\\u%04x", c);
    else
      fputc(c, to);
  }
}

static void put_html(const char *text, FILE *to) {
  for (; *text; text++) {
    if (*text == '<' || *text == '>' || *text == '&' || *text == '"')
      fprintf(to, "&#%d;", *text);
    else
      fputc(*text, to);
  }
}

void page_file_put(const char *page, const char *record, FILE *to) {
  const char *begin = strstr(page, begin_mark) + sizeof begin_mark - 2; // before its closing quote
  fwrite(page, 1, (size_t)(begin - page), to);
  if (record) put_json(record, strlen(record), to);
  fputs(begin, to);
}

void page_file_put_bench(const struct page_file_bench *bench, FILE *to) {
  fputs("<figure class=\"bladegap\" data-begin='{\"record\": \"", to);
  put_json(bench->record, strlen(bench->record), to);
  fprintf(to, "\", \"at\": %g, \"speed\": %g, \"play\": %d, \"blind\": %d", bench->at_s, bench->speed > 0.0 ? bench->speed : 1.0,
          !bench->standing, bench->blind);
  if (bench->show) {
    fputs(", \"show\": \"", to);
    put_json(bench->show, strlen(bench->show), to);
    fputc('"', to);
  }
  fputs("}'><figcaption>", to);
  put_html(bench->title, to);
  fputs("</figcaption></figure>\n", to);
}

void page_file_put_once(const char *page, FILE *to) {
  const char *script = strstr(page, embed_mark) + sizeof embed_mark - 1;
  const char *end = strstr(script, "</script>");
  fputs("<script type=\"application/json\" id=\"bladegap-page\">\"", to);
  put_json(page, strlen(page), to);
  fputs("\"</script>\n<script>", to);
  fwrite(script, 1, end ? (size_t)(end - script) : 0, to);
  fputs("</script>\n", to);
}
