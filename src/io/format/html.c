#include "io/format/html.h"

void html_put(FILE *stream, const char *text) {
  for (; *text; text++) {
    switch (*text) {
    case '<':
      fputs("&lt;", stream);
      break;
    case '>':
      fputs("&gt;", stream);
      break;
    case '&':
      fputs("&amp;", stream);
      break;
    case '"':
      fputs("&quot;", stream);
      break;
    default:
      putc(*text, stream);
    }
  }
}

void html_put_in(FILE *stream, const char *before, const char *text, const char *after) {
  fputs(before, stream);
  html_put(stream, text);
  fputs(after, stream);
}

void html_begin(FILE *stream, const char *title, const char *subject, const char *style) {
  fputs("<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\"/>\n"
        "<meta name=\"viewport\" content=\"width=device-width\"/>\n",
        stream);
  html_put_in(stream, "<title>", title, ": ");
  html_put_in(stream, "", subject, "</title>\n");
  fprintf(stream, "<style>\n%s</style>\n</head>\n<body>\n", style);
  html_put_in(stream, "<h1>", title, "</h1>\n");
  html_put_in(stream, "<p><b>", subject, "</b></p>\n");
}
