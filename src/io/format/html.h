/* What every page of HTML is made with: text as HTML has it, and the head. Failures of writing are kept by the stream's owner. */
#ifndef IO_FORMAT_HTML_H
#define IO_FORMAT_HTML_H

#include <stdio.h>

/* Text with its special letters escaped, also for use within quotes. */
void html_put(FILE *stream, const char *text);

/* Such a text between two pieces of markup. */
void html_put_in(FILE *stream, const char *before, const char *text, const char *after);

/* A page begins: head with this style sheet, and as its first lines what it is and what it is about. The body stays open. */
void html_begin(FILE *stream, const char *title, const char *subject, const char *style);

#endif
